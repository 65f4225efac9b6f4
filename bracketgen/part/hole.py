"""The shapes that a hole can have, each kind in one place; and what every kind answers.

Whoever needs something of a hole's shape asks for it and never looks which kind it is. All places lie in the hole's own
panel, mm; what is laid or turned with the panel is moved by the one who asks, or takes the panel's turn as an argument.
A new kind is one more class, here or in a file of its own in this room, and its words in a description.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import ClassVar, Protocol

from bracketgen.geometry.contour import Circle, Contour, Cut, Edge, slot_contour
from bracketgen.geometry.edge import Line
from bracketgen.geometry.gap import Locus
from bracketgen.geometry.plane import Placement, Point, midpoint

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
        # The far end first: arms between pads at equal distances are laid in this order.
        return self.ends[::-1]

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


# -- a rubber isolator between the part and what it is bolted to


class IsolatorKind(StrEnum):
    """How the rubber sits; the value stands on lists."""

    BUSH = "rubber bush"
    BOBBIN = "rubber bobbin"
    PAD = "rubber pad"


@dataclass(frozen=True, slots=True)
class Isolator:
    """An isolator at a hole, as the person states it; lengths in mm, None where the kind has none.

    `height_mm` is over all for a bush, between the plates of a bobbin, the thickness of a pad. `hole_mm` is the hole
    that it needs in the part. `sleeve_mm` is the length of the steel sleeve that the bolt is pulled tight on.
    `stud_mm` is the bobbin's own stud through the part, `depth_mm` the depth of its thread where it has none.
    `torque_nm` is its maker's figure.
    """

    kind: IsolatorKind
    height_mm: float
    hole_mm: float | None = None
    sleeve_mm: float | None = None
    stud_mm: float | None = None
    depth_mm: float | None = None
    torque_nm: float | None = None

    @property
    def is_squeezed(self) -> bool:
        """Whether rubber lies in the bolt's grip: no sleeve takes the pull past it."""
        return self.kind is not IsolatorKind.BOBBIN and self.sleeve_mm is None

    def stand_mm(self, thickness_mm: float) -> float:
        """How far it holds a part of that thickness off its mate, free: half of what a bush is longer than the part."""
        if self.kind is IsolatorKind.BUSH:
            return max(0.0, (self.height_mm - thickness_mm) / 2)
        return self.height_mm

    def grip_mm(self, thickness_mm: float) -> float:
        """What the part and the isolator together take of the bolt's grip, for a part of that thickness."""
        if self.sleeve_mm is not None:
            return self.sleeve_mm
        match self.kind:
            case IsolatorKind.BUSH:
                return self.height_mm
            case IsolatorKind.PAD:
                return thickness_mm + self.height_mm
            case IsolatorKind.BOBBIN:
                return thickness_mm


# -- a hole, slot or opening in a panel


class Purpose(StrEnum):
    """What the hole is for; it decides the rules that apply."""

    CLEARANCE = "clearance"
    TAPPED = "tapped"
    RIVET_NUT = "rivet nut"
    DOWEL = "dowel"
    PLAIN = "plain"
    OPENING = "opening"


class Nut(StrEnum):
    """What holds the thread at a clearance hole: a loose nut behind the mate, or one welded to the part."""

    LOOSE = "loose"
    WELDED = "welded"


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole in its panel's frame, mm.

    `shape` is the finished form and place. `pilot` is set where the process can't cut the finished hole well (tapped
    and dowel holes by a thermal process): then the cut file holds the pilot, and the hole is drilled to size.
    `fastener` is the bolt size it is for, such as 'M8'. `isolator` is the rubber at it.
    """

    id: str
    shape: HoleShape
    purpose: Purpose
    fastener: str | None = None
    pilot: Circle | None = None
    isolator: Isolator | None = None
    nut: Nut = Nut.LOOSE

    @property
    def centre(self) -> Point:
        """Its middle."""
        return self.shape.centre

    @property
    def cut(self) -> Cut:
        """The finished edge."""
        return self.shape.cut

    @property
    def in_file(self) -> Cut:
        """What the cut file holds."""
        return self.pilot or self.shape.cut

    @property
    def bore_in_file_mm(self) -> float | None:
        """The diameter that the cut file holds; None where it holds no round."""
        return self.shape.bore_mm if self.pilot is None else 2 * self.pilot.radius
