"""Where planes of a folded sheet meet: many bends at once, as arrays.

Two described faces with unit normals z1, z2 and distances d1, d2 from the origin meet in a line. The metal of the
first lies along `sigma` q1 from it and that of the second along `sigma` q2, where q1 is the unit direction in the
first plane that climbs along z2, and sigma is +1 for a bend up, -1 for a bend down (plane geometry).
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Final

import numpy as np

from bracketgen.geometry.arrays import Floats, Indices
from bracketgen.vehicle.span.practice import Practice
from bracketgen.vehicle.span.seat import LEAST_WIDTH_MM, Footing


@dataclass(slots=True, eq=False)
class Creases:
    """Bends between two planes each, one a row; lengths in mm, the line's direction is z1 x z2."""

    turn_deg: Floats
    q1: Floats
    q2: Floats
    along: Floats
    on_line: Floats
    sigma: Floats
    setback: Floats

    def taken(self, rows: Indices) -> Creases:
        """Some of the rows."""
        return Creases(*(getattr(self, f.name)[rows] for f in fields(self)))

    def over_first(self, points: Floats) -> Floats:
        """How far points (rows, or one a crease) of the first plane stand from the tangent line, into the metal."""
        return _off(points, self.on_line, self.q1, self.sigma) - _like(self.setback, points)

    def over_second(self, points: Floats) -> Floats:
        """The same on the second plane."""
        return _off(points, self.on_line, self.q2, self.sigma) - _like(self.setback, points)


def _off(points: Floats, base: Floats, way: Floats, sigma: Floats) -> Floats:
    if points.ndim == 3:
        return np.asarray(np.einsum("npk,nk->np", points - base[:, None, :], way) * sigma[:, None])
    return np.asarray(np.einsum("nk,nk->n", points - base, way) * sigma)


def _like(values: Floats, points: Floats) -> Floats:
    return values[:, None] if points.ndim == 3 else values


def creases(z1: Floats, d1: Floats, z2: Floats, d2: Floats, sigma: Floats, practice: Practice) -> Creases:
    """Bends between planes given row by row; nearly parallel planes give a turn near 0 or 180 and no sense."""
    c = np.clip(np.einsum("nk,nk->n", z1, z2), -1.0, 1.0)
    s = np.sqrt(np.maximum(1.0 - c * c, 1e-12))
    q1 = (z2 - c[:, None] * z1) / s[:, None]
    q2 = (z1 - c[:, None] * z2) / s[:, None]
    along = np.cross(z1, z2) / s[:, None]
    on_line = ((d1 - c * d2) / s**2)[:, None] * z1 + ((d2 - c * d1) / s**2)[:, None] * z2
    turn = np.arctan2(s, c)
    radius = practice.inside_radius_mm + np.where(sigma > 0, 0.0, practice.thickness_mm)
    setback = radius * np.tan(np.minimum(turn, 3.0) / 2)
    return Creases(np.degrees(turn), q1, q2, along, on_line, sigma, setback)


def sided(side: Footing, z: Floats, d: Floats, practice: Practice) -> tuple[Creases, Floats]:
    """Bends from a seat's plane to other planes, each the way on which the seat's holes lie; and the room they
    leave: the least distance of a hole from the tangent line less what it needs, mm."""
    n = len(z)
    z1, d1 = np.broadcast_to(side.z, (n, 3)), np.full(n, side.height)
    up = creases(z1, d1, z, d, np.ones(n), practice)
    down = creases(z1, d1, z, d, -np.ones(n), practice)
    points = np.broadcast_to(side.points, (n, *side.points.shape))
    slack_up = (up.over_first(points) - side.need).min(axis=1)
    slack_down = (down.over_first(points) - side.need).min(axis=1)
    better = slack_up >= slack_down
    sigma = np.where(better, 1.0, -1.0)
    chosen = Creases(up.turn_deg, up.q1, up.q2, up.along, up.on_line, sigma, np.where(better, up.setback, down.setback))
    return chosen, np.maximum(slack_up, slack_down)


# -- two bends with a web between them


#: A bend turned less is not worth a bend (common practice, no source).
LEAST_TURN_DEG: Final = 10.0
#: Edges leave the end of a bend line at least this steeply, so that no relief is needed: the relief rule looks for
#: 15 degrees.
_STEEP_DEG: Final = 16.5
#: Widths of a bend between the narrowest and that of the holes beyond it.
_WIDTHS: Final = (0.0, 0.5, 1.0)
#: Round of metal at a leg's corner, mm; a tenth of the bend's width from its end at most, where the min-leg rule
#: begins to look.
SHOULDER_MM: Final = 3.0
SHOULDER_SHARE: Final = 0.1
#: Beyond what the die needs, mm.
SPARE_MM: Final = 0.3
#: From the end of one bend line of a web to the other bend line (common practice, no source).
_CLEAR_MM: Final = 8.0
#: mm of slack that a degree is counted as.
_MM_PER_DEG: Final = 0.5


