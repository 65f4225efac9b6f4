"""The shortest way of a hose that leaves two fittings straight and bends no tighter than its least radius.

Arc, straight, arc: each arc lies in the plane of its fitting's direction and the straight's. With the straight along
u, the arc at a fitting that is left along w takes the corner at r tan(theta / 2) from it, theta being the turn from w
to u; u must point from one corner to the other. That is solved by Newton's steps from several first guesses.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi, radians, tan
from typing import Final

import numpy as np

from bracketgen.geometry.space import Vector, cross, degrees_between, dot, length, minus, plus, scaled, unit

_STEPS: Final = 60
_STAYS: Final = 1e-11
_DIFFERENCE: Final = 1e-6
#: Shortened steps that are tried where the full one leads away.
_SHARES: Final = (1.0, 0.5, 0.25, 0.1, 0.02)
#: An arc of nearly half a turn has its corner nearly endless far away.
_MOST_RAD: Final = pi * 0.999
_NEAR: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Leaving:
    """Where a hose comes out of what keeps it straight, and the unit direction in which it leaves."""

    at: Vector
    way: Vector


@dataclass(frozen=True, slots=True)
class Route:
    """Arc, straight, arc: turns in radians, lengths in mm."""

    first_rad: float
    straight_mm: float
    last_rad: float
    radius_mm: float

    @property
    def length_mm(self) -> float:
        """Along the hose's centre line."""
        return self.radius_mm * (self.first_rad + self.last_rad) + self.straight_mm


def shortest_route(a: Leaving, b: Leaving, radius_mm: float) -> Route | None:
    """The shortest way from a to b along arc, straight and arc of that radius (over 0); None where there is none."""
    ends = _Ends(a, b, radius_mm)
    found = [r for r in (ends.settled(u) for u in ends.guesses()) if r is not None]
    return min(found, key=lambda r: r.length_mm, default=None)


@dataclass(frozen=True, slots=True)
class _Ends:
    a: Leaving
    b: Leaving
    radius_mm: float

    def guesses(self) -> Iterator[Vector]:
        """First directions of the straight: there, along each fitting, square to them, and between."""
        a, b = self.a, self.b
        there = minus(b.at, a.at)
        turned = cross(a.way, b.way)
        candidates = [there, a.way, b.way, turned, cross(a.way, there), cross(b.way, there)]
        if length(there) > _NEAR:
            candidates += [plus(a.way, unit(there)), minus(unit(there), b.way), minus(a.way, b.way)]
        for way in candidates:
            if length(way) > _NEAR:
                yield unit(way)
                yield unit(scaled(way, -1.0))

    def turns(self, u: Vector) -> tuple[float, float]:
        """Turns of the two arcs, radians."""
        arriving = scaled(self.b.way, -1.0)
        return radians(degrees_between(self.a.way, u)), radians(degrees_between(u, arriving))

    def line(self, u: Vector) -> Vector:
        """From the corner of the first arc to that of the last."""
        out, home = (self.radius_mm * tan(turn / 2.0) for turn in self.turns(u))
        return minus(plus(self.b.at, self.b.way, home), plus(self.a.at, self.a.way, out))

    def off(self, u: Vector) -> Vector:
        """How far the line between the corners points off the straight."""
        line = self.line(u)
        # With both corners in one place no straight is left over, and any direction serves.
        return minus(unit(line), u) if length(line) > _NEAR else (0.0, 0.0, 0.0)

    def settled(self, u: Vector) -> Route | None:
        """From one guess to a way; None where it leads to none."""
        off = self.off(u) if max(self.turns(u)) < _MOST_RAD else None
        for _ in range(_STEPS):
            if off is None:
                return None
            if length(off) < _STAYS:
                return self._route(u)
            u, off = self._nearer(u, off)
        return None

    def _nearer(self, u: Vector, off: Vector) -> tuple[Vector, Vector | None]:
        """A Newton step on the sphere of directions, as much of it as leads nearer; None where none does."""
        e = unit(cross(u, min(((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), key=lambda k: abs(dot(u, k)))))
        f = cross(u, e)
        slopes = [minus(self.off(unit(plus(u, w, _DIFFERENCE))), off) for w in (e, f)]
        matrix = np.array([[dot(s, w) / _DIFFERENCE for s in slopes] for w in (e, f)])
        step = np.linalg.lstsq(matrix, -np.array([dot(off, e), dot(off, f)]), rcond=None)[0]
        size = max(1.0, float(np.linalg.norm(step)))
        for share in _SHARES:
            x, y = share * step / size
            tried = unit(plus(plus(u, e, float(x)), f, float(y)))
            if max(self.turns(tried)) < _MOST_RAD:
                left = self.off(tried)
                if length(left) < length(off):
                    return tried, left
        return u, None

    def _route(self, u: Vector) -> Route | None:
        first, last = self.turns(u)
        out, home = self.radius_mm * tan(first / 2.0), self.radius_mm * tan(last / 2.0)
        straight = dot(self.line(u), u) - out - home
        if straight < -1e-7 * self.radius_mm:
            return None
        return Route(first, max(straight, 0.0), last, self.radius_mm)
