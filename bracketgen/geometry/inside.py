"""Which closed chains hold a point: exact for true arcs, many points at a time.

A chain of lines and arcs is the polygon of its chords, with a circular segment added or taken away at
every arc, so the parity of 'inside the chord polygon' and 'inside the segments' answers the question.
A point that lies exactly on a chord is treated as moved by an infinitely small step (up, then left) in both
tests alike; points on the chain itself have no answer and must not be asked for.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from bracketgen.geometry.arc import Arc
from bracketgen.geometry.contour import Contour
from bracketgen.geometry.point import Point

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

_CHUNK = 2_000_000


class ChainSet:
    """Several closed chains, prepared for repeated questions."""

    def __init__(self, chains: Sequence[Contour]) -> None:
        rows: list[tuple[float, ...]] = []
        starts: list[int] = []
        for chain in chains:
            starts.append(len(rows))
            for e in chain.edges:
                centre, r = (e.centre, e.radius) if isinstance(e, Arc) else (Point(0.0, 0.0), -1.0)
                turning = e.sweep_rad if isinstance(e, Arc) else 0.0
                rows.append((e.start.x, e.start.y, e.end.x, e.end.y, centre.x, centre.y, r, turning))
        self._starts = np.array(starts, dtype=np.intp)
        self._rows: Floats = np.array(rows, dtype=np.float64).reshape(-1, 8).T

    def hold(self, points: Sequence[Point]) -> Bools:
        """A row for each point, a column for each chain: whether the chain holds the point."""
        xy = np.array(points, dtype=np.float64).reshape(-1, 2)
        step = max(1, _CHUNK // max(1, self._rows.shape[1]))
        parts = [self._some(xy[i : i + step]) for i in range(0, len(xy), step)]
        return np.concatenate(parts) if parts else np.zeros((0, len(self._starts)), dtype=np.bool_)

    def _some(self, xy: Floats) -> Bools:
        ax, ay, bx, by, cx, cy, radius, sweep = self._rows
        px, py = xy[:, :1], xy[:, 1:]
        dx, dy = bx - ax, by - ay
        cross = dx * (py - ay) - dy * (px - ax)
        left = (cross > 0) | ((cross == 0) & ((dx > 0) | ((dx == 0) & (dy > 0))))
        up, down = (ay <= py) & (py < by), (by <= py) & (py < ay)
        crossing = (up & left) | (down & ~left)
        in_circle = (radius > 0) & ((px - cx) ** 2 + (py - cy) ** 2 < radius**2)
        in_segment = in_circle & np.where(sweep > 0, ~left, left)
        parity: Bools = np.logical_xor.reduceat(crossing ^ in_segment, self._starts, axis=1)
        return parity


def holds(chain: Contour, point: Point) -> bool:
    """Whether the chain holds the point (points on the chain itself have no answer).

    The same test as ChainSet, for one point: a short chain is quicker walked than made into arrays.
    """
    px, py = point
    inside = False
    for e in chain.edges:
        (ax, ay), (bx, by) = e.start, e.end
        dx, dy = bx - ax, by - ay
        cross = dx * (py - ay) - dy * (px - ax)
        left = cross > 0 or (cross == 0 and (dx > 0 or (dx == 0 and dy > 0)))
        if (ay <= py < by and left) or (by <= py < ay and not left):
            inside = not inside
        if isinstance(e, Arc) and left != (e.sweep_rad > 0):
            (cx, cy), r = e.centre, e.radius
            if (px - cx) ** 2 + (py - cy) ** 2 < r * r:
                inside = not inside
    return inside
