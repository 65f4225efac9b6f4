"""Rules about the part as a whole: it comes out of the sheet, has a sane size, and no two pieces are in one place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.collision import Collision, collisions
from bracketgen.bending.flat import overlaps
from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Placement, Point
from bracketgen.rules.engine import NO_SOURCE, SLACK_MM, Rule, short_of, up_mm
from bracketgen.rules.subject import Subject
from bracketgen.tolerances import SMALLEST_PIECE_MM2
from bracketgen.units import INCH_MM


@dataclass(frozen=True, slots=True)
class _Laid:
    """The blank laid on the sheet in one way: the size that fits worst, its limit, and the excess (mm)."""

    measured: float
    limit: float

    @property
    def over(self) -> float:
        return self.measured - self.limit


def _sheet_size(subject: Subject) -> Iterator[Finding]:
    stock = subject.part.stock
    long, short = max(stock.sheet_mm), min(stock.sheet_mm)
    sheet = f"{long:g} x {short:g} mm"
    # Sheets are rolled along their longer side: common practice, no source.
    rolled = _laid(subject, stock.grain_deg, long, short) if stock.grain_deg is not None else None
    if rolled and rolled.over <= SLACK_MM:
        return
    best = _best(subject, long, short)
    if best.over > SLACK_MM:
        remedy = f"the blank is {up_mm(best.over)} too large for a sheet of {sheet}; split it, or get a larger sheet"
        yield SHEET_SIZE.finding(Level.FAIL, "blank", best.measured, best.limit, None, remedy)
    elif rolled:
        remedy = (
            f"with the rolling direction along the sheet the blank is {up_mm(rolled.over)} too large for {sheet}; "
            "turn the part, get a larger sheet, or give up the rolling direction"
        )
        yield SHEET_SIZE.finding(Level.WARN, "blank", rolled.measured, rolled.limit, None, remedy)


def _best(subject: Subject, long: float, short: float) -> _Laid:
    """The best of both square ways; failing these, of the ways with a straight edge along the sheet."""
    x0, y0, x1, y1 = subject.bounds_mm
    wide, narrow = _Laid(max(x1 - x0, y1 - y0), long), _Laid(min(x1 - x0, y1 - y0), short)
    square = max(wide, narrow, key=lambda laid: laid.over)
    if square.over <= SLACK_MM:
        return square
    edges = [e for e in subject.flat.outline.edges if isinstance(e, Line)]
    turns = {round(Placement.along(e.start, e.end).angle_deg % 90.0, 6) + k for e in edges for k in (0.0, 90.0)}
    return min([square, *(_laid(subject, turn, long, short) for turn in sorted(turns))], key=lambda laid: laid.over)


def _laid(subject: Subject, turn_deg: float, long: float, short: float) -> _Laid:
    """Laid with the direction `turn_deg` of the flat along the longer side of the sheet."""
    turned = turn_deg % 360.0
    bounds = subject.flat.outline.moved(Placement.turned(-turned)).bounds() if turned else subject.bounds_mm
    x0, y0, x1, y1 = bounds
    sizes = (_Laid(x1 - x0, long), _Laid(y1 - y0, short))
    return max(sizes, key=lambda laid: laid.over)


SHEET_SIZE: Final = Rule("sheet-size", "The blank comes out of the sheet, rolled the right way", NO_SOURCE, _sheet_size)


# -- slips of units

#: Smallest and largest overall size of a bracket. Common practice, no source.
SMALLEST_MM: Final = 5.0
LARGEST_MM: Final = 3000.0


def _size_sanity(subject: Subject) -> Iterator[Finding]:
    x0, y0, x1, y1 = subject.bounds_mm
    size = max(x1 - x0, y1 - y0)
    if short_of(size, SMALLEST_MM) or short_of(LARGEST_MM, size):
        limit = SMALLEST_MM if size < SMALLEST_MM else LARGEST_MM
        remedy = f"the blank is {size:.1f} mm ({size / INCH_MM:.1f} in) overall; check the units"
        yield SIZE_SANITY.finding(Level.FAIL, "blank", size, limit, None, remedy)


SIZE_SANITY: Final = Rule(
    "size-sanity", f"The blank is {SMALLEST_MM:g} mm to {LARGEST_MM / 1000:g} m overall", NO_SOURCE, _size_sanity
)


# -- pieces that claim the same metal of the flat


def _flat_overlap(subject: Subject) -> Iterator[Finding]:
    if not subject.flat.strips:
        return
    for o in overlaps(subject.flat):
        remedy = (
            f"{o.a!r} and {o.b!r} share {o.area_mm2:.1f} mm2 of the sheet; shorten one, "
            "hang it on another edge, or make it of two parts"
        )
        pair = f"{o.a} and {o.b}"
        limit = SMALLEST_PIECE_MM2
        yield FLAT_OVERLAP.finding(Level.FAIL, pair, o.area_mm2, limit, o.at_mm, remedy, unit="mm2")


FLAT_OVERLAP: Final = Rule(
    "flat-overlap",
    "No panel or bend lies on another in the flat",
    "plane geometry: one sheet can't be cut twice",
    _flat_overlap,
)


# -- pieces that run into each other when folded


def _self_collision(subject: Subject) -> Iterator[Finding]:
    if not subject.flat.strips:
        return
    for c in collisions(subject.folded):
        x, y, z = c.at_mm
        remedy = (
            f"{c.a!r} and {c.b!r} run into each other at ({x:.1f}, {y:.1f}, {z:.1f}) mm of the folded part; "
            "shorten one, or turn a bend less"
        )
        yield SELF_COLLISION.finding(Level.FAIL, f"{c.a} and {c.b}", None, None, _in_flat(subject, c), remedy)


def _in_flat(subject: Subject, c: Collision) -> Point:
    """Where the first of the two pieces is hit, in the flat; the middle of the strip where that is a bend."""
    frame = subject.folded.frames.get(c.a)
    if frame is None:
        return subject.flat.strip(c.a).centre_line.middle
    x, y, _z = frame.local(c.at_mm)
    return subject.flat.placements[c.a].point(Point(x, y))


SELF_COLLISION: Final = Rule(
    "self-collision",
    "No panel or bend of the folded part runs into another",
    "solid geometry: two pieces can't be in one place",
    _self_collision,
)
