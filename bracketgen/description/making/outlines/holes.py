"""From hole tables to holes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bracketgen.description.making.collect import PlacedFault
from bracketgen.description.making.outlines.pattern import Spot, spots
from bracketgen.description.model.holes import HoleTable
from bracketgen.description.model.isolators import IsolatorTable
from bracketgen.description.read import Path
from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Circle
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point
from bracketgen.geometry.shapes import slot_contour
from bracketgen.part.hole import Hole, HoleShape, Nut, Purpose
from bracketgen.part.isolator import Isolator, IsolatorKind
from bracketgen.part.panel import Pad
from bracketgen.part.stock import Stock
from bracketgen.standards.fasteners import EdgeRule, Fit, clearance_hole, fastener, tap_drill

#: A pilot leaves this much on the diameter for the drill or reamer (common practice, no source).
_DRILL_LEAVES_MM = 1.0
#: Two holes of one pattern nearer than this are one (far below any tool, far above noise).
_SAME_PLACE_MM = 1e-3
#: The washer stands this far inside the pad (common practice, no source).
_PAD_BEYOND_WASHER_MM = 1.0
#: A pad is this many hole diameters in radius: twice the diameter is the warning limit of the edge rule.
_PAD_PER_HOLE = 2.0


@dataclass(frozen=True, slots=True)
class HoleSize:
    """Diameter in the finished sheet before coating, what it is for, and the bolt it takes."""

    diameter_mm: float
    purpose: Purpose
    fastener: str | None


def hole_size(table: HoleTable) -> HoleSize:
    """The size that a hole table asks for. Raises LookupFault for words the tables don't hold."""
    if table.isolator is not None and table.isolator.hole is not None:
        return HoleSize(table.isolator.hole, Purpose.CLEARANCE, fastener(table.bolt or "").size)
    if table.bolt is not None:
        hole = clearance_hole(table.bolt, Fit.from_word(table.fit or "normal"))
        return HoleSize(hole.diameter_mm, Purpose.CLEARANCE, fastener(table.bolt).size)
    if table.tap is not None:
        return HoleSize(tap_drill(table.tap).diameter_mm, Purpose.TAPPED, fastener(table.tap).size)
    if table.rivet_nut is not None:
        size = fastener(table.rivet_nut)
        if size.rivet_nut_hole_mm is None:
            raise GeometryFault(f"no hole size is known for a {size.size} rivet nut", None, "give its diameter")
        return HoleSize(size.rivet_nut_hole_mm, Purpose.RIVET_NUT, size.size)
    if table.dowel is not None:
        return HoleSize(table.dowel, Purpose.DOWEL, None)
    assert table.diameter is not None
    return HoleSize(table.diameter, Purpose.PLAIN, None)


def _coated_mm(size: HoleSize, stock: Stock) -> float:
    """A film on the wall closes a hole from both sides; threads and fits are masked or cleaned instead."""
    grows = size.purpose in (Purpose.CLEARANCE, Purpose.PLAIN)
    return size.diameter_mm + (2 * stock.coating_mm if grows else 0.0)


def _pilot(size: HoleSize, at: Point, stock: Stock, own_mm: float | None) -> Circle | None:
    """A hot cut wall is hard and tapered: threads (in coarse cuts) and fits are drilled or reamed to size."""
    if own_mm is not None:
        return Circle(at, own_mm / 2)
    process = stock.process
    coarse = process.tolerance_class == "2"
    fit = size.purpose is Purpose.DOWEL or (size.purpose is Purpose.TAPPED and coarse)
    small = size.diameter_mm - _DRILL_LEAVES_MM
    if not (process.thermal and fit) or small < process.minimum_hole_mm(stock.thickness_mm):
        return None
    return Circle(at, small / 2)


def _slot_direction(table: HoleTable, spot: Spot) -> float:
    assert table.slot is not None
    if table.slot.direction == "radial":
        return spot.outward_deg
    if table.slot.direction == "around":
        return spot.outward_deg + 90.0
    said = float(table.slot.direction)
    seen = {"left-right": 180.0 - said, "up-down": -said}.get(table.mirrored or "", said)
    return seen + table.turned


