"""Corners that stick out are rounded, so that they cut neither hands nor hoses."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Contour
from bracketgen.geometry.edge import Arc
from bracketgen.geometry.plane import Point
from bracketgen.geometry.rounding import turn_rad
from bracketgen.rules.rule import NO_SOURCE, Rule, at, short_of
from bracketgen.rules.subject import Subject

_ID: Final = "sharp-corner"
#: A corner that turns by less than this is too blunt to cut. Common practice, no source.
BLUNT_DEG: Final = 10.0


def _check(subject: Subject) -> Iterator[Finding]:
    least = subject.part.least_outer_radius_mm
    for name, chain in subject.chains:
        around_metal = chain if name == "outline" else chain.reversed()
        for place, radius in _outer_corners(around_metal):
            if short_of(radius, least):
                remedy = f"round this corner to at least {least:g} mm; sharp corners cut hands, hoses and cables"
                yield Finding(_ID, Level.WARN, name, radius, least, "mm", at(place), remedy, NO_SOURCE)


def _outer_corners(chain: Contour) -> Iterator[tuple[Point, float]]:
    """Where the chain, metal on its left, turns outward around metal, and with what radius (0 = a sharp vertex)."""
    blunt = math.radians(BLUNT_DEG)
    edges = chain.edges
    for before, e in zip((edges[-1], *edges[:-1]), edges, strict=True):
        if turn_rad(before, e) > blunt:
            yield e.start, 0.0
        if isinstance(e, Arc) and e.sweep_rad > blunt:
            yield e.middle, e.radius


RULE = Rule(
    _ID,
    f"Every corner that sticks out and turns more than {BLUNT_DEG:g} deg has the least outer radius of the description",
    NO_SOURCE,
    _check,
)
