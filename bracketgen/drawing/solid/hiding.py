"""Which of several plates in space hides which, seen from one side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.geometry.contour import closed_chain
from bracketgen.geometry.inside import ChainSet
from bracketgen.geometry.point import Point

Floats = npt.NDArray[np.float64]
#: Places looked at along each side of a plate's box.
_GRID: Final = 9
#: A plate thinner than this on the paper (its area by its box, mm2 of the part) is seen edge on.
_EDGE_ON: Final = 1e-6
#: Depths nearer than this are the same, mm.
_SAME_DEPTH_MM: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Plane:
    """Depth over a place on the paper: a + b x + c y; larger is nearer. `edge_on` planes have no such depth."""

    a: float
    b: float
    c: float
    edge_on: bool

    @staticmethod
    def through(points: Sequence[Point], depths: Sequence[float]) -> Plane:
        """The plane through the points."""
        xy = np.array(points, dtype=np.float64)
        centre = xy.mean(axis=0)
        spread = xy - centre
        size = float(np.abs(spread).max()) or 1.0
        if np.linalg.matrix_rank(spread / size, tol=_EDGE_ON) < 2:
            return Plane(float(np.mean(depths)), 0.0, 0.0, True)
        rows = np.column_stack([np.ones(len(xy)), spread])
        a, b, c = np.linalg.lstsq(rows, np.array(depths), rcond=None)[0]
        return Plane(float(a - b * centre[0] - c * centre[1]), float(b), float(c), False)

    def at(self, xy: Floats) -> Floats:
        """Depth over each place."""
        depth: Floats = self.a + self.b * xy[:, 0] + self.c * xy[:, 1]
        return depth


@dataclass(frozen=True)
class Seen:
    """A flat plate as it falls on the paper, at the part's own size."""

    ring: tuple[Point, ...]
    plane: Plane

    @cached_property
    def _chain(self) -> ChainSet:
        return ChainSet([closed_chain(self.ring)])

    @cached_property
    def box(self) -> tuple[float, float, float, float]:
        """x0, y0, x1, y1."""
        xs, ys = [p.x for p in self.ring], [p.y for p in self.ring]
        return (min(xs), min(ys), max(xs), max(ys))

    def holds(self, xy: Floats) -> npt.NDArray[np.bool_]:
        """Which places lie within."""
        x0, y0, x1, y1 = self.box
        inside = (xy[:, 0] > x0) & (xy[:, 0] < x1) & (xy[:, 1] > y0) & (xy[:, 1] < y1)
        if inside.any():
            inside[inside] = self._chain.hold([Point(x, y) for x, y in xy[inside].tolist()])[:, 0]
        return inside

    @cached_property
    def samples(self) -> Floats:
        """Places spread over the plate, a little inside its edge."""
        x0, y0, x1, y1 = self.box
        xs, ys = np.linspace(x0, x1, _GRID + 2)[1:-1], np.linspace(y0, y1, _GRID + 2)[1:-1]
        grid = np.array([(x, y) for x in xs for y in ys])
        ring = np.array(self.ring, dtype=np.float64)
        edge = np.vstack([ring, (ring + np.roll(ring, -1, axis=0)) / 2])
        nearby = edge + (ring.mean(axis=0) - edge) * 1e-3
        places = np.vstack([grid, nearby[:: max(1, len(nearby) // 60)]])
        return places[self.holds(places)]

    def hides(self, place: Point, depth: float, thickness_mm: float) -> bool:
        """Whether a point in space (where it falls, and its depth) lies behind this plate, by its thickness or more."""
        x0, y0, x1, y1 = self.box
        if self.plane.edge_on or not (x0 <= place.x <= x1 and y0 <= place.y <= y1):
            return False
        here = np.array([place], dtype=np.float64)
        return bool(self.holds(here)[0]) and float(self.plane.at(here)[0]) > depth + thickness_mm

    def hidden_share(self, others: Sequence[Seen]) -> float:
        """The share of the plate that lies behind any of the others."""
        own = self.samples
        if self.plane.edge_on or not len(own):
            return 1.0
        hidden = np.zeros(len(own), dtype=np.bool_)
        for other in others:
            if not other.plane.edge_on:
                hidden |= other.holds(own) & (other.plane.at(own) > self.plane.at(own) + _SAME_DEPTH_MM)
        return float(hidden.mean())

    def nearer_than(self, other: Seen) -> float:
        """Above 0 when this plate lies before the other where they overlap, below 0 behind, 0 without overlap."""
        a, b = self.box, other.box
        if a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3]:
            return 0.0
        if self.plane.edge_on or other.plane.edge_on:
            return 0.0
        both = np.vstack([self.samples[other.holds(self.samples)], other.samples[self.holds(other.samples)]])
        return float((self.plane.at(both) - other.plane.at(both)).sum()) if len(both) else 0.0


def back_to_front(count: int, before: Sequence[tuple[int, int]], depth: Sequence[float]) -> list[int]:
    """An order with `a` before `b` for each pair (a, b); where pairs run in a ring, the farthest goes first."""
    behind: dict[int, set[int]] = {i: set() for i in range(count)}
    for a, b in before:
        behind[b].add(a)
    order: list[int] = []
    left = set(range(count))
    while left:
        ready = [i for i in left if not (behind[i] & left)]
        chosen = min(ready or left, key=lambda i: (depth[i], i))
        order.append(chosen)
        left.remove(chosen)
    return order
