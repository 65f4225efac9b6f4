"""From hole tables to holes."""

from __future__ import annotations

from dataclasses import dataclass

from bracketgen.description.making.collect import PlacedFault
from bracketgen.description.making.outlines.pattern import Spot, spots
from bracketgen.description.model.holes import HoleTable, SlotTable
from bracketgen.description.model.isolators import IsolatorTable
from bracketgen.description.read import Path
from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Circle
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Hole, HoleShape, Isolator, IsolatorKind, Nut, Purpose, RoundHole, Slot
from bracketgen.part.part import Pad, Stock
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
        shape = _shape(table, spot, size.diameter_mm, diameter, path)
        pilot = _pilot(size, spot.at, stock, table.pilot) if shape.bore_mm is not None else None
        isolator, nut = _isolator(table.isolator), Nut(table.nut or "loose")
        made.append(Hole(id_, shape, size.purpose, size.fastener, pilot, isolator, nut))
    return made


def _shape(table: HoleTable, spot: Spot, width_mm: float, coated_mm: float, path: Path) -> HoleShape:
    """The hole at one place of the pattern, of a width before coating and the width to cut. Raises PlacedFault."""
    if table.slot is None:
        return RoundHole(spot.at, coated_mm)
    shape = slot_shape(table.slot, spot, width_mm, table.mirrored, table.turned).with_width(coated_mm)
    if shape.length_mm <= shape.width_mm:
        raise PlacedFault(
            (*path, "slot", "length"),
            f"a slot {shape.length_mm:g} mm long is no longer than its width of {shape.width_mm:g} mm",
            "length is overall, from end to end",
        )
    return shape


def slot_shape(
    table: SlotTable, spot: Spot, width_mm: float, mirrored: str | None = None, turned_deg: float = 0.0
) -> Slot:
    """The slot of that width at one place of a pattern that is mirrored, then turned."""
    match table.direction:
        case "radial":
            direction = spot.outward_deg
        case "around":
            direction = spot.outward_deg + 90.0
        case said:
            seen = {"left-right": 180.0 - float(said), "up-down": -float(said)}.get(mirrored or "", float(said))
            direction = seen + turned_deg
    return Slot(spot.at, width_mm, table.length, direction)


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
    return [Pad(at, own_mm or _usual_pad_mm(hole, rule)) for hole in holes for at in hole.shape.pads]


def _usual_pad_mm(hole: Hole, rule: EdgeRule) -> float:
    d = hole.shape.width_mm or 0.0
    bolt = fastener(hole.fastener) if hole.fastener else None
    washer = (bolt.washer_od_mm or bolt.head_across_corners_mm) / 2 + _PAD_BEYOND_WASHER_MM if bolt else 0.0
    least = rule.edge_mm(d, bolt.diameter_mm if bolt else d)
    return max(_PAD_PER_HOLE * d, washer, least)
