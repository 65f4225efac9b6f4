"""A straight view of the folded part in lines: which run in sight, and which behind metal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.bending.fold import Folded
from bracketgen.drawing.solid.viewpoint import Viewpoint
from bracketgen.drawing.workshop.extent import seen_bounds
from bracketgen.drawing.workshop.wires import Cover, wires_of
from bracketgen.geometry.line import Box
from bracketgen.geometry.point import Point

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
#: A line is looked at this far to either side, mm: it is in sight when either side is.
_BESIDE_MM: Final = 1e-4
#: What lies behind a surface by less than this lies on it, mm.
_ON_SURFACE_MM: Final = 0.02
#: Surfaces seen more steeply than this (cosine) hide nothing.
_STEEP: Final = 0.01
#: Pieces shorter than this are points, mm.
_POINT_MM: Final = 1e-6

ABOVE: Final = Viewpoint((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
FRONT: Final = Viewpoint((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
RIGHT: Final = Viewpoint((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))


@dataclass(frozen=True, slots=True)
class LineView:
    """Chains in the plane of the view, at the part's own size, mm; `bounds_mm` goes round the true part."""

    visible: tuple[tuple[Point, ...], ...]
    hidden: tuple[tuple[Point, ...], ...]
    bounds_mm: Box


def line_view(folded: Folded, view: Viewpoint, chord_mm: float) -> LineView:
    """The part as seen along a straight direction; curves as chords that stray `chord_mm` at most."""
    wires = wires_of(folded, view, chord_mm)
    basis = np.array((view.right, view.up, view.toward), dtype=np.float64)
    chains = [np.array(c, dtype=np.float64) @ basis.T for c in wires.chains]
    starts = np.vstack([c[:-1] for c in chains])
    ends = np.vstack([c[1:] for c in chains])
    pieces = [_cuts(a, b, starts, ends) for a, b in zip(starts, ends, strict=True)]
    middles = np.vstack([(p[:-1] + p[1:]) / 2 for p in pieces])
    ways = np.vstack([p[1:] - p[:-1] for p in pieces])
    seen = _in_sight(middles, ways, wires.covers, basis)
    visible, hidden = _joined([len(c) - 1 for c in chains], pieces, seen)
    return LineView(visible, hidden, seen_bounds(folded, view))


def _cuts(a: Floats, b: Floats, starts: Floats, ends: Floats) -> Floats:
    """The ends of a segment with every place between them where another one crosses or ends on it in the view."""
    d = (b - a)[:2]
    length = float(np.hypot(*d))
    if length < _POINT_MM:
        return np.array((a, b))
    low, high = np.minimum(a, b)[:2] - 1e-6, np.maximum(a, b)[:2] + 1e-6
    near = np.all((np.minimum(starts, ends)[:, :2] <= high) & (np.maximum(starts, ends)[:, :2] >= low), axis=1)
    p, q = starts[near][:, :2], ends[near][:, :2]
    e = q - p
    across = d[0] * e[:, 1] - d[1] * e[:, 0]
    off = p - a[:2]
    sizes = np.hypot(e[:, 0], e[:, 1])
    crossing = np.abs(across) > 1e-9 * length * np.maximum(sizes, 1e-9)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (off[:, 0] * e[:, 1] - off[:, 1] * e[:, 0]) / across
        other = (off[:, 0] * d[1] - off[:, 1] * d[0]) / across
    places = [share[crossing & (other >= -1e-9) & (other <= 1 + 1e-9)]]
    for end in (p, q):
        r = end - a[:2]
        beside = np.abs(r[:, 0] * d[1] - r[:, 1] * d[0]) < 1e-6 * length
        places.append((r[beside] @ d) / length**2)
    least = _POINT_MM / length
    inner = np.sort(np.concatenate(places))
    inner = inner[(inner > least) & (inner < 1 - least)]
    kept = inner[np.concatenate(([True], np.diff(inner) > least))] if len(inner) else inner
    return a + np.concatenate(([0.0], kept, [1.0]))[:, None] * (b - a)


