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


# Rows of cells in aligned columns, broken into blocks where they would be too wide.


_GAP: Final = "  "


def aligned(heads: Sequence[str], rows: Sequence[Sequence[str]], keys: int = 1) -> list[str]:
    """Lines of a table. A heading's `_` begins a new line of it; numbers stand to the right, texts to the left.

    What does not fit side by side goes into further blocks, each with the first `keys` columns again.
    """
    columns = [_column(head, [row[n] for row in rows]) for n, head in enumerate(heads)]
    lines: list[str] = []
    for block in _blocks([len(column[0]) for column in columns], keys):
        chosen = [columns[n] for n in block]
        lines += [*([""] if lines else []), *(_GAP.join(cells).rstrip() for cells in _level(chosen))]
    return lines


def _column(head: str, cells: list[str]) -> list[str]:
    words = head.split("_")
    width = max(len(text) for text in (*words, *cells))
    right = all(_is_number(cell) for cell in cells if cell) and any(cells)
    put = str.rjust if right else str.ljust
    return [put(text, width) for text in (*words, "-" * width, *cells)]


def _level(columns: list[list[str]]) -> list[list[str]]:
    """The columns with headings of the same height, row by row."""
    highest = max(len(column) for column in columns)
    filled = [[" " * len(column[0])] * (highest - len(column)) + column for column in columns]
    return [list(row) for row in zip(*filled, strict=True)]


def _blocks(widths: list[int], keys: int) -> list[list[int]]:
    blocks: list[list[int]] = [list(range(keys))]
    for n in range(keys, len(widths)):
        needed = sum(widths[i] + len(_GAP) for i in blocks[-1]) + widths[n]
        if needed > WIDTH and len(blocks[-1]) > keys:
            blocks.append(list(range(keys)))
        blocks[-1].append(n)
    return blocks


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


# Signs of life in a long batch, on the error stream so that the results stay clean.


#: In a log, one line for so many parts.
_PARTS_A_LINE: Final = 50


class Progress:
    """Counts parts: on a terminal in one line that is written over, in a log one line now and then.

    Says nothing when the results themselves scroll by on a terminal.
    """

    def __init__(self, total: int) -> None:
        self.total = total
        self.done = 0
        self.live = sys.stderr.isatty()
        self.wanted = total > 1 and not sys.stdout.isatty()

    def step(self, name: str) -> None:
        """One more part is done."""
        self.done += 1
        if not self.wanted:
            return
        if self.live:
            # Back to the line's start, then clear what is longer underneath.
            print(f"\r\x1b[K{self.done}/{self.total} {name}", end="", file=sys.stderr, flush=True)
        elif self.done % _PARTS_A_LINE == 0:
            print(f"{self.done} of {self.total} parts done", file=sys.stderr, flush=True)

    def end(self) -> None:
        """The batch is over; the line is cleared."""
        if self.wanted and self.live:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)
