"""A part of absurd size is a slip of units."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.rules.rule import NO_SOURCE, Rule
from bracketgen.rules.subject import Subject

_ID: Final = "size-sanity"
#: Smallest and largest overall size of a bracket. Common practice, no source.
SMALLEST_MM: Final = 5.0
LARGEST_MM: Final = 3000.0
_SLACK_MM: Final = 1e-6


def _check(subject: Subject) -> Iterator[Finding]:
    x0, y0, x1, y1 = subject.bounds_mm
    size = max(x1 - x0, y1 - y0)
    if size < SMALLEST_MM - _SLACK_MM or size > LARGEST_MM + _SLACK_MM:
        limit = SMALLEST_MM if size < SMALLEST_MM else LARGEST_MM
        remedy = f"the blank is {size:.1f} mm ({size / 25.4:.1f} in) overall; check the units"
        yield Finding(_ID, Level.FAIL, "blank", size, limit, "mm", None, remedy, NO_SOURCE)


RULE = Rule(_ID, f"The blank is {SMALLEST_MM:g} mm to {LARGEST_MM / 1000:g} m overall", NO_SOURCE, _check)