def _in_sight(middles: Floats, ways: Floats, covers: Sequence[Cover], basis: Floats) -> Bools:
    """Whether a piece can be seen on at least one of its sides."""
    sizes = np.maximum(np.hypot(ways[:, 0], ways[:, 1]), 1e-12)
    side = np.column_stack((-ways[:, 1] / sizes, ways[:, 0] / sizes)) * _BESIDE_MM
    seen: Bools = np.zeros(len(middles), dtype=np.bool_)
    for sign in (1.0, -1.0):
        places = middles[:, :2] + sign * side
        covered: Bools = np.zeros(len(middles), dtype=np.bool_)
        for cover in covers:
            _cover_up(covered, places, middles[:, 2], cover, basis)
        seen |= ~covered
    return seen


def _cover_up(covered: Bools, places: Floats, depths: Floats, cover: Cover, basis: Floats) -> None:
    """Marks the places that lie behind the surface."""
    normal = basis @ np.array(cover.normal)
    if normal[2] <= _STEEP:
        return
    rings = [np.array(r, dtype=np.float64) @ basis.T for r in cover.rings]
    low, high = rings[0].min(axis=0), rings[0].max(axis=0)
    inside = (places > low[:2]) & (places < high[:2])
    chosen = np.flatnonzero(inside[:, 0] & inside[:, 1] & ~covered & (depths < high[2] - _ON_SURFACE_MM))
    if not len(chosen):
        return
    xy = places[chosen]
    over = rings[0][0][2] - ((xy - rings[0][0][:2]) @ normal[:2]) / normal[2]
    behind = over > depths[chosen] + _ON_SURFACE_MM
    odd: Bools = np.zeros(len(chosen), dtype=np.bool_)
    for ring in rings:
        odd ^= _within(xy, ring[:, :2])
    covered[chosen[behind & odd]] = True


def _within(xy: Floats, ring: Floats) -> Bools:
    """Which places lie in a ring, by counting the edges to their right."""
    inside: Bools = np.zeros(len(xy), dtype=np.bool_)
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        if a[1] == b[1]:
            continue
        rows = (a[1] > xy[:, 1]) != (b[1] > xy[:, 1])
        inside ^= rows & (xy[:, 0] < a[0] + (xy[:, 1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
    return inside


_Key = tuple[float, float, float, float]


def _joined(
    counts: Sequence[int], pieces: Sequence[Floats], seen: Bools
) -> tuple[tuple[tuple[Point, ...], ...], tuple[tuple[Point, ...], ...]]:
    """Pieces of one kind that follow each other as chains; what lies under another line is left out."""
    keys: list[list[_Key]] = [[_key(p, q) for p, q in pairwise(c)] for c in pieces]
    flat_keys = [k for ks in keys for k in ks]
    in_sight = {k for k, s in zip(flat_keys, seen.tolist(), strict=True) if s}
    drawn: set[_Key] = set()
    visible: list[tuple[Point, ...]] = []
    hidden: list[tuple[Point, ...]] = []
    segment = piece = 0
    for count in counts:
        run: list[Point] = []
        kind: bool | None = None
        for _ in range(count):
            cut = pieces[segment]
            for p, q in pairwise(cut):
                key, sight = flat_keys[piece], bool(seen[piece])
                piece += 1
                dot_like = key[:2] == key[2:]
                skip = key in drawn or (not sight and key in in_sight) or dot_like
                if dot_like and not skip:
                    continue
                if run and (skip or kind is not sight):
                    (visible if kind else hidden).append(tuple(run))
                    run = []
                if not skip:
                    drawn.add(key)
                    run = [*run, _point(q)] if run else [_point(p), _point(q)]
                    kind = sight
            segment += 1
        if run:
            (visible if kind else hidden).append(tuple(run))
    return tuple(visible), tuple(hidden)


def _point(p: Floats) -> Point:
    return Point(float(p[0]), float(p[1]))


def _key(p: Floats, q: Floats) -> _Key:
    a, b = sorted((round(float(v[0]), 3) + 0.0, round(float(v[1]), 3) + 0.0) for v in (p, q))
    return (*a, *b)
