"""The blank comes out of the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.line import Box
from bracketgen.geometry.placement import Placement
from bracketgen.rules.rule import NO_SOURCE, Rule, up_mm
from bracketgen.rules.subject import Subject

_ID: Final = "sheet-size"
_SLACK_MM: Final = 1e-6


def _check(subject: Subject) -> Iterator[Finding]:
    stock = subject.part.stock
    long, short = max(stock.sheet_mm), min(stock.sheet_mm)
    width, height = _size(subject.flat.bounds_mm)
    over = max(max(width, height) - long, min(width, height) - short)
    sheet = f"{long:g} x {short:g} mm"
    if over > _SLACK_MM:
        measured, limit = _worse(max(width, height), min(width, height), long, short)
        remedy = f"the blank is {up_mm(over)} too large for a sheet of {sheet}; split the part, or get a larger sheet"
        yield Finding(_ID, Level.FAIL, "blank", measured, limit, "mm", None, remedy, NO_SOURCE)
    elif stock.grain_deg is not None:
        # Sheets are rolled along their longer side: common practice, no source.
        along, across = _size(subject.flat.outline.moved(Placement.turned(-stock.grain_deg)).bounds())
        over = max(along - long, across - short)
        if over > _SLACK_MM:
            measured, limit = _worse(along, across, long, short)
            remedy = (
                f"with the rolling direction along the sheet the blank is {up_mm(over)} too large for {sheet}; "
                "turn the part, get a larger sheet, or give up the rolling direction"
            )
            yield Finding(_ID, Level.WARN, "blank", measured, limit, "mm", None, remedy, NO_SOURCE)


def _size(box: Box) -> tuple[float, float]:
    return box[2] - box[0], box[3] - box[1]


def _worse(a: float, b: float, long: float, short: float) -> tuple[float, float]:
    """The size that does not fit, by the larger excess, and its limit."""
    return (a, long) if a - long >= b - short else (b, short)


RULE = Rule(_ID, "The blank, laid square, comes out of the sheet, rolled the right way", NO_SOURCE, _check)
