"""Parts laid on sheets and offcuts, every gap looked at again on the true outlines, and what cutting them may cost.

A sheet is filled by the boxes round the parts, or closer by their outlines with a packing library, an optional extra.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from importlib.util import find_spec
from math import fsum
from typing import Final

from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Contour
from bracketgen.geometry.gap import too_near
from bracketgen.geometry.plane import Placement, Point
from bracketgen.geometry.scratch import ChordSide, scratch_points


class Rolled(Enum):
    """The rolling direction of a sheet, as degrees from its length; None = not known."""

    LENGTH = 0.0
    WIDTH = 90.0
    UNKNOWN = None


@dataclass(frozen=True, slots=True)
class NestPart:
    """One kind of part: its outline and area of metal, how many, its rolling direction in the file (None = free)."""

    name: str
    outline: Contour
    area_mm2: float
    quantity: int
    grain_deg: float | None = None

    def angles(self, rolled: Rolled) -> tuple[float, ...]:
        """Turns (deg) in which the piece may lie on a sheet so rolled; none where its grain can't be kept."""
        if self.grain_deg is None:
            return (0.0, 90.0, 180.0, 270.0)
        if rolled is Rolled.UNKNOWN:
            return ()
        turn = (float(rolled.value) - self.grain_deg) % 180.0
        return (turn, turn + 180.0)


@dataclass(frozen=True, slots=True)
class StockSheet:
    """One sheet or offcut: length along x, width along y, mm."""

    name: str
    length_mm: float
    width_mm: float
    rolled: Rolled = Rolled.LENGTH

    @property
    def area_mm2(self) -> float:
        """The whole of it."""
        return self.length_mm * self.width_mm


@dataclass(frozen=True, slots=True)
class Spacing:
    """How close cuts may lie, mm: to each other, and to the sheet's edge."""

    gap_mm: float
    margin_mm: float


@dataclass(frozen=True, slots=True)
class PlacedPart:
    """A piece turned by `angle_deg` about its file's origin, then shifted."""

    piece: NestPart
    angle_deg: float
    at: Point

    @property
    def placement(self) -> Placement:
        """From the cut file to the sheet."""
        return Placement.turned(self.angle_deg, self.at)

    def outline(self) -> Contour:
        """The outline on the sheet."""
        return self.piece.outline.moved(self.placement)


@dataclass(frozen=True, slots=True)
class FilledSheet:
    """A sheet with the pieces that lie on it."""

    plate: StockSheet
    lying: tuple[PlacedPart, ...]

    @property
    def used(self) -> float:
        """Share of the sheet that becomes parts, 0 to 1."""
        return fsum(one.piece.area_mm2 for one in self.lying) / self.plate.area_mm2


@dataclass(frozen=True, slots=True)
class Nest:
    """Sheets in the order they were filled, and how many of each piece found no room."""

    filled: tuple[FilledSheet, ...]
    left_over: dict[str, int]

    def lying(self) -> Iterator[PlacedPart]:
        """Every piece on every sheet."""
        for sheet in self.filled:
            yield from sheet.lying


# -- filling sheets and offcuts in turn, with every gap looked at again on the true outlines

#: Rounding of sums of coordinates.
_SAME_MM: Final = 1e-6


class NestMethod(Enum):
    """By boxes, or by outlines with the packing library."""

    BOXES = "boxes"
    OUTLINES = "outlines"

    @staticmethod
    def best() -> NestMethod:
        """By outlines where the library is there."""
        return NestMethod.OUTLINES if has_library() else NestMethod.BOXES


def nest(
    pieces: Sequence[NestPart], plates: Sequence[StockSheet], room: Spacing, way: NestMethod, seconds: int = 5
) -> Nest:
    """The pieces on the sheets, each sheet filled before the next is begun; `seconds` is the library's time a sheet.

    By outlines a sheet is filled by boxes too, and the fuller one is taken.
    Raises GeometryFault when pieces would lie nearer than the gap or the margin: then nothing can be relied on.
    """
    waiting = [piece for piece in pieces for _ in range(piece.quantity)]
    filled: list[FilledSheet] = []
    for plate in plates:
        if not waiting:
            break
        sheet = _fullest(waiting, plate, room, way, seconds)
        if sheet.lying:
            _check(sheet, room)
            filled.append(sheet)
            waiting = _rest(waiting, sheet.lying)
    return Nest(tuple(filled), dict(Counter(piece.name for piece in waiting)))


def _fullest(
    waiting: Sequence[NestPart], plate: StockSheet, room: Spacing, way: NestMethod, seconds: int
) -> FilledSheet:
    plain = FilledSheet(plate, fill_by_boxes(waiting, plate, room))
    if way is NestMethod.BOXES or len(plain.lying) == len(waiting):
        # Everything fits: a closer lie would leave a better offcut, but no more parts.
        return plain
    close = FilledSheet(plate, fill_by_outlines(waiting, plate, room, seconds))
    return max(plain, close, key=lambda sheet: sheet.used)


