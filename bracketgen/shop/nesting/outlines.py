"""The close way of filling a sheet: by true outlines, with a packing library that is an optional extra."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from importlib.util import find_spec
from typing import Final

from bracketgen.geometry.contour import Contour
from bracketgen.geometry.point import Point
from bracketgen.geometry.scratch import Side, scratch_points
from bracketgen.shop.nesting.piece import Lying, Piece, Plate, Room

#: Arcs become chords round the metal, no farther off than this.
_CHORD_MM: Final = 0.05
#: The library keeps the gap to its own rounding; this much is added so that it is never less.
_SPARE_MM: Final = 0.02
#: The same order gives the same sheets, as far as the time limit lets it.
_SEED: Final = 7


def has_library() -> bool:
    """Whether the extra is installed."""
    return find_spec("spyrrow") is not None


def fill_by_outlines(pieces: Sequence[Piece], plate: Plate, room: Room, seconds: int) -> tuple[Lying, ...]:
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
        Lying(fits[one.id], one.rotation % 360.0, Point(one.translation[0] + room.margin_mm,
              one.translation[1] + room.margin_mm))
        for one in solution.placed_items
    ]  # fmt: skip
    return tuple(one for one in laid if _inside(one.outline(), plate, room))


def _fits(piece: Piece, plate: Plate, room: Room) -> bool:
    """Whether the piece alone fits in some turn; the library refuses pieces wider than its strip."""
    wide, high = plate.length_mm - 2 * room.margin_mm, plate.width_mm - 2 * room.margin_mm
    for angle in piece.angles(plate.rolled):
        x0, y0, x1, y1 = Lying(piece, angle, Point(0.0, 0.0)).outline().bounds()
        if x1 - x0 <= wide and y1 - y0 <= high - _SPARE_MM:
            return True
    return False


def _ring(outline: Contour) -> list[tuple[float, float]]:
    points = scratch_points(outline.anticlockwise(), chord_error_mm=_CHORD_MM, side=Side.OUTSIDE)
    return [(p.x, p.y) for p in points]


def _inside(outline: Contour, plate: Plate, room: Room) -> bool:
    x0, y0, x1, y1 = outline.bounds()
    m = room.margin_mm
    return min(x0, y0) >= m and x1 <= plate.length_mm - m and y1 <= plate.width_mm - m
