"""What stands near the part: things as meshes, pipes in one piece; and gaps in words and colours."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import pairwise
from typing import Final

from bracketgen.drawing.columns import Band, entry, first_line, half_width_mm, two_columns
from bracketgen.drawing.marks.lettering import Weight, one_line, text_width_mm
from bracketgen.drawing.picture.head_and_foot import TEXT_MM, nothing
from bracketgen.drawing.sheet import FAIL, PAPER, Colour, Label, mixed
from bracketgen.drawing.solid.facets import Facet, Ink, mesh_facets
from bracketgen.drawing.solid.mesh import Mesh
from bracketgen.drawing.solid.solid_mesh import frame_along, solid_mesh, walls
from bracketgen.geometry.space import Vector, degrees_between, dot, minus, plus, unit
from bracketgen.units import plain
from bracketgen.vehicle.near.solids import Capsule, Gap3, Solid, Wall

#: So many gaps are marked in a view, and so many when they are all clear; the list holds them all.
MOST_MARKED: Final = 6
MOST_CLEAR: Final = 4


class Severity(StrEnum):
    """Whether a gap is as large as it must be."""

    FAIL = "fail"
    WARN = "warn"
    CLEAR = "clear"


#: Told apart also by readers who see no red or no green: they differ along blue to yellow and in lightness.
SEVERITY_COLOUR: Final[dict[Severity, Colour]] = {
    Severity.FAIL: FAIL,
    Severity.WARN: (184, 116, 0),
    Severity.CLEAR: (0, 92, 122),
}
#: Width and dash of a gap's arrow, mm.
SEVERITY_LINE: Final[dict[Severity, tuple[float, tuple[float, ...]]]] = {
    Severity.FAIL: (0.9, ()),
    Severity.WARN: (0.7, (1.6, 0.8)),
    Severity.CLEAR: (0.45, ()),
}


@dataclass(frozen=True, slots=True)
class GapMark:
    """The gap between two named things: how wide it is and where, how wide it must be (None: not known)."""

    a: str
    b: str
    gap: Gap3
    required_mm: float | None
    severity: Severity

    @property
    def margin_mm(self) -> float | None:
        """What the gap has over the required one; below 0 it lacks as much."""
        return None if self.required_mm is None else self.gap.mm - self.required_mm


def worst_first(gaps: tuple[GapMark, ...]) -> list[GapMark]:
    """Failing gaps first, then warnings, then clear ones, at last those that need nothing; the least margin first."""
    rank = {Severity.FAIL: 0, Severity.WARN: 1, Severity.CLEAR: 2}

    def weight(g: GapMark) -> tuple[int, float]:
        idle = g.severity is Severity.CLEAR and not g.required_mm
        return 3 if idle else rank[g.severity], g.gap.mm if g.margin_mm is None else g.margin_mm

    return sorted(gaps, key=weight)


def marked(gaps: Sequence[GapMark]) -> list[tuple[int, GapMark]]:
    """The gaps that a view marks, with their numbers: those that object, and of the clear ones the tightest.

    Clear gaps that need nothing are those of things that touch.
    """
    objecting = [(n, g) for n, g in enumerate(gaps, 1) if g.severity is not Severity.CLEAR]
    clear = [(n, g) for n, g in enumerate(gaps, 1) if g.severity is Severity.CLEAR and g.required_mm]
    return objecting[:MOST_MARKED] + clear[: max(0, MOST_CLEAR - len(objecting))]


def severity_word(mark: GapMark) -> str:
    """Such as 'TOO NEAR'."""
    if mark.gap.mm <= 0.0:
        return "THEY MEET" if mark.severity is Severity.FAIL else "touch"
    words = {Severity.FAIL: "TOO NEAR", Severity.WARN: "JUST", Severity.CLEAR: "clear"}
    return "NOT KNOWN" if mark.required_mm is None and mark.severity is Severity.FAIL else words[mark.severity]


def short_words(number: int, mark: GapMark) -> str:
    """What stands at a gap's arrow, such as '1  6.2 of 25 mm TOO NEAR'."""
    wanted = "?" if mark.required_mm is None else plain(mark.required_mm, 1)
    return f"{number}  {plain(max(0.0, mark.gap.mm), 1)} of {wanted} mm {severity_word(mark)}"


