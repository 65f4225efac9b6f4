"""The rolling direction is stated where it decides the least radius."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.rules.rule import Rule
from bracketgen.rules.subject import Subject
from bracketgen.standards.metals import Grain, minimum_bend_radius
from bracketgen.standards.table import LookupFault

_ID: Final = "grain-unknown"
_SOURCE: Final = "the bend radius table"


def _check(subject: Subject) -> Iterator[Finding]:
    stock = subject.part.stock
    if stock.grain_deg is not None:
        return
    for bend in subject.part.bends:
        try:
            across, along = (
                minimum_bend_radius(stock.metal.id, stock.thickness_mm, way, bend.turn_deg).radius_mm
                for way in (Grain.ACROSS, Grain.ALONG)
            )
        except LookupFault:
            continue
        if across != along:
            remedy = (
                f"state the rolling direction: bends across it need {across:g} mm inside, along it {along:g} mm; "
                "the worse is taken"
            )
            yield Finding(_ID, Level.NOTE, "stock", None, None, "", None, remedy, _SOURCE)
            return


RULE = Rule(_ID, "The rolling direction is stated where bends depend on it", _SOURCE, _check)
