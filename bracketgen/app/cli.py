"""The command line: which commands there are, and the last net for what nobody expected."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from bracketgen.app.commands.bend import bend
from bracketgen.app.commands.check import check
from bracketgen.app.commands.make import make
from bracketgen.app.commands.new import new
from bracketgen.app.commands.schema import schema
from bracketgen.app.commands.show import show

# Plain help and errors: a formatter would take longer to load than the help takes to print.
app = typer.Typer(
    name="bracketgen",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 92},
)


def _version(wanted: bool) -> None:
    if wanted:
        from bracketgen import __version__

        print(f"bracketgen {__version__}")
        raise typer.Exit


@app.callback()
def bracketgen(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """From a description of a sheet-metal bracket to a cut file that fits.

    Begin with `bracketgen new angle mount.toml`, change it, then `bracketgen make mount.toml`.
    """


for _command in (make, check, show, bend, new, schema):
    app.command()(_command)


def main() -> None:
    """Run the command line; ends with SystemExit."""
    from bracketgen.app.telling.speech import steady_streams

    steady_streams()
    try:
        app()
    except Exception as error:
        from bracketgen.app.batch import internal_line
        from bracketgen.app.outcome import Exit

        print(internal_line(error, "bracketgen"), file=sys.stderr)
        sys.exit(Exit.INTERNAL)
