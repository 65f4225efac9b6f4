"""`schema`: the JSON Schema of a description."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Out = Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Write it here instead of printing it.")]


def schema(out: Out = None) -> None:
    """Print JSON Schema for editors.

    Of a description, for editors that check while you type.
    """
    import json

    from bracketgen.app.telling.outcomes import stop
    from bracketgen.app.telling.speech import say
    from bracketgen.description.schema import description_schema
    from bracketgen.errors import Fault, Place
    from bracketgen.writers.whole_file import write_whole

    text = json.dumps(description_schema(), indent=2, ensure_ascii=True)
    if out is None:
        say(text)
        return
    try:
        write_whole(out, f"{text}\n".encode())
    except OSError as error:
        stop([Fault(Place(str(out)), f"it can't be written: {error.strerror or error}", "name another file")])
    say(f"written: {out}")
