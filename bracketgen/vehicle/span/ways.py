"""Where bends may run between two seats: systematic grids of web planes, then small steps from the best of them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import Any, Final

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.vehicle.span.bridge import (
    LEAST_TURN_DEG,
    Bridges,
    Creases,
    _height,
    _steep,
    bridges,
    creases,
    unit_rows,
)
from bracketgen.vehicle.span.practice import Practice
from bracketgen.vehicle.span.seat import LEAST_WIDTH_MM, Footing

#: Directions of web planes over the whole sphere, places of each plane, and how far both seats they reach, mm.
_DIRECTIONS: Final = 420
_PLACES: Final = 18
_BEYOND_MM: Final = 90.0
#: Rounds of small steps, how many of the best take them, steps of each, and the first step's size.
_ROUNDS: Final = 5
_BEST: Final = 24
_STEPS: Final = 16
_FIRST_STEP: Final = 0.16
_FIRST_SHIFT_MM: Final = 12.0
_SHRINK: Final = 0.5
#: A web that falls short by more can't be mended by small steps.
_HOPELESS_MM: Final = 25.0
#: Cost of a mm that a web falls short by, mm2: far more than any bracket's area.
_SHORT_COST: Final = 1e5
#: Cost of a mm that samples come too near to something: more than a way round costs.
_CROWDED_COST: Final = 2e3
#: Webs whose planes differ by less, in degrees and mm, are alike.
_ALIKE_DEG: Final = 20.0
_ALIKE_MM: Final = 12.0
#: So many alike are followed by small steps.
_MOST_ALIKE: Final = 3

Crowding = Callable[[Floats], Floats]


@dataclass(frozen=True, slots=True, eq=False)
class Crossing:
    """One bend of a found way: the middle of the two described faces' line, its unit direction, width, turn and way.

    `z` is the unit normal of the described face beyond it, `on` the direction from the line into that panel.
    """

    middle: Floats
    along: Floats
    width: float
    turn_deg: float
    up: bool
    z: Floats
    back: Floats
    on: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Connection:
    """From one seat to another: the bends in order. `cost` is about the area of metal, mm2."""

    first: Footing
    second: Footing
    crossings: tuple[Crossing, ...]
    cost: float


def one_bend_connections(
    first: Footing, second: Footing, practice: Practice, crowding: Crowding | None = None
) -> list[Connection]:
    """The planes of both seats meet in a bend that both sets of holes leave room for."""
    z1, z2 = first.z[None, :], second.z[None, :]
    turn = math.degrees(math.acos(float(np.clip(first.z @ second.z, -1.0, 1.0))))
    if not LEAST_TURN_DEG <= turn <= practice.most_turn_deg():
        return []
    found = []
    for sigma in (1.0, -1.0):
        c = creases(z1, np.array([first.height]), z2, np.array([second.height]), np.array([sigma]), practice)
        back = creases(z2, np.array([second.height]), z1, np.array([first.height]), np.array([sigma]), practice)
        room = min(
            float((c.over_first(first.points[None]) - first.need).min()),
            float((back.over_first(second.points[None]) - second.need).min()),
        )
        if room >= 0.0:
            found += _one_bend_widths(first, second, c, back)
    return found if crowding is None else [_crowded(way, crowding) for way in found]


def _crowded(way: Connection, crowding: Crowding) -> Connection:
    """A one-bend way with the cost of coming too near to something."""
    c = way.crossings[0]
    m, along, width = c.middle[None], c.along[None], np.array([c.width])
    points = np.concatenate([_leg(side, m, along, width) for side in (way.first, way.second)], axis=1)
    return replace(way, cost=way.cost + _CROWDED_COST * max(0.0, float(crowding(points)[0])))


def _one_bend_widths(first: Footing, second: Footing, c: Creases, back: Creases) -> list[Connection]:
    """The bend as narrow as it may be, as wide as the wider seat, and between."""
    near, far = (
        -_height(first.middle[None], Creases(c.turn_deg, c.q2, c.q1, c.along, c.on_line, c.sigma, c.setback)),
        _height(second.middle[None], c),
    )
    t1, t2 = (float(c.along[0] @ (s.middle - c.on_line[0])) for s in (first, second))
    share = float(-near[0]) / max(float(far[0] - near[0]), 1e-6)
    middle = t1 + (t2 - t1) * share
    spans = [s.extent(c.along) for s in (first, second)]
    base = float(c.along[0] @ c.on_line[0])
    low, high = (
        min(float(s[0][0]) for s in spans) - base,
        max(float(s[1][0]) for s in spans) - base,
    )
    narrow = max(LEAST_WIDTH_MM, 2.0 * float(min(first.pad.min(), second.pad.min())))
    found = []
    for part in (0.0, 0.33, 0.67, 1.0):
        centre = middle + part * ((low + high) / 2 - middle)
        width = narrow + part * max(high - low - narrow, 0.0)
        m, w = c.on_line + centre * c.along, np.array([width])
        if min(float(_steep(first, c, m, w)[0]), float(_steep(second, back, m, w)[0])) < 0.0:
            continue
        heights = [float((k.over_first(s.points[None]) + s.pad).max()) for s, k in ((first, c), (second, back))]
        sizes = [float(s[1][0] - s[0][0]) for s in spans]
        cost = sum(0.5 * (width + size) * height for size, height in zip(sizes, heights, strict=True))
        found.append(Connection(first, second, (_crossing(c, 0, m[0], width, second.z),), cost))
    return found


def _crossing(c: Creases, row: int, m: Floats, width: float, z: Floats) -> Crossing:
    sigma = float(c.sigma[row])
    return Crossing(m, c.along[row], width, float(c.turn_deg[row]), sigma > 0, z, sigma * c.q1[row], sigma * c.q2[row])


def two_bend_connections(
    first: Footing, second: Footing, practice: Practice, most: int, crowding: Crowding | None = None
) -> list[Connection]:
    """Webs between both seats, unlike each other, the cheapest first.

    `crowding` says for rows of sample points by how many mm the worst falls short of its gap to what stands near.
    """
    z, d = _grid(first, second)
    tried = _judged(first, second, bridges(first, second, z, d, practice, _HOPELESS_MM), crowding)
    for n in range(_ROUNDS):
        if not len(tried.d) or float(tried.slack.max()) < -_HOPELESS_MM * _SHRINK**n:
            return []
        best = _spread(tried, _BEST)
        z, d = _steps(best, _SHRINK**n, n)
        near = _judged(first, second, bridges(first, second, z, d, practice, _HOPELESS_MM), crowding)
        tried = _both(best, near)
    good = tried.taken(np.nonzero(tried.slack >= 0.0)[0])
    return [_way(first, second, good, row) for row in _unlike(good, most)]


@cache
def _sphere(n: int) -> Floats:
    """Directions spread evenly (golden spiral)."""
    k = np.arange(n) + 0.5
    polar, around = np.arccos(1 - 2 * k / n), np.pi * (1 + 5**0.5) * k
    return np.stack([np.sin(polar) * np.cos(around), np.sin(polar) * np.sin(around), np.cos(polar)], axis=1)


def _grid(first: Footing, second: Footing) -> tuple[Floats, Floats]:
    """Web planes to try: directions all over, and those that give square or equal turns, at places between and a
    little beyond both seats."""
    z = np.concatenate([_round_turns(first, second), _sphere(_DIRECTIONS)])
    points = np.concatenate([first.points, second.points])
    reach = z @ points.T
    low, high = reach.min(axis=1), reach.max(axis=1)
    beyond = np.minimum(_BEYOND_MM, 0.5 * (high - low) + 60.0)
    share = np.linspace(0.0, 1.0, _PLACES)
    d = (low - beyond)[:, None] + share * (high - low + 2 * beyond)[:, None]
    return np.repeat(z, _PLACES, axis=0), d.ravel()


def _round_turns(first: Footing, second: Footing) -> Floats:
    """Normals of webs that turn by round degrees from the first seat, about lines that lie well on both."""
    z1, z2 = first.z, second.z
    axes = [np.cross(z1, z2)] if np.linalg.norm(np.cross(z1, z2)) > 0.05 else []
    offset = second.middle - first.middle
    axes += [np.cross(z1, offset), offset - (offset @ z1) * z1]
    for side in (first, second):
        if len(side.points) > 1:
            run = side.points[1] - side.points[0]
            axes += [run - (run @ z1) * z1, np.cross(z1, run)]
    found = [np.cross(z1, z2), np.cross(z2, z1)] if np.linalg.norm(np.cross(z1, z2)) > 0.05 else []
    for axis in axes:
        size = float(np.linalg.norm(axis))
        if size < 1e-6:
            continue
        side_way = np.cross(axis / size, z1)
        for turn in (20, 30, 45, 60, 75, 90, 105, 120):
            c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            found += [c * z1 + s * side_way, c * z1 - s * side_way]
    return unit_rows(np.array(found)) if found else np.zeros((0, 3))


def _judged(first: Footing, second: Footing, b: Bridges, crowding: Crowding | None) -> Bridges:
    """With the cost of falling short added."""
    b.cost = b.cost + _SHORT_COST * np.maximum(-b.slack, 0.0)
    if crowding is not None and len(b.d):
        near = np.nonzero(b.slack > -2.0)[0]
        if len(near):
            b.cost[near] += _CROWDED_COST * np.maximum(crowding(_samples(first, second, b.taken(near))), 0.0)
    return b


def _samples(first: Footing, second: Footing, b: Bridges) -> Floats:
    """Points of each web and of the metal from its bend lines to the holes."""
    return np.concatenate([_web(b), _leg(first, b.m1, b.c1.along, b.w1), _leg(second, b.m2, b.c2.along, b.w2)], axis=1)


def _leg(side: Footing, m: Floats, along: Floats, width: Floats) -> Floats:
    """Points from the ends and the middle of each bend line to the holes of a seat."""
    line = m[:, None, :] + np.array([-0.5, 0.0, 0.5])[None, :, None] * (width[:, None] * along)[:, None, :]
    share = np.array([0.0, 0.33, 0.67, 1.0])[None, None, None, :, None]
    way = side.points[None, None, :, None, :] - line[:, :, None, None, :]
    return np.asarray((line[:, :, None, None, :] + share * way).reshape(len(m), -1, 3))


def _web(b: Bridges) -> Floats:
    """Points of each web, five by five, from one bend line to the other."""
    across = np.linspace(-0.5, 0.5, 5)
    up = np.linspace(0.0, 1.0, 5)
    sign = np.where(np.einsum("nk,nk->n", b.c1.along, b.c2.along) >= 0, 1.0, -1.0)
    start = b.m1[:, None, :] + across[None, :, None] * (b.w1[:, None] * b.c1.along)[:, None, :]
    end = b.m2[:, None, :] + across[None, :, None] * ((sign * b.w2)[:, None] * b.c2.along)[:, None, :]
    mixed = start[:, :, None, :] * (1 - up)[None, None, :, None] + end[:, :, None, :] * up[None, None, :, None]
    return np.asarray(mixed.reshape(len(b.d), -1, 3))


def _spread(b: Bridges, most: int) -> Bridges:
    """The cheapest rows, no more than a few alike."""
    kept: list[int] = []
    for row in np.argsort(b.cost, kind="stable")[: 40 * most].tolist():
        if _alike(b, row, kept) < _MOST_ALIKE:
            kept.append(row)
        if len(kept) == most:
            break
    return b.taken(np.array(kept, dtype=int))


def _alike(b: Bridges, row: int, others: list[int]) -> int:
    """How many of some rows are like one."""
    if not others:
        return 0
    turned = b.z[others] @ b.z[row] > math.cos(math.radians(_ALIKE_DEG))
    off = b.m1[others] + b.m2[others] - b.m1[row] - b.m2[row]
    return int((turned & (np.einsum("nk,nk->n", off, off) < (2 * _ALIKE_MM) ** 2)).sum())


def _steps(best: Bridges, size: float, seed: int) -> tuple[Floats, Floats]:
    """Planes near the best ones; the same ones each time."""
    generator = np.random.default_rng(seed)
    z = np.repeat(best.z, _STEPS, axis=0)
    middle = np.repeat((best.m1 + best.m2) / 2, _STEPS, axis=0)
    z = unit_rows(z + generator.normal(0.0, _FIRST_STEP * size, z.shape))
    shift = generator.normal(0.0, _FIRST_SHIFT_MM * size, len(z))
    # The middle of the web stays where it is, but for the shift.
    return z, np.asarray(np.einsum("nk,nk->n", z, middle) + shift)


def _both(a: Bridges, b: Bridges) -> Bridges:
    def joined(x: Any, y: Any) -> Any:
        if isinstance(x, Creases):
            return Creases(*(np.concatenate([getattr(x, f.name), getattr(y, f.name)]) for f in fields(Creases)))
        return np.concatenate([x, y])

    return Bridges(*(joined(getattr(a, f.name), getattr(b, f.name)) for f in fields(Bridges)))


def _unlike(good: Bridges, most: int) -> list[int]:
    """Rows from the cheapest on that are unlike each other."""
    kept: list[int] = []
    for row in np.argsort(good.cost, kind="stable").tolist():
        if not _alike(good, row, kept):
            kept.append(row)
        if len(kept) == most:
            break
    return kept


def _way(first: Footing, second: Footing, b: Bridges, row: int) -> Connection:
    """A row as a way: at the second bend the web is the parent."""
    near = _crossing(b.c1, row, b.m1[row], float(b.w1[row]), b.z[row])
    c2 = b.c2
    sigma = float(c2.sigma[row])
    far = Crossing(
        b.m2[row], c2.along[row], float(b.w2[row]), float(c2.turn_deg[row]), sigma > 0, second.z,
        sigma * c2.q2[row], sigma * c2.q1[row],
    )  # fmt: skip
    return Connection(first, second, (near, far), float(b.cost[row]))


def twisted(way: Connection) -> bool:
    """Whether the two bend lines of a way are not parallel."""
    return len(way.crossings) == 2 and abs(float(way.crossings[0].along @ way.crossings[1].along)) < math.cos(
        math.radians(1.0)
    )
