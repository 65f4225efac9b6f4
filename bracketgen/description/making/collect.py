"""Gathers the faults of making a part, each with its place in the file, instead of stopping at the first."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from bracketgen.bending.bend_fault import BendFault
from bracketgen.description.read import Path, Source
from bracketgen.errors import Fault, GeometryFault, InputFaults
from bracketgen.standards.table import LookupFault


class Collector:
    """The faults of one description."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.faults: list[Fault] = []

    def add(self, path: Path, what: str, cure: str = "") -> None:
        """One fault at the value of a path."""
        self.faults.append(Fault(self.source.at(path), what, cure))

    @contextmanager
    def at(self, path: Path) -> Iterator[None]:
        """Whatever can't be made inside is a fault at this path."""
        try:
            yield
        except (GeometryFault, BendFault) as error:
            # A GeometryFault's own text adds where on the panel it is.
            what = str(error) if isinstance(error, GeometryFault) else error.what
            self.add(path, what, error.cure)
        except LookupFault as error:
            self.add(path, str(error))
        except InputFaults as error:
            self.faults += error.faults

    def stop_if_any(self) -> None:
        """Raises InputFaults when there is anything to say."""
        if self.faults:
            raise InputFaults(list(dict.fromkeys(self.faults)))
