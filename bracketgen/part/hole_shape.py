"""The shapes that a hole can have, each kind in one place; and what every kind answers.

Whoever needs something of a hole's shape asks for it and never looks which kind it is. All places lie in the hole's own
panel, mm; what is laid or turned with the panel is moved by the one who asks, or takes the panel's turn as an argument.
A new kind is one more class, here or in a file of its own in this room, and its words in a description.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import ClassVar, Protocol

from bracketgen.geometry.contour import Circle, Contour, Cut, Edge
from bracketgen.geometry.gap import Locus
from bracketgen.geometry.line import Line
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point, midpoint
from bracketgen.geometry.shapes import slot_contour

#: What a report says of a shape, by the report's keys.
Told = dict[str, str | float | None]


@dataclass(frozen=True, slots=True)
class Play:
    """How far a bolt may stand from the hole's middle, mm: `across_mm` every way, `along_mm` more to both sides of it.

    `way` is the unit direction of `along_mm` in the panel; None where the hole gives no way more than another.
    `across_mm` below 0: the bolt does not go in.
    """

    across_mm: float
    along_mm: float = 0.0
    way: Point | None = None


@dataclass(frozen=True, slots=True)
class Lettering:
    """How sizes are written: numbers, what stands between two, before a diameter or an opening's size, at the end."""

    number: Callable[[float], str]
    times: str
    diameter: str
    opening: str
    unit: str = ""


class HoleShape(Protocol):
    """What every kind answers."""

    #: The word for it in reports.
    kind: ClassVar[str]

    @property
    def centre(self) -> Point:
        """The middle, by which its place is told."""

    @property
    def cut(self) -> Cut:
        """The edge, in true lines and arcs; a chain runs anticlockwise."""

    @property
    def core(self) -> Locus | None:
        """Where the centre of a round as wide as the hole can stand: the edge lies half the width from it all round.

        None where the edge has any other form; such an opening takes no bolt.
        """

    @property
    def width_mm(self) -> float | None:
        """The diameter, or the width across the core; None without a core."""

    @property
    def length_mm(self) -> float | None:
        """Over all, end to end along the core; None where it is not longer than wide."""

    @property
    def direction_deg(self) -> float | None:
        """Which way it runs, anticlockwise from +x; None where it runs no straight way."""

    @property
    def bore_mm(self) -> float | None:
        """The drill that makes the whole of it; None where no single drill does."""

    @property
    def slot_mm(self) -> float | None:
        """The width in which a bolt can slide; None where it can't slide."""

    @property
    def ends(self) -> tuple[Point, ...]:
        """The centres of its end rounds, which are punched and drilled; none without a core."""

    @property
    def scribed(self) -> tuple[Edge, ...]:
        """What a template shows to work along, besides the edge and the crosses at the ends."""

    @property
    def pads(self) -> tuple[Point, ...]:
        """Middles of equal rounds of metal whose convex hull holds such a round at every place of the core."""

    @property
    def keys(self) -> str:
        """The keys by which a description says that it is no plain round; '' where it is one."""

    @property
    def by_hand(self) -> str:
        """What follows the drill where it is made by hand; '' where that depends on its purpose alone."""

    def along_bend_mm(self, along_mm: float, across_mm: float) -> float:
        """How much of its edge runs along a bend when it reaches so far along and across it."""

    def with_width(self, width_mm: float) -> HoleShape | None:
        """The same with its whole edge farther out or in; None without a core."""

    def slotted(self, length_mm: float, direction_deg: float) -> HoleShape | None:
        """As a straight slot of that length over all, that way unless it has its own; None where it can't be one."""

    def play(self, across_mm: float) -> Play:
        """The room of a bolt whose diameter is twice `across_mm` less than the width."""

    def size_words(self, by: Lettering) -> str:
        """Such as 'Ø8.4', 'slot 9 × 14', 'opening 40 × 22'; alike for all that are made alike."""

    def lie_words(self, turned_deg: float, degrees: Callable[[float], str]) -> str:
        """What a drawing adds to the size of a hole whose panel is turned: which way it runs, or where its form is."""

    def told(self, turned_deg: float) -> Told:
        """What a report says of it when its panel is turned; 'shape', 'diameter_mm', 'length_mm', 'direction_deg'."""


@dataclass(frozen=True, slots=True)
class RoundHole:
    """A full round."""

    kind: ClassVar[str] = "round"
    length_mm: ClassVar[None] = None
    direction_deg: ClassVar[None] = None
    slot_mm: ClassVar[None] = None
    scribed: ClassVar[tuple[Edge, ...]] = ()
    keys: ClassVar[str] = ""
    by_hand: ClassVar[str] = ""

    centre: Point
    width_mm: float

    @property
    def cut(self) -> Circle:
        return Circle(self.centre, self.width_mm / 2)

    @property
    def core(self) -> Point:
        return self.centre

    @property
    def bore_mm(self) -> float:
        return self.width_mm

    @property
    def ends(self) -> tuple[Point, ...]:
        return (self.centre,)

    @property
    def pads(self) -> tuple[Point, ...]:
        return (self.centre,)

    def along_bend_mm(self, along_mm: float, across_mm: float) -> float:
        return 0.0

    def with_width(self, width_mm: float) -> RoundHole:
        return replace(self, width_mm=width_mm)

    def slotted(self, length_mm: float, direction_deg: float) -> Slot:
        return Slot(self.centre, self.width_mm, length_mm, direction_deg)

    def play(self, across_mm: float) -> Play:
        return Play(across_mm)

    def size_words(self, by: Lettering) -> str:
        return f"{by.diameter}{by.number(self.width_mm)}{by.unit}"

    def lie_words(self, turned_deg: float, degrees: Callable[[float], str]) -> str:
        return ""

    def told(self, turned_deg: float) -> Told:
        return {"shape": self.kind, "diameter_mm": self.width_mm, "length_mm": None, "direction_deg": None}