def make_holes(table: HoleTable, stock: Stock, name: str, path: Path) -> list[Hole]:
    """The holes of one table at `path`, named `name` or, in a pattern, `name-1`, `name-2` ...

    Raises PlacedFault, and LookupFault for words the tables don't hold.
    """
    size = hole_size(table)
    diameter = _coated_mm(size, stock)
    places = spots(table)
    _refuse_twice(places, (*path, "pattern"))
    if table.pilot is not None and table.pilot >= diameter:
        what = f"a pilot of {table.pilot:g} mm leaves nothing to drill in a hole of {diameter:g} mm"
        raise PlacedFault((*path, "pilot"), what, "give a smaller one")
    made = []
    for n, spot in enumerate(places, start=1):
        id_ = name if len(places) == 1 else f"{name}-{n}"
        if table.slot is None:
            cut, pilot = Circle(spot.at, diameter / 2), _pilot(size, spot.at, stock, table.pilot)
            made.append(
                Hole(id_, HoleShape.ROUND, size.purpose, spot.at, cut, diameter, fastener=size.fastener, pilot=pilot)
            )
            continue
        length = table.slot.length + diameter - size.diameter_mm
        if length <= diameter:
            raise PlacedFault(
                (*path, "slot", "length"),
                f"a slot {length:g} mm long is no longer than its width of {diameter:g} mm",
                "length is overall, from end to end",
            )
        direction = _slot_direction(table, spot)
        chain = slot_contour(spot.at, length, diameter, direction)
        made.append(Hole(id_, HoleShape.SLOT, size.purpose, spot.at, chain, diameter, length, direction, size.fastener))
    return [replace(hole, isolator=_isolator(table.isolator), nut=Nut(table.nut or "loose")) for hole in made]


_ISOLATORS = {"bush": IsolatorKind.BUSH, "bobbin": IsolatorKind.BOBBIN, "pad": IsolatorKind.PAD}


def _isolator(table: IsolatorTable | None) -> Isolator | None:
    if table is None:
        return None
    kind = _ISOLATORS[table.kind]
    return Isolator(kind, table.height, table.hole, table.sleeve, table.stud, table.depth, table.torque)


def _refuse_twice(places: list[Spot], path: Path) -> None:
    """Two holes on one place would be cut twice."""
    seen: dict[tuple[int, int], int] = {}
    for n, spot in enumerate(places, start=1):
        cell = (round(spot.at.x / _SAME_PLACE_MM), round(spot.at.y / _SAME_PLACE_MM))
        if cell in seen:
            where = f"({spot.at.x:.2f}, {spot.at.y:.2f}) mm"
            what = f"holes {seen[cell]} and {n} of the pattern stand on one place, {where}"
            raise PlacedFault(path, what, "each would be cut twice: look at spacing, angles and points")
        seen[cell] = n


def pads_of(holes: list[Hole], own_mm: float | None, rule: EdgeRule) -> list[Pad]:
    """The metal around each hole: as given, else enough for the washer and twice the hole's diameter."""
    return [pad for hole in holes for pad in _pads(hole, own_mm or _usual_pad_mm(hole, rule))]


def _usual_pad_mm(hole: Hole, rule: EdgeRule) -> float:
    d = hole.diameter_mm or 0.0
    bolt = fastener(hole.fastener) if hole.fastener else None
    washer = (bolt.washer_od_mm or bolt.head_across_corners_mm) / 2 + _PAD_BEYOND_WASHER_MM if bolt else 0.0
    least = rule.edge_mm(d, bolt.diameter_mm if bolt else d)
    return max(_PAD_PER_HOLE * d, washer, least)


def _pads(hole: Hole, radius_mm: float) -> list[Pad]:
    if hole.shape is HoleShape.ROUND:
        return [Pad(hole.centre, radius_mm)]
    half = ((hole.length_mm or 0.0) - (hole.diameter_mm or 0.0)) / 2
    arm = Placement.turned(hole.direction_deg or 0.0).direction(Point(half, 0.0))
    return [Pad(hole.centre.plus(arm), radius_mm), Pad(hole.centre.plus(arm, -1.0), radius_mm)]
