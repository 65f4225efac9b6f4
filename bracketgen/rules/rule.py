"""What a rule is, and the few words and figures that all rules share."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from typing import Final

from bracketgen.findings import Finding
from bracketgen.geometry.plane import Point
from bracketgen.rules.subject import Subject
from bracketgen.standards.table import citation

#: Said where no publication stands behind a figure.
NO_SOURCE: Final = "common practice, no source"

#: A measured length this much below its limit is still on the limit: far above the noise of the arithmetic.
_SLACK_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Rule:
    """One thing that can be wrong with a part.

    `id` is what a waiver names, `title` says what is asked for, `source` on whose word. `check` looks at the
    subject and gives a finding for each place where the rule is not kept.
    """

    id: str
    title: str
    source: str
    check: Callable[[Subject], Iterable[Finding]]


def short_of(measured_mm: float, required_mm: float) -> bool:
    """Whether a length is below its limit; a length on the limit is not."""
    return measured_mm < required_mm - _SLACK_MM


def up_mm(length_mm: float) -> str:
    """A length for a remedy, rounded up to a tenth of a mm so that following it is enough: '2.3 mm'."""
    return f"{max(1, math.ceil(length_mm * 10 - 1e-6)) / 10:g} mm"


def at(p: Point) -> tuple[float, float]:
    """A place in the flat as a finding holds it."""
    return (p.x, p.y)


@cache
def cited(source_id: str, how: str) -> str:
    """The citation of a table row, with how the figure was had where it was not read in the source."""
    text = citation(source_id)
    if how == "read" or text == NO_SOURCE:
        return text
    if how == "common practice":
        return NO_SOURCE
    return text if text.startswith(f"from {how}") else f"{text} (from {how})"
