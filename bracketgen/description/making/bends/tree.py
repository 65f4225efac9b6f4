"""The tree of panels: who bends away from whom, in an order in which parents come first."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

from bracketgen.bending.setback import SizeReference, distance_to_tangent_mm
from bracketgen.description.making.bends.foot import own_foot
from bracketgen.description.making.bends.joints import joint_path
from bracketgen.description.making.collect import Collector
from bracketgen.description.making.shop import Shop
from bracketgen.description.model.panels import BendOfPanel, JoggleOfPanel, PanelTable, RectangleOutline
from bracketgen.description.model.stock import ReliefTable
from bracketgen.description.read import Path
from bracketgen.errors import GeometryFault
from bracketgen.geometry.plane import cos_sin_deg
from bracketgen.part.hole import Hole
from bracketgen.part.part import Pad, Way
from bracketgen.units import nearest_word

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
