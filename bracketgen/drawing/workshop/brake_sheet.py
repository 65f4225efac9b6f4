"""The sheet for the brake: the order of bends as a table and as small pictures, with the figures of each bend."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from bracketgen.drawing.columns import CAUTION_MM, Band, PrintedTable, grid, stacked, table_bands
from bracketgen.drawing.marks.flat_lines import fitted_map
from bracketgen.drawing.marks.lettering import Weight
from bracketgen.drawing.picture.head_and_foot import INNER, band, framed, head, small_print, stock_line
from bracketgen.drawing.sheet import (
    FAIL,
    FAINT,
    HAIR,
    INK,
    OTHER_FACE,
    PAPER,
    WAY_LINE,
    WHITE,
    Fill,
    Label,
    Mark,
    Sheet,
    Stroke,
    box_of,
    closed,
    corners_of,
    cropped,
    mixed,
)
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.contour import union_bounds
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point, polar
from bracketgen.part.mark import mark_words
from bracketgen.part.part import Way
from bracketgen.shop.brake.brakes import PressBrake
from bracketgen.shop.brake.convex import packed
from bracketgen.shop.brake.figures import FORCE_SOURCE, FORMULA_SOURCE
from bracketgen.shop.brake.gauging import SIGHT_LINE_SOURCE
from bracketgen.shop.brake.leaf import LeafPose, LeafSetup, leaf_pose, on_leaf_brake, rounded_nose
from bracketgen.shop.brake.metal import Packed, Wing
from bracketgen.shop.brake.plan import APPROXIMATIONS, BrakePlan, BrakeStep
from bracketgen.shop.brake.press import PressPose, PressSetup, Through, on_press, press_pose
from bracketgen.standards.table import citation
from bracketgen.units import plain

Ring = tuple[Point, ...]

_TOOL_FILL: Final = mixed(PAPER, HAIR, 0.45)
#: How much of the tools is shown around the bend, mm of the part.
_AROUND_MM: Final = 30.0
_ARC_STEPS: Final = 12
_THIN_MM: Final = 0.18


@dataclass(frozen=True, slots=True)
class Section:
    """What a picture shows, in the machine's mm: metal, its described face, tools, and the gauge's stop."""

    metal: tuple[Ring, ...]
    face: tuple[tuple[Point, Point], ...]
    tools: tuple[Ring, ...]
    stop: tuple[Point, Point] | None = None

    @property
    def bounds(self) -> Box:
        """Around the metal and some of the tools."""
        least = (Point(-_AROUND_MM, -_AROUND_MM * 0.8), Point(_AROUND_MM, _AROUND_MM * 1.2))
        return box_of([*least, *(p for ring in self.metal for p in ring)])


def section(made: BrakeStep, turn_deg: float) -> Section:
    """The section of a step at a turn of its bend."""
    if isinstance(made.setup, LeafSetup):
        return _on_leaf(made, made.setup, turn_deg)
    return _on_press(made, made.setup, turn_deg)


def _on_press(made: BrakeStep, setup: PressSetup, turn_deg: float) -> Section:
    around, held = made.around, made.held
    pose = press_pose(around, setup.die, np.array([turn_deg]))
    half, centre = math.radians(turn_deg) / 2, Point(0.0, float(pose.centre_mm[0]))
    strip = _strip(centre, pose, around.thickness_mm, -math.pi / 2 - half, -math.pi / 2 + half, (1, -1))
    metal = [*_rings(on_press(around, around.all, pose, held)[0]), *strip]
    tip = float(pose.tip_mm[0])
    tools = (
        _up(setup.punch.outline, tip),
        _up(setup.brake.ram, tip + setup.punch.height_mm),
        setup.die.outline,
        _up(setup.brake.bed, -setup.die.height_mm),
    )
    faces = on_press(around, _faces(made), pose, held)[0]
    stop = None
    if turn_deg == 0.0 and made.gauging is not None and made.gauging.distance_mm is not None:
        gauge, x = setup.brake.gauge, made.gauging.distance_mm
        stop = Point(x, -gauge.below_mm), Point(x, gauge.above_mm)
    return Section(tuple(metal), _ends(faces), tools, stop)


def _on_leaf(made: BrakeStep, setup: LeafSetup, turn_deg: float) -> Section:
    around, held, t = made.around, made.held, made.around.thickness_mm
    pose = leaf_pose(around, setup.nose, np.array([turn_deg]))
    radius = float(pose.radius_mm[0])
    outer, turn = radius + t, math.radians(turn_deg)
    strip = _strip(Point(radius, radius + t), pose, t, -math.pi / 2 - turn, -math.pi / 2, (-1,))
    metal = [*_rings(on_leaf_brake(around, around.all, pose, held)[0]), *strip]
    edge = Point(radius - outer * math.sin(turn), outer - outer * math.cos(turn))
    out, up = Point(-math.cos(turn), math.sin(turn)), Point(math.sin(turn), math.cos(turn))
    back = radius - setup.nose.radius_mm
    tools = (
        tuple(p.plus(Point(back, t)) for p in rounded_nose(setup.nose)),
        tuple(p.plus(Point(radius, 0.0)) for p in setup.brake.bed),
        tuple(edge.plus(out, p.x).plus(up, p.y) for p in setup.brake.leaf),
    )
    return Section(tuple(metal), _ends(on_leaf_brake(around, _faces(made), pose, held)[0]), tools)


def _faces(made: BrakeStep) -> Packed:
    """The described faces of the panels that stand edge on, as flat two-cornered pieces."""
    around = made.around
    up = made.bend.way is Way.UP
    found, child = [], []
    for solid in around.solids:
        if not solid.is_panel:
            continue
        corners = solid.corners[: len(solid.corners) // 2]
        sign = 1.0 if solid.wing is Wing.CHILD else -1.0
        flat = np.column_stack((sign * corners[:, 1], corners[:, 2] + around.thickness_mm if up else -corners[:, 2]))
        ends = _two_ends(flat)
        if ends is not None:
            found.append(ends)
            child.append(int(solid.wing is Wing.CHILD))
    return Packed((), packed(found), np.array(child, dtype=np.intp))


def _two_ends(points: Floats) -> list[tuple[float, float]] | None:
    """The ends of points that lie on one line; None when they don't."""
    far = points[np.argmax(np.hypot(*(points - points[0]).T))]
    end = points[np.argmax(np.hypot(*(points - far).T))]
    along = far - end
    off = np.abs(along[0] * (points[:, 1] - end[1]) - along[1] * (points[:, 0] - end[0])) / np.hypot(*along)
    return [(float(end[0]), float(end[1])), (float(far[0]), float(far[1]))] if off.max() < 0.05 else None


