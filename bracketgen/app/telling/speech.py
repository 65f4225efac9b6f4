"""What a person reads: lines to the terminal, wrapped, coloured only where that is wanted."""

from __future__ import annotations

import os
import re
import sys
import textwrap
from collections.abc import Iterable, Sequence
from enum import StrEnum
from typing import Final, TextIO

from bracketgen.errors import Fault

#: Widest line, so that it fits any terminal and a printed page.
WIDTH: Final = 92


class Tone(StrEnum):
    """Colour of a word, as the number of a terminal's colour code."""

    BAD = "1;31"
    WARN = "33"
    GOOD = "32"
    STRONG = "1"


def say(lines: str | Iterable[str] = "", stream: TextIO | None = None) -> None:
    """Print lines; colours stay in only for a terminal that wants them."""
    out = stream or sys.stdout
    text = lines if isinstance(lines, str) else "\n".join(lines)
    try:
        print(text if _wants_colour(out) else _COLOUR.sub("", text), file=out, flush=True)
    except BrokenPipeError:
        # The reader has seen enough (`| head`). The work goes on; what is said from here on goes nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), out.fileno())


def say_faults(faults: Sequence[Fault]) -> None:
    """Print faults to the error stream, one a line."""
    if faults:
        say((str(fault) for fault in faults), sys.stderr)


def toned(text: str, tone: Tone) -> str:
    """The text in a colour; `say` takes it out again where none is wanted."""
    return f"\x1b[{tone}m{text}\x1b[0m"


def wrapped(text: str, first: str = "", then: str | None = None) -> list[str]:
    """`text` in lines of at most WIDTH, the first after `first`, the others after `then` (as wide if left out)."""
    following = " " * len(_COLOUR.sub("", first)) if then is None else then
    # Colour codes take no room on the screen.
    room = WIDTH + len(first) - len(_COLOUR.sub("", first))
    lines = textwrap.wrap(
        _UNIT_GAP.sub("\u2007", text),
        room,
        initial_indent=first,
        subsequent_indent=following,
        break_on_hyphens=False,
        break_long_words=False,
    )
    return [line.replace("\u2007", " ") for line in lines] or [first.rstrip()]


_COLOUR: Final = re.compile(r"\x1b\[[0-9;]*m")
#: A number and its unit stay on one line; meanwhile a figure space stands between them.
_UNIT_GAP: Final = re.compile(r"(?<=[0-9]) (?=(?:mm|in|deg|kg|lb|ga)\b)")


def _wants_colour(stream: TextIO) -> bool:
    dull = os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    return not dull and stream.isatty()