@dataclass(frozen=True, slots=True)
class Slot:
    """Straight, with round ends; longer over all than wide."""

    kind: ClassVar[str] = "slot"
    bore_mm: ClassVar[None] = None
    scribed: ClassVar[tuple[Edge, ...]] = ()
    by_hand: ClassVar[str] = "drill both ends, saw and file between them"

    centre: Point
    width_mm: float
    length_mm: float
    direction_deg: float

    @property
    def cut(self) -> Contour:
        return slot_contour(self.centre, self.length_mm, self.width_mm, self.direction_deg)

    @property
    def core(self) -> Line:
        return Line(*self.ends)

    @property
    def slot_mm(self) -> float:
        return self.width_mm

    @property
    def ends(self) -> tuple[Point, Point]:
        way, half = self._way, self._half_mm
        return self.centre.plus(way, -half), self.centre.plus(way, half)

    @property
    def pads(self) -> tuple[Point, ...]:
        return self.ends

    @property
    def keys(self) -> str:
        return f'slot = {{ length = "{self.length_mm:g} mm", direction = "{self.direction_deg:g} deg" }}'

    @property
    def _way(self) -> Point:
        return Placement.turned(self.direction_deg).direction(Point(1.0, 0.0))

    @property
    def _half_mm(self) -> float:
        return (self.length_mm - self.width_mm) / 2

    def along_bend_mm(self, along_mm: float, across_mm: float) -> float:
        # What points at the bend is pulled like a round hole.
        return 0.0 if across_mm > along_mm else along_mm

    def with_width(self, width_mm: float) -> Slot:
        return replace(self, width_mm=width_mm, length_mm=self.length_mm + width_mm - self.width_mm)

    def slotted(self, length_mm: float, direction_deg: float) -> Slot:
        return replace(self, length_mm=length_mm)

    def play(self, across_mm: float) -> Play:
        return Play(across_mm, self._half_mm, self._way)

    def size_words(self, by: Lettering) -> str:
        return f"slot {by.number(self.width_mm)} {by.times} {by.number(self.length_mm)}{by.unit}"

    def lie_words(self, turned_deg: float, degrees: Callable[[float], str]) -> str:
        return f" along {degrees(round(self.direction_deg + turned_deg, 6) % 180.0)}°"

    def told(self, turned_deg: float) -> Told:
        direction = 90.0 - (90.0 - (self.direction_deg + turned_deg)) % 180.0
        sizes = {"diameter_mm": self.width_mm, "length_mm": self.length_mm}
        return {"shape": self.kind, **sizes, "direction_deg": direction}


@dataclass(frozen=True, slots=True)
class Opening:
    """Any other closed form, made by its outline."""

    kind: ClassVar[str] = "outline"
    core: ClassVar[None] = None
    width_mm: ClassVar[None] = None
    length_mm: ClassVar[None] = None
    direction_deg: ClassVar[None] = None
    bore_mm: ClassVar[None] = None
    slot_mm: ClassVar[None] = None
    ends: ClassVar[tuple[Point, ...]] = ()
    scribed: ClassVar[tuple[Edge, ...]] = ()
    pads: ClassVar[tuple[Point, ...]] = ()
    keys: ClassVar[str] = ""
    by_hand: ClassVar[str] = "chain-drill with 3 mm just inside the line, saw and file to the line"

    cut: Contour

    @property
    def centre(self) -> Point:
        x0, y0, x1, y1 = self.cut.bounds()
        return midpoint(Point(x0, y0), Point(x1, y1))

    def along_bend_mm(self, along_mm: float, across_mm: float) -> float:
        return along_mm

    def with_width(self, width_mm: float) -> None:
        return None

    def slotted(self, length_mm: float, direction_deg: float) -> None:
        return None

    def play(self, across_mm: float) -> Play:
        return Play(across_mm)

    def size_words(self, by: Lettering) -> str:
        x0, y0, x1, y1 = self.cut.bounds()
        return f"{by.opening}{by.number(x1 - x0)} {by.times} {by.number(y1 - y0)}{by.unit}"

    def lie_words(self, turned_deg: float, degrees: Callable[[float], str]) -> str:
        return ", shape by the cut file"

    def told(self, turned_deg: float) -> Told:
        return {"shape": self.kind, "diameter_mm": None, "length_mm": None, "direction_deg": None}


def shape_of(cut: Cut) -> HoleShape:
    """The shape of an opening that was described by its edge: a round, or any other form."""
    return RoundHole(cut.centre, 2 * cut.radius) if isinstance(cut, Circle) else Opening(cut.anticlockwise())