@dataclass(slots=True, eq=False)
class Bridges:
    """Webs on planes z, d between the seats `first` and `second`; m1, m2 are the middles of both bend lines on the
    described face, w1, w2 their widths. A row with `slack` of 0 or more can be made; `cost` is about its area, mm2."""

    z: Floats
    d: Floats
    c1: Creases
    c2: Creases
    m1: Floats
    m2: Floats
    w1: Floats
    w2: Floats
    slack: Floats
    cost: Floats

    def taken(self, rows: Indices) -> Bridges:
        """Some of the rows."""
        found: list[Any] = [getattr(self, f.name) for f in fields(self)]
        taken: list[Any] = [v.taken(rows) if isinstance(v, Creases) else v[rows] for v in found]
        return Bridges(*taken)


def shoulder_radius(width: Floats) -> Floats:
    """Radius of the round at a leg's corner for a bend of that width."""
    return np.asarray(np.minimum(SHOULDER_MM, SHOULDER_SHARE * width))


def bridges(first: Footing, second: Footing, z: Floats, d: Floats, practice: Practice, hopeless_mm: float) -> Bridges:
    """Every web plane with every width; rows that fall short by more than `hopeless_mm` are left out early."""
    c1, slack1 = sided(first, z, d, practice)
    c2, slack2 = sided(second, z, d, practice)
    most = practice.most_turn_deg()
    slack = np.minimum(slack1, slack2)
    for c in (c1, c2):
        slack = np.minimum(slack, (c.turn_deg - LEAST_TURN_DEG) * _MM_PER_DEG)
        slack = np.minimum(slack, (most - c.turn_deg) * _MM_PER_DEG)
    m1, m2, ahead = _crossings(first, second, c1, c2)
    slack = np.minimum(slack, ahead)
    rows = np.nonzero(slack > -hopeless_mm)[0]
    kept = [v[rows] for v in (z, d, m1, m2, slack)]
    c1, c2 = c1.taken(rows), c2.taken(rows)
    n = len(_WIDTHS)
    z, d, m1, m2, slack = (np.repeat(v, n, axis=0) for v in kept)
    again = np.repeat(np.arange(len(rows)), n)
    c1, c2 = c1.taken(again), c2.taken(again)
    share = np.tile(np.array(_WIDTHS), len(rows))
    w1, w2 = _widths(first, c1, share), _widths(second, c2, share)
    made = Bridges(z, d, c1, c2, m1, m2, w1, w2, slack, np.zeros(len(z)))
    made.slack = np.minimum(made.slack, _web_slack(made, practice))
    made.slack = np.minimum(made.slack, _steep(first, c1, m1, w1))
    made.slack = np.minimum(made.slack, _steep(second, c2, m2, w2))
    made.cost = _area(first, second, made)
    return made


def _crossings(first: Footing, second: Footing, c1: Creases, c2: Creases) -> tuple[Floats, Floats, Floats]:
    """Where the straight way through the flat, from the middle of one seat to that of the other, crosses both bend
    lines; and how far ahead the second one lies (negative: never)."""
    a, b = _unfolded(first, c1), _unfolded(second, c2)
    near1, far1 = _height(a, c1), _height(b, c1)
    near2, far2 = _height(b, c2), _height(a, c2)
    ahead = np.minimum(far1, far2) - 1.0
    way = b - a
    t1 = -near1 / np.maximum(far1 - near1, 1e-6)
    t2 = 1.0 + near2 / np.maximum(far2 - near2, 1e-6)
    length = np.sqrt(np.einsum("nk,nk->n", way, way))
    ahead = np.minimum(ahead, (t2 - t1) * length)
    return a + t1[:, None] * way, a + t2[:, None] * way, ahead


def _unfolded(side: Footing, c: Creases) -> Floats:
    """The seat's middle turned into the web's plane about the bend line."""
    middle = np.broadcast_to(side.middle, c.on_line.shape)
    off = np.einsum("nk,nk->n", middle - c.on_line, c.q1) * c.sigma
    foot = middle - (c.sigma * off)[:, None] * c.q1
    return np.asarray(foot - (c.sigma * off)[:, None] * c.q2)


def _height(points: Floats, c: Creases) -> Floats:
    """How far points of the web's plane lie past the bend line, into the web."""
    return np.asarray(np.einsum("nk,nk->n", points - c.on_line, c.q2) * c.sigma)


def _widths(side: Footing, c: Creases, share: Floats) -> Floats:
    low, high = side.extent(c.along)
    narrow = np.maximum(LEAST_WIDTH_MM, 2.0 * side.pad.min())
    return np.asarray(narrow + share * np.maximum(high - low - narrow, 0.0))


