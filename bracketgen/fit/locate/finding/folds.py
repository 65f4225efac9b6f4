"""Other positions that may fit as well: the site, a face or a hole mirrored, or a face turned over."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, islice
from typing import Final

import numpy as np

from bracketgen.fit.locate.finding.network import Floats, Network, State
from bracketgen.fit.locate.finding.starts import placed

#: At most so many are tried at a time.
_MOST: Final = 120
#: At most so many lines or planes to mirror one hole in.
_MOST_MIRRORS: Final = 6


def folds(network: Network, state: State) -> State | None:
    """Mirror images of one set of positions, whole and in parts; None when there are none to think of."""
    points, normals = state.points(network)[0], state.normals[0]
    made = list(islice(_folds(network, points, normals), _MOST))
    if not made:
        return None
    return placed(network, np.stack([p for p, _ in made]), np.stack([n for _, n in made]))


def _folds(network: Network, points: Floats, normals: Floats) -> Iterator[tuple[Floats, Floats]]:
    yield from _whole(network, points, normals)
    yield from _faces(network, points, normals)
    yield from _holes(network, points, normals)


def _whole(network: Network, points: Floats, normals: Floats) -> Iterator[tuple[Floats, Floats]]:
    """The whole site mirrored; in space with the other faces looking either way."""
    up = np.array([0.0, 0.0, 1.0])
    for signs in ((1, -1, 1), (1, 1, -1), (1, -1, -1)):
        mirror = np.array(signs, dtype=float)
        if len(network.faces) == 1 and signs[2] < 0:
            continue
        for way in (1.0, -1.0) if len(network.faces) > 1 else (1.0,):
            turned = way * normals * mirror
            turned[0] = up
            yield points * mirror, turned


def _faces(network: Network, points: Floats, normals: Floats) -> Iterator[tuple[Floats, Floats]]:
    """One face turned over in its place, mirrored in another face's plane, or in a plane across itself."""
    for f in range(1, len(network.faces)):
        holes = network.holes_on(f)
        over = normals.copy()
        over[f] *= -1.0
        yield points, over
        for g in range(len(network.faces)):
            if g != f:
                yield from _mirrored_face(network, points, normals, f, points[network.first_of[g]], normals[g])
        middle = points[holes].mean(axis=0)
        others = [h for h in range(len(network.holes)) if h not in holes]
        for a, b in islice(combinations(others, 2), _MOST_MIRRORS):
            across = np.cross(points[b] - points[a], middle - points[a])
            along = np.cross(points[b] - points[a], across)
            if np.linalg.norm(along) > 1e-9:
                yield from _mirrored_face(network, points, normals, f, points[a], along / np.linalg.norm(along))
        if len(holes) > 1:
            line = points[holes[1]] - points[holes[0]]
            side = np.cross(line, normals[f])
            yield from _mirrored_face(network, points, normals, f, points[holes[0]], side / np.linalg.norm(side))


def _mirrored_face(
    network: Network, points: Floats, normals: Floats, face: int, on: Floats, across: Floats
) -> Iterator[tuple[Floats, Floats]]:
    """A face's holes mirrored in the plane through `on`, with its normal on either side."""
    holes = network.holes_on(face)
    new_points, new_normals = points.copy(), normals.copy()
    new_points[holes] -= 2.0 * ((points[holes] - on) @ across)[:, None] * across
    new_normals[face] -= 2.0 * (normals[face] @ across) * across
    yield new_points, new_normals
    back = new_normals.copy()
    back[face] *= -1.0
    yield new_points, back


def _holes(network: Network, points: Floats, normals: Floats) -> Iterator[tuple[Floats, Floats]]:
    """One hole mirrored, within its face, across the line of two others of the face."""
    for h, f in enumerate(network.face_of):
        others = [o for o in network.holes_on(int(f)) if o != h]
        for a, b in islice(combinations(others, 2), _MOST_MIRRORS):
            side = np.cross(points[b] - points[a], normals[f])
            length = np.linalg.norm(side)
            if length > 1e-9:
                moved = points.copy()
                moved[h] -= 2.0 * ((points[h] - points[a]) @ side / length) * side / length
                yield moved, normals
