"""Hoses between two fittings: long enough, no bend too tight, clamped; at rest and at the ends of all travel.

The shortest way of a hose leaves two fittings straight and bends no tighter than its least radius.

Arc, straight, arc: each arc lies in the plane of its fitting's direction and the straight's. With the straight along
u, the arc at a fitting that is left along w takes the corner at r tan(theta / 2) from it, theta being the turn from w
to u; u must point from one corner to the other. That is solved by Newton's steps from several first guesses.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, product
from math import ceil, pi, radians, tan
from typing import Final

import numpy as np

from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import Frame, Vector, cross, degrees_between, dot, length, minus, plus, scaled, unit
from bracketgen.rules.engine import cited, short_of
from bracketgen.rules.in_place import HOSE
from bracketgen.standards.vehicle import hose_rule
from bracketgen.vehicle.near.motion import relative_travel
from bracketgen.vehicle.near.scene import Scene
from bracketgen.vehicle.seating.place import wished_frame
from bracketgen.vehicle.site import HoseEnd, HoseTable

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


# -- every hose of a site


#: Shares of a hose's length, and lengths in outside diameters and mm; each with its source in the table.
SHORTER: Final = hose_rule("shorter by pressure").value / 100.0
SLACK: Final = hose_rule("slack at rest").value / 100.0
STRAIGHT_DIAMETERS: Final = hose_rule("straight at a fitting").value
CLAMPED_FROM_MM: Final = hose_rule("clamped from").value
CLAMPS_APART_MM: Final = hose_rule("clamps apart").value


@dataclass(frozen=True, slots=True)
class HoseCheck:
    """One hose, lengths in mm between its fittings.

    `free_mm` is there; `rest_mm` and `moved_mm` the shortest ways at rest and where travel (`shift`) asks for the most,
    None where its bend radius leaves no way (`shift` then is where) or is not known.
    """

    name: str
    table: HoseTable
    free_mm: float
    rest_mm: float | None
    moved_mm: float | None
    shift: Vector

    @property
    def least_mm(self) -> float | None:
        """The least free length that serves: with slack at rest, and shortened by pressure at the end of travel."""
        if self.rest_mm is None or self.moved_mm is None:
            return None
        return max(self.rest_mm / (1.0 - SLACK), self.moved_mm / (1.0 - SHORTER))

    @property
    def at_rest(self) -> bool:
        """Whether slack at rest asks for more than travel does."""
        return self.least_mm is not None and self.rest_mm is not None and self.least_mm == self.rest_mm / (1.0 - SLACK)

    @property
    def widest_mm(self) -> float:
        """The longest piece between two fittings or clamps."""
        stops = (0.0, *self.table.clamps, self.table.length)
        return max(b - a for a, b in pairwise(stops))


def hose_checks(scene: Scene) -> tuple[HoseCheck, ...]:
    """One a hose, in the site file's order."""
    return tuple(_checked(scene, name, hose) for name, hose in scene.site.document.hoses.items())


def _checked(scene: Scene, name: str, hose: HoseTable) -> HoseCheck:
    free = hose.length - hose.start.fitting - hose.to.fitting
    if hose.bend_radius is None:
        return HoseCheck(name, hose, free, None, None, (0.0, 0.0, 0.0))
    a, b = _leaving(scene, hose, hose.start), _leaving(scene, hose, hose.to)
    travel = relative_travel(_body(scene, hose.start), _body(scene, hose.to), scene.site.document.bodies)
    straight = 2.0 * STRAIGHT_DIAMETERS * hose.diameter
    rest = shortest_route(a, b, hose.bend_radius)
    if rest is None:
        return HoseCheck(name, hose, free, None, None, (0.0, 0.0, 0.0))
    longest, where = rest, (0.0, 0.0, 0.0)
    for shift in _shifts(travel.mm):
        there = shortest_route(a, Leaving(plus(b.at, shift), b.way), hose.bend_radius)
        if there is None:
            return HoseCheck(name, hose, free, straight + rest.length_mm, None, shift)
        longest, where = _longer(longest, where, there, shift)
    return HoseCheck(name, hose, free, straight + rest.length_mm, straight + longest.length_mm, where)


