"""The blank comes out of the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Placement
from bracketgen.rules.rule import NO_SOURCE, Rule, up_mm
from bracketgen.rules.subject import Subject

_ID: Final = "sheet-size"
_SLACK_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class _Laid:
    """The blank laid on the sheet in one way: the size that fits worst, its limit, and the excess (mm)."""

    measured: float
    limit: float

    @property
    def over(self) -> float:
        return self.measured - self.limit


def _check(subject: Subject) -> Iterator[Finding]:
    stock = subject.part.stock
    long, short = max(stock.sheet_mm), min(stock.sheet_mm)
    sheet = f"{long:g} x {short:g} mm"
    # Sheets are rolled along their longer side: common practice, no source.
    rolled = _laid(subject, stock.grain_deg, long, short) if stock.grain_deg is not None else None
    if rolled and rolled.over <= _SLACK_MM:
        return
    best = _best(subject, long, short)
    if best.over > _SLACK_MM:
        remedy = f"the blank is {up_mm(best.over)} too large for a sheet of {sheet}; split it, or get a larger sheet"
        yield Finding(_ID, Level.FAIL, "blank", best.measured, best.limit, "mm", None, remedy, NO_SOURCE)
    elif rolled:
        remedy = (
            f"with the rolling direction along the sheet the blank is {up_mm(rolled.over)} too large for {sheet}; "
            "turn the part, get a larger sheet, or give up the rolling direction"
        )
        yield Finding(_ID, Level.WARN, "blank", rolled.measured, rolled.limit, "mm", None, remedy, NO_SOURCE)


def _best(subject: Subject, long: float, short: float) -> _Laid:
    """The best of both square ways; failing these, of the ways with a straight edge along the sheet."""
    x0, y0, x1, y1 = subject.bounds_mm
    wide, narrow = _Laid(max(x1 - x0, y1 - y0), long), _Laid(min(x1 - x0, y1 - y0), short)
    square = max(wide, narrow, key=lambda laid: laid.over)
    if square.over <= _SLACK_MM:
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


RULE = Rule(_ID, "The blank comes out of the sheet, rolled the right way", NO_SOURCE, _check)
