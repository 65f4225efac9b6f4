"""From hole tables to holes: where a pattern has them, how large they are, and the metal that they want around."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from bracketgen.description.making.faults import Collector, PlacedFault
from bracketgen.description.model.holes import (
    CirclePattern,
    CornersPattern,
    GridPattern,
    HoleTable,
    PointsPattern,
    RowPattern,
    SlotTable,
)
from bracketgen.description.model.panels import ArmsOutline, BeltOutline, PanelTable
from bracketgen.description.model.values import MOST_HOLES, what_and_cure
from bracketgen.description.text import Path
from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Circle
from bracketgen.geometry.plane import Placement, Point
from bracketgen.part.hole import Hole, HoleShape, Isolator, IsolatorKind, Nut, Purpose, RoundHole, Slot
from bracketgen.part.part import Pad, Stock
from bracketgen.standards.fasteners import EdgeRule, Fit, clearance_hole, fastener, tap_drill
from bracketgen.standards.table import LookupFault


@dataclass(frozen=True, slots=True)
class HolePlace:
    """One position of a pattern, and the direction (deg) from the pattern's middle to it."""

    at: Point
    outward_deg: float


def _pattern(table: HoleTable) -> list[Point]:
    match table.pattern:
        case None:
            return [Point(0.0, 0.0)]
        case RowPattern() as p:
            turned = Placement.turned(p.direction)
            return [turned.point(Point(i * p.spacing, 0.0)) for i in range(p.count)]
        case GridPattern() as p:
            across, up = p.spacing
            return [Point(i * across, j * up) for j in range(p.rows) for i in range(p.columns)]
        case CornersPattern() as p:
            x, y = p.size[0] / 2, p.size[1] / 2
            return [Point(-x, -y), Point(x, -y), Point(x, y), Point(-x, y)]
        case CirclePattern() as p:
            steps = p.count if math.isclose(abs(p.over), 360.0) else max(1, p.count - 1)
            arm = Point(p.diameter / 2, 0.0)
            return [Placement.turned(p.start + i * p.over / steps).point(arm) for i in range(p.count)]
        case PointsPattern() as p:
            return [Point(*xy) for xy in p.points]


def hole_places(table: HoleTable) -> list[HolePlace]:
    """Every position of the pattern in the panel's frame: mirrored first, then turned, then moved to `at`."""
    move = Placement.turned(table.turned, Point(*table.at))
    found = []
    for p in _pattern(table):
        local = Point(-p.x, p.y) if table.mirrored == "left-right" else p
        local = Point(p.x, -p.y) if table.mirrored == "up-down" else local
        outward = math.degrees(math.atan2(local.y, local.x)) if local != (0.0, 0.0) else 0.0
        found.append(HolePlace(move.point(local), outward + table.turned))
    return found


# -- the holes of one table

#: A pilot leaves this much on the diameter for the drill or reamer (common practice, no source).
_DRILL_LEAVES_MM = 1.0
#: Two holes of one pattern nearer than this are one (far below any tool, far above noise).
_SAME_PLACE_MM = 1e-3
#: The washer stands this far inside the pad (common practice, no source).
_PAD_BEYOND_WASHER_MM = 1.0
#: A pad is this many hole diameters in radius: twice the diameter is the warning limit of the edge rule.
_PAD_PER_HOLE = 2.0


def _size(table: HoleTable) -> tuple[float, Purpose, str | None]:
    """Diameter in the finished sheet before coating, mm, what it is for, and the bolt it takes. Raises LookupFault."""
    if table.isolator is not None and table.isolator.hole is not None:
        return table.isolator.hole, Purpose.CLEARANCE, fastener(table.bolt or "").size
    if table.bolt is not None:
        hole = clearance_hole(table.bolt, Fit.from_word(table.fit or "normal"))
        return hole.diameter_mm, Purpose.CLEARANCE, fastener(table.bolt).size
    if table.tap is not None:
        return tap_drill(table.tap).diameter_mm, Purpose.TAPPED, fastener(table.tap).size
    if table.rivet_nut is not None:
        size = fastener(table.rivet_nut)
        if size.rivet_nut_hole_mm is None:
            raise GeometryFault(f"no hole size is known for a {size.size} rivet nut", None, "give its diameter")
        return size.rivet_nut_hole_mm, Purpose.RIVET_NUT, size.size
    if table.dowel is not None:
        return table.dowel, Purpose.DOWEL, None
    assert table.diameter is not None
    return table.diameter, Purpose.PLAIN, None


def _pilot_mm(diameter_mm: float, purpose: Purpose, stock: Stock) -> float | None:
    """A hot cut wall is hard and tapered: threads (in coarse cuts) and fits are drilled or reamed to size."""
    process = stock.process
    fit = purpose is Purpose.DOWEL or (purpose is Purpose.TAPPED and process.tolerance_class == "2")
    small = diameter_mm - _DRILL_LEAVES_MM
    return small if process.thermal and fit and small >= process.minimum_hole_mm(stock.thickness_mm) else None