def whole_words(mark: GapMark) -> str:
    """A gap in a sentence."""
    pair = f"{one_line(mark.a)} to {one_line(mark.b)}"
    if mark.gap.mm <= 0.0:
        told = "they meet" if mark.gap.mm > -0.05 else f"{plain(-mark.gap.mm, 1)} mm into each other"
    else:
        told = f"{plain(mark.gap.mm, 1)} mm"
    if mark.required_mm is None or mark.margin_mm is None:
        return f"{pair}: {told}; how much is needed is not known."
    need = f"{pair}: {told}, needs {plain(mark.required_mm, 1)} mm"
    return f"{need} ({plain(abs(mark.margin_mm), 1)} {'short' if mark.margin_mm < 0.0 else 'to spare'})."


def gap_list(marks: Sequence[GapMark], width_mm: float, most_mm: float) -> Band:
    """The gaps in two columns, numbered as on the views; what does not fit is counted in a last line.

    Gaps that object may take twice as much room as clear ones.
    """
    if not marks:
        return nothing("No gaps were asked for.")
    heads = [f"{i}  {severity_word(m)}" for i, m in enumerate(marks, 1)]
    indent = max(text_width_mm(h, TEXT_MM, Weight.BOLD) for h in heads) + 2.0
    bands: list[Band] = []
    for number, (head, mark) in enumerate(zip(heads, marks, strict=True), 1):
        colour, shows = SEVERITY_COLOUR[mark.severity], f"gap {number}"
        word = Label(head, first_line(0.0, TEXT_MM), TEXT_MM, colour, Weight.BOLD, shows=shows)
        bands.append(entry([word], whole_words(mark), indent, half_width_mm(width_mm), TEXT_MM, shows))
    most = [most_mm * (1.0 if m.severity is Severity.CLEAR else 2.0) for m in marks]
    return two_columns(bands, width_mm, most, TEXT_MM)[0]


# -- the things beside the part


#: Colours of things by what they are; each thing has its name beside it, so that none has to be told by colour.
MATTER_COLOUR: Final[dict[str, Colour]] = {
    "metal": (206, 198, 184),
    "air": (190, 204, 206),
    "fuel": (222, 204, 150),
    "oil": (196, 184, 140),
    "brake": (214, 178, 166),
    "coolant": (176, 204, 190),
    "exhaust": (206, 160, 134),
    "wire": (188, 182, 202),
    "live": (224, 176, 176),
    "rubber": (146, 142, 138),
    "plastic": (214, 214, 206),
    "moving": (186, 196, 178),
}
BOLT_COLOUR: Final[Colour] = (170, 166, 150)
#: Sides of a pipe in the picture, and the turn of its middle line (degrees) that is worth a corner of its own.
_PIPE_SIDES: Final = 20
_WORTH_A_CORNER_DEG: Final = 7.0
#: Beyond this turn two runs of a pipe are drawn apart.
_MOST_MITRE_DEG: Final = 100.0
_SAME_MM: Final = 1e-3
#: Runs whose radii differ by less belong to one pipe: in its bends short straight runs are taken a little thicker.
_SAME_PIPE_MM: Final = 0.5
#: Walls fill much of a picture: they are drawn pale, this much nearer to the paper's colour.
_WALL_PALE: Final = 0.6
_THIN: Final = Ink(0.25)


class Relation(StrEnum):
    """What a thing has to do with the part; an envelope is the room that a moving thing takes."""

    NEIGHBOUR = "neighbour"
    CARRIED = "carried"
    BOLT = "bolt"
    ENVELOPE = "envelope"


@dataclass(frozen=True, slots=True)
class Thing:
    """A thing beside the part: its name, what it is (a word of the site file), its solids in the site's frame."""

    name: str
    matter: str
    solids: tuple[Solid, ...]
    relation: Relation = Relation.NEIGHBOUR

    @property
    def colour(self) -> Colour:
        """The colour it is drawn in."""
        return BOLT_COLOUR if self.relation is Relation.BOLT else MATTER_COLOUR.get(self.matter, MATTER_COLOUR["metal"])

    @property
    def label(self) -> str:
        """Its name with what it is, where the name doesn't say that."""
        silent = self.matter == "metal" or self.matter in self.name
        return self.name if silent or self.relation is Relation.BOLT else f"{self.name} ({self.matter})"


