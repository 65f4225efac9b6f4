"""Positions to begin with: rough places as given, an embedding of the distances, scattered ones, and images."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, islice
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.vehicle.locate.network import Network, State
from bracketgen.vehicle.locate.observations import Observations

#: How many first guesses are tried at once.
EMBEDDED: Final = 12
SCATTERED: Final = 20


@dataclass(frozen=True, slots=True, eq=False)
class Hints:
    """Rough places as given, NaN where none is: holes in their faces, faces in the site."""

    about: Floats
    at: Floats
    normal: Floats

    def misfit(self, state: State, size_mm: float) -> Floats:
        """How far each set of positions lies from every hint, (s, hints), mm; a normal's fault at `size_mm`."""
        parts = (state.uv - self.about, state.origin - self.at, (state.normals - self.normal) * size_mm)
        flat = np.concatenate([p.reshape(len(state.uv), -1) for p in parts], axis=1)
        far: Floats = np.nan_to_num(flat)
        return far


def first_guesses(network: Network, readings: Observations, hints: Hints, rng: np.random.Generator) -> State:
    """Guesses to begin with; the first leans on hints and distances most."""
    flat = len(network.faces) == 1
    reach = _reach(network, readings)
    points = [_embedded(reach, 2 if flat else 3, rng, 0.0 if n == 0 else 0.12) for n in range(EMBEDDED)]
    size = network.size_mm * np.array([1.0, 1.0, 0.0 if flat else 1.0])
    points += [rng.uniform(-0.7, 0.7, (len(network.holes), 3)) * size for _ in range(SCATTERED)]
    guessed = placed(network, np.stack(points), _normals(network, len(points), rng))
    return _with_hints(network, guessed, hints)


def placed(network: Network, points: Floats, normals: Floats) -> State:
    """Positions from holes (s, holes, 3) and wished normals (s, faces, 3), moved into the site's frame."""
    sets = len(points)
    axes: Floats = np.zeros((sets, len(network.faces), 3, 3))
    origin = points[:, network.first_of]
    for f in range(len(network.faces)):
        axes[:, f] = _face_axes(points[:, network.holes_on(f)], normals[:, f])
    first, start = axes[:, 0].copy(), origin[:, 0].copy()
    if len(network.holes_on(0)) == 1 and len(network.faces) > 1:
        first = frame_toward(first[..., 2], origin[:, 1] - start)
    origin = np.einsum("sji,sfj->sfi", first, origin - start[:, None])
    axes = first.transpose(0, 2, 1)[:, None] @ axes
    axes[:, 0] = np.eye(3)
    inside = np.einsum("sji,shj->shi", first, points - start[:, None]) - origin[:, network.face_of]
    uv = np.einsum("shji,shj->shi", axes[:, network.face_of], inside)[..., :2]
    return _agreed(network, uv, origin, axes)


def _agreed(network: Network, uv: Floats, origin: Floats, axes: Floats) -> State:
    """What the frames fix by agreement is exactly 0."""
    held, held_origins = (columns == network.unknowns for columns in (network.hole_columns, network.origin_columns))
    return State(np.where(held, 0.0, uv), np.where(held_origins, 0.0, origin), axes)


def _face_axes(points: Floats, wished: Floats) -> Floats:
    """Frame of a face through its holes: x to the second, z the plane's normal on the side of the wished one."""
    count = points.shape[1]
    normal = wished
    if count >= 3:
        spread = points - points.mean(axis=1, keepdims=True)
        normal = np.linalg.svd(spread, full_matrices=False)[2][:, 2]
        normal = normal * np.where(np.einsum("si,si->s", normal, wished) < 0.0, -1.0, 1.0)[:, None]
    if count >= 2:
        x = _unit(points[:, 1] - points[:, 0])
        normal = _unit(normal - x * np.einsum("si,si->s", x, normal)[:, None], x)
    else:
        x = seen_x(normal)
    return frame_toward(normal, x)


def frame_toward(normal: Floats, way: Floats) -> Floats:
    """Frames (s, 3, 3) with z along a normal, turned about it until the way lies over their +x."""
    x = _unit(way - normal * np.einsum("si,si->s", way, normal)[:, None])
    return np.stack([x, np.cross(normal, x), normal], axis=-1)


