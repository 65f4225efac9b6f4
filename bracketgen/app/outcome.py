"""How it went with one part, and the exit code that says so."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

from bracketgen.errors import Fault

if TYPE_CHECKING:
    from bracketgen.pipeline import Made


class Exit(IntEnum):
    """Exit codes; of several parts the highest counts."""

    CLEAN = 0
    FAILED = 1
    INPUT = 2
    INTERNAL = 3


@dataclass(frozen=True, slots=True)
class Outcome:
    """One part: what was made of it, or why not.

    `name` is the part's ('' when it never got one), `written` and `set_aside` are paths as shown to a person,
    `trouble` is an internal error in one line. `not_made` names further parts that these faults have stopped.
    """

    name: str
    made: Made | None = None
    faults: tuple[Fault, ...] = ()
    trouble: str = ""
    written: tuple[str, ...] = ()
    set_aside: tuple[str, ...] = ()
    not_made: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Every part that this is about."""
        return (self.name, *self.not_made) if self.name else self.not_made

    @property
    def exit(self) -> Exit:
        """The exit code of this part alone."""
        if self.trouble:
            return Exit.INTERNAL
        if self.faults or self.made is None:
            return Exit.INPUT
        return Exit.FAILED if self.made.failed else Exit.CLEAN
