"""Arguments that several commands share, with their help."""

from __future__ import annotations

from typing import Annotated

import typer

Files = Annotated[list[str], typer.Argument(metavar="FILES", help="Descriptions (.toml), one part each.")]
Settings = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="NAME=VALUE", help='Give a parameter another value, as in --set "reach=80 mm".'),
]
Table = Annotated[
    str | None,
    typer.Option(
        "--table", metavar="CSV", help="Make a family: one part a row; first column name, then parameter names."
    ),
]
Strict = Annotated[bool, typer.Option("--strict", help="Count warnings as failures.")]
Brief = Annotated[bool, typer.Option("--brief", help="One line a part, and what failed.")]