@dataclass(frozen=True)
class Body:
    """One thing with its closed meshes."""

    thing: Thing
    meshes: tuple[Mesh, ...]

    @property
    def endless(self) -> bool:
        """Whether it is a wall, which has no outline."""
        return all(isinstance(s, Wall) for s in self.thing.solids)

    @cached_property
    def facets(self) -> list[Facet]:
        """Its surfaces, edges in a thin line."""
        return [f for m in self.meshes for f in mesh_facets(m, _THIN)]


def body_of(thing: Thing, centre: Vector, reach_mm: float, chord_mm: float) -> Body:
    """The thing's meshes; walls reach `reach_mm` to every side of the point of theirs nearest to `centre`."""
    meshes = [_tube(points, radius, thing) for points, radius in _runs(thing.solids)]
    for solid in thing.solids:
        if not (isinstance(solid, Capsule) and math.dist(solid.a, solid.b) > _SAME_MM):
            colour = thing.colour
            if isinstance(solid, Wall):
                above = dot(minus(centre, solid.point), solid.normal)
                solid = Wall(plus(centre, solid.normal, -above), solid.normal)
                colour = mixed(colour, PAPER, _WALL_PALE)
            meshes.append(solid_mesh(solid, thing.name, colour, chord_mm=chord_mm, patch_mm=reach_mm))
    return Body(thing, tuple(meshes))


def _runs(solids: Sequence[Solid]) -> list[tuple[list[Vector], float]]:
    """Stretches of pipe that follow each other, as one chain of points."""
    chains: list[tuple[list[Vector], float]] = []
    for s in solids:
        if not isinstance(s, Capsule) or math.dist(s.a, s.b) <= _SAME_MM:
            continue
        points, radius = chains[-1] if chains else ([s.b, s.b], 0.0)
        goes_on = abs(radius - s.radius) <= _SAME_PIPE_MM and math.dist(points[-1], s.a) <= _SAME_MM
        if goes_on and _turn_deg(points[-2], points[-1], s.b) <= _MOST_MITRE_DEG:
            points.append(s.b)
        else:
            chains.append(([s.a, s.b], s.radius))
    return [(_thinned(points), radius) for points, radius in chains]


def _turn_deg(a: Vector, b: Vector, c: Vector) -> float:
    return degrees_between(minus(b, a), minus(c, b))


def _thinned(points: Sequence[Vector]) -> list[Vector]:
    """The chain without corners that hardly turn it; the ends of straight runs stay."""
    kept = [points[0]]
    turned = 0.0
    for i in range(1, len(points) - 1):
        turned += _turn_deg(points[i - 1], points[i], points[i + 1])
        if turned >= _WORTH_A_CORNER_DEG:
            kept.append(points[i])
            turned = 0.0
    return [*kept, points[-1]]


def _tube(points: Sequence[Vector], radius: float, thing: Thing) -> Mesh:
    """A pipe with flat ends, mitred at its corners."""
    n = _PIPE_SIDES
    ways = [unit(minus(b, a)) for a, b in pairwise(points)]
    frame = frame_along(points[0], ways[0])
    turns = [2.0 * math.pi * i / n for i in range(n)]
    ring = [frame.point((radius * math.cos(a), radius * math.sin(a), 0.0)) for a in turns]
    rings = [ring]
    for i, way in enumerate(ways):
        nxt = ways[i + 1] if i + 1 < len(ways) else way
        # Where the lines along the run meet the mitre's plane.
        on, mitre = points[i + 1], plus(way, nxt)
        rings.append([plus(p, way, dot(minus(on, p), mitre) / dot(way, mitre)) for p in rings[-1]])
    corners = [p for r in rings for p in r] + [points[0], points[-1]]
    last = n * (len(rings) - 1)
    faces = [t for i, k in pairwise((*range(n), 0)) for t in ((last + n, k, i), (last + n + 1, last + i, last + k))]
    for r in range(0, last, n):
        faces += walls(range(r, r + n), n)
    return Mesh(thing.name, thing.colour, tuple(corners), tuple(faces))
