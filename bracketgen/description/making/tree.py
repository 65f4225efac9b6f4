"""The tree of panels as described: who bends away from whom, parents first, strips and joggles opened up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

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
from bracketgen.units import meant, nearest_word

#: A joggle's slope shorter than this can't be told from a kink (common practice, no source).
_LEAST_SLOPE_MM = 0.5


@dataclass(frozen=True, slots=True)
class PlannedBend:
    """A bend as described: where on the parent, how far, which way, and the setbacks of both panels' sizes.

    `keeps_x`: the child's x = 0 is the parent's own, not an end or the middle of the bend line.
    """

    id: str
    parent: str
    child: str
    edge: str | int | None
    line: tuple[tuple[float, float], tuple[float, float]] | None
    turn_deg: float
    way: Way
    inside_radius_mm: float
    parent_setback_mm: float
    child_setback_mm: float
    shift_mm: float
    relief: ReliefTable
    path: Path
    keeps_x: bool = False


@dataclass(slots=True)
class PlannedPanel:
    """A panel on its way: its table, the bend at its foot, the bends of its children."""

    id: str
    table: PanelTable
    path: Path
    foot: PlannedBend | None = None
    children: list[PlannedBend] = field(default_factory=list)
    holes: list[Hole] = field(default_factory=list)
    pads: list[Pad] = field(default_factory=list)


def joint_path(path: Path, table: PanelTable) -> Path:
    """The path of a panel's bend or joggle, or of the panel that has none."""
    return (*path, "joggle") if table.joggle else (*path, "bend") if table.bend else path


# -- a bent strip


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
        bend = None
        if i:
            told = strip.bends[i - 1]
            joint = {"from": names[i - 1], "edge": "top", "way": told.way, "sizes": strip.sizes, "turn": told.turn_deg}
            bend = BendOfPanel.model_construct(None, **joint)  # type: ignore[arg-type]
        panels[names[i]] = PanelTable.model_construct(
            outline=RectangleOutline.model_construct(
                shape="rectangle",
                width=None if i else strip.width,
                height=leg.length,
                corner_radius=leg.corner_radius if i in (0, len(strip.legs) - 1) else 0.0,
            ),
            holes=leg.holes,
            cutouts=leg.cutouts,
            saddles=leg.saddles,
            marks=leg.marks,
            welds=leg.welds,
            bend=bend,
        )
        paths[names[i]] = ("strip", "legs", i)
    return panels, paths


# -- whether each panel can be joined where its description says, as far as the tables alone can tell


def check_joints(panels: Mapping[str, PanelTable], paths: Mapping[str, Path], faults: Collector) -> None:
    """Adds a fault for every joint that names an edge its parent has not, or that its own outline can't have."""
    for name, table in panels.items():
        joint, outline = table.joint, table.outline
        if joint is None:
            continue
        if joint.parent in panels:
            _check_line(joint, panels[joint.parent].outline, joint_path(paths[name], table), faults)
        if isinstance(outline, DiscOutline):
            cure = "use a belt, a polygon or a rectangle"
            faults.add((*paths[name], "outline"), "a disc has no straight edge to bend on", cure)
        if isinstance(outline, PolygonOutline):
            corners = [c.at for c in outline.corners]
            on_foot = [abs(y) < 1e-6 for _, y in corners]
            if not any(a and b for a, b in zip(on_foot, on_foot[1:] + on_foot[:1], strict=True)):
                cure = "a bent panel stands on the edge that has y = 0 at both ends"
                faults.add((*paths[name], "outline", "corners"), "the polygon has no edge on y = 0", cure)


def _check_line(joint: BendOfPanel | JoggleOfPanel, outline: Outline, path: Path, faults: Collector) -> None:
    parent = f"panel '{joint.parent}'"
    if isinstance(outline, DiscOutline):
        what = f"{parent} is a disc and has no straight edge to bend on"
        faults.add((*path, "from"), what, "make it a belt or a polygon")
        return
    if isinstance(outline, BeltOutline | ArmsOutline):
        if joint.edge is not None:
            what = f"{parent} is a {outline.shape} outline and has no edge '{joint.edge}'"
            faults.add((*path, "edge"), what, "give line = [[x, y], [x, y]]: two points of the bend line")
        return
    named = isinstance(outline, RectangleOutline)
    edges: tuple[str | int, ...] = ("left", "right", "top", "bottom")
    if isinstance(outline, PolygonOutline):
        edges = tuple(range(1, len(outline.corners) + 1))
    known = [str(edge) for edge in edges]
    listed = ", ".join(known)
    if joint.line is not None:
        what = f"line is for belt and arms outlines, and {parent} is a {outline.shape}"
        faults.add((*path, "line"), what, f"give edge: {listed}")
    elif joint.edge not in edges:
        cure = f"its edges: {listed}"
        cure = meant(str(joint.edge), known, cure) if named else f"{cure} (1 runs from corner 1 to corner 2)"
        faults.add((*path, "edge"), f"{parent} has no edge '{joint.edge}'", cure)


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
    if len(faults.faults) > before:
        return False
    for name in panels:
        seen, here = [name], panels[name]
        while (joint := here.joint) and joint.parent not in seen:
            seen.append(joint.parent)
            here = panels[joint.parent]
        if joint:
            ring = " from ".join(f"'{n}'" for n in [*seen, joint.parent])
            where = (*joint_path(paths[name], panels[name]), "from")
            faults.add(where, f"a ring of panels: {ring}", "let one of them be the first panel, without a bend")
            return False
    return True


# -- the plan


