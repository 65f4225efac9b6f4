"""A bent strip opened up into panels."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

from bracketgen.bending.setback import SizeReference, distance_to_tangent_mm
from bracketgen.description.making.faults import Collector
from bracketgen.description.making.shop import Shop
from bracketgen.description.model.document import BentStrip
from bracketgen.description.model.panels import (
    ArmsOutline,
    BeltOutline,
    BendOfPanel,
    DiscOutline,
    JoggleOfPanel,
    Outline,
    PanelTable,
    PolygonOutline,
    RectangleOutline,
)
from bracketgen.description.model.stock import ReliefTable
from bracketgen.description.text import Path
from bracketgen.errors import GeometryFault
from bracketgen.geometry.plane import cos_sin_deg
from bracketgen.part.hole import Hole
from bracketgen.part.part import Pad, Way
from bracketgen.units import nearest_word


def strip_panels(strip: BentStrip, faults: Collector) -> tuple[dict[str, PanelTable], dict[str, Path]]:
    """The legs of a strip as panels, each bent from the top edge of the one before; and their paths in the file."""
    names = [leg.name or f"leg {i}" for i, leg in enumerate(strip.legs, start=1)]
    panels: dict[str, PanelTable] = {}
    paths: dict[str, Path] = {}
    for i, leg in enumerate(strip.legs):
        if names[i] in paths:
            path: Path = ("strip", "legs", i, "name")
            faults.add(path, f"two legs are named '{names[i]}'", "give each its own name")
            # Any other name lets the rest be looked at.
            names[i] = f"{names[i]} {i + 1} of {len(names)}"
        end = i in (0, len(strip.legs) - 1)
        outline = RectangleOutline.model_construct(
            shape="rectangle",
            width=strip.width if i == 0 else None,
            height=leg.length,
            left=None,
            corner_radius=leg.corner_radius if end else 0.0,
            chamfer=0.0,
        )
        panels[names[i]] = PanelTable.model_construct(
            outline=outline,
            origin="left",
            holes=leg.holes,
            cutouts=leg.cutouts,
            saddles=leg.saddles,
            marks=leg.marks,
            welds=leg.welds,
            bend=_bend_of_leg(strip, names, i) if i else None,
            joggle=None,
            pad=None,
        )
        paths[names[i]] = ("strip", "legs", i)
    return panels, paths


def _bend_of_leg(strip: BentStrip, names: list[str], i: int) -> BendOfPanel:
    bend = strip.bends[i - 1]
    values: dict[str, Any] = {
        "from": names[i - 1],
        "edge": "top",
        "line": None,
        "way": bend.way,
        "sizes": strip.sizes,
        "shift": 0.0,
        "inside_radius": None,
        "relief": None,
        "turn": bend.turn_deg,
        "between": None,
    }
    return BendOfPanel.model_construct(None, **values)


# The stretch of x that a bent panel's own table asks its bend to take.


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of u, mm."""

    start: float
    end: float

    @property
    def length(self) -> float:
        """Length, mm; negative when there is nothing."""
        return self.end - self.start

    def both(self, other: Span) -> Span:
        """What lies in both."""
        return Span(max(self.start, other.start), min(self.end, other.end))

    def shrunk(self, at_start: float, at_end: float) -> Span:
        """Shorter by these amounts."""
        return Span(self.start + at_start, self.end - at_end)


def own_foot(table: PanelTable, setback_mm: float) -> Span | None:
    """The stretch in the panel's frame, mm; None where the panel is as wide as its bend. Raises GeometryFault."""
    outline = table.outline
    if isinstance(outline, PolygonOutline):
        return _foot_of_polygon(outline, setback_mm)
    if isinstance(outline, DiscOutline):
        raise GeometryFault("a disc has no straight edge to bend on", None, "use a belt, a polygon or a rectangle")
    if outline.width is None:
        return None
    left = own_left(table, outline.width)
    return Span(left, left + outline.width)


def own_left(table: PanelTable, width_mm: float) -> float:
    """x of the left end: as told, or as the panel's origin puts it."""
    left = getattr(table.outline, "left", None)
    if left is not None:
        return float(left)
    return {"left": 0.0, "middle": -width_mm / 2, "right": -width_mm}[table.origin]


