"""A hole lies in its panel's metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import ChainSet
from bracketgen.geometry.gap import point_gap
from bracketgen.part.part import Panel
from bracketgen.rules.rule import Rule, up_mm
from bracketgen.rules.subject import Subject

_ID: Final = "hole-outside"
_SOURCE: Final = "plane geometry"


def _check(subject: Subject) -> Iterator[Finding]:
    for panel in subject.part.panels:
        if panel.holes:
            yield from _outside(panel, subject)


def _outside(panel: Panel, subject: Subject) -> Iterator[Finding]:
    held = ChainSet([panel.outline]).hold([h.centre for h in panel.holes])[:, 0]
    for hole, inside in zip(panel.holes, held.tolist(), strict=True):
        if not inside:
            beyond = point_gap(hole.centre, panel.outline).mm
            place = subject.flat.placements[panel.id].point(hole.centre)
            remedy = f"its centre lies {up_mm(beyond)} outside panel {panel.id!r}; move it, or enlarge the panel"
            yield Finding(_ID, Level.FAIL, hole.id, -beyond, 0.0, "mm", (place.x, place.y), remedy, _SOURCE)


RULE = Rule(_ID, "The centre of every hole lies inside its panel", _SOURCE, _check)
