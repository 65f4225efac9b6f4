"""Threads and fits are not left as the beam or arc cut them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.part.hole import Purpose
from bracketgen.rules.placed_hole import PlacedHole
from bracketgen.rules.rule import NO_SOURCE, Rule, at
from bracketgen.rules.subject import Subject

_ID: Final = "thermal-thread"
_WORK: Final = {
    Purpose.TAPPED: "drill to {0:g} mm and tap",
    Purpose.DOWEL: "ream to {0:g} mm",
    Purpose.RIVET_NUT: "drill to {0:g} mm",
}
#: A coarse hot-cut wall (ISO 9013 class 2) breaks taps, any hot-cut wall spoils a fit: these fail. Threads are
#: tapped in finer cuts every day, at the cost of taps, and a rivet nut may only spin in a tapered hole: these warn.
_LEVEL: Final = {Purpose.TAPPED: Level.WARN, Purpose.DOWEL: Level.FAIL, Purpose.RIVET_NUT: Level.WARN}
_COARSE: Final = "2"


def _check(subject: Subject) -> Iterator[Finding]:
    if not subject.part.stock.process.thermal:
        return
    for h in subject.holes:
        if h.hole.purpose in _WORK:
            yield _judge(h, subject.part.stock.process.tolerance_class)


def _judge(h: PlacedHole, cut_class: str) -> Finding:
    finished = h.hole.shape.width_mm or 0.0
    work = _WORK[h.hole.purpose].format(finished)
    if h.hole.pilot is not None:
        pilot = 2 * h.hole.pilot.radius
        remedy = f"cut as a pilot of {pilot:g} mm; {work}"
        return Finding(_ID, Level.NOTE, h.id, pilot, finished, "mm", at(h.centre), remedy, NO_SOURCE)
    remedy = f"a hot-cut edge is hard and tapered: cut a smaller pilot hole and {work}, or choose a cold process"
    broken = h.hole.purpose is Purpose.TAPPED and cut_class == _COARSE
    level = Level.FAIL if broken else _LEVEL[h.hole.purpose]
    return Finding(_ID, level, h.id, finished, None, "mm", at(h.centre), remedy, NO_SOURCE)


RULE = Rule(
    _ID,
    "Tapped, dowel and rivet nut holes in a hot-cut part are cut as pilots and finished with a drill or reamer",
    NO_SOURCE,
    _check,
)
