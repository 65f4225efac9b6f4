"""Gathers the faults of making a part, each with its place in the file, instead of stopping at the first."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from bracketgen.bending.setback import BendFault
from bracketgen.description.model.values import what_and_cure
from bracketgen.description.text import Path, Source
from bracketgen.errors import Fault, GeometryFault, InputFaults
from bracketgen.standards.table import LookupFault


class PlacedFault(Exception):
    """Something that can't be made, and the path in the description that says so."""

    def __init__(self, path: Path, what: str, cure: str) -> None:
        self.path = path
        self.what = what
        self.cure = cure
        super().__init__(what)


@contextmanager
def placed(path: Path) -> Iterator[None]:
    """Whatever can't be made inside is a fault at this path; a path said further inside is nearer, and stands."""
    try:
        yield
    except GeometryFault as error:
        # A GeometryFault's own text adds where on the panel it is.
        raise PlacedFault(path, str(error), error.cure) from None
    except BendFault as error:
        raise PlacedFault(path, error.what, error.cure) from None
    except LookupFault as error:
        raise PlacedFault(path, *what_and_cure(error)) from None


class Collector:
    """The faults of one description."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.faults: list[Fault] = []

    def add(self, path: Path, what: str, cure: str = "") -> None:
        """One fault at a path."""
        self.faults.append(Fault(self.source.pointed(path), what, cure))

    @contextmanager
    def at(self, path: Path) -> Iterator[None]:
        """Keeps the fault of whatever can't be made inside, and goes on."""
        try:
            with placed(path):
                yield
        except PlacedFault as error:
            self.add(error.path, error.what, error.cure)
        except InputFaults as error:
            self.faults += error.faults

    def stop_if_any(self) -> None:
        """Raises InputFaults when there is anything to say."""
        if self.faults:
            raise InputFaults(list(dict.fromkeys(self.faults)))


# -- the largest size that fits, for faults that say what would
#: What is told is a whole number of steps of 0.05 mm: a plain figure that a person can type.
_STEPS_PER_MM = 20


def largest_mm(make: Callable[[float], object], below_mm: float) -> float:
    """The largest size below `below_mm` that `make` doesn't refuse with GeometryFault, 0 when there is none."""
    low, high = 0, round(below_mm * _STEPS_PER_MM)
    while high - low > 1:
        middle = (low + high) // 2
        try:
            make(middle / _STEPS_PER_MM)
        except GeometryFault:
            high = middle
        else:
            low = middle
    return low / _STEPS_PER_MM
