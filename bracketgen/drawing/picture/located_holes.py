"""The sheet of the located holes: plan of each face, the whole site, places in figures, doubts in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

import numpy as np

from bracketgen.drawing.columns import PrintedTable, entry, first_line, grid, paragraph, pour, table_bands
from bracketgen.drawing.marks.callouts import Callout, Leader, Target, place_callout
from bracketgen.drawing.marks.dimensions import bar_length_mm
from bracketgen.drawing.marks.flat_lines import PaperMap, fitted_map
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.lettering import Weight, one_line, shortened, text_width_mm
from bracketgen.drawing.picture.head_and_foot import INNER, band, framed
from bracketgen.drawing.sheet import (
    DESCRIBED_FACE,
    FAIL,
    FAINT,
    HAIR,
    INK,
    PAPER,
    WHITE,
    Align,
    Colour,
    Fill,
    Label,
    LineType,
    Mark,
    Sheet,
    Stroke,
    arrow,
    belt,
    border,
    box_of,
    closed,
    cross,
    disc_points,
    padded,
)
from bracketgen.drawing.solid.visible import Viewpoint
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point, midpoint
from bracketgen.geometry.space import Vector, dot, minus, plus
from bracketgen.units import plain
from bracketgen.vehicle.locate.locate import Located, LocatedHole, Residual, error_ellipsoid, is_loose

# -- how well a reading agrees with the others: colour, dash and width, so that each shows without the others

#: A residual beyond this many of its own standard deviations deserves a look (5 % of good readings do).
_LOOK = 1.96


class Grade(Enum):
    """Teal, amber and dark magenta differ in lightness too; grey is for what nothing checks."""

    AGREES = LineType(0.35, (), (0, 104, 110), "agrees")
    LOOK = LineType(0.6, (4.0, 1.2), (196, 124, 0), "off by more than 2 of its own")
    WRONG = LineType(1.1, (1.6, 1.0), (134, 0, 84), "looks wrong")
    UNCHECKED = LineType(0.35, (0.6, 1.1), (120, 120, 116), "nothing checks it")


def grade_of(located: Located, reading: int) -> Grade:
    """The grade of one reading."""
    if reading == located.suspect or reading in located.suspect_alike:
        return Grade.WRONG
    w = located.residuals[reading].w
    if w is None:
        return Grade.UNCHECKED
    return Grade.LOOK if abs(w) > _LOOK else Grade.AGREES


# -- the plans

#: Two unknowns: the 95 % ellipse is this many times that of one standard deviation (chi-square with two degrees of
#: freedom has the closed form 1 - exp(-x / 2)).
_TO_95: Final = math.sqrt(-2.0 * math.log(0.05))
#: Where the site is seen from when all of it is shown: to the right of -y and above.
_WHOLE: Final = Viewpoint.at(-32.0, 28.0)


@dataclass(frozen=True, slots=True)
class DrawnHole:
    """A hole in the plane, mm: its name there, radius, and one-sigma-to-95 % half axes of its ellipse."""

    id: str
    label: str
    at: Point
    radius: float
    long_axis: Point
    short_axis: Point
    loose: bool


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A reading drawn as a line between two places of the plane, mm; `numbered` where it stands out."""

    reading: int
    start: Point
    end: Point
    grade: Grade
    numbered: bool


@dataclass(frozen=True, slots=True)
class HolePlan:
    """What one panel of the picture shows; `sides` are faces as chains of points, `pointers` their normals."""

    title: str
    drawn: tuple[DrawnHole, ...]
    lines: tuple[ReadingLine, ...]
    sides: tuple[tuple[Point, ...], ...] = ()
    pointers: tuple[tuple[Point, Point, str], ...] = ()

    def points(self) -> list[Point]:
        """Every place that has to find room, without ellipses."""
        ends = [p for line in self.lines for p in (line.start, line.end)]
        tips = [p for a, b, _ in self.pointers for p in (a, b)]
        return [s.at for s in self.drawn] + ends + tips


def face_plan(located: Located, face: str) -> HolePlan:
    """One face seen from outside, its x to the right, with the readings between its own holes."""
    frame = located.faces[face]
    view = Viewpoint(frame.x, frame.y, frame.z)
    lines = [r for r in _reading_lines(located, view) if _within(located.residuals[r.reading], face)]
    drawn = [_drawn_hole(located, h, view, h.id.split(".", 1)[1]) for h in located.holes if h.face == face]
    return HolePlan(f"face {face}, seen from outside", tuple(drawn), tuple(lines))


