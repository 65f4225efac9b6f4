"""Small parts built by hand, without a description, for tests."""

from __future__ import annotations

from collections.abc import Sequence

from bracketgen.geometry.contour import Contour, box_contour
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Hole, Purpose, RoundHole
from bracketgen.part.part import Bend, Panel, Part, Stock, Way
from bracketgen.standards.machines import process
from bracketgen.standards.metals import metal


def stock(
    thickness_mm: float = 3.0, metal_id: str = "S235", process_id: str = "laser", grain_deg: float | None = None
) -> Stock:
    typed = f"{thickness_mm:g} mm"
    return Stock(metal(metal_id), thickness_mm, typed, process(process_id), grain_deg, "", 0.0, (3000.0, 1500.0))


def round_hole(
    id_: str, x: float, y: float, diameter: float, fastener: str | None = None, purpose: Purpose = Purpose.CLEARANCE
) -> Hole:
    return Hole(id_, RoundHole(Point(x, y), diameter), purpose, fastener)


def plate(outline: Contour, holes: Sequence[Hole] = (), of: Stock | None = None) -> Part:
    panel = Panel("plate", outline, tuple(holes))
    return Part("plate", "Plate", of or stock(), (panel,), (), "EN 1993-1-8", 1.0)


def l_part(
    width: float = 40.0,
    base: float = 50.0,
    leg: float = 30.0,
    inside_radius: float = 3.0,
    turn_deg: float = 90.0,
    way: Way = Way.UP,
    of: Stock | None = None,
    base_holes: Sequence[Hole] = (),
    leg_holes: Sequence[Hole] = (),
) -> Part:
    """Two plates joined by one bend at the base's upper edge; both sizes run to the tangent lines.

    The child's frame has x along the bend, its origin on the bend's left end, y away from the bend.
    """
    bend = Bend(
        "bend 1",
        "base",
        "leg",
        Line(Point(0.0, base), Point(width, base)),
        Line(Point(0.0, 0.0), Point(width, 0.0)),
        turn_deg,
        way,
        inside_radius,
    )
    panels = (
        Panel("base", box_contour(0.0, 0.0, width, base), tuple(base_holes)),
        Panel("leg", box_contour(0.0, 0.0, width, leg), tuple(leg_holes)),
    )
    return Part("l-part", "Angle", of or stock(), panels, (bend,), "EN 1993-1-8", 1.0)