def make_holes(table: HoleTable, stock: Stock, name: str, path: Path) -> list[Hole]:
    """The holes of one table at `path`, named `name` or, in a pattern, `name-1`, `name-2` ...

    Raises PlacedFault, and LookupFault for words the tables don't hold.
    """
    width, purpose, bolt = _size(table)
    # A film on the wall closes a hole from both sides; threads and fits are masked or cleaned instead.
    coated = width + (2 * stock.coating_mm if purpose in (Purpose.CLEARANCE, Purpose.PLAIN) else 0.0)
    places = hole_places(table)
    _refuse_twice(places, (*path, "pattern"))
    if table.pilot is not None and table.pilot >= coated:
        what = f"a pilot of {table.pilot:g} mm leaves nothing to drill in a hole of {coated:g} mm"
        raise PlacedFault((*path, "pilot"), what, "give a smaller one")
    pilot = table.pilot if table.pilot is not None else _pilot_mm(width, purpose, stock)
    isolator, rubber = None, table.isolator
    if rubber is not None:
        kind = IsolatorKind[rubber.kind.upper()]
        isolator = Isolator(kind, rubber.height, rubber.hole, rubber.sleeve, rubber.stud, rubber.depth, rubber.torque)
    made = []
    for n, place in enumerate(places, start=1):
        id_ = name if len(places) == 1 else f"{name}-{n}"
        shape = _shape(table, place, width, coated, path)
        drilled = Circle(place.at, pilot / 2) if pilot is not None and shape.bore_mm is not None else None
        made.append(Hole(id_, shape, purpose, bolt, drilled, isolator, Nut(table.nut or "loose")))
    return made


def _shape(table: HoleTable, place: HolePlace, width_mm: float, coated_mm: float, path: Path) -> HoleShape:
    """The hole at one place of the pattern, of a width before coating and the width to cut. Raises PlacedFault."""
    if table.slot is None:
        return RoundHole(place.at, coated_mm)
    shape = slot_shape(table.slot, place, width_mm, table.mirrored, table.turned).with_width(coated_mm)
    if shape.length_mm <= shape.width_mm:
        raise PlacedFault(
            (*path, "slot", "length"),
            f"a slot {shape.length_mm:g} mm long is no longer than its width of {shape.width_mm:g} mm",
            "length is overall, from end to end",
        )
    return shape


def slot_shape(
    table: SlotTable, place: HolePlace, width_mm: float, mirrored: str | None = None, turned_deg: float = 0.0
) -> Slot:
    """The slot of that width at one place of a pattern that is mirrored, then turned."""
    match table.direction:
        case "radial":
            direction = place.outward_deg
        case "around":
            direction = place.outward_deg + 90.0
        case said:
            seen = {"left-right": 180.0 - float(said), "up-down": -float(said)}.get(mirrored or "", float(said))
            direction = seen + turned_deg
    return Slot(place.at, width_mm, table.length, direction)


def _refuse_twice(places: list[HolePlace], path: Path) -> None:
    """Two holes on one place would be cut twice."""
    seen: dict[tuple[int, int], int] = {}
    for n, place in enumerate(places, start=1):
        cell = (round(place.at.x / _SAME_PLACE_MM), round(place.at.y / _SAME_PLACE_MM))
        if cell in seen:
            where = f"({place.at.x:.2f}, {place.at.y:.2f}) mm"
            what = f"holes {seen[cell]} and {n} of the pattern stand on one place, {where}"
            raise PlacedFault(path, what, "each would be cut twice: look at spacing, angles and points")
        seen[cell] = n


# -- the holes of one panel, each with a name of its own and its place in the description


@dataclass(slots=True)
class PanelHoles:
    """Holes, the metal around them where the outline is made of it, and the path of each hole's table by id."""

    holes: list[Hole] = field(default_factory=list)
    pads: list[Pad] = field(default_factory=list)
    paths: dict[str, Path] = field(default_factory=dict)


def panel_holes(
    panel: str, table: PanelTable, path: Path, stock: Stock, rule: EdgeRule, faults: Collector
) -> PanelHoles:
    """The holes of a panel's table; what is wrong with one goes to `faults`. Stops when there are too many."""
    found = PanelHoles()
    for n, hole_table in enumerate(table.holes):
        if len(found.holes) > MOST_HOLES:
            break
        here = (*path, "holes", n)
        with faults.at(here):
            made = make_holes(hole_table, stock, f"{panel}/{hole_table.name or f'h{n + 1}'}", here)
            found.holes += made
            for hole in made:
                _name(hole.id, panel, here, found.paths, faults)
            if isinstance(table.outline, BeltOutline | ArmsOutline):
                found.pads += _pads(made, hole_table.pad or table.pad, rule, here)
    for n, cutout in enumerate(table.cutouts):
        _name(f"{panel}/{cutout.name or f'cutout-{n + 1}'}", panel, (*path, "cutouts", n), found.paths, faults)
    return found


def _pads(holes: list[Hole], own_mm: float | None, rule: EdgeRule, path: Path) -> list[Pad]:
    """The metal around each hole: as given, else enough for the washer and twice the hole's diameter."""
    try:
        return [Pad(at, own_mm or _usual_pad_mm(hole, rule)) for hole in holes for at in hole.shape.pads]
    except LookupFault as error:
        cure = "give pad, the radius of the metal around the hole, or another edge_distance rule"
        raise PlacedFault(path, what_and_cure(error)[0], cure) from None


def _usual_pad_mm(hole: Hole, rule: EdgeRule) -> float:
    d = hole.shape.width_mm or 0.0
    bolt = fastener(hole.fastener) if hole.fastener else None
    washer = (bolt.washer_od_mm or bolt.head_across_corners_mm) / 2 + _PAD_BEYOND_WASHER_MM if bolt else 0.0
    return max(_PAD_PER_HOLE * d, washer, rule.edge_mm(d, bolt.diameter_mm if bolt else d))


def _name(id_: str, panel: str, path: Path, names: dict[str, Path], faults: Collector) -> None:
    """Keeps where a name was given; a finding about it must point to one thing only."""
    if id_ in names and names[id_] != path:
        short = id_.removeprefix(f"{panel}/")
        faults.add((*path, "name"), f"the name '{short}' is given twice on panel '{panel}'", "give it another name")
    names.setdefault(id_, path)
