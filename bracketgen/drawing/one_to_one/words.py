"""Labels on one sheet of the template: hole sizes, bends, card folds, which face is up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.bend_words import bend_label, numbered_strips
from bracketgen.drawing.marks.hole_groups import size_text
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.one_to_one.card import CardFold
from bracketgen.drawing.one_to_one.clipping import clipped, within
from bracketgen.drawing.one_to_one.flag import Flag
from bracketgen.drawing.one_to_one.plane_map import Face, PlaneMap
from bracketgen.drawing.one_to_one.shape import shows_own_line
from bracketgen.drawing.paper.free_room import FreeRoom
from bracketgen.drawing.paper.lettering import Weight
from bracketgen.drawing.paper.palette import INK, WAY_LINE
from bracketgen.drawing.picture.callouts import AIR_MM, UNSTRUCK_COST, Callout, Leader, Target, padded, place_callout
from bracketgen.drawing.sheet import Fill, Label, Mark, Reading, Stroke
from bracketgen.geometry.edge import Box, Line
from bracketgen.geometry.plane import midpoint
from bracketgen.part.part import Bend, Way

_SIZE_MM: Final = 3.2
_BEND_MM: Final = 3.6
#: Letters of a bend that finds no room beside the outline.
_SMALLER_MM: Final = (3.1, 2.7)
_FACE_MM: Final = 4.2
_SHARES: Final = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9)


@dataclass(frozen=True, slots=True)
class Worded:
    """The marks of all labels that found room, and what the others would have said."""

    marks: tuple[Mark, ...]
    left_out: tuple[str, ...]


def face_words(face: Face) -> str:
    """Which face looks at the reader."""
    return "THIS FACE UP" if face is Face.DESCRIBED else "BACK FACE UP (MIRRORED)"


def fold_words(face: Face, bend: Bend) -> str:
    """Which way the reader folds it, as the sheet lies before him."""
    toward = (bend.way is Way.UP) is (face is Face.DESCRIBED)
    return "fold toward you" if toward else "fold away"


def sheet_words(
    flat: Flat, folds: Sequence[CardFold], flag: Flag | None, to_paper: PlaneMap, window: Box, drawn: Sequence[Mark]
) -> Worded:
    """Every label of what a sheet shows, the pickiest first; `drawn` is what lies there already."""
    room = FreeRoom(window)
    _take(room, drawn)
    wanted = _face(flag, to_paper, window) if flag is not None else []
    wanted += _bends(flat, to_paper, window)
    wanted += _card(folds, to_paper, window)
    wanted += _holes(flat, to_paper, window)
    marks: list[Mark] = []
    left_out: list[str] = []
    for callout in wanted:
        placed = place_callout(room, callout)
        marks += placed or []
        if placed is None:
            left_out.append(callout.text)
    return Worded(tuple(marks), tuple(left_out))


def _take(room: FreeRoom, drawn: Sequence[Mark]) -> None:
    """Words and fills are never covered, lines only when nothing better is left."""
    for mark in drawn:
        if isinstance(mark, Label):
            room.take(padded(mark.box, AIR_MM))
        elif isinstance(mark, Stroke):
            room.ink_line(mark.points)
        elif isinstance(mark, Fill):
            xs, ys = zip(*mark.rings[0], strict=True)
            room.take((min(xs), min(ys), max(xs), max(ys)))


def _face(flag: Flag, to_paper: PlaneMap, window: Box) -> list[Callout]:
    if not flag.fits(to_paper, window):
        return []
    _, b, c = map(to_paper.point, flag.points)
    target = Target(midpoint(b, c), 0.8 * flag.foot_mm)
    return [Callout(face_words(to_paper.face), (target,), _FACE_MM, "face up", leader=Leader.WHEN_APART)]


def _holes(flat: Flat, to_paper: PlaneMap, window: Box) -> list[Callout]:
    made: list[Callout] = []
    for hole in flat.holes:
        centre = to_paper.point(hole.centre)
        if not within(centre, window):
            continue
        ring = to_paper.ring(hole.cut)
        radius = min(p.distance(centre) for p in ring)
        edge = () if hole.hole.shape.bore_mm is not None else ring[:-1]
        target = Target(centre, radius, edge)
        shows = f"size of {hole.hole.id}"
        made.append(Callout(size_text(hole.hole), (target,), _SIZE_MM, shows, away_mm=radius + 4.0,
                            most_cost=UNSTRUCK_COST))  # fmt: skip
    return made


def _bends(flat: Flat, to_paper: PlaneMap, window: Box) -> list[Callout]:
    made: list[Callout] = []
    for number, strip in numbered_strips(flat):
        text = f"{bend_label(number, strip.bend)}  {fold_words(to_paper.face, strip.bend)}"
        half = strip.metal.allowance_mm / 2
        colour = WAY_LINE[strip.bend.way]
        made += _along(text, strip.centre_line, half, f"bend {number}", to_paper, window, _BEND_MM, colour)
    return made


def _card(folds: Sequence[CardFold], to_paper: PlaneMap, window: Box) -> list[Callout]:
    made: list[Callout] = []
    for fold in folds:
        if shows_own_line(fold):
            text = f"{plain(fold.card_mm, 1)} mm card folds here ({fold.number})"
            shows = f"card fold {fold.number}"
            made += _along(text, fold.line, 0.0, shows, to_paper, window, _SIZE_MM, INK, Leader.ALWAYS)
    return made


def _along(
    text: str,
    line: Line,
    half: float,
    shows: str,
    to_paper: PlaneMap,
    window: Box,
    size_mm: float,
    colour: tuple[int, int, int],
    leader: Leader = Leader.WHEN_APART,
) -> list[Callout]:
    """A label beside that piece of a line which the sheet shows; none when it shows nothing of it."""
    pieces = clipped(to_paper.line(line), window)
    if not pieces:
        return []
    a, b = pieces[0]
    targets = tuple(Target(a.plus(b.minus(a), s), half, cost=6.0 * abs(s - 0.5)) for s in _SHARES)
    steep = abs(b.y - a.y) > 2.0 * abs(b.x - a.x)
    readings = (Reading.LEVEL, Reading.UPRIGHT) if steep else (Reading.LEVEL,)
    away = half if leader is Leader.WHEN_APART else 6.0
    smaller = tuple(s for s in _SMALLER_MM if s < size_mm)
    return [Callout(text, targets, size_mm, shows, colour, Weight.BOLD, leader, away, readings, smaller)]
