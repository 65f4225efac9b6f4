"""What a bracket is: stock, panels, the bends that join them, the welds along their edges."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Hole
from bracketgen.standards.machines import Process
from bracketgen.standards.metals import Metal


@dataclass(frozen=True, slots=True)
class Stock:
    """Metal with its temper, thickness, how it is cut, which way it was rolled, what is put on it.

    `grain_deg` is the rolling direction in the first panel's frame (anticlockwise from +x); None = unknown.
    `coating_mm` is the film on one face; `sheet_mm` is the largest sheet or plate to be had.
    """

    metal: Metal
    thickness_mm: float
    thickness_typed: str
    process: Process
    grain_deg: float | None
    coating: str
    coating_mm: float
    sheet_mm: tuple[float, float]


class Way(StrEnum):
    """Up turns the child toward the described face, down away from it."""

    UP = "up"
    DOWN = "down"


@dataclass(frozen=True, slots=True)
class Bend:
    """A straight bend between a parent panel and its child, the child being farther from the first panel.

    `parent_line` lies on the parent's tangent line in the parent's frame, `child_line` on the child's tangent
    line in the child's frame; both have the bend's width, run the same way, and have the child on their left.
    `turn_deg` is counted from flat (0 to 135]. `minimum_leg_mm` is what the tooling can hold, measured over
    the outside of the bend, `die_mm` the V opening of its die; None when no tooling is declared.
    """

    id: str
    parent: str
    child: str
    parent_line: Line
    child_line: Line
    turn_deg: float
    way: Way
    inside_radius_mm: float
    minimum_leg_mm: float | None = None
    die_mm: float | None = None

    @property
    def width_mm(self) -> float:
        """Length of the bend line."""
        return self.parent_line.length


class WeldSide(StrEnum):
    """Which faces of the panel are welded along the edge; the value stands on lists."""

    FACE = "on the described face"
    BACK = "on the back"
    BOTH = "on both faces"


@dataclass(frozen=True, slots=True)
class Run:
    """Weld without a break: edges end to end, from the outline itself, mm.

    `length_mm` of it is welded, in its middle where that is less than all of it.
    """

    edges: tuple[Edge, ...]
    length_mm: float

    @property
    def is_closed(self) -> bool:
        """Whether it comes back to where it began: then it has no ends."""
        return self.edges[0].start == self.edges[-1].end

    @property
    def middle(self) -> Point:
        """The point half way along."""
        return self.at(0.5)

    def at(self, share: float) -> Point:
        """The point a `share` (0 to 1) of the way along what is welded."""
        whole = math.fsum(e.length for e in self.edges)
        left = (whole - self.length_mm) / 2 + share * self.length_mm
        for edge in self.edges:
            if left <= edge.length:
                return edge.at(left / edge.length)
            left -= edge.length
        return self.edges[-1].end


@dataclass(frozen=True, slots=True)
class Weld:
    """A fillet weld of one panel. `where` says along what, `to` what it is welded to ('' = not said).

    `throat_mm` is the height of the largest triangle in the weld's section, square to its face.
    """

    id: str
    where: str
    to: str
    throat_mm: float
    sides: WeldSide
    runs: tuple[Run, ...]

    @property
    def leg_mm(self) -> float:
        """Length of each leg of an equal-legged fillet: throat times the root of 2."""
        return self.throat_mm * math.sqrt(2.0)

    @property
    def side_mm(self) -> float:
        """Length on one face."""
        return math.fsum(run.length_mm for run in self.runs)

    @property
    def total_mm(self) -> float:
        """Length on all faces that are welded."""
        return self.side_mm * (2 if self.sides is WeldSide.BOTH else 1)


@dataclass(frozen=True, slots=True)
class Pad:
    """The round of metal around a hole or a group's point, mm."""

    centre: Point
    radius_mm: float


@dataclass(frozen=True, slots=True)
class Panel:
    """Flat metal up to the tangent lines of its bends, seen on its described face, mm.

    `outline` is anticlockwise; everything inside it that is not metal is in `holes`.
    """

    id: str
    outline: Contour
    holes: tuple[Hole, ...] = ()
    marks: tuple[Line, ...] = ()
    welds: tuple[Weld, ...] = ()


@dataclass(frozen=True, slots=True)
class Waiver:
    """A rule that the user sets aside for a subject, with a reason that is printed on every output."""

    rule: str
    subject: str
    reason: str


class GivenName(NamedTuple):
    """A name as the user gave it, in which place it stands, and whether it names a face or a hole of the part."""

    place: str
    name: str
    of_a_face: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """What a bracket is, whatever the metal's allowance in a bend may be.

    `panels[0]` is the first panel: its frame is the part's frame. Bends stand in order: a bend's parent is the
    first panel or the child of an earlier bend. `name` is the description's file name without its ending.
    `edge_rule` names the row of the edge distance table that the user works to. `near` lists the hazards that it
    carries or stands beside, as the description words them. `means` is what the user says it is, where its names can
    mean something else ('' = not said). `mark` is its fingerprint ('' for a part without one).
    """

    name: str
    title: str
    stock: Stock
    panels: tuple[Panel, ...]
    bends: tuple[Bend, ...]
    edge_rule: str
    least_outer_radius_mm: float
    waivers: tuple[Waiver, ...] = ()
    cautions: tuple[str, ...] = ()
    near: tuple[str, ...] = ()
    means: str = ""
    mark: str = ""

    @property
    def names(self) -> Iterator[GivenName]:
        """Every name that the description gives it: title, panels, holes, what is welded to."""
        yield GivenName("title", self.title)
        for panel in self.panels:
            yield GivenName("panel", panel.id, of_a_face=True)
            yield from (GivenName("hole", hole.id.rpartition("/")[2], of_a_face=True) for hole in panel.holes)
            yield from (GivenName("weld", weld.to) for weld in panel.welds)

    @property
    def welds(self) -> tuple[Weld, ...]:
        """The welds of all panels."""
        return tuple(weld for panel in self.panels for weld in panel.welds)

    def panel(self, panel_id: str) -> Panel:
        """The panel of that name; KeyError when there is none."""
        for panel in self.panels:
            if panel.id == panel_id:
                return panel
        raise KeyError(panel_id)
