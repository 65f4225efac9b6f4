"""What is nested, what it is nested on, and where it came to lie."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from math import fsum

from bracketgen.geometry.contour import Contour
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point


class Rolled(Enum):
    """The rolling direction of a sheet, as degrees from its length; None = not known."""

    LENGTH = 0.0
    WIDTH = 90.0
    UNKNOWN = None


@dataclass(frozen=True, slots=True)
class Piece:
    """One kind of part: its outline and area of metal, how many, its rolling direction in the file (None = free)."""

    name: str
    outline: Contour
    area_mm2: float
    quantity: int
    grain_deg: float | None = None

    def angles(self, rolled: Rolled) -> tuple[float, ...]:
        """Turns (deg) in which the piece may lie on a sheet so rolled; none where its grain can't be kept."""
        if self.grain_deg is None:
            return (0.0, 90.0, 180.0, 270.0)
        if rolled is Rolled.UNKNOWN:
            return ()
        turn = (float(rolled.value) - self.grain_deg) % 180.0
        return (turn, turn + 180.0)


@dataclass(frozen=True, slots=True)
class Plate:
    """One sheet or offcut: length along x, width along y, mm."""

    name: str
    length_mm: float
    width_mm: float
    rolled: Rolled = Rolled.LENGTH

    @property
    def area_mm2(self) -> float:
        """The whole of it."""
        return self.length_mm * self.width_mm


@dataclass(frozen=True, slots=True)
class Room:
    """How close cuts may lie, mm: to each other, and to the sheet's edge."""

    gap_mm: float
    margin_mm: float


@dataclass(frozen=True, slots=True)
class Lying:
    """A piece turned by `angle_deg` about its file's origin, then shifted."""

    piece: Piece
    angle_deg: float
    at: Point

    @property
    def placement(self) -> Placement:
        """From the cut file to the sheet."""
        return Placement.turned(self.angle_deg, self.at)

    def outline(self) -> Contour:
        """The outline on the sheet."""
        return self.piece.outline.moved(self.placement)


@dataclass(frozen=True, slots=True)
class Filled:
    """A sheet with the pieces that lie on it."""

    plate: Plate
    lying: tuple[Lying, ...]

    @property
    def used(self) -> float:
        """Share of the sheet that becomes parts, 0 to 1."""
        return fsum(one.piece.area_mm2 for one in self.lying) / self.plate.area_mm2


@dataclass(frozen=True, slots=True)
class Nest:
    """Sheets in the order they were filled, and how many of each piece found no room."""

    filled: tuple[Filled, ...]
    left_over: dict[str, int]

    def lying(self) -> Iterator[Lying]:
        """Every piece on every sheet."""
        for sheet in self.filled:
            yield from sheet.lying
