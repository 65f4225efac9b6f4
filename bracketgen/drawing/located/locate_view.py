"""The sheet of the located holes: plan of each face, the whole site, places in figures, doubts in words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from bracketgen.drawing.located.plan import DrawnHole, Grade, HolePlan, ReadingLine, face_plan, grade_of, whole_plan
from bracketgen.drawing.marks.callouts import Callout, Leader, Target, place_callout
from bracketgen.drawing.marks.dimensions import bar_length_mm
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.lettering import LEADING, Weight, one_line, shortened, text_width_mm, wrapped
from bracketgen.drawing.marks.paper_map import PaperMap, arrow_head, closed, disc_points, fitted_map
from bracketgen.drawing.picture.head_and_foot import INNER, framed
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
    Mark,
    Sheet,
    Stroke,
    border,
)
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.units import plain
from bracketgen.vehicle.locate.locate import Located, error_ellipsoid, is_loose

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
    if count == 2:
        split = y0 + 0.45 * (y1 - y0)
        return [(x0, split + _GAP_MM / 2, x1, y1), (x0, y0, x1, split - _GAP_MM / 2)]
    split = y0 + 0.46 * (y1 - y0)
    lower = _row(count - 1 if count < 5 else 3, (x0, y0, x1, split - _GAP_MM / 2))
    if count < 5:
        return [(x0, split + _GAP_MM / 2, x1, y1), *lower]
    upper = _row(count - 3, (x0, split + _GAP_MM / 2, x1, y1))
    return [*upper, *lower]


def _row(count: int, area: Box) -> list[Box]:
    x0, y0, x1, y1 = area
    width = (x1 - x0 - (count - 1) * _GAP_MM) / count
    return [(x0 + n * (width + _GAP_MM), y0, x0 + n * (width + _GAP_MM) + width, y1) for n in range(count)]


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
        low = y - 7.4
        ring = (Point(x0, low), Point(x1, low), Point(x1, y - 1.0), Point(x0, y - 1.0))
        words = f"NOT SETTLED: {', '.join(open_)}"
        at = Point((x0 + x1) / 2, low + 1.9)
        marks.append(Fill((ring,), FAIL, "banner"))
        marks.append(Label(words, at, 4.2, WHITE, Weight.BOLD, Align.CENTRE, shows="banner"))
        y = low
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
        marks.append(Stroke((Point(x, y), Point(x + 10.0, y)), pen.width_mm, pen.colour, pen.dash_mm))
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
    x0, y0, x1, y = box
    marks, y = _table(located, x0, x1, y)
    for word, colour, texts in _words(located):
        for text in texts:
            lines = wrapped(text, x1 - x0 - 17.0, _TEXT_MM)
            if y - len(lines) * _TEXT_MM * LEADING < y0 + _TEXT_MM:
                marks.append(Label("more in the printed lines", Point(x0, y0), _TEXT_MM, FAINT))
                return marks
            marks.append(Label(word, Point(x0, y - _TEXT_MM), _TEXT_MM, colour, Weight.BOLD))
            for line in lines:
                y -= _TEXT_MM * LEADING
                marks.append(Label(line, Point(x0 + 17.0, y + _TEXT_MM * (LEADING - 1.0)), _TEXT_MM, INK))
            y -= 1.2
            word = ""
    return marks


def _table(located: Located, x0: float, x1: float, y: float) -> tuple[list[Mark], float]:
    columns = (x0 + 44.0, x0 + 58.0, x0 + 72.0, x1)
    marks: list[Mark] = []
    y -= _TEXT_MM * 1.1
    for head, right in zip(("x mm", "y mm", "z mm", "95 % ±"), columns, strict=True):
        marks.append(Label(head, Point(right, y), _TEXT_MM, FAINT, align=Align.RIGHT))
    marks.append(Label("hole", Point(x0, y), _TEXT_MM, FAINT))
    y -= 1.6
    marks.append(Stroke((Point(x0, y), Point(x1, y)), 0.25, HAIR))
    for hole in located.holes[:_MOST_HOLES]:
        y -= _TEXT_MM * LEADING
        name = shortened(hole.id, 28.0, _TEXT_MM, Weight.BOLD)
        marks.append(Label(name, Point(x0, y), _TEXT_MM, INK, Weight.BOLD, shows=f"figures {hole.id}"))
        off = (
            "loose"
            if is_loose(located, hole.id)
            else f"{error_ellipsoid(located.covariance_of(hole.id)).axes_95_mm[0]:.1f}"
        )
        told = [f"{c + 0.0:.1f}" for c in (round(v, 1) for v in hole.centre)]
        for text, right in zip((*told, off), columns, strict=True):
            marks.append(Label(text, Point(right, y), _TEXT_MM, INK, align=Align.RIGHT))
    if len(located.holes) > _MOST_HOLES:
        y -= _TEXT_MM * LEADING
        more = f"and {len(located.holes) - _MOST_HOLES} more in the report"
        marks.append(Label(more, Point(x0, y), _TEXT_MM, FAINT))
    return marks, y - 3.5


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
    xs, ys = [p.x for p in plan.points()], [p.y for p in plan.points()]
    bounds = (min(xs) - 1.0, min(ys) - 1.0, max(xs) + 1.0, max(ys) + 1.0)
    x0, y0, x1, y1 = box
    inner = (x0 + _MARGIN_MM, y0 + _MARGIN_MM, x1 - _MARGIN_MM, y1 - _MARGIN_MM - 2.0)
    return fitted_map(bounds, inner, _MOST_SCALE, 0.0)


def panel(plan: HolePlan, box: Box, magnified: float) -> list[Mark]:
    """The panel's marks; ellipses are drawn `magnified` times too large."""
    to_paper = map_of(plan, box)
    x0, y0, x1, y1 = box
    room = FreeRoom((x0 + 1.0, y0 + 6.0, x1 - 1.0, y1 - _PANEL_TITLE_MM - 3.0))
    marks: list[Mark] = [border(box, 0.25, HAIR)]
    title = shortened(plan.title, x1 - x0 - 4.0, _PANEL_TITLE_MM, Weight.BOLD)
    marks.append(Label(title, Point(x0 + 2.0, y1 - _PANEL_TITLE_MM - 1.2), _PANEL_TITLE_MM, INK, Weight.BOLD))
    for side in plan.sides:
        marks += _side([to_paper.point(p) for p in side])
    for line in sorted(plan.lines, key=lambda r: list(Grade).index(r.grade) == 2):
        ends, pen = (to_paper.point(line.start), to_paper.point(line.end)), line.grade.value
        room.ink_line(ends)
        marks.append(Stroke(ends, pen.width_mm, pen.colour, pen.dash_mm, shows=f"reading {line.reading + 1}"))
    for start, end, name in plan.pointers:
        marks += _pointer(to_paper.point(start), to_paper.point(end), name, room)
    for hole in plan.drawn:
        marks += _hole(hole, to_paper, magnified, room)
    for line in plan.lines:
        if line.numbered:
            marks += _number(line, to_paper, room)
    for hole in plan.drawn:
        marks += _name(hole, to_paper, room)
    return marks + _scale(to_paper.scale, Point(x0 + 3.0, y0 + 2.6))


