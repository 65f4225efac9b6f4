"""Print JSON Schema for editors.

Of a description or a site file, for editors that check while you type.
"""

from __future__ import annotations

import json
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from bracketgen.description.schema import description_schema
from bracketgen.terminal.named_files import write_one
from bracketgen.terminal.screen import say
from bracketgen.vehicle.site import site_schema

Out = Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Write it here instead of printing it.")]


class Of(StrEnum):
    """Which file the schema is of."""

    DESCRIPTION = "description"
    SITE = "site"


Kind = Annotated[Of, typer.Option("--of", help="Of which file: a description, or a site file.")]


def schema(of: Kind = Of.DESCRIPTION, out: Out = None) -> None:
    made = description_schema() if of is Of.DESCRIPTION else site_schema()
    text = json.dumps(made, indent=2, ensure_ascii=True)
    if out is None:
        say(text)
        return
    write_one(out, f"{text}\n".encode())
    say(f"written: {out}")