def _foot_of_polygon(outline: PolygonOutline, setback_mm: float) -> Span:
    """The polygon's width where the child's tangent line crosses it, above its edge on y = 0."""
    corners = [c.at for c in outline.corners]
    edges = list(zip(corners, corners[1:] + corners[:1], strict=True))
    for i, (a, b) in enumerate(edges):
        if abs(a[1]) < 1e-6 and abs(b[1]) < 1e-6:
            before, after = edges[i - 1], edges[(i + 1) % len(edges)]
            xs = sorted((_x_at(before[1], before[0], setback_mm), _x_at(after[0], after[1], setback_mm)))
            return Span(xs[0], xs[1])
    raise GeometryFault("the polygon has no edge on y = 0", None, "a bent panel's foot is the edge with y = 0")


def _x_at(low: tuple[float, float], high: tuple[float, float], y: float) -> float:
    """x of the edge that rises from `low` (y = 0), at a height; an edge that ends below it is taken as upright."""
    if high[1] <= y or y <= 0:
        return low[0]
    return low[0] + (high[0] - low[0]) * y / high[1]


# Whether each panel can be joined where its description says, as far as the tables alone can tell.


def joint_path(path: Path, table: PanelTable) -> Path:
    """The path of a panel's joint, or of the panel that has none."""
    return (*path, "joggle") if table.joggle else (*path, "bend") if table.bend else path


def check_joints(panels: Mapping[str, PanelTable], paths: Mapping[str, Path], faults: Collector) -> None:
    """Adds a fault for every joint that names an edge its parent has not, or that its own outline can't have."""
    for name, table in panels.items():
        joint, path = table.joint, joint_path(paths[name], table)
        if joint is None:
            continue
        if joint.parent in panels:
            _check_line(joint, panels[joint.parent].outline, path, faults)
        _check_foot(table.outline, paths[name], faults)


def _check_line(joint: BendOfPanel | JoggleOfPanel, outline: Outline, path: Path, faults: Collector) -> None:
    parent = f"panel '{joint.parent}'"
    if isinstance(outline, DiscOutline):
        what = f"{parent} is a disc and has no straight edge to bend on"
        faults.add((*path, "from"), what, "make it a belt or a polygon")
    elif isinstance(outline, BeltOutline | ArmsOutline):
        if joint.edge is not None:
            what = f"{parent} is a {outline.shape} outline and has no edge '{joint.edge}'"
            faults.add((*path, "edge"), what, "give line = [[x, y], [x, y]]: two points of the bend line")
    elif joint.line is not None:
        cure = f"give edge: {', '.join(map(str, _edges(outline)))}"
        faults.add((*path, "line"), f"line is for belt and arms outlines, and {parent} is a {outline.shape}", cure)
    elif joint.edge not in _edges(outline):
        known = [str(edge) for edge in _edges(outline)]
        near = nearest_word(str(joint.edge), known)
        cure = (f"did you mean '{near}'? " if near and isinstance(outline, RectangleOutline) else "") + (
            f"its edges: {', '.join(known)}" + ("" if isinstance(outline, RectangleOutline) else _NUMBERED)
        )
        faults.add((*path, "edge"), f"{parent} has no edge '{joint.edge}'", cure)


_NUMBERED = " (1 runs from corner 1 to corner 2)"


def _edges(outline: RectangleOutline | PolygonOutline) -> tuple[str | int, ...]:
    if isinstance(outline, RectangleOutline):
        return ("left", "right", "top", "bottom")
    return tuple(range(1, len(outline.corners) + 1))


def _check_foot(outline: Outline, path: Path, faults: Collector) -> None:
    if isinstance(outline, DiscOutline):
        cure = "use a belt, a polygon or a rectangle"
        faults.add((*path, "outline"), "a disc has no straight edge to bend on", cure)
    if isinstance(outline, PolygonOutline):
        corners = [c.at for c in outline.corners]
        on_foot = [abs(y) < 1e-6 for _, y in corners]
        if not any(a and b for a, b in zip(on_foot, on_foot[1:] + on_foot[:1], strict=True)):
            cure = "a bent panel stands on the edge that has y = 0 at both ends"
            faults.add((*path, "outline", "corners"), "the polygon has no edge on y = 0", cure)


