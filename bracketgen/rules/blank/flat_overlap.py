"""No two pieces of the flat claim the same metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.bending.flat import overlaps
from bracketgen.findings import Finding, Level
from bracketgen.rules.rule import Rule, at
from bracketgen.rules.subject import Subject
from bracketgen.tolerances import SMALLEST_PIECE_MM2

_ID: Final = "flat-overlap"
_SOURCE: Final = "plane geometry: one sheet can't be cut twice"


def _check(subject: Subject) -> Iterator[Finding]:
    if not subject.flat.strips:
        return
    for o in overlaps(subject.flat):
        remedy = (
            f"{o.a!r} and {o.b!r} share {o.area_mm2:.1f} mm2 of the sheet; shorten one, "
            "hang it on another edge, or make it of two parts"
        )
        yield Finding(
            _ID, Level.FAIL, f"{o.a} and {o.b}", o.area_mm2, SMALLEST_PIECE_MM2, "mm2", at(o.at_mm), remedy, _SOURCE
        )


RULE = Rule(_ID, "No panel or bend lies on another in the flat", _SOURCE, _check)
