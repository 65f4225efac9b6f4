"""Print JSON Schema for editors.

Of a description or a site file, for editors that check while you type.
"""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

Out = Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Write it here instead of printing it.")]


class Of(StrEnum):
    """Which file the schema is of."""

    DESCRIPTION = "description"
    SITE = "site"


Kind = Annotated[Of, typer.Option("--of", help="Of which file: a description, or a site file.")]


def schema(of: Kind = Of.DESCRIPTION, out: Out = None) -> None:
    import json

    from bracketgen.description.schema import description_schema
    from bracketgen.errors import Fault, Place
    from bracketgen.files.disk import write_whole
    from bracketgen.terminal.screen import say
    from bracketgen.terminal.summary import stop
    from bracketgen.vehicle.site import site_schema

    made = description_schema() if of is Of.DESCRIPTION else site_schema()
    text = json.dumps(made, indent=2, ensure_ascii=True)
    if out is None:
        say(text)
        return
    try:
        write_whole(out, f"{text}\n".encode())
    except OSError as error:
        stop([Fault(Place(str(out)), f"it can't be written: {error.strerror or error}", "name another file")])
    say(f"written: {out}")