# The tree of panels: who bends away from whom, in an order in which parents come first.


Edge = str | int
LinePoints = tuple[tuple[float, float], tuple[float, float]]

#: A joggle's slope shorter than this can't be told from a kink (common practice, no source).
_LEAST_SLOPE_MM = 0.5


class ZeroX(Enum):
    """What the child's x = 0 is counted from."""

    BEND_LINE = "an end or the middle of the bend line"
    PARENT = "the parent's own x = 0"


@dataclass(frozen=True, slots=True)
class Joint:
    """A bend as described: where on the parent, how far, which way, and the setbacks of both panels' sizes."""

    id: str
    parent: str
    child: str
    edge: Edge | None
    line: LinePoints | None
    turn_deg: float
    way: Way
    inside_radius_mm: float
    parent_setback_mm: float
    child_setback_mm: float
    shift_mm: float
    relief: ReliefTable
    path: Path
    zero_x: ZeroX = ZeroX.BEND_LINE


@dataclass(slots=True)
class Plan:
    """A panel on its way: its table, the joint at its foot, the joints of its children."""

    id: str
    table: PanelTable
    path: Path
    foot: Joint | None = None
    children: list[Joint] = field(default_factory=list)
    holes: list[Hole] = field(default_factory=list)
    pads: list[Pad] = field(default_factory=list)


def plan_panels(
    panels: dict[str, PanelTable], paths: dict[str, Path], shop: Shop | None, faults: Collector
) -> list[Plan]:
    """All panels in order, parents first, joggles opened up into a slope between two bends."""
    if not is_tree(panels, paths, faults):
        return []
    bent = [n for n, t in panels.items() if t.joint]
    if bent and shop is None:
        where = joint_path(paths[bent[0]], panels[bent[0]])
        faults.add(where, "the description has no [bend]", "add [bend] with the inside radius or the die")
        return []
    waiting = dict(panels)
    plans: dict[str, Plan] = {}
    while waiting:
        for name, table in list(waiting.items()):
            joint = table.joint
            if joint is None or joint.parent in plans:
                with faults.at(joint_path(paths[name], table)):
                    _add(name, table, paths[name], plans, shop)
                plans.setdefault(name, Plan(name, table, paths[name]))
                del waiting[name]
    return list(plans.values())


def is_tree(panels: dict[str, PanelTable], paths: dict[str, Path], faults: Collector) -> bool:
    """Whether every panel hangs on the first one, straight or through others; faults say what does not."""
    before = len(faults.faults)
    roots = [n for n, t in panels.items() if t.joint is None]
    if not panels:
        faults.add((), "there is no panel", "add [panels.base] with an outline, or [strip]")
    for extra in roots[1:]:
        faults.add(paths[extra], f"panel '{extra}' hangs on nothing", f"give it a bend from '{roots[0]}'")
    for name, table in panels.items():
        joint = table.joint
        if joint and joint.parent not in panels:
            near = nearest_word(joint.parent, panels)
            cure = f"panels: {', '.join(panels)}" + (f"; did you mean '{near}'?" if near else "")
            faults.add((*joint_path(paths[name], table), "from"), f"there is no panel '{joint.parent}'", cure)
    if len(faults.faults) == before:
        _check_rings(panels, paths, faults)
    return len(faults.faults) == before


def _check_rings(panels: dict[str, PanelTable], paths: dict[str, Path], faults: Collector) -> None:
    for name in panels:
        seen, here = [name], panels[name]
        while (joint := here.joint) and joint.parent not in seen:
            seen.append(joint.parent)
            here = panels[joint.parent]
        if joint:
            ring = " from ".join(f"'{n}'" for n in [*seen, joint.parent])
            where = (*joint_path(paths[name], panels[name]), "from")
            faults.add(where, f"a ring of panels: {ring}", "let one of them be the first panel, without a bend")
            return


def _add(name: str, table: PanelTable, path: Path, plans: dict[str, Plan], shop: Shop | None) -> None:
    plan = Plan(name, table, path)
    plans[name] = plan
    joint = table.joint
    if joint is None or shop is None:
        return
    if isinstance(joint, BendOfPanel):
        _attach(plan, plans, joint, joint.turn_deg, Way(joint.way), shop, (*path, "bend"))
        return
    _add_joggle(plan, plans, joint, shop)


