"""Signs of life in a long batch, on the error stream so that the results stay clean."""

from __future__ import annotations

import sys
from typing import Final

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
