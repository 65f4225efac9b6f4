"""Where on a piece of paper a label still fits.

The paper is divided into small cells. `taken` cells hold words, markers and leaders and are never covered; `inked`
cells hold lines and holes and are covered only when nothing better is left. Sums over any box come from running sums,
so every place on the paper is tried at once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

CELL_MM: Final = 0.75
#: What covering a line costs, in mm of longer leader: once, and for each inked cell.
_INK_ONCE: Final = 45.0
_INK_CELL: Final = 1.5
#: So many of the best places are looked at more closely, then a few of so many more, in case leaders are blocked.
_LOOKED_AT: Final = 100
_LOOKED_OVER: Final = 3000
_EVERY: Final = 12

Ints = npt.NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Near:
    """A place to lie near: `away_mm` from the point is best; `cost` is added for choosing it, mm."""

    point: Point
    away_mm: float = 0.0
    cost: float = 0.0


@dataclass(frozen=True, slots=True)
class FreePlace:
    """A free place: the box, and what it costs in mm of leader."""

    box: Box
    cost: float


class FreeRoom:
    """The state of one area of paper while labels are being placed on it."""

    def __init__(self, area: Box) -> None:
        self.area = area
        columns = max(1, math.floor((area[2] - area[0]) / CELL_MM))
        rows = max(1, math.floor((area[3] - area[1]) / CELL_MM))
        self._taken: Ints = np.zeros((rows, columns), dtype=np.int32)
        self._inked: Ints = np.zeros((rows, columns), dtype=np.int32)

    def take(self, box: Box) -> None:
        """Nothing may cover this box from now on."""
        self._taken[self._cells(box)] = 1

    def take_line(self, points: Sequence[Point]) -> None:
        """Nothing may cover this line from now on."""
        self._draw(self._taken, points)

    def ink(self, box: Box) -> None:
        """This box is better left free."""
        self._inked[self._cells(box)] = 1

    def ink_line(self, points: Sequence[Point]) -> None:
        """This line is better left free."""
        self._draw(self._inked, points)

    def spots(self, width: float, height: float, targets: Sequence[Near]) -> list[FreePlace]:
        """The best free places for a box, cheapest first: near a target, but off the lines."""
        xs: Floats
        ys: Floats
        nx, ny = math.ceil(width / CELL_MM), math.ceil(height / CELL_MM)
        rows, columns = self._taken.shape
        if nx > columns or ny > rows:
            return []
        taken, inked = _sums(self._taken, nx, ny), _sums(self._inked, nx, ny)
        xs = self.area[0] + CELL_MM * np.arange(taken.shape[1], dtype=np.float64)
        ys = self.area[1] + CELL_MM * np.arange(taken.shape[0], dtype=np.float64)
        far = _distance(xs, ys, width, height, targets)
        cost = far + np.where(inked > 0, _INK_ONCE + _INK_CELL * inked, 0.0)
        cost[taken > 0] = np.inf
        return [
            FreePlace((x, y, x + width, y + height), float(cost[j, i]))
            for j, i in _lowest(cost)
            for x, y in [(float(xs[i]), float(ys[j]))]
        ]

    def blocked(self, start: Point, end: Point, spare_mm: float) -> tuple[bool, int]:
        """Whether a line runs into what is taken (its first `spare_mm` not counted), and how much ink it crosses."""
        x, y = self._samples((start, end))
        keep = np.hypot(x - start.x, y - start.y) > spare_mm
        i, j = self._index(x[keep], y[keep])
        return bool(self._taken[j, i].any()), int(self._inked[j, i].sum())

    def free(self, box: Box) -> bool:
        """Whether a box lies in the area with nothing taken in it."""
        inside = box[0] >= self.area[0] and box[1] >= self.area[1] and box[2] <= self.area[2] and box[3] <= self.area[3]
        return inside and not self._taken[self._cells(box)].any()

    def _cells(self, box: Box) -> tuple[slice, slice]:
        x0, y0 = self.area[0], self.area[1]
        i0, i1 = math.floor((box[0] - x0) / CELL_MM), math.ceil((box[2] - x0) / CELL_MM)
        j0, j1 = math.floor((box[1] - y0) / CELL_MM), math.ceil((box[3] - y0) / CELL_MM)
        return slice(max(0, j0), max(0, j1)), slice(max(0, i0), max(0, i1))

    def _draw(self, cells: Ints, points: Sequence[Point]) -> None:
        x, y = self._samples(points)
        a = self.area
        inside = (x >= a[0]) & (x < a[2]) & (y >= a[1]) & (y < a[3])
        i, j = self._index(x[inside], y[inside])
        cells[j, i] = 1

    def _samples(self, points: Sequence[Point]) -> tuple[Floats, Floats]:
        """Points along a chain, half a cell apart at most."""
        xs: list[Floats] = []
        ys: list[Floats] = []
        for a, b in pairwise(points):
            n = max(2, math.ceil(a.distance(b) / (CELL_MM / 2)) + 1)
            xs.append(np.linspace(a.x, b.x, n))
            ys.append(np.linspace(a.y, b.y, n))
        return np.concatenate(xs), np.concatenate(ys)

    def _index(self, x: Floats, y: Floats) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
        rows, columns = self._taken.shape
        i = np.clip(((x - self.area[0]) / CELL_MM).astype(np.intp), 0, columns - 1)
        j = np.clip(((y - self.area[1]) / CELL_MM).astype(np.intp), 0, rows - 1)
        return i, j


def _sums(cells: Ints, nx: int, ny: int) -> Ints:
    """The sum over a window of nx by ny cells at every place where it fits."""
    run = np.zeros((cells.shape[0] + 1, cells.shape[1] + 1), dtype=np.int32)
    run[1:, 1:] = cells.cumsum(axis=0, dtype=np.int32).cumsum(axis=1, dtype=np.int32)
    sums: Ints = run[ny:, nx:] - run[:-ny, nx:] - run[ny:, :-nx] + run[:-ny, :-nx]
    return sums


def _distance(xs: Floats, ys: Floats, width: float, height: float, targets: Sequence[Near]) -> Floats:
    """How far the box at every place is from where it should lie, mm."""
    near = np.full((len(ys), len(xs)), np.inf)
    for t in targets:
        dx = np.maximum(np.maximum(xs - t.point.x, t.point.x - xs - width), 0.0)
        dy = np.maximum(np.maximum(ys - t.point.y, t.point.y - ys - height), 0.0)
        near = np.minimum(near, np.abs(np.hypot(dx[None, :], dy[:, None]) - t.away_mm) + t.cost)
    return near


def _lowest(cost: Floats) -> list[tuple[int, int]]:
    """Row and column of the lowest finite values, lowest first; ties in reading order of the cells."""
    flat = cost.ravel()
    most = min(_LOOKED_AT + _LOOKED_OVER, len(flat) - 1)
    limit = np.partition(flat, most)[most]
    chosen = np.flatnonzero((flat <= limit) & np.isfinite(flat))
    ordered = chosen[np.argsort(flat[chosen], kind="stable")]
    looked_at = [*ordered[:_LOOKED_AT], *ordered[_LOOKED_AT:_LOOKED_OVER:_EVERY]]
    return [(int(k) // cost.shape[1], int(k) % cost.shape[1]) for k in looked_at]
