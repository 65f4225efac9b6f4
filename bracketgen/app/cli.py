"""The command line: which commands there are, and the last net for what nobody expected."""

from __future__ import annotations

import importlib
import pkgutil
import sys
from typing import Annotated

import typer

import bracketgen.app.commands

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
def _bracketgen(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """From a description of a sheet-metal bracket to a cut file that fits.

    Begin with `bracketgen new angle mount.toml`, change it, then `bracketgen make mount.toml`.
    """


#: The daily ones first; any other module of the commands room follows by name.
_FIRST = ("make", "check", "show", "bend", "new")


def _add_commands() -> None:
    """Every module of the commands room holds the command of its own name."""
    found = [module.name for module in pkgutil.iter_modules(bracketgen.app.commands.__path__)]
    for name in sorted(found, key=lambda n: (_FIRST.index(n) if n in _FIRST else len(_FIRST), n)):
        module = importlib.import_module(f"{bracketgen.app.commands.__name__}.{name}")
        app.command()(getattr(module, name))


_add_commands()


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
