"""Whether each panel can be joined where its description says, as far as the tables alone can tell."""

from __future__ import annotations

from collections.abc import Mapping

from bracketgen.description.making.collect import Collector
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
from bracketgen.description.read import Path
from bracketgen.units import nearest_word


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