def _ends(m: Floats, c: Creases, width: Floats, share: float, height: Floats) -> Floats:
    """Two points on the web, at shares of the width to both sides of the middle, at a height over the tangent."""
    over = m + (c.sigma * (c.setback + height))[:, None] * c.q2
    side = (share * width)[:, None] * c.along
    return np.stack([over - side, over + side], axis=1)


def _web_slack(b: Bridges, practice: Practice) -> Floats:
    """What the web leaves over its least size: each bend's end and each shoulder clear of the other bend."""
    r1, r2 = shoulder_radius(b.w1), shoulder_radius(b.w2)
    high1 = np.maximum(practice.least_flats_mm(b.c1.turn_deg) + SPARE_MM - r1, r1)
    high2 = np.maximum(practice.least_flats_mm(b.c2.turn_deg) + SPARE_MM - r2, r2)
    zero = np.zeros(len(b.d))
    ends1, ends2 = _ends(b.m1, b.c1, b.w1, 0.5, zero), _ends(b.m2, b.c2, b.w2, 0.5, zero)
    share = 0.5 - SHOULDER_SHARE
    up1, up2 = _ends(b.m1, b.c1, b.w1, share, high1), _ends(b.m2, b.c2, b.w2, share, high2)
    found = [
        b.c2.over_second(ends1).min(axis=1) - _CLEAR_MM,
        b.c1.over_second(ends2).min(axis=1) - _CLEAR_MM,
        b.c2.over_second(up1).min(axis=1) - r1 - SPARE_MM,
        b.c1.over_second(up2).min(axis=1) - r2 - SPARE_MM,
        _steep_points(b.c1, b.m1, b.w1, np.concatenate([ends2, up2], axis=1)),
        _steep_points(b.c2, b.m2, b.w2, np.concatenate([ends1, up1], axis=1)),
    ]
    return np.asarray(np.min(found, axis=0))


def _steep_points(c: Creases, m: Floats, width: Floats, points: Floats) -> Floats:
    """Whether the web's edges leave the ends of a bend line steeply, in mm."""
    x = np.abs(np.einsum("npk,nk->np", points - m[:, None, :], c.along)) - width[:, None] / 2
    angle = np.degrees(np.arctan2(c.over_second(points), x))
    return np.asarray((angle - _STEEP_DEG).min(axis=1) * _MM_PER_DEG)


def _steep(side: Footing, c: Creases, m: Floats, width: Floats) -> Floats:
    """The same for the pads of a seat."""
    points = np.broadcast_to(side.points, (len(m), *side.points.shape))
    x = np.abs(np.einsum("npk,nk->np", points - m[:, None, :], c.along)) - width[:, None] / 2
    y = np.maximum(c.over_first(points), side.pad)
    far = np.maximum(np.hypot(x, y), side.pad)
    angle = np.degrees(np.arctan2(y, x) - np.arcsin(side.pad / far))
    return np.asarray((angle - _STEEP_DEG).min(axis=1) * _MM_PER_DEG)


def _area(first: Footing, second: Footing, b: Bridges) -> Floats:
    """About the blank's area, mm2; a little less where both turns are whole fives or both lines are parallel:
    that is easier to bend."""
    total = 0.5 * (b.w1 + b.w2) * np.sqrt(np.einsum("nk,nk->n", b.m2 - b.m1, b.m2 - b.m1))
    for side, c, w in ((first, b.c1, b.w1), (second, b.c2, b.w2)):
        low, high = side.extent(c.along)
        points = np.broadcast_to(side.points, (len(w), *side.points.shape))
        far = (c.over_first(points) + side.pad).max(axis=1)
        total = total + 0.5 * (w + high - low) * np.maximum(far, 0.0)
    whole = np.ones(len(total), dtype=bool)
    for c in (b.c1, b.c2):
        whole &= np.abs(c.turn_deg - 5.0 * np.round(c.turn_deg / 5.0)) < 0.01
    parallel = angle_between_lines_deg(b.c1, b.c2) < 0.5
    return np.asarray(total * np.where(whole, 0.95, 1.0) * np.where(parallel, 0.9, 1.0))


def angle_between_lines_deg(c1: Creases, c2: Creases) -> Floats:
    """Between both bend lines as they lie on the web, 0 to 90 degrees."""
    c = np.abs(np.einsum("nk,nk->n", c1.along, c2.along))
    return np.asarray(np.degrees(np.arccos(np.minimum(c, 1.0))))


def unit_rows(v: Floats) -> Floats:
    """Rows with length 1."""
    size = np.sqrt(np.einsum("nk,nk->n", v, v))
    return np.asarray(v / np.maximum(size, 1e-12)[:, None])
