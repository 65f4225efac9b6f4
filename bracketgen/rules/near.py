"""Which boxes come near which others, without asking every pair when there are many."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bracketgen.geometry.edge import Box

#: Above this many pairs a tree pays for itself (measured).
_MOST_PAIRS_ASKED = 6000


def near_pairs(these: Sequence[Box], reach_mm: Sequence[float], those: Sequence[Box]) -> Iterator[tuple[int, int]]:
    """Every (i, j) for which box i of `these`, grown by its reach, meets box j of `those`."""
    if len(these) * len(those) <= _MOST_PAIRS_ASKED:
        return _each_pair(these, reach_mm, those)
    return _by_tree(these, reach_mm, those)


def _each_pair(these: Sequence[Box], reach_mm: Sequence[float], those: Sequence[Box]) -> Iterator[tuple[int, int]]:
    for i, ((x0, y0, x1, y1), reach) in enumerate(zip(these, reach_mm, strict=True)):
        x0, y0, x1, y1 = x0 - reach, y0 - reach, x1 + reach, y1 + reach
        for j, (a0, b0, a1, b1) in enumerate(those):
            if a0 <= x1 and x0 <= a1 and b0 <= y1 and y0 <= b1:
                yield i, j


def _by_tree(these: Sequence[Box], reach_mm: Sequence[float], those: Sequence[Box]) -> Iterator[tuple[int, int]]:
    import numpy as np
    import shapely

    reach = np.array(reach_mm, dtype=np.float64)
    x0, y0, x1, y1 = np.array(these, dtype=np.float64).T
    a0, b0, a1, b1 = np.array(those, dtype=np.float64).T
    tree = shapely.STRtree(np.asarray(shapely.box(a0, b0, a1, b1)))
    found = tree.query(shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach))
    order = np.lexsort((found[1], found[0]))
    yield from zip(found[0][order].tolist(), found[1][order].tolist(), strict=True)
