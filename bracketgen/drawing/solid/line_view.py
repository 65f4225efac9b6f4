"""A straight view of the folded part in lines: which run in sight, and which behind metal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from bracketgen.drawing.solid.facets import skin_facets
from bracketgen.drawing.solid.mesh import Divided
from bracketgen.drawing.solid.skin import Cylinder, Face, Plane, Skin
from bracketgen.drawing.solid.visible import Projection, Viewpoint
from bracketgen.geometry.arrays import Bools, Floats
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Vector, dot

#: A line is looked at this far to either side, mm: it is in sight when either side is.
_BESIDE_MM: Final = 1e-4
#: What lies behind a surface by less than this lies on it, mm.
_ON_SURFACE_MM: Final = 0.02
#: Bends as surfaces that hide others stray at most this much from the true cylinder, mm; their lines are exact.
_BEND_CHORD_MM: Final = 0.003
#: Pieces shorter than this are points, mm.
_POINT_MM: Final = 1e-6
#: A direction this near to square looks along the surface (its cosine).
_ALONG_VIEW: Final = 1e-9
#: A round seen along its axis to this (sine) turns away nowhere; how far beyond its ends it may turn, rad.
_LEAST_ACROSS: Final = 1e-6


@dataclass(frozen=True, slots=True)
class LineView:
    """Chains in the plane of the view, at the part's own size, mm; `bounds_mm` goes round the true part."""

    visible: tuple[tuple[Point, ...], ...]
    hidden: tuple[tuple[Point, ...], ...]
    bounds_mm: Box


def line_view(skin: Skin, view: Viewpoint, chord_mm: float) -> LineView:
    """The part as seen along a straight direction; curves as chords that stray `chord_mm` at most."""
    chains = [view.seen(chain) for chain in _edges(skin, view, chord_mm)]
    starts, ends = np.vstack([c[:-1] for c in chains]), np.vstack([c[1:] for c in chains])
    pieces = [_cuts(a, b, starts, ends) for a, b in zip(starts, ends, strict=True)]
    middles = np.vstack([(p[:-1] + p[1:]) / 2 for p in pieces])
    ways = np.vstack([p[1:] - p[:-1] for p in pieces])
    sizes = np.maximum(np.hypot(ways[:, 0], ways[:, 1]), 1e-12)
    side = np.column_stack((-ways[:, 1] / sizes, ways[:, 0] / sizes, np.zeros(len(ways)))) * _BESIDE_MM
    before = Projection(skin_facets(skin, chord_mm, _BEND_CHORD_MM), view)
    hidden = before.hide(middles + side, _ON_SURFACE_MM)
    hidden[hidden] = before.hide((middles - side)[hidden], _ON_SURFACE_MM)
    visible, behind = _joined([len(c) - 1 for c in chains], pieces, ~hidden)
    (x0, x1), (y0, y1) = skin.reach(view.right), skin.reach(view.up)
    return LineView(visible, behind, (x0, y0, x1, y1))


def _edges(skin: Skin, view: Viewpoint, chord_mm: float) -> list[list[Vector]]:
    """Sharp edges, and those where a surface turns away from the eye; round surfaces count as true cylinders."""
    divided = Divided(skin, chord_mm)
    drawn = [
        sharp or _turns_away([f for f, _ in uses], view)
        for sharp, uses in zip(skin.sharp_rims(), skin.faces_at(), strict=True)
    ]
    made: list[list[Vector]] = []
    # Along the large faces first, so that their outlines come in one piece.
    for face in sorted(skin.faces, key=lambda f: f.side == "cut"):
        for loop in face.loops:
            first = next((i for i, (n, _) in enumerate(loop) if not drawn[n]), 0)
            run: list[int] = []
            for turn in (*loop[first:], *loop[:first]):
                if drawn[turn[0]]:
                    run = [*run, *divided.along(turn)[bool(run) :]]
                elif run:
                    made.append([divided.points[i] for i in run])
                    run = []
                drawn[turn[0]] = False
            if run:
                made.append([divided.points[i] for i in run])
        if isinstance(face.surface, Cylinder):
            made += _outlines(skin, face, face.surface, view)
    return made


def _turns_away(faces: Sequence[Face], view: Viewpoint) -> bool:
    """Whether one of two planes looks to the eye and the other away."""
    looks = {dot(f.surface.normal, view.toward) > _ALONG_VIEW for f in faces if isinstance(f.surface, Plane)}
    return len(looks) == 2


def _outlines(skin: Skin, face: Face, surface: Cylinder, view: Viewpoint) -> list[list[Vector]]:
    """The straight lines along which a round face turns away from the eye."""
    near, far = (turn for turn in face.loops[0] if skin.rims[turn[0]].centre is not None)
    rim, other = skin.rims[near[0]], skin.rims[far[0]]
    out = surface.out(skin.corners[rim.start])
    side = surface.out(skin.at(rim, math.pi / 2))
    across, along = dot(out, view.toward), dot(side, view.toward)
    if math.hypot(across, along) < _LEAST_ACROSS:
        return []
    sweep, first = skin.sweep_rad(rim), math.atan2(-across, along)
    made: list[list[Vector]] = []
    for turn in (first + k * math.pi for k in range(-2, 4)):
        if -_LEAST_ACROSS <= turn <= sweep + _LEAST_ACROSS:
            # The two arcs of a face run round its loop against each other.
            there = turn if near[1] != far[1] else sweep - turn
            made.append([skin.at(rim, turn), skin.at(other, there)])
    return made


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