def _rest(waiting: Sequence[NestPart], lying: Sequence[PlacedPart]) -> list[NestPart]:
    gone = Counter(one.piece.name for one in lying)
    rest = []
    for piece in waiting:
        if gone[piece.name]:
            gone[piece.name] -= 1
        else:
            rest.append(piece)
    return rest


def _check(sheet: FilledSheet, room: Spacing) -> None:
    """Raises GeometryFault for the first pair that is too near, and for a piece too near the edge."""
    outlines = [one.outline() for one in sheet.lying]
    for one, outline in zip(sheet.lying, outlines, strict=True):
        x0, y0, x1, y1 = outline.bounds()
        far = room.margin_mm - _SAME_MM
        plate = sheet.plate
        if min(x0, y0, plate.length_mm - x1, plate.width_mm - y1) < far:
            raise GeometryFault(f"{one.piece.name} lies nearer than {room.margin_mm:g} mm to the edge of {plate.name}")
    for a, b in too_near(outlines, room.gap_mm - _SAME_MM):
        names = f"{sheet.lying[a].piece.name} and {sheet.lying[b].piece.name}"
        raise GeometryFault(f"{names} lie nearer than {room.gap_mm:g} mm on {sheet.plate.name}")


# -- what cutting may take and cost, by the shop's own rates

_S_PER_H: Final = 3600.0
_S_PER_MIN: Final = 60.0


@dataclass(frozen=True, slots=True)
class Rates:
    """The shop's figures: mm a minute along the cut, seconds a pierce, money an hour, a kilogram, and once."""

    cut_mm_per_min: float
    pierce_s: float = 0.0
    machine_per_hour: float = 0.0
    metal_per_kg: float = 0.0
    setup: float = 0.0


@dataclass(frozen=True, slots=True)
class CostEstimate:
    """Seconds of cutting, and money for machine, metal and setup."""

    cutting_s: float
    machine: float
    metal: float
    setup: float

    @property
    def total(self) -> float:
        """All of the money."""
        return self.machine + self.metal + self.setup


def estimate(cut_mm: float, pierces: int, metal_kg: float, rates: Rates) -> CostEstimate:
    """Time = length / speed + pierces; no rapid moves, loading, corners or bending are in it.

    `metal_kg` is what is paid for: the whole of every sheet begun. ValueError for a speed of 0.
    """
    if not rates.cut_mm_per_min > 0.0:
        raise ValueError("a cutting speed of 0")
    seconds = cut_mm / rates.cut_mm_per_min * _S_PER_MIN + pierces * rates.pierce_s
    machine = seconds / _S_PER_H * rates.machine_per_hour
    return CostEstimate(seconds, machine, metal_kg * rates.metal_per_kg, rates.setup)


# -- the plain way of filling a sheet: each piece in the box round it, the boxes one after another, largest first

#: Boxes that touch within this still fit.
_TOUCH_MM: Final = 1e-9

#: x0, y0, x1, y1
Rect = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class _BoxPlace:
    """A turn of a piece in a free rectangle; the least `waste` is taken."""

    waste: tuple[float, float]
    lying: PlacedPart
    box: Rect


def fill_by_boxes(pieces: Sequence[NestPart], plate: StockSheet, room: Spacing) -> tuple[PlacedPart, ...]:
    """As many of the pieces, each standing for one, as find room on the sheet.

    Free metal is kept as the largest empty rectangles, which may overlap; a box goes where the shorter of the two
    rests beside it is least.
    """
    low, gap = room.margin_mm, room.gap_mm
    # Every box carries its gap at its right and upper side; so does the usable field.
    free: list[Rect] = [(low, low, plate.length_mm - low + gap, plate.width_mm - low + gap)]
    placed: list[PlacedPart] = []
    for piece in sorted(pieces, key=_size, reverse=True):
        choices = [c for rect in free for c in _choices(piece, plate, rect, gap)]
        if not choices:
            continue
        best = min(choices, key=lambda c: (c.waste, c.box))
        placed.append(best.lying)
        free = _largest([rest for rect in free for rest in _without(rect, best.box)])
    return tuple(placed)


def _size(piece: NestPart) -> tuple[float, float, str]:
    x0, y0, x1, y1 = piece.outline.bounds()
    return max(x1 - x0, y1 - y0), (x1 - x0) * (y1 - y0), piece.name