def _side(points: list[Point]) -> list[Mark]:
    marks: list[Mark] = [Fill((tuple(points[:-1]),), DESCRIBED_FACE)] if len(points) > 3 else []
    return [*marks, Stroke(tuple(points), 0.25, FAINT)] if len(points) > 1 else marks


def _pointer(start: Point, tip: Point, name: str, room: FreeRoom) -> list[Mark]:
    way = tip.minus(start)
    if way.length() < 0.5:
        return []
    room.ink_line((start, tip))
    head = arrow_head(tip, way.unit(), min(2.4, way.length()))
    return [Stroke((start, tip), 0.35, INK, shows=f"normal {name}"), Fill((head,), INK, f"normal {name}")]


def _hole(hole: DrawnHole, to_paper: PaperMap, magnified: float, room: FreeRoom) -> list[Mark]:
    at = to_paper.point(hole.at)
    radius = max(_LEAST_RADIUS_MM, hole.radius * to_paper.scale)
    room.take((at.x - radius, at.y - radius, at.x + radius, at.y + radius))
    ring = disc_points(at, radius)
    colour = FAIL if hole.loose else INK
    marks: list[Mark] = [Fill((ring,), PAPER, hole.id), Stroke(closed(ring), 0.45, colour, shows=hole.id)]
    marks += [] if hole.loose else _ellipse(hole, to_paper, magnified, room)
    cross = ((Point(-0.8, 0.0), Point(0.8, 0.0)), (Point(0.0, -0.8), Point(0.0, 0.8)))
    return [*marks, *(Stroke((at.plus(a), at.plus(b)), 0.2, INK) for a, b in cross)]


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


def _number(line: ReadingLine, to_paper: PaperMap, room: FreeRoom) -> list[Mark]:
    """The number of a reading that stands out, beside its line."""
    a, b = to_paper.point(line.start), to_paper.point(line.end)
    middle = Point((a.x + b.x) / 2, (a.y + b.y) / 2)
    pen = line.grade.value
    text = f"reading {line.reading + 1}" + ("?" if line.grade is Grade.WRONG else "")
    shows = f"reading {line.reading + 1}"
    call = Callout(text, (Target(middle),), _NAME_MM, shows, pen.colour, Weight.BOLD, Leader.WHEN_APART, 1.0)
    return place_callout(room, call) or []


def _name(hole: DrawnHole, to_paper: PaperMap, room: FreeRoom) -> list[Mark]:
    radius = max(_LEAST_RADIUS_MM, hole.radius * to_paper.scale)
    text = f"{hole.label}: loose" if hole.loose else hole.label
    colour = FAIL if hole.loose else INK
    target = Target(to_paper.point(hole.at), radius)
    call = Callout(text, (target,), _NAME_MM, hole.id, colour, Weight.BOLD, Leader.WHEN_APART, radius)
    return place_callout(room, call) or []


def _scale(scale: float, at: Point) -> list[Mark]:
    length = bar_length_mm(scale)
    end = at.plus(Point(length * scale, 0.0))
    ticks = [Stroke((p.plus(Point(0.0, -0.8)), p.plus(Point(0.0, 0.8))), 0.3, FAINT) for p in (at, end)]
    words = Label(f"{plain(length)} mm", end.plus(Point(1.5, -1.0)), _NOTE_MM, FAINT, align=Align.LEFT)
    return [Stroke((at, end), 0.3, FAINT), *ticks, words]