def _longer(one: Route, where: Vector, other: Route, shift: Vector) -> tuple[Route, Vector]:
    # Rounding is no longer way: the first place is kept, or the words would depend on it.
    return (other, shift) if other.length_mm > one.length_mm + 1e-9 else (one, where)


def _shifts(travel: Vector) -> list[Vector]:
    """Corners, edges and faces of the travel."""
    ways = [(-t, 0.0, t) if t > 0.0 else (0.0,) for t in travel]
    return [(x, y, z) for x, y, z in product(*ways)]


def _leaving(scene: Scene, hose: HoseTable, end: HoseEnd) -> Leaving:
    """Past the fitting and the piece that stays straight."""
    frame = _frame(scene, end)
    way = unit(frame.direction(end.way))
    return Leaving(plus(frame.point(end.at), way, end.fitting + STRAIGHT_DIAMETERS * hose.diameter), way)


def _frame(scene: Scene, end: HoseEnd) -> Frame:
    carried = scene.site.document.carried
    if end.on == "vehicle" or carried is None:
        return Frame()
    return scene.placed.carried if scene.placed.carried is not None else wished_frame(carried)


def _body(scene: Scene, end: HoseEnd) -> str:
    """What is carried moves with the part."""
    return scene.body if end.on == "carried" else end.body


# -- findings


#: What the findings rest on, by the words of the hose table.
_LENGTH: Final = "shorter by pressure", "slack at rest"
_CLAMPS: Final = ("clamps apart",)


def hose_findings(check: HoseCheck) -> Iterator[Finding]:
    """Rule hose: too short, no way with its bend radius, that radius unknown, clamps too far apart."""
    subject = f"hose {check.name}"
    yield from _reach(check, subject)
    apart = check.widest_mm
    if check.free_mm >= CLAMPED_FROM_MM and short_of(CLAMPS_APART_MM, apart):
        remedy = f"clamp it, not tight, at most every {CLAMPS_APART_MM:.0f} mm, where it does not rub"
        yield HOSE.finding(Level.WARN, subject, apart, CLAMPS_APART_MM, None, remedy, _source(_CLAMPS))


def _reach(check: HoseCheck, subject: str) -> Iterator[Finding]:
    source = _source(_LENGTH)
    least, radius = check.least_mm, check.table.bend_radius
    if radius is None:
        remedy = "nothing says how tight it may bend: write bend_radius = ..., as printed for this hose"
        yield HOSE.finding(Level.FAIL, subject, None, None, None, remedy, source)
    elif least is None:
        where = _moved(check) or " as it stands"
        remedy = (
            f"with a bend radius of {radius:g} mm there is no way between its fittings{where}: it kinks; set them "
            "farther apart, turn one of them, or take an elbow fitting"
        )
        yield HOSE.finding(Level.FAIL, subject, None, None, None, remedy, source)
    elif short_of(check.free_mm, least):
        pressed = f"{100 * SHORTER:g} % shorter by pressure{_moved(check)}"
        when = f"at rest with {100 * SLACK:g} % of slack" if check.at_rest else pressed
        whole = ceil(round(least + check.table.length - check.free_mm, 6))
        remedy = f"between its fittings it needs {least:.1f} mm, {when}: "
        remedy += f"take a hose at least {whole} mm long over its fittings"
        yield HOSE.finding(Level.FAIL, subject, check.free_mm, least, None, remedy, source)


def _moved(check: HoseCheck) -> str:
    if not any(check.shift):
        return ""
    return " moved by (" + ", ".join(f"{c + 0.0:.1f}" for c in check.shift) + ")"


def _source(rules: tuple[str, ...]) -> str:
    return "; ".join(cited(rule.source, rule.how) for rule in map(hose_rule, rules))
