"""Filling sheets and offcuts in turn, with every gap looked at again on the true outlines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from enum import Enum
from typing import Final

from bracketgen.errors import GeometryFault
from bracketgen.geometry.spacing import too_near
from bracketgen.shop.nesting.boxes import fill_by_boxes
from bracketgen.shop.nesting.outlines import fill_by_outlines, has_library
from bracketgen.shop.nesting.piece import Filled, Lying, Nest, Piece, Plate, Room

#: Rounding of sums of coordinates.
_SAME_MM: Final = 1e-6


class Way(Enum):
    """By boxes, or by outlines with the packing library."""

    BOXES = "boxes"
    OUTLINES = "outlines"

    @staticmethod
    def best() -> Way:
        """By outlines where the library is there."""
        return Way.OUTLINES if has_library() else Way.BOXES


def nest(pieces: Sequence[Piece], plates: Sequence[Plate], room: Room, way: Way, seconds: int = 5) -> Nest:
    """The pieces on the sheets, each sheet filled before the next is begun; `seconds` is the library's time a sheet.

    By outlines a sheet is filled by boxes too, and the fuller one is taken.
    Raises GeometryFault when pieces would lie nearer than the gap or the margin: then nothing can be relied on.
    """
    waiting = [piece for piece in pieces for _ in range(piece.quantity)]
    filled: list[Filled] = []
    for plate in plates:
        if not waiting:
            break
        sheet = _fullest(waiting, plate, room, way, seconds)
        if sheet.lying:
            _check(sheet, room)
            filled.append(sheet)
            waiting = _rest(waiting, sheet.lying)
    return Nest(tuple(filled), dict(Counter(piece.name for piece in waiting)))


def _fullest(waiting: Sequence[Piece], plate: Plate, room: Room, way: Way, seconds: int) -> Filled:
    plain = Filled(plate, fill_by_boxes(waiting, plate, room))
    if way is Way.BOXES or len(plain.lying) == len(waiting):
        # Everything fits: a closer lie would leave a better offcut, but no more parts.
        return plain
    close = Filled(plate, fill_by_outlines(waiting, plate, room, seconds))
    return max(plain, close, key=lambda sheet: sheet.used)


def _rest(waiting: Sequence[Piece], lying: Sequence[Lying]) -> list[Piece]:
    gone = Counter(one.piece.name for one in lying)
    rest = []
    for piece in waiting:
        if gone[piece.name]:
            gone[piece.name] -= 1
        else:
            rest.append(piece)
    return rest


def _check(sheet: Filled, room: Room) -> None:
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