def whole_plan(located: Located) -> HolePlan:
    """All faces seen from one side, with the readings from face to face."""
    lines = [
        r
        for r in _reading_lines(located, _WHOLE)
        if not any(_within(located.residuals[r.reading], f) for f in located.faces)
    ]
    drawn = [_drawn_hole(located, h, _WHOLE, h.id) for h in located.holes]
    size = max(1.0, float(np.ptp([h.centre for h in located.holes], axis=0).max()))
    sides, pointers = [], []
    for face, frame in located.faces.items():
        on = [h.centre for h in located.holes if h.face == face]
        sides.append(belt(map(_WHOLE.flat, on)))
        x, y, z = np.mean(on, axis=0).tolist()
        tip = plus((x, y, z), frame.z, 0.16 * size)
        pointers.append((_WHOLE.flat((x, y, z)), _WHOLE.flat(tip), face))
    title = "all faces, seen from the right of -y and above"
    return HolePlan(title, tuple(drawn), tuple(lines), tuple(sides), tuple(pointers))


def _drawn_hole(located: Located, hole: LocatedHole, view: Viewpoint, label: str) -> DrawnHole:
    look = np.array([view.right, view.up])
    sizes, ways = np.linalg.eigh(look @ located.covariance_of(hole.id) @ look.T)
    axes = np.sqrt(np.maximum(sizes, 0.0)) * _TO_95
    short, long = (Point(float(ways[0, k] * axes[k]), float(ways[1, k] * axes[k])) for k in (0, 1))
    radius = (hole.diameter_mm or 0.0) / 2.0
    return DrawnHole(hole.id, label, view.flat(hole.centre), radius, long, short, is_loose(located, hole.id))


def _within(reading: Residual, face: str) -> bool:
    """Whether a reading joins holes of one face only."""
    return all(end.startswith(f"{face}.") for end in reading.ends)


def _reading_lines(located: Located, view: Viewpoint) -> list[ReadingLine]:
    lines = []
    for reading in located.residuals:
        ends = _ends(located, reading)
        if ends is not None:
            grade = grade_of(located, reading.reading)
            # One wrong reading pulls others along: then only it is named.
            stands_out = grade is Grade.WRONG or (grade is Grade.LOOK and located.suspect is None)
            lines.append(ReadingLine(reading.reading, view.flat(ends[0]), view.flat(ends[1]), grade, stands_out))
    return lines


def _ends(located: Located, reading: Residual) -> tuple[Vector, Vector] | None:
    """Between which places a reading is drawn; a tilt between faces has none."""
    match reading.kind:
        case "distance" | "level":
            return located.hole(reading.ends[0]).centre, located.hole(reading.ends[1]).centre
        case "square":
            hole, a, b = (located.hole(name).centre for name in reading.ends)
            along = minus(b, a)
            return hole, plus(a, along, dot(minus(hole, a), along) / dot(along, along))
        case "step":
            frame, hole = located.faces[reading.ends[1]], located.hole(reading.ends[0]).centre
            return hole, plus(hole, frame.z, -dot(minus(hole, frame.origin), frame.z))
        case _:
            return None


# -- the page


_COLUMN_MM: Final = 92.0
_GAP_MM: Final = 4.0
_TITLE_MM: Final = 6.4
_TEXT_MM: Final = 3.1
_SMALL_MM: Final = 2.8
_LEGEND_MM: Final = 7.0
#: More panels than this would be too small to read.
_MOST_PANELS: Final = 6
#: How large the largest ellipse may become, mm of paper, half its length.
_ELLIPSE_MM: Final = 9.0
_STEPS: Final = (1.0, 2.0, 5.0)
_MOST_HOLES: Final = 20