def _ends(faces: Floats) -> tuple[tuple[Point, Point], ...]:
    """First and farthest corner of each two-cornered piece."""
    ends = []
    for face in faces:
        far = face[np.argmax(np.hypot(*(face - face[0]).T))]
        ends.append((Point(float(face[0][0]), float(face[0][1])), Point(float(far[0]), float(far[1]))))
    return tuple(ends)


def _rings(placed: Floats) -> list[Ring]:
    return [tuple(Point(float(x), float(y)) for x, y in piece) for piece in placed]


def _up(ring: Sequence[Point], by_mm: float) -> Ring:
    return tuple(Point(p.x, p.y + by_mm) for p in ring)


def _strip(
    centre: Point, pose: PressPose | LeafPose, t: float, start: float, end: float, sides: Sequence[int]
) -> list[Ring]:
    """The metal of the bend itself: the arc from angle to angle, and what is still straight before (-1) or after it."""
    radius, rest = float(pose.radius_mm[0]), float(pose.rest_mm[0])
    rings = [_arc(centre, radius, t, start, end)] if end > start else []
    for side in sides if rest > 0 else ():
        out = polar(1.0, end if side > 0 else start)
        inner, outer, onward = centre.plus(out, radius), centre.plus(out, radius + t), out.left().scaled(side * rest)
        rings.append((inner, outer, outer.plus(onward), inner.plus(onward)))
    return rings


