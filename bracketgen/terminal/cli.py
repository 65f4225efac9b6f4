"""The command line: which commands there are, and the last net for what nobody expected."""

from __future__ import annotations

import gc
import importlib
import io
import os
import sys
from pathlib import Path
from typing import Annotated, Any

import typer
from typer.core import TyperGroup
from typer.main import get_command

from bracketgen import __version__
from bracketgen.errors import InputFaults
from bracketgen.terminal.exits import Exit, internal_line, stop

_COMMANDS = Path(__file__).parents[1] / "commands"
#: New objects between two looks for garbage. One part with its picture makes 200,000, nearly all of them of libraries,
#: and is done before the first look; each further part of a family makes some ten thousand, so memory stays level.
_BETWEEN_COLLECTIONS = 500_000
#: The daily ones first; any other file of the commands room follows by name.
_FIRST = ("make", "check", "show", "bend", "new")


class Commands(TyperGroup):
    """Every file of the commands room holds the command of its own name, and its help as the file's docstring.

    The list of commands takes the first line of each file; a file is loaded when its command is called.
    """

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        names = {file.stem for file in _COMMANDS.glob("*.py")} - {"__init__"}
        ordered = sorted(names, key=lambda n: (_FIRST.index(n) if n in _FIRST else len(_FIRST), n))
        # A mistyped name is held against these; none is loaded yet.
        self.commands: dict[str, Any] = dict.fromkeys(ordered)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        if cmd_name not in self.commands:
            return None
        module = importlib.import_module(f"bracketgen.commands.{cmd_name}")
        one = typer.Typer(**_PLAIN)
        one.command(cmd_name, help=module.__doc__)(getattr(module, cmd_name))
        return get_command(one)

    def invoke(self, ctx: Any) -> Any:
        """What a command finds wrong with its input, and does not tell itself, ends it."""
        try:
            return super().invoke(ctx)
        except InputFaults as error:
            stop(error.faults)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, _first_line(name)) for name in self.commands])


def _first_line(name: str) -> str:
    with (_COMMANDS / f"{name}.py").open(encoding="utf-8") as file:
        return file.readline().strip().strip('"')


# Plain help and errors: a formatter would take longer to load than the help takes to print.
_PLAIN: dict[str, Any] = {"add_completion": False, "rich_markup_mode": None, "pretty_exceptions_enable": False}
app = typer.Typer(
    name="bracketgen",
    cls=Commands,
    **_PLAIN,
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 92},
)


def _version(wanted: bool) -> None:
    if wanted:
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


def main() -> None:
    """Run the command line; ends with SystemExit."""
    for stream in (sys.stdout, sys.stderr):
        # Letters that the terminal can't show become question marks instead of an error.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    # Loading libraries makes hundreds of thousands of objects that all stay: looking through them for garbage after
    # every few hundred, as Python does unless told otherwise, is a fifth of a short command's time.
    gc.set_threshold(_BETWEEN_COLLECTIONS)
    # No other package on this machine looks into how a description is read; nor is each of them asked whether it would.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")
    try:
        app()
    except Exception as error:
        print(internal_line(error, "bracketgen"), file=sys.stderr)
        sys.exit(Exit.INTERNAL)
    finally:
        # Python looks through everything once more when it ends, where the operating system takes it all back anyway.
        gc.freeze()