def locate_view(located: Located, title: str) -> Sheet:
    """One page that shows where the holes are and how sure that is."""
    x0, y0, x1, y1 = INNER
    marks, top = _head(located, title, (x0, y0, x1, y1))
    column = x1 - _COLUMN_MM
    plans = _plans(located)
    boxes = _boxes(len(plans), (x0, y0 + _LEGEND_MM, column - _GAP_MM, top - 2.0))
    magnified = magnification(plans, boxes)
    for plan, box in zip(plans, boxes, strict=True):
        marks += panel(plan, box, magnified)
    marks += _legend(located, magnified, Point(x0, y0 + 1.6))
    marks += _figures(located, (column, y0, x1, top - 2.0))
    return framed(marks)


def magnification(plans: Sequence[HolePlan], boxes: Sequence[Box]) -> float:
    """How many times too large ellipses are drawn: 0.5, 1, 2, 5, 10 ... so that the largest stays within bounds."""
    reach = [
        s.long_axis.length() * map_of(plan, box).scale
        for plan, box in zip(plans, boxes, strict=True)
        for s in plan.drawn
        if not s.loose
    ]
    most = max([0.01, *reach])
    room = _ELLIPSE_MM / most
    decade = 10.0 ** math.floor(math.log10(room))
    return max(s * decade for s in _STEPS if s * decade <= room)


def _plans(located: Located) -> list[HolePlan]:
    faces = [face_plan(located, face) for face in located.faces]
    several = len(faces) > 1
    # A face with one hole has no plan worth a panel; it shows in the whole.
    worth = [plan for plan in faces if len(plan.drawn) > 1 or not several]
    return [*([whole_plan(located)] if several else []), *worth][:_MOST_PANELS]


def _boxes(count: int, area: Box) -> list[Box]:
    """Panels: the first on the left, larger; the others stacked beside it, or in rows below."""
    x0, y0, x1, y1 = area
    if count == 1:
        return [area]
    split = y0 + (0.45 if count == 2 else 0.46) * (y1 - y0)
    upper, lower = (x0, split + _GAP_MM / 2, x1, y1), (x0, y0, x1, split - _GAP_MM / 2)
    below = min(3, count - 1)
    return [*grid(upper, max(1, count - below), 1, _GAP_MM), *grid(lower, below, 1, _GAP_MM)]


def _head(located: Located, title: str, box: Box) -> tuple[list[Mark], float]:
    """Title, and a band across the sheet while something is not settled; and the y below."""
    x0, _, x1, y = box
    y -= _TITLE_MM
    text = shortened(one_line(title), x1 - x0 - 60.0, _TITLE_MM, Weight.BOLD)
    marks: list[Mark] = [Label(text, Point(x0, y), _TITLE_MM, INK, Weight.BOLD, shows="title")]
    marks.append(Label("old holes, from readings", Point(x1, y), _TEXT_MM + 0.6, FAINT, align=Align.RIGHT))
    y -= 2.4
    marks.append(Stroke((Point(x0, y), Point(x1, y)), 0.5))
    open_ = _open_matters(located)
    if open_:
        banner, y = band(f"NOT SETTLED: {', '.join(open_)}", FAIL, WHITE, (*box[:3], y - 1.0))
        return marks + banner, y + 1.2
    return marks, y


def _open_matters(located: Located) -> list[str]:
    said = []
    if located.suspect is not None:
        said.append(f"reading {located.suspect + 1} looks wrong")
    elif located.widened > 1.0:
        said.append("the readings disagree")
    if located.loose:
        said.append("something is loose")
    if located.mirror:
        said.append("a mirror image fits as well")
    return said


def _legend(located: Located, magnified: float, at: Point) -> list[Mark]:
    """What the lines mean, for the grades that occur, and how the ellipses are drawn."""
    marks: list[Mark] = []
    x = at.x
    occur = {grade_of(located, r.reading) for r in located.residuals}
    for grade in (g for g in Grade if g in occur):
        pen = grade.value
        y = at.y + 1.0
        marks.append(pen.line((Point(x, y), Point(x + 10.0, y))))
        marks.append(Label(pen.words, Point(x + 11.5, at.y), _SMALL_MM, INK))
        x += 16.0 + text_width_mm(pen.words, _SMALL_MM)
    if all(is_loose(located, h.id) for h in located.holes[1:]):
        return marks
    times = "at the plan's scale"
    if magnified != 1.0:
        much = f"{plain(magnified, 0)} times too large"
        times = much if magnified > 1.0 else f"{plain(1.0 / magnified, 0)} times too small"
    words = f"ellipses hold a hole 95 times in 100, drawn {times}"
    right = Point(INNER[2], at.y)
    marks.append(Label(words, right, _SMALL_MM, INK, align=Align.RIGHT, shows="ellipses"))
    return marks