def _arc(centre: Point, radius: float, t: float, start: float, end: float) -> Ring:
    turns = [start + (end - start) * k / _ARC_STEPS for k in range(_ARC_STEPS + 1)]
    outer = [centre.plus(polar(radius + t, a)) for a in turns]
    return (*outer, *(centre.plus(polar(radius, a)) for a in reversed(turns)))


def draw(shown: Section, bounds: Box, box: Box, name: str) -> list[Mark]:
    """The picture's marks, `bounds` fitted into `box`; `name` is what they show, such as 'step 1 before'."""
    to_paper = fitted_map(bounds, box)
    marks: list[Mark] = []
    for ring in shown.tools:
        kept = cropped(to_paper.line(ring), box)
        if len(kept) > 2:
            marks += [Fill((kept,), _TOOL_FILL, f"{name} tool"), Stroke(closed(kept), 0.12, HAIR)]
    for ring in shown.metal:
        paper = to_paper.line(ring)
        marks += [Fill((paper,), OTHER_FACE, f"{name} metal"), Stroke(closed(paper), _THIN_MM, OTHER_FACE)]
    marks += [Stroke(to_paper.line(face), 0.35, WAY_LINE[Way.UP], (), f"{name} face") for face in shown.face]
    if shown.stop is not None:
        low, high = to_paper.line(shown.stop)
        # A black bar beyond the metal, cut at the box.
        x = min(low.x, box[2])
        bar = (x, max(low.y, box[1]), x + 1.0, min(high.y, box[3]))
        marks.append(Fill((corners_of(bar),), INK, f"{name} gauge"))
    return marks


# -- the pages


#: The letters of the table, the largest that fit.
_TEXT_SIZES: Final = (3.2, 2.9, 2.6)
_CELL_TITLE_MM: Final = 4.6
_TITLE_TEXT_MM: Final = 3.2
_SMALL_MM: Final = 2.6
_PER_ROW: Final = 3
_LEAST_CELL_MM: Final = 34.0
_MOST_ROWS: Final = 3
_NO_ORDER: Final = "DO NOT BEND: no order works on this brake, it ends after the steps shown"

#: A step with its place in the order, from 1.
_Placed = tuple[int, BrakeStep]


