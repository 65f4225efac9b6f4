"""Arguments that several commands share, with their help."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Annotated, TypeVar

import typer

from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.standards.machines import Die, die
from bracketgen.standards.table import LookupFault
from bracketgen.units import LengthUnit, QuantityFault, meant, parse_length

Files = Annotated[list[str], typer.Argument(metavar="FILES", help="Descriptions (.toml), one part each.")]
Settings = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="NAME=VALUE", help='Give a parameter another value, as in --set "reach=80 mm".'),
]
Table = Annotated[
    str | None,
    typer.Option(
        "--table", metavar="CSV", help="Make a family: one part a row; first column name, then parameter names."
    ),
]
Strict = Annotated[bool, typer.Option("--strict", help="Count warnings as failures.")]
Brief = Annotated[bool, typer.Option("--brief", help="One line a part, and what failed.")]
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the files go; made if it is not there.")]
EvenIfFailed = Annotated[
    bool, typer.Option("--even-if-failed", help="Write them for a part that failed a rule too, marked on every page.")
]

# Reading options one by one, with every fault kept until all are read.


T = TypeVar("T")


@dataclass(slots=True)
class OptionReader:
    """The faults found so far, and the unit of numbers without one."""

    unit: LengthUnit = LengthUnit.MM
    faults: list[Fault] = field(default_factory=list)

    def fault(self, option: str, what: str, cure: str = "") -> None:
        """One more fault."""
        self.faults.append(Fault(Place(option), what, cure))

    def stop_if_any(self) -> None:
        """Raises InputFaults when there is anything to say."""
        if self.faults:
            raise InputFaults(self.faults)

    def attempt(self, option: str, read: Callable[[], T]) -> T | None:
        """What `read` gives; None when it finds a fault, which is kept."""
        try:
            return read()
        except QuantityFault as error:
            self.fault(option, error.what, error.cure)
        except LookupFault as error:
            self.fault(option, str(error))
        except InputFaults as error:
            self.faults += error.faults
        return None

    def word(self, option: str, word: str, known: dict[str, T]) -> T | None:
        """What a word stands for; None for an unknown one, which is a fault with the nearest right word."""
        if word.strip().lower() in known:
            return known[word.strip().lower()]
        self.fault(option, f"{word!r} is not known here", meant(word, known, f"there are: {', '.join(known)}", ""))
        return None

    def length(self, text: str) -> float:
        """A length in mm. Raises QuantityFault."""
        return parse_length(text, self.unit).number

    def inside_radius(self, radius: str | None, opening: str | None) -> tuple[float | None, Die | None]:
        """A bend's inside radius, mm, as typed or as the die leaves it; and the die with that V opening, if any."""
        found = None if opening is None else self.attempt("--die", lambda: die(self.length(opening)))
        if radius is not None:
            return self.attempt("--radius", lambda: self.length(radius)), found
        if opening is None:
            self.fault("--radius", "nothing says the inside radius", "give --radius, or --die (its V opening)")
        return (found.natural_radius_mm if found else None), found

    def lengths(self, option: str, text: str) -> tuple[float, ...]:
        """Lengths with commas between, mm. Each needs its unit, since 40,5 may be one length or two."""
        found = [self.attempt(option, partial(_with_unit, piece)) for piece in text.split(",")]
        return tuple(length for length in found if length is not None)


def _with_unit(text: str) -> float:
    return parse_length(text).number
