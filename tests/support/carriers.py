"""A referee for outlines: endless lines and full circles in complex numbers, sharing no code with the geometry room.

All lengths in mm. A carrier is what an edge lies on; where two carriers meet is found by the school formulas.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

#: A line or circle composed to touch another misses it by rounding only.
TOUCHING_MM = 1e-11


@dataclass(frozen=True)
class Straight:
    """The endless line through `at` along the unit number `way`."""

    at: complex
    way: complex

    def off(self, p: complex) -> float:
        return abs(((p - self.at) * self.way.conjugate()).imag)

    def foot(self, p: complex) -> complex:
        return self.at + self.way * ((p - self.at) * self.way.conjugate()).real

    def heading(self, _p: complex) -> complex:
        return self.way

    def shifted(self, by: float) -> list[Carrier]:
        return [Straight(self.at + 1j * self.way * s, self.way) for s in (by, -by)]


@dataclass(frozen=True)
class Ring:
    """The circle of radius `r` about `c`."""

    c: complex
    r: float

    def off(self, p: complex) -> float:
        return abs(abs(p - self.c) - self.r)

    def foot(self, p: complex) -> complex:
        return self.c + self.r * (p - self.c) / abs(p - self.c)

    def far_foot(self, p: complex) -> complex:
        return 2 * self.c - self.foot(p)

    def heading(self, p: complex) -> complex:
        return 1j * (p - self.c) / abs(p - self.c)

    def shifted(self, by: float) -> list[Carrier]:
        return [Ring(self.c, r) for r in (self.r + by, abs(self.r - by)) if r > 0]


Carrier = Straight | Ring


def through(p: complex, q: complex) -> Straight:
    return Straight(p, (q - p) / abs(q - p))


def outer_tangents(a: Ring, b: Ring) -> list[Straight]:
    """The two straight lines of a belt round both circles."""
    apart = b.c - a.c
    lean = math.asin((a.r - b.r) / abs(apart))
    along = apart / abs(apart)
    lines = []
    for side in (1, -1):
        way = along * cmath.exp(-1j * side * lean)
        lines.append(Straight(a.c + 1j * side * way * a.r, way))
    return lines


def crossings(a: Carrier, b: Carrier) -> list[complex]:
    """Where two carriers cross, by solving in the frame of the first; none when they do not."""
    if isinstance(a, Straight) and isinstance(b, Straight):
        turn = (b.way * a.way.conjugate()).imag
        if turn == 0:
            return []
        return [a.at + a.way * (((b.at - a.at) * b.way.conjugate()).imag / -turn)]
    if isinstance(a, Ring) and isinstance(b, Straight):
        return crossings(b, a)
    if isinstance(a, Straight) and isinstance(b, Ring):
        c = (b.c - a.at) * a.way.conjugate()
        inside = b.r**2 - c.imag**2
        if inside < 0:
            return []
        return [a.at + a.way * (c.real + s * math.sqrt(inside)) for s in (1, -1)]
    assert isinstance(a, Ring) and isinstance(b, Ring)
    d = abs(b.c - a.c)
    if d == 0:
        return []
    x = (d**2 + a.r**2 - b.r**2) / (2 * d)
    if a.r**2 < x**2:
        return []
    u = (b.c - a.c) / d
    return [a.c + u * complex(x, s * math.sqrt(a.r**2 - x**2)) for s in (1, -1)]


def touching(ring: Ring, other: Carrier) -> complex:
    """Where a circle touches a carrier: on the common normal, at its own radius from its centre."""
    feet = [other.foot(ring.c)] + ([other.far_foot(ring.c)] if isinstance(other, Ring) else [])
    return min(feet, key=ring.off)


def sine_between(a: Carrier, b: Carrier, p: complex) -> float:
    """Sine of the angle at which two carriers cross at p."""
    return abs((a.heading(p) * b.heading(p).conjugate()).imag)


def place_error(p: complex, a: Carrier, b: Carrier, steep: float = 1e-3) -> float:
    """How far p is from where the carriers meet.

    Carriers that touch meet on their common normal. Others that cross at less than `steep` (rad) meet in a place that
    no arithmetic holds sharply; there the distance of p from both carriers counts.
    """
    if sine_between(a, b, p) >= steep:
        return min((abs(p - q) for q in crossings(a, b)), default=math.inf)
    ring, other = (a, b) if isinstance(a, Ring) else (b, a)
    if isinstance(ring, Ring) and abs(ring.c - other.foot(ring.c)) > 1e-6:
        touch = touching(ring, other)
        if ring.off(touch) <= TOUCHING_MM:
            return abs(p - touch)
    return max(a.off(p), b.off(p))