def brake_pages(plan: BrakePlan, notice: str = "") -> tuple[Sheet, ...]:
    """The pages of a plan, one where it fits; `notice` is a warning that stands on top of each.

    A plan that does not work says so there, and what stopped it below its pictures.
    """
    if not plan.works:
        notice = notice or _NO_ORDER
    x0, y0, x1, _ = INNER
    top, y = _top(plan, notice)
    said = small_print([*plan.flat.part.cautions, *plan.cautions], x1 - x0, INK, CAUTION_MM)
    table = stacked((Band(1.0, ()), said, Band(1.0, ()), *table_bands(order_table(plan), x1 - x0, _TEXT_SIZES)))
    below, low = _foot(plan)
    high = y - table.height_mm
    steps = list(enumerate(plan.steps, 1))
    rows = max(1, min(-(-len(steps) // _PER_ROW), int((high - low) // _LEAST_CELL_MM)))
    first = steps[: rows * _PER_ROW]
    pages = [framed((*top, *table.at(Point(x0, y)), *_pictures(first, (x0, low + 1.5, x1, high - 1.5)), *below))]
    on_next = _MOST_ROWS * _PER_ROW
    for at in range(len(first), len(steps), on_next):
        pages.append(framed((*top, *_pictures(steps[at : at + on_next], (x0, y0 + 1.5, x1, y - 1.5)))))
    return tuple(pages)


def _top(plan: BrakePlan, notice: str) -> tuple[list[Mark], float]:
    part, bends = plan.flat.part, len(plan.flat.strips)
    marked = mark_words(part.mark, ("tooling", plan.tooling_mark))
    words = "  ·  ".join(w for w in (part.name, stock_line(plan.flat), marked, plan.brake.title) if w)
    kind = "press brake" if isinstance(plan.brake, PressBrake) else "leaf brake"
    right = ("brake", f"{bends} bend{'s' * (bends != 1)}", kind)
    marks, y = head(f"Brake sheet: {part.title or part.name}", ("stock", words), right, INNER)
    more, y = band(notice, FAIL, WHITE, (*INNER[:3], y - 1.2))
    return marks + more, y


def _foot(plan: BrakePlan) -> tuple[list[Mark], float]:
    """Remarks on single bends over the small print, hung so that they end at the lower edge."""
    x0, y0, x1, _ = INNER
    said = small_print(remarks(plan), x1 - x0, INK)
    small = small_print(explanations(plan), x1 - x0)
    low = y0 + small.height_mm + said.height_mm + 1.4
    rule = Stroke((Point(x0, low), Point(x1, low)), 0.3, HAIR)
    return [rule, *stacked((said, Band(0.6, ()), small)).at(Point(x0, low - 0.8))], low


def _pictures(steps: Sequence[_Placed], box: Box) -> list[Mark]:
    """A cell a step, with its two pictures."""
    if not steps:
        return []
    x0, y0, x1, y1 = box
    across = max(range(1, _PER_ROW + 1), key=lambda n: (_room(len(steps), n, x1 - x0, y1 - y0), -n))
    cells = grid((x0 + 1.0, y0 + 1.0, x1 - 1.0, y1 - 0.5), across, -(-len(steps) // across), 2.0)
    return [m for step, cell in zip(steps, cells, strict=False) for m in _cell(step, cell)]


def _room(steps: int, across: int, wide: float, high: float) -> float:
    """Side of the largest square that each of two pictures has, in rows of so many steps."""
    down = -(-steps // across)
    return min(wide / across / 2, high / down - _CELL_TITLE_MM - 4.0)


def _cell(step: _Placed, box: Box) -> list[Mark]:
    """Title, then before and after side by side at one scale."""
    x0, y0, x1, y1 = box
    place, made = step
    title = f"{place}   bend {made.number}, {plain(made.bend.turn_deg)}° {made.bend.way.upper()}"
    marks: list[Mark] = [Label(title, Point(x0, y1 - 3.2), _TITLE_TEXT_MM, INK, Weight.BOLD, shows=f"step {place}")]
    top, middle = y1 - _CELL_TITLE_MM - 3.2, (x0 + x1) / 2
    shown = [section(made, 0.0), section(made, made.bend.turn_deg)]
    bounds = union_bounds([s.bounds for s in shown])
    boxes = ((x0, y0, middle - 2.0, top), (middle + 1.0, y0, x1 - 1.0, top))
    for name, part, where in zip(("before", "after"), shown, boxes, strict=True):
        marks += draw(part, bounds, where, f"step {place} {name}")
        said = name if name == "before" else f"after, {plain(made.bend.turn_deg)}°"
        marks.append(Label(said, Point(where[0], top + 0.9), _SMALL_MM, FAINT, shows=f"step {place}"))
    return marks


# -- what is said about the bends of a plan, on the sheet and on the screen


def order_table(plan: BrakePlan) -> PrintedTable:
    """The bends in their order, a row each."""
    press = isinstance(plan.brake, PressBrake)
    rows = tuple(tuple(_cells(n, made, press).values()) for n, made in enumerate(plan.steps, 1))
    heads = tuple(_cells(1, plan.steps[0], press)) if plan.steps else ("step",)
    return PrintedTable("", heads, (), rows, "step {}")


def _cells(place: int, made: BrakeStep, press: bool) -> dict[str, str]:
    """What stands under each heading."""
    gauging, edge = made.gauging, plain(made.scribe.edge_mm, 1)
    cells = {
        "step": str(place),
        "bend": str(made.number),
        "turn from flat": f"{plain(made.bend.turn_deg)}° {made.bend.way.upper()}",
        "inside radius": f"R{plain(made.bend.inside_radius_mm)}",
        "face that looks up": made.face_up,
        "to the back gauge" if press else "under the clamp": made.held_panel,
    }
    if press:
        cells["gauge mm"] = plain(gauging.distance_mm, 1) if gauging and gauging.distance_mm else "scribe"
        cells["scribed on flat, mm"] = edge
    else:
        cells["sight line mm"] = plain(made.scribe.sight_mm, 1)
        cells["bend line mm"] = edge
        cells["nose, pieces in all, mm"] = tool_words(made)
    ways = f"{_short(made.way_in)} / {_short(made.way_out)}"
    over = {"bend over to (range)": over_words(made)}
    if not press:
        return {**cells, "in / out by": ways, **over}
    force = f"{plain(made.force.kn, 0)} ({plain(made.force.kn_per_m, 0)}/m)" if made.force else ""
    return {
        **cells,
        **over,
        "force about kN": force,
        "punch / die, pieces in all": tool_words(made),
        "in / out by": ways,
    }


def _short(way: Through | None) -> str:
    return {Through.FRONT: "front", Through.END: "end"}.get(way, "") if way else ""


def over_words(made: BrakeStep) -> str:
    """The turn on the tool with its range, such as '90.6° (90.2–90.9)'."""
    over = made.over
    return f"{plain(over.to_deg, 1)}° ({plain(over.least_deg, 1)}–{plain(over.most_deg, 1)})"


def tool_words(made: BrakeStep) -> str:
    """The tools of a step with the lengths put together."""
    setup = made.setup
    if isinstance(setup, PressSetup):
        return f"{setup.punch.name} {plain(setup.punch_mm, 0)} / {setup.die.name} {plain(setup.die_mm, 0)}"
    return f"{setup.nose.name} {plain(setup.nose_mm, 0)}"


def remarks(plan: BrakePlan) -> tuple[str, ...]:
    """What is to be known about single bends, those that can't be made first."""
    said = [f"Stopped at {bend}: {obstacle.words}" for bend, obstacle in plan.stopped]
    for made in plan.steps:
        own = list(made.notes)
        if made.gauging is not None and made.gauging.distance_mm is not None:
            own.append(f"gauge against the {made.gauging.touches}")
        elif made.gauging is not None:
            own.append(f"no gauge ({made.gauging.why_not}), work to the scribed line")
        if Through.END in (made.way_in, made.way_out):
            own.append("goes in or comes out along the tools, not straight")
        if own:
            said.append(f"Bend {made.number}: {'; '.join(own)}")
    return tuple(said)


def explanations(plan: BrakePlan) -> tuple[str, ...]:
    """What the columns and pictures mean, and on whose word."""
    press = isinstance(plan.brake, PressBrake)
    own = (
        (
            "Gauge: from what it touches to the bend line, on the part as it is then; scribed: on the flat, from its "
            "edge on that side to the bend line",
            f"Force at the greatest tensile strength of the metal: {FORCE_SOURCE}",
            "Pictures: section seen from the right-hand end of the brake, operator left, gauge (black bar) right; the "
            "coloured line is the described face",
        )
        if press
        else (
            "Lines are scribed on the flat, from its edge on the clamped side; the sight line comes under the front "
            f"of the nose ({SIGHT_LINE_SOURCE})",
            "Pictures: section, operator left; the coloured line is the described face",
        )
    )
    table = any(e.source == "tabellenbuch-springback" for m in plan.steps for e in m.over.estimates)
    printed = f"; {citation('tabellenbuch-springback')}" if table else ""
    springback = f"Over-bend: try it on a piece of the same sheet. {FORMULA_SOURCE}{printed}"
    return (*own, springback, *([] if plan.is_parallel else [_ASKEW]), APPROXIMATIONS)


_ASKEW = "Bends of this part run different ways: each section shows the outlines of the other walls as full boxes"
