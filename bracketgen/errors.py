"""What can be wrong with what a person wrote, and how it is said."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a fault stands: file name, line and column, both counted from 1 (0 = unknown)."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}" if self.line else self.file


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong in the input.

    `what` says what was given and why it can't be used; `cure` what is allowed, with the nearest right word.
    """

    place: Place
    what: str
    cure: str = ""

    def __str__(self) -> str:
        return f"{self.place}: {self.what}" + (f"; {self.cure}" if self.cure else "")


class InputFaults(Exception):
    """All faults of one input, found in one run."""

    def __init__(self, faults: tuple[Fault, ...] | list[Fault]) -> None:
        self.faults = tuple(sorted(faults, key=lambda f: f.place))
        super().__init__("\n".join(str(f) for f in self.faults))


class GeometryFault(ValueError):
    """A shape that can't be made exactly; `at` is the place in the panel's frame, in mm, when known."""

    def __init__(self, what: str, at: tuple[float, float] | None = None, cure: str = "") -> None:
        self.what = what
        self.at = at
        self.cure = cure
        where = f" at ({at[0]:.2f}, {at[1]:.2f}) mm" if at else ""
        super().__init__(what + where)


class WriteFault(Exception):
    """A file that was written does not say what the model says; nothing is left behind."""