def plan_panels(
    panels: dict[str, PanelTable], paths: dict[str, Path], shop: Shop | None, faults: Collector
) -> list[PlannedPanel]:
    """All panels in order, parents first, joggles opened up into a slope between two bends."""
    if not is_tree(panels, paths, faults):
        return []
    bent = [n for n, t in panels.items() if t.joint]
    if bent and shop is None:
        where = joint_path(paths[bent[0]], panels[bent[0]])
        faults.add(where, "the description has no [bend]", "add [bend] with the inside radius or the die")
        return []
    waiting = dict(panels)
    plans: dict[str, PlannedPanel] = {}
    while waiting:
        for name, table in list(waiting.items()):
            joint = table.joint
            if joint is None or joint.parent in plans:
                plans[name] = PlannedPanel(name, table, paths[name])
                if joint is not None and shop is not None:
                    with faults.at(joint_path(paths[name], table)):
                        _hang(plans[name], joint, plans, shop)
                del waiting[name]
    return list(plans.values())


def _hang(plan: PlannedPanel, joint: BendOfPanel | JoggleOfPanel, plans: dict[str, PlannedPanel], shop: Shop) -> None:
    """Joins a panel to its parent, by a bend or by the bend, slope and bend back of a joggle."""
    radius = joint.inside_radius if joint.inside_radius is not None else shop.inside_radius_mm
    slope = _slope_mm(joint, radius, shop.stock.thickness_mm) if isinstance(joint, JoggleOfPanel) else None
    sizes = joint.sizes or shop.table.sizes
    if sizes is None:
        cure = "give sizes = 'outside', 'inside', 'mould' or 'tangent' here or in [bend]"
        raise GeometryFault("nothing says what sizes are measured to at this bend", None, cure)
    setback = distance_to_tangent_mm(SizeReference(sizes), radius, shop.stock.thickness_mm, joint.turn_deg)
    bend = PlannedBend(
        f"bend {sum(len(p.children) for p in plans.values()) + 1}", joint.parent, plan.id, joint.edge, joint.line,
        joint.turn_deg, Way(joint.way), radius, setback, setback, joint.shift, joint.relief or shop.table.relief,
        joint_path(plan.path, plan.table),
    )  # fmt: skip
    if slope is not None:
        step = PlannedPanel(f"{plan.id} slope", _slope_table(plan.table, slope, setback), plan.path)
        plans[step.id] = step
        step.foot = replace(bend, child=step.id, child_setback_mm=0.0)
        plans[joint.parent].children.append(step.foot)
        back = Way.DOWN if bend.way is Way.UP else Way.UP
        bend = replace(
            bend, id=f"bend {sum(len(p.children) for p in plans.values()) + 1}", parent=step.id, edge="top", line=None,
            way=back, parent_setback_mm=0.0, shift_mm=0.0, keeps_x=True,
        )  # fmt: skip
        # The slope was entered after the panel it carries; parents have to come first.
        plans[plan.id] = plans.pop(plan.id)
    plan.foot = bend
    plans[bend.parent].children.append(bend)


def _slope_mm(joint: JoggleOfPanel, radius_mm: float, thickness_mm: float) -> float:
    """Length of the slope: between the described faces lies (2 R + t)(1 - cos turn) from the arcs, the rest from it."""
    c, s = cos_sin_deg(joint.turn_deg)
    arcs = (2 * radius_mm + thickness_mm) * (1 - c)
    slope = (joint.offset - arcs) / s
    if slope < _LEAST_SLOPE_MM:
        least = arcs + _LEAST_SLOPE_MM * s
        raise GeometryFault(
            f"an offset of {joint.offset:g} mm has no room for two bends of {joint.turn_deg:g} deg",
            None,
            f"at this turn and radius the least offset is {least:.2f} mm; give a smaller turn",
        )
    return slope


def _slope_table(table: PanelTable, height_mm: float, setback_mm: float) -> PanelTable:
    """A rectangle as wide as the panel that it carries, with the same x = 0."""
    foot = own_foot(table, setback_mm)
    outline = RectangleOutline.model_construct(
        shape="rectangle",
        width=foot.length if foot else None,
        height=height_mm,
        left=foot.start if foot else None,
    )
    return PanelTable.model_construct(outline=outline, origin=table.origin)


# -- the stretch of x that a bent panel's own table asks its bend to take


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch along a bend, mm."""

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
    if isinstance(outline, DiscOutline):
        raise GeometryFault("a disc has no straight edge to bend on", None, "use a belt, a polygon or a rectangle")
    if not isinstance(outline, PolygonOutline):
        if outline.width is None:
            return None
        left = own_left(table, outline.width)
        return Span(left, left + outline.width)
    # The polygon's width where the child's tangent line crosses it, above its edge on y = 0.
    corners = [c.at for c in outline.corners]
    edges = list(zip(corners, corners[1:] + corners[:1], strict=True))
    for i, (a, b) in enumerate(edges):
        if abs(a[1]) < 1e-6 and abs(b[1]) < 1e-6:
            before, after = edges[i - 1], edges[(i + 1) % len(edges)]
            return Span(*sorted((_x_at(before[1], before[0], setback_mm), _x_at(after[0], after[1], setback_mm))))
    raise GeometryFault("the polygon has no edge on y = 0", None, "a bent panel's foot is the edge with y = 0")


def own_left(table: PanelTable, width_mm: float) -> float:
    """x of the left end: as told, or as the panel's origin puts it."""
    left = getattr(table.outline, "left", None)
    if left is not None:
        return float(left)
    return {"left": 0.0, "middle": -width_mm / 2, "right": -width_mm}[table.origin]


def _x_at(low: tuple[float, float], high: tuple[float, float], y: float) -> float:
    """x of the edge that rises from `low` (y = 0), at a height; an edge that ends below it is taken as upright."""
    if high[1] <= y or y <= 0:
        return low[0]
    return low[0] + (high[0] - low[0]) * y / high[1]