def _choices(piece: NestPart, plate: StockSheet, rect: Rect, gap: float) -> Iterator[_BoxPlace]:
    # A box turned by half a turn takes the same room.
    for angle in sorted({a % 180.0 for a in piece.angles(plate.rolled)}):
        x0, y0, x1, y1 = piece.outline.moved(Placement.turned(angle)).bounds()
        wide, high = x1 - x0 + gap, y1 - y0 + gap
        rest_x, rest_y = rect[2] - rect[0] - wide, rect[3] - rect[1] - high
        if min(rest_x, rest_y) < -_TOUCH_MM:
            continue
        at = Point(rect[0] - x0, rect[1] - y0)
        box = (rect[0], rect[1], rect[0] + wide, rect[1] + high)
        yield _BoxPlace((min(rest_x, rest_y), max(rest_x, rest_y)), PlacedPart(piece, angle, at), box)


def _without(rect: Rect, taken: Rect) -> list[Rect]:
    """The largest rectangles left of a free one when a box is taken from it."""
    x0, y0, x1, y1 = rect
    a0, b0, a1, b1 = taken
    if a0 >= x1 - _TOUCH_MM or a1 <= x0 + _TOUCH_MM or b0 >= y1 - _TOUCH_MM or b1 <= y0 + _TOUCH_MM:
        return [rect]
    rests = [(x0, y0, a0, y1), (a1, y0, x1, y1), (x0, y0, x1, b0), (x0, b1, x1, y1)]
    return [r for r in rests if r[2] - r[0] > _TOUCH_MM and r[3] - r[1] > _TOUCH_MM]


def _largest(rects: Sequence[Rect]) -> list[Rect]:
    """Without those that lie in another."""
    kept: list[Rect] = []
    for rect in sorted(set(rects), key=lambda r: (-(r[2] - r[0]) * (r[3] - r[1]), r)):
        if not any(k[0] <= rect[0] and k[1] <= rect[1] and k[2] >= rect[2] and k[3] >= rect[3] for k in kept):
            kept.append(rect)
    return kept


# -- the close way of filling a sheet: by true outlines, with a packing library that is an optional extra

#: Arcs become chords round the metal, no farther off than this.
_CHORD_MM: Final = 0.05
#: The library keeps the gap to its own rounding; this much is added so that it is never less.
_SPARE_MM: Final = 0.02
#: The same order gives the same sheets, as far as the time limit lets it.
_SEED: Final = 7


def has_library() -> bool:
    """Whether the extra is installed."""
    return find_spec("spyrrow") is not None


def fill_by_outlines(
    pieces: Sequence[NestPart], plate: StockSheet, room: Spacing, seconds: int
) -> tuple[PlacedPart, ...]:
    """As many of the pieces, each standing for one, as the library lays within the sheet's length.

    It lays all of them on one strip as wide as the sheet; what reaches beyond the sheet's end is left for the next.
    """
    import spyrrow

    count = Counter(pieces)
    kinds = {f"{n}": piece for n, piece in enumerate(count)}
    fits = {key: piece for key, piece in kinds.items() if piece.angles(plate.rolled) and _fits(piece, plate, room)}
    if not fits:
        return ()
    items = [
        spyrrow.Item(key, _ring(piece.outline), count[piece], list(piece.angles(plate.rolled)))
        for key, piece in fits.items()
    ]
    high = plate.width_mm - 2 * room.margin_mm
    config = spyrrow.StripPackingConfig(
        total_computation_time=seconds, min_items_separation=room.gap_mm + _SPARE_MM, num_workers=1, seed=_SEED
    )
    solution = spyrrow.StripPackingInstance("sheet", high, items).solve(config)
    laid = [
        PlacedPart(fits[one.id], one.rotation % 360.0, Point(one.translation[0] + room.margin_mm,
              one.translation[1] + room.margin_mm))
        for one in solution.placed_items
    ]  # fmt: skip
    return tuple(one for one in laid if _inside(one.outline(), plate, room))


def _fits(piece: NestPart, plate: StockSheet, room: Spacing) -> bool:
    """Whether the piece alone fits in some turn; the library refuses pieces wider than its strip."""
    wide, high = plate.length_mm - 2 * room.margin_mm, plate.width_mm - 2 * room.margin_mm
    for angle in piece.angles(plate.rolled):
        x0, y0, x1, y1 = PlacedPart(piece, angle, Point(0.0, 0.0)).outline().bounds()
        if x1 - x0 <= wide and y1 - y0 <= high - _SPARE_MM:
            return True
    return False


def _ring(outline: Contour) -> list[tuple[float, float]]:
    points = scratch_points(outline.anticlockwise(), chord_error_mm=_CHORD_MM, side=ChordSide.OUTSIDE)
    return [(p.x, p.y) for p in points]


def _inside(outline: Contour, plate: StockSheet, room: Spacing) -> bool:
    x0, y0, x1, y1 = outline.bounds()
    m = room.margin_mm
    return min(x0, y0) >= m and x1 <= plate.length_mm - m and y1 <= plate.width_mm - m
