"""What a rule says about a part."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How bad it is: `fail` ends in scrap or worse, `warn` wants a look, `note` is for the bench."""

    FAIL = "fail"
    WARN = "warn"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a rule found: measured against required (in `unit`), where, what to do, on whose word.

    `at_mm` is the place in the flat. `waived` carries the reason when the description waives it.
    """

    rule: str
    level: Level
    subject: str
    measured: float | None
    required: float | None
    unit: str
    at_mm: tuple[float, float] | None
    remedy: str
    source: str
    waived: str | None = None