def seen_x(normal: Floats) -> Floats:
    """The site's x as seen on faces with these normals (s, 3); its y where x stands out of the face."""
    steep = np.abs(normal[:, :1]) > 0.95
    wished = np.where(steep, np.array([0.0, 1.0, 0.0]), np.array([1.0, 0.0, 0.0]))
    return _unit(wished - normal * np.einsum("si,si->s", wished, normal)[:, None])


def _unit(vectors: Floats, beside: Floats | None = None) -> Floats:
    """Unit vectors; where there is no length, any direction square to `beside`."""
    length = np.linalg.norm(vectors, axis=-1, keepdims=True)
    poor = length < 1e-9
    if beside is not None and poor.any():
        other = np.where(np.abs(beside[..., :1]) < 0.8, np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]))
        square = np.cross(beside, other)
        vectors = np.where(poor, square, vectors)
    else:
        vectors = np.where(poor, np.array([1.0, 0.0, 0.0]), vectors)
    unit: Floats = vectors / np.linalg.norm(vectors, axis=-1, keepdims=True)
    return unit


def _normals(network: Network, sets: int, rng: np.random.Generator) -> Floats:
    """Wished normals: all like the first face's in the first guess, then any."""
    wished = rng.standard_normal((sets, len(network.faces), 3))
    wished[0] = [0.0, 0.0, 1.0]
    if len(network.faces) == 1:
        wished[:] = [0.0, 0.0, 1.0]
    return _unit(wished)


def _reach(network: Network, readings: Observations) -> Floats:
    """Distances between all holes, mm: as measured, else the shortest way over measured ones."""
    count = len(network.holes)
    far = 1e3 * network.size_mm
    reach: Floats = np.full((count, count), far)
    np.fill_diagonal(reach, 0.0)
    d = readings.distances
    rows = len(d.a)
    lengths = np.maximum(readings.measured[:rows] - d.added, 0.0)
    reach[d.a, d.b] = reach[d.b, d.a] = lengths
    for k in range(count):
        reach = np.minimum(reach, reach[:, k : k + 1] + reach[k : k + 1])
    usual = float(np.median(lengths)) if rows else network.size_mm
    return np.where(reach >= far, usual, reach)


def _embedded(reach: Floats, dimensions: int, rng: np.random.Generator, noise: float) -> Floats:
    """Points with about these distances (classical scaling), holes in 3 coordinates."""
    blur = rng.standard_normal(reach.shape)
    blurred = reach * (1.0 + noise * (blur + blur.T) / 2.0)
    centred = np.eye(len(reach)) - 1.0 / len(reach)
    values, vectors = np.linalg.eigh(-0.5 * centred @ blurred**2 @ centred)
    keep = min(dimensions, len(reach))
    scaled = vectors[:, ::-1][:, :keep] * np.sqrt(np.maximum(values[::-1][:keep], 0.0))
    points: Floats = np.zeros((len(reach), 3))
    points[:, :keep] = scaled * np.where(rng.random(keep) < 0.5, -1.0, 1.0)
    points[:, :dimensions] += rng.normal(0.0, max(noise, 0.01) * 0.2 * reach.max(), (len(reach), dimensions))
    return points


def _with_hints(network: Network, guessed: State, hints: Hints) -> State:
    """Every second guess, the first among them, follows the hints where there are any."""
    chosen = np.arange(len(guessed.uv)) % 2 == 0
    uv, origin, axes = guessed.uv.copy(), guessed.origin.copy(), guessed.axes.copy()
    sets = int(chosen.sum())
    uv[chosen] = np.where(np.isnan(hints.about), uv[chosen], hints.about)
    origin[chosen] = np.where(np.isnan(hints.at), origin[chosen], hints.at)
    for f in range(1, len(network.faces)):
        if not np.isnan(hints.normal[f]).any():
            normal = np.broadcast_to(hints.normal[f], (sets, 3))
            axes[chosen, f] = frame_toward(normal, axes[chosen, f, :, 0])
    return _agreed(network, uv, origin, axes)


# -- other positions that may fit as well: mirrored, or turned over

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
