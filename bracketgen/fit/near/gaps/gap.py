"""The exact gap between two solids."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bracketgen.fit.near.gaps.gap_sides import Asked, Side, search
from bracketgen.fit.near.gaps.solids import Gap3, Solid, Wall
from bracketgen.geometry.frame import Vector


def gap(a: Solid, b: Solid) -> Gap3:
    """Distance and nearest points, `here` on a and `there` on b; mm.

    True arcs count. The error is at most 1e-5 mm.
    Where the solids meet, mm is 0 or less. Pipes and drums whose axis stays outside measure to their skin, as a bolt in
    its hole does. Else its amount is the length of a straight move that surely parts the two: for convex solids the
    shortest there is, to within two hundredths; for plates and bends one that parts their hulls. Out of their hollows
    `smallest_move` looks for a shorter one. `here` and `there` are then one shared point, unless pipes measure to
    their skin.
    Two walls that are not parallel meet endlessly: mm is -inf.
    """
    return gaps(((a, b),))[0]


def gaps(pairs: Sequence[tuple[Solid, Solid]]) -> list[Gap3]:
    """The gap of each pair, as `gap`; many at once are quicker than one by one."""
    p, q = Side.of([a for a, _ in pairs]), Side.of([b for _, b in pairs])
    found, _ = search(p, q, [Asked(k, k, k) for k in range(len(pairs))], len(pairs))
    return [_between_walls(a, b) if g is None else g for g, (a, b) in zip(found, pairs, strict=True)]


def _between_walls(a: Solid, b: Solid) -> Gap3:
    assert isinstance(a, Wall) and isinstance(b, Wall)
    n, m = np.array(a.normal), np.array(b.normal)
    if float(np.linalg.norm(n + m)) > 1e-12:
        return Gap3(-np.inf, a.point, a.point)
    mm = float(n @ (np.array(b.point) - np.array(a.point)))
    x, y, z = (np.array(a.point) + n * mm).tolist()
    there: Vector = (x, y, z)
    return Gap3(mm, a.point, there)
