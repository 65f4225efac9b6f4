"""The yardstick of `bracketgen --help`: a bare typer program with as many commands, which do nothing."""

from __future__ import annotations

from pathlib import Path

import typer

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Sixteen commands that do nothing.",
)


def _add(name: str) -> None:
    def nothing(file: Path, strict: bool = False) -> None:
        print(file, strict)

    app.command(name, help=f"Do nothing with a file, as {name}.")(nothing)


for number in range(1, 17):
    _add(f"nothing-{number}")

if __name__ == "__main__":
    app()