def _sizes(joint: BendOfPanel | JoggleOfPanel, shop: Shop) -> SizeReference:
    said = joint.sizes or shop.table.sizes
    if said is None:
        raise GeometryFault(
            "nothing says what sizes are measured to at this bend",
            None,
            "give sizes = 'outside', 'inside', 'mould' or 'tangent' here or in [bend]",
        )
    return SizeReference(said)


def _attach(
    plan: Plan,
    plans: dict[str, Plan],
    joint: BendOfPanel | JoggleOfPanel,
    turn: float,
    way: Way,
    shop: Shop,
    path: Path,
) -> None:
    radius = joint.inside_radius if joint.inside_radius is not None else shop.inside_radius_mm
    setback = distance_to_tangent_mm(_sizes(joint, shop), radius, shop.stock.thickness_mm, turn)
    _join(plan, plans, Joint(
        _next_id(plans), joint.parent, plan.id, joint.edge, joint.line, turn, way, radius,
        setback, setback, joint.shift, joint.relief or shop.table.relief, path,
    ))  # fmt: skip


def _next_id(plans: dict[str, Plan]) -> str:
    return f"bend {sum(len(p.children) for p in plans.values()) + 1}"


def _join(plan: Plan, plans: dict[str, Plan], joint: Joint) -> None:
    plan.foot = joint
    plans[joint.parent].children.append(joint)


def _add_joggle(plan: Plan, plans: dict[str, Plan], joint: JoggleOfPanel, shop: Shop) -> None:
    """Opens a joggle: bend, slope, bend back.

    Between the described faces lies (2 R + t)(1 - cos turn) from the two arcs and slope x sin turn.
    """
    path: Path = (*plan.path, "joggle")
    radius = joint.inside_radius if joint.inside_radius is not None else shop.inside_radius_mm
    t = shop.stock.thickness_mm
    c, s = cos_sin_deg(joint.turn_deg)
    arcs = (2 * radius + t) * (1 - c)
    slope = (joint.offset - arcs) / s
    if slope < _LEAST_SLOPE_MM:
        least = arcs + _LEAST_SLOPE_MM * s
        raise GeometryFault(
            f"an offset of {joint.offset:g} mm has no room for two bends of {joint.turn_deg:g} deg",
            None,
            f"at this turn and radius the least offset is {least:.2f} mm; give a smaller turn",
        )
    first = Way(joint.way)
    back = Way.DOWN if first is Way.UP else Way.UP
    setback = distance_to_tangent_mm(_sizes(joint, shop), radius, t, joint.turn_deg)
    step = Plan(f"{plan.id} slope", _slope_table(plan.table, slope, setback), plan.path)
    plans[step.id] = step
    relief = joint.relief or shop.table.relief
    _join(step, plans, Joint(
        _next_id(plans), joint.parent, step.id, joint.edge, joint.line, joint.turn_deg, first, radius,
        setback, 0.0, joint.shift, relief, path,
    ))  # fmt: skip
    _join(plan, plans, Joint(
        _next_id(plans), step.id, plan.id, "top", None, joint.turn_deg, back, radius,
        0.0, setback, 0.0, relief, path, ZeroX.PARENT,
    ))  # fmt: skip
    # The slope was entered after the panel it carries; parents have to come first.
    plans[plan.id] = plans.pop(plan.id)


def _slope_table(table: PanelTable, height_mm: float, setback_mm: float) -> PanelTable:
    """A rectangle as wide as the panel that it carries, with the same x = 0."""
    foot = own_foot(table, setback_mm)
    outline = RectangleOutline.model_construct(
        shape="rectangle",
        width=foot.length if foot else None,
        height=height_mm,
        left=foot.start if foot else None,
        corner_radius=0.0,
        chamfer=0.0,
    )
    return PanelTable.model_construct(
        outline=outline,
        origin=table.origin,
        holes=[],
        cutouts=[],
        saddles=[],
        marks=[],
        bend=None,
        joggle=None,
        pad=None,
    )