def _figures(located: Located, box: Box) -> list[Mark]:
    """Places of the holes, then what is doubtful and what to do, as much as there is room for."""
    width = box[2] - box[0]
    bands = table_bands(_table(located), width, (_TEXT_MM,))
    if len(located.holes) > _MOST_HOLES:
        bands.append(paragraph(f"and {len(located.holes) - _MOST_HOLES} more in the report", width, colour=FAINT))
    for word, colour, texts in _words(located):
        for n, text in enumerate(texts):
            head = [Label(word, first_line(0.0, _TEXT_MM), _TEXT_MM, colour, Weight.BOLD)] if n == 0 else []
            bands.append(entry(head, text, 17.0, width, _TEXT_MM, "figures"))
    marks, left = pour(bands, [(box[0], box[1] + _TEXT_MM, box[2], box[3])])
    return [*marks, Label("more in the printed lines", Point(box[0], box[1]), _TEXT_MM, FAINT)] if left else marks


def _table(located: Located) -> PrintedTable:
    """Where each hole is, and half the length of the ellipsoid that holds it 95 times in 100."""
    rows: list[tuple[str, ...]] = []
    for hole in located.holes[:_MOST_HOLES]:
        loose = is_loose(located, hole.id)
        off = "loose" if loose else f"{error_ellipsoid(located.covariance_of(hole.id)).axes_95_mm[0]:.1f}"
        rows.append((hole.id, *(f"{round(v, 1) + 0.0:.1f}" for v in hole.centre), off))
    heads = ("hole", "x mm", "y mm", "z mm", "95 % ±")
    return PrintedTable("", heads, (30.0, 14.0, 14.0, 14.0, 20.0), tuple(rows), "figures", right_from=1)


def _words(located: Located) -> list[tuple[str, Colour, tuple[str, ...]]]:
    low, high = located.chi_square_bounds
    agree = (
        f"variance factor {located.variance_factor:.2f}, usual {low:.2f} to {high:.2f} ({located.freedom} to spare)"
        if located.freedom > 0
        else "no reading to spare: nothing checks them"
    )
    wrong: tuple[str, ...] = ()
    if located.suspect is not None:
        reading = located.residuals[located.suspect]
        wrong = (f"reading {reading.reading + 1}: {reading.text}, {plain(reading.measured)} {reading.unit}",)
    return [
        ("agree", INK, (agree,)),
        ("wrong?", Grade.WRONG.value.colour, wrong),
        ("loose", FAIL, located.loose),
        ("mirror", FAIL, located.mirror_words),
        ("next", INK, located.advice),
    ]


# -- one panel: a plan fitted into its box, with readings, ellipses, holes and their names

_PANEL_TITLE_MM: Final = 3.6
_NAME_MM: Final = 3.4
_NOTE_MM: Final = 2.8
_MARGIN_MM: Final = 13.0
#: The smallest round that still shows a hole.
_LEAST_RADIUS_MM: Final = 1.1
_MOST_SCALE: Final = 4.0


def map_of(plan: HolePlan, box: Box) -> PaperMap:
    """The plan's map onto a panel's box."""
    x0, y0, x1, y1 = padded(box, -_MARGIN_MM)
    return fitted_map(padded(box_of(plan.points()), 1.0), (x0, y0, x1, y1 - 2.0), _MOST_SCALE)


