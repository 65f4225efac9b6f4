"""Nothing in the grip of a bolt gives way unsaid: rubber has its maker's torque, paint is masked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.part.hole import Hole, Isolator, IsolatorKind, Purpose
from bracketgen.rules.placed_hole import PlacedHole
from bracketgen.rules.rule import NO_SOURCE, Rule, at
from bracketgen.rules.subject import Subject
from bracketgen.standards.fasteners import is_soft

_ID: Final = "soft-grip"
#: A joint that comes loose beside these leaks: there a torque must be known.
_FLUIDS: Final = frozenset({"fuel", "oil", "brake"})
_BOLTED: Final = frozenset({Purpose.CLEARANCE, Purpose.TAPPED, Purpose.RIVET_NUT})


def _check(subject: Subject) -> Iterator[Finding]:
    fluid = any(hazard in _FLUIDS for hazard in subject.part.near)
    for h in subject.holes:
        if h.hole.isolator is not None and h.hole.isolator.torque_nm is None:
            yield from _rubber(h, h.hole.isolator, Level.FAIL if fluid else Level.WARN)
    stock = subject.part.stock
    if is_soft(stock.coating) and stock.coating_mm > 0 and any(_on_paint(h.hole) for h in subject.holes):
        remedy = (
            f"{stock.coating} under heads, washers and nuts flows and the bolts come loose: mask the seats bare (a "
            "washer's width), or tighten again after the first run"
        )
        yield Finding(_ID, Level.NOTE, "part", stock.coating_mm, None, "mm", None, remedy, NO_SOURCE)


def _on_paint(hole: Hole) -> bool:
    """Whether a bolt is pulled tight on the part's own faces."""
    rubber = hole.isolator
    return hole.purpose in _BOLTED and (rubber is None or rubber.kind is IsolatorKind.BOBBIN)


def _rubber(h: PlacedHole, rubber: Isolator, level: Level) -> Iterator[Finding]:
    if rubber.is_squeezed:
        remedy = (
            "rubber in the bolt's grip: no table's torque holds, and the bolt comes loose when it settles; give "
            "torque = the isolator maker's figure, or an isolator with a steel sleeve, and use a locking nut"
        )
        yield Finding(_ID, level, h.id, rubber.height_mm, None, "mm", at(h.centre), remedy, NO_SOURCE)
    elif rubber.kind is IsolatorKind.BOBBIN:
        remedy = "no torque is given for the bobbin: ask its maker, and hold it from turning, or its rubber tears"
        yield Finding(_ID, Level.NOTE, h.id, rubber.height_mm, None, "mm", at(h.centre), remedy, NO_SOURCE)


RULE = Rule(
    _ID, "Rubber in the grip of a bolt has its maker's torque or a steel sleeve; paint is masked", NO_SOURCE, _check
)
