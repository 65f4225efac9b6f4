"""The folded part does not run into itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.bending.collision import Collision, collisions
from bracketgen.findings import Finding, Level
from bracketgen.geometry.plane import Point
from bracketgen.rules.rule import Rule, at
from bracketgen.rules.subject import Subject

_ID: Final = "self-collision"
_SOURCE: Final = "solid geometry: two pieces can't be in one place"


def _check(subject: Subject) -> Iterator[Finding]:
    if not subject.flat.strips:
        return
    for c in collisions(subject.folded):
        x, y, z = c.at_mm
        remedy = (
            f"{c.a!r} and {c.b!r} run into each other at ({x:.1f}, {y:.1f}, {z:.1f}) mm of the folded part; "
            "shorten one, or turn a bend less"
        )
        place = at(_in_flat(subject, c))
        yield Finding(_ID, Level.FAIL, f"{c.a} and {c.b}", None, None, "", place, remedy, _SOURCE)


def _in_flat(subject: Subject, c: Collision) -> Point:
    """Where the first of the two pieces is hit, in the flat; the middle of the strip where that is a bend."""
    frame = subject.folded.frames.get(c.a)
    if frame is None:
        return subject.flat.strip(c.a).centre_line.middle
    x, y, z = (p - o for p, o in zip(c.at_mm, frame.origin, strict=True))
    local = Point(*(x * axis[0] + y * axis[1] + z * axis[2] for axis in (frame.x, frame.y)))
    return subject.flat.placements[c.a].point(local)


RULE = Rule(_ID, "No panel or bend of the folded part runs into another", _SOURCE, _check)