def panel(plan: HolePlan, box: Box, magnified: float) -> list[Mark]:
    """The panel's marks; ellipses are drawn `magnified` times too large."""
    to_paper = map_of(plan, box)
    x0, y0, x1, y1 = box
    room = FreeRoom((x0 + 1.0, y0 + 6.0, x1 - 1.0, y1 - _PANEL_TITLE_MM - 3.0))
    marks: list[Mark] = [border(box, 0.25, HAIR)]
    title = shortened(plan.title, x1 - x0 - 4.0, _PANEL_TITLE_MM, Weight.BOLD)
    marks.append(Label(title, Point(x0 + 2.0, y1 - _PANEL_TITLE_MM - 1.2), _PANEL_TITLE_MM, INK, Weight.BOLD))
    for side in plan.sides:
        if len(side) > 1:
            ring = to_paper.line(side)
            marks += [Fill((ring,), DESCRIBED_FACE), Stroke(closed(ring) if len(ring) > 2 else ring, 0.25, FAINT)]
    for line in sorted(plan.lines, key=lambda r: list(Grade).index(r.grade) == 2):
        ends, pen = (to_paper.point(line.start), to_paper.point(line.end)), line.grade.value
        room.ink_line(ends)
        marks.append(pen.line(ends, f"reading {line.reading + 1}"))
    for start, end, name in plan.pointers:
        marks += _pointer(to_paper.point(start), to_paper.point(end), name, room)
    for hole in plan.drawn:
        marks += _hole(hole, to_paper, magnified, room)
    calls = [_number(line, to_paper) for line in plan.lines if line.numbered]
    for call in [*calls, *(_name(hole, to_paper) for hole in plan.drawn)]:
        marks += place_callout(room, call) or []
    return marks + _scale(to_paper.scale, Point(x0 + 3.0, y0 + 2.6))


def _pointer(start: Point, tip: Point, name: str, room: FreeRoom) -> list[Mark]:
    way = tip.minus(start)
    if way.length() < 0.5:
        return []
    room.ink_line((start, tip))
    return arrow(start, tip, 0.35, min(2.4, way.length()), shows=f"normal {name}")


def _hole(hole: DrawnHole, to_paper: PaperMap, magnified: float, room: FreeRoom) -> list[Mark]:
    at = to_paper.point(hole.at)
    radius = max(_LEAST_RADIUS_MM, hole.radius * to_paper.scale)
    room.take(padded((*at, *at), radius))
    ring = disc_points(at, radius)
    colour = FAIL if hole.loose else INK
    marks: list[Mark] = [Fill((ring,), PAPER, hole.id), Stroke(closed(ring), 0.45, colour, shows=hole.id)]
    marks += [] if hole.loose else _ellipse(hole, to_paper, magnified, room)
    return [*marks, *(Stroke(arm, 0.2, INK) for arm in cross(at, (*at, *at), 0.8))]


def _ellipse(hole: DrawnHole, to_paper: PaperMap, magnified: float, room: FreeRoom) -> list[Mark]:
    grown = to_paper.scale * magnified
    if hole.long_axis.length() * grown < 0.3:
        return []
    at = to_paper.point(hole.at)
    ring = []
    for n in range(48):
        a = 2.0 * math.pi * n / 48
        ring.append(at.plus(hole.long_axis, grown * math.cos(a)).plus(hole.short_axis, grown * math.sin(a)))
    room.ink_line(closed(ring))
    return [Stroke(closed(ring), 0.4, (60, 74, 130), shows=f"ellipse {hole.id}")]


def _number(line: ReadingLine, to_paper: PaperMap) -> Callout:
    """The number of a reading that stands out, beside its line."""
    middle = midpoint(to_paper.point(line.start), to_paper.point(line.end))
    shows = f"reading {line.reading + 1}"
    text = shows + ("?" if line.grade is Grade.WRONG else "")
    colour = line.grade.value.colour
    return Callout(text, (Target(middle),), _NAME_MM, shows, colour, leader=Leader.WHEN_APART, away_mm=1.0)


def _name(hole: DrawnHole, to_paper: PaperMap) -> Callout:
    radius = max(_LEAST_RADIUS_MM, hole.radius * to_paper.scale)
    text, colour = (f"{hole.label}: loose", FAIL) if hole.loose else (hole.label, INK)
    target = Target(to_paper.point(hole.at), radius)
    return Callout(text, (target,), _NAME_MM, hole.id, colour, leader=Leader.WHEN_APART, away_mm=radius)


def _scale(scale: float, at: Point) -> list[Mark]:
    length = bar_length_mm(scale)
    end = at.plus(Point(length * scale, 0.0))
    ticks = [Stroke((p.plus(Point(0.0, -0.8)), p.plus(Point(0.0, 0.8))), 0.3, FAINT) for p in (at, end)]
    words = Label(f"{plain(length)} mm", end.plus(Point(1.5, -1.0)), _NOTE_MM, FAINT, align=Align.LEFT)
    return [Stroke((at, end), 0.3, FAINT), *ticks, words]
