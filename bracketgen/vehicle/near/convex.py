"""Two convex pieces: bounds on their distance, the distance itself, closed forms; and how deep two hulls meet.

Gilbert, Johnson, Keerthi: A fast procedure for computing the distance between complex objects in three-dimensional
space, IEEE Journal of Robotics and Automation 4 (1988), no. 2: the nearest point of the difference of two convex
bodies to the origin, approached by simplices of at most four support points. Every round gives a point (distance from
above) and a plane between the bodies (distance from below); the search ends when the two agree.

Many pairs are followed at a time. Collision libraries take pairs one by one and stop at an absolute tolerance.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from bracketgen.geometry.arrays import Bools, Floats, Indices
from bracketgen.geometry.contour import ChainSet
from bracketgen.vehicle.near.pieces import Pieces, crosses, dots, farthest, lengths

#: The distance from above and from below agree to this, mm.
AGREED_MM = 1e-7
#: Cores nearer than this count as meeting, mm.
MEETING_MM = 1e-9
MOST_ROUNDS = 150
#: Squared sine of the sharpest corner that still counts as a triangle's.
_FLAT = 1e-22
#: Sine of the angle up to which two axes count as parallel; over 1 m that is 1e-9 mm.
_PARALLEL = 1e-12
_TINY = 1e-300

_EDGES = np.array([(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)])
_FACES = np.array([(0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3)])


def ball_bounds(p: Pieces, i: Indices, q: Pieces, j: Indices) -> tuple[Floats, Floats]:
    """Distance from below (by the balls around the pieces) and from above, rounds taken off, mm."""
    apart = lengths(p.mid[i] - q.mid[j])
    size_p, size_q = lengths(p.stretch) + p.girth, lengths(q.stretch) + q.girth
    below = apart - size_p[i] - size_q[j]
    above = np.maximum(apart + p.near[i] + q.near[j], 0.0) - p.radius[i] - q.radius[j]
    return below, above


def stretch_bound(p: Pieces, i: Indices, q: Pieces, j: Indices) -> Floats:
    """Distance from below, by the stretches that the pieces lie around, mm.

    Nearest points of two stretches: Ericson, Real-Time Collision Detection (2005), section 5.1.9.
    """
    d1, d2 = 2 * p.stretch[i], 2 * q.stretch[j]
    r = (p.mid[i] - p.stretch[i]) - (q.mid[j] - q.stretch[j])
    a, e, f = dots(d1, d1), dots(d2, d2), dots(d2, r)
    c, b = dots(d1, r), dots(d1, d2)
    det = a * e - b * b
    s = np.where(det > 1e-12 * a * e, np.clip((b * f - c * e) / np.where(det > 0, det, 1.0), 0.0, 1.0), 0.5)
    t = np.clip((b * s + f) / np.maximum(e, _TINY), 0.0, 1.0)
    s = np.clip((b * t - c) / np.maximum(a, _TINY), 0.0, 1.0)
    apart: Floats = lengths(r + s[:, None] * d1 - t[:, None] * d2)
    # Stretches within a millionth of parallel are taken as parallel; the distance must still be one from below.
    spare = np.where(det > 1e-12 * a * e, 0.0, 4e-6 * np.sqrt(np.minimum(a, e)))
    return apart - spare - p.girth[i] - q.girth[j]


# -- the distance


@dataclass(slots=True)
class PairDistances:
    """One row a pair: core distance from above and from below (0: the cores meet) and the two core points, mm."""

    above: Floats
    below: Floats
    here: Floats
    there: Floats


@dataclass(slots=True)
class SearchLimits:
    """Pairs belong to a group; a pair that lies farther apart than the least of its group is given up.

    `least` holds a distance from above for every group and is lowered on the way; a pair's distance is its core
    distance less `rounds`, and `allowance` is what its hulls may be behind the true solids.
    """

    group: Indices
    least: Floats
    rounds: Floats
    allowance: Floats

    def hopeless(self, row: Indices, above: Floats, below: Floats) -> Bools:
        """Lowers the groups' least; which pairs can no longer be the nearest of their group."""
        group, rounds = self.group[row], self.rounds[row]
        np.minimum.at(self.least, group, above - rounds + self.allowance[row])
        # Pairs that may meet are followed to the end, whatever else lies deeper.
        beaten: Bools = below - rounds > np.maximum(self.least[group], 0.0) + AGREED_MM
        return beaten


@dataclass(slots=True)
class _State:
    """The pairs that are still being worked on: simplex corners on either body, and their shares in the nearest."""

    row: Indices
    i: Indices
    j: Indices
    here: Floats
    there: Floats
    shares: Floats
    v: Floats
    size: Floats
    below: Floats

    def keep(self, chosen: Bools) -> None:
        for name in self.__slots__:
            setattr(self, name, getattr(self, name)[chosen])


def distances(
    p: Pieces, i: Indices, q: Pieces, j: Indices, first: Floats, limits: SearchLimits | None = None,
    most_rounds: int = MOST_ROUNDS,
) -> PairDistances:  # fmt: skip
    """Core distance of piece `i[n]` of p and `j[n]` of q; `first` (n, 3), not zero, is a guess of the way from p to q.

    Pairs that were given up have a distance from below only (above: infinite). With few rounds, the two distances
    need not agree yet.
    """
    n = len(i)
    result = PairDistances(np.full(n, np.inf), np.zeros(n), np.zeros((n, 3)), np.zeros((n, 3)))
    if n == 0:
        return result
    state = _started(p, i, q, j, first)
    for _ in range(most_rounds):
        ended = np.zeros(len(state.row), dtype=np.bool_)
        if limits is not None:
            ended = limits.hopeless(state.row, state.size, state.below)
            result.below[state.row[ended]] = state.below[ended]
            state.keep(~ended)
        ended = _improve(p, q, state)
        _note(state, ended, result)
        state.keep(~ended)
        if not len(state.row):
            return result
    _note(state, np.ones(len(state.row), dtype=np.bool_), result)
    return result


def _started(p: Pieces, i: Indices, q: Pieces, j: Indices, first: Floats) -> _State:
    n = len(i)
    here, there = farthest(p, i, first), farthest(q, j, -first)
    v = here - there
    # The plane square to the first guess already parts most pairs.
    below = np.maximum(-dots(first, v) / lengths(first), 0.0)
    shares = np.zeros((n, 4))
    shares[:, 0] = 1.0
    return _State(np.arange(n), i, j, _four(here), _four(there), shares, v, lengths(v), below)


def _four(a: Floats) -> Floats:
    return np.repeat(a[:, None, :], 4, axis=1)


def _improve(p: Pieces, q: Pieces, s: _State) -> Bools:
    """One more support point for every pair; which pairs are done."""
    here, there = farthest(p, s.i, -s.v), farthest(q, s.j, s.v)
    low = dots(s.v, here - there) / np.maximum(s.size, MEETING_MM)
    s.below = np.maximum(s.below, low)
    done: Bools = (s.size < MEETING_MM) | (s.size - s.below <= AGREED_MM)
    spare = (s.shares <= 0)[:, :, None]
    all_here, all_there = np.where(spare, here[:, None], s.here), np.where(spare, there[:, None], s.there)
    shares, inside = _nearest_to_origin(all_here - all_there)
    v = np.matmul(shares[:, None, :], all_here - all_there)[:, 0]
    size = np.where(inside, 0.0, lengths(v))
    # Rounding may keep a pair from getting any nearer: then what it has is as good as it gets.
    done |= size >= s.size
    go_on = ~done
    s.here[go_on], s.there[go_on], s.shares[go_on] = all_here[go_on], all_there[go_on], shares[go_on]
    s.v[go_on], s.size[go_on] = v[go_on], size[go_on]
    return done


def _note(s: _State, ended: Bools, result: PairDistances) -> None:
    row, shares = s.row[ended], s.shares[ended][:, None, :]
    met = s.size[ended] < MEETING_MM
    result.above[row] = np.where(met, 0.0, s.size[ended])
    result.below[row] = np.where(met, 0.0, s.below[ended])
    result.here[row] = np.matmul(shares, s.here[ended])[:, 0]
    result.there[row] = np.matmul(shares, s.there[ended])[:, 0]


# -- the point of a simplex that is nearest to the origin


def _nearest_to_origin(w: Floats) -> tuple[Floats, Bools]:
    """Shares (n, 4) of the four corners `w` (n, 4, 3) in the nearest point, and whether the origin is inside.

    Corners may repeat. A corner that is not needed gets the share 0.
    """
    n = len(w)
    rows = np.arange(n)
    on_edge, edge_share = _on_edges(w)
    on_face, face_shares = _on_faces(w)
    size = np.concatenate((on_edge, on_face), axis=1)
    best = size.argmin(axis=1)
    shares = np.zeros((n, 4))
    edge = best < 6
    r, b = rows[edge], best[edge]
    t = edge_share[r, b]
    shares[r, _EDGES[b, 0]] = 1.0 - t
    shares[r, _EDGES[b, 1]] = t
    r, b = rows[~edge], best[~edge] - 6
    for k in range(3):
        shares[r, _FACES[b, k]] = face_shares[k][r, b]
    inside, whole = _inside(w)
    shares[inside] = whole[inside]
    return shares, inside


def _on_edges(w: Floats) -> tuple[Floats, Floats]:
    a, b = w[:, _EDGES[:, 0]], w[:, _EDGES[:, 1]]
    d = b - a
    t = np.clip(-dots(a, d) / np.maximum(dots(d, d), _TINY), 0.0, 1.0)
    p = a + t[..., None] * d
    return dots(p, p), t


def _on_faces(w: Floats) -> tuple[Floats, tuple[Floats, Floats, Floats]]:
    """Squared distance to the inner part of each face; infinite where the foot is outside of it."""
    a = w[:, _FACES[:, 0]]
    e, f = w[:, _FACES[:, 1]] - a, w[:, _FACES[:, 2]] - a
    ee, ef, ff, ae, af = dots(e, e), dots(e, f), dots(f, f), -dots(a, e), -dots(a, f)
    det = ee * ff - ef * ef
    usable = det > _FLAT * ee * ff
    det = np.where(usable, det, 1.0)
    s, t = (ae * ff - af * ef) / det, (af * ee - ae * ef) / det
    within = usable & (s > 0) & (t > 0) & (s + t < 1)
    p = a + s[..., None] * e + t[..., None] * f
    return np.where(within, dots(p, p), np.inf), (1.0 - s - t, s, t)


def _inside(w: Floats) -> tuple[Bools, Floats]:
    """Whether each tetrahedron holds the origin, and the origin's shares."""
    a = w[:, 0]
    e, f, g = w[:, 1] - a, w[:, 2] - a, w[:, 3] - a
    fg = crosses(f, g)
    volume = dots(e, fg)
    usable = volume * volume > _FLAT * dots(e, e) * dots(fg, fg)
    volume = np.where(usable, volume, 1.0)
    b = -dots(a, fg) / volume
    c = -dots(a, crosses(g, e)) / volume
    d = -dots(a, crosses(e, f)) / volume
    shares = np.stack((1.0 - b - c - d, b, c, d), axis=1)
    return usable & (shares > 0).all(axis=1), shares


# -- closed forms


def _axis_of(p: Pieces, at: Indices) -> Floats:
    """The direction of drums and of arcs drawn straight, or of a stretch with two ends (not unit)."""
    straight: Floats = p.corners[at, 1] - p.corners[at, 0]
    return np.where(p.arc[at][:, None], p.reach[at], straight)


def round_beside_arc(p: Pieces, i: Indices, q: Pieces, j: Indices) -> Bools:
    """Pairs of an arc sheet (p) with a drum or capsule (q) that stands parallel to it."""
    is_round = (q.arc & (q.half_rad == math.pi)) | (~q.arc & (q.radius > 0))
    fits: Bools = (p.slack[i] > 0) & is_round[j]
    at = np.flatnonzero(fits)
    a, b = p.reach[i[at]], _axis_of(q, j[at])
    size = lengths(a) * lengths(b)
    fits[at] = (size > 0) & (lengths(np.cross(a, b)) <= _PARALLEL * size)
    return fits


def round_arc_distance(p: Pieces, i: Indices, q: Pieces, j: Indices) -> tuple[Floats, Floats, Floats]:
    """Core distance of pairs that `round_beside_arc` chose, and the two points, mm: exact.

    Seen along the axis it is the distance of a disc from an arc; along the axis that of two stretches.
    """
    axis = p.reach[i]
    thick = lengths(axis)
    unit = axis / thick[:, None]
    out, side, rho, half = p.out[i], p.side[i], p.rho[i], p.half_rad[i]
    foot = np.where(q.arc[j][:, None], q.foot[j], q.corners[j, 0])
    disc = np.where(q.arc[j], q.rho[j], 0.0)
    off = foot - p.foot[i]
    x, y = dots(off, out), dots(off, side)
    angle = np.clip(np.arctan2(y, x), -half, half)
    on_x, on_y = rho * np.cos(angle), rho * np.sin(angle)
    flat = np.hypot(on_x - x, on_y - y)
    near = np.minimum(flat, disc) / np.maximum(flat, _TINY)
    z0 = dots(off, unit)
    z1 = z0 + dots(_axis_of(q, j), unit)
    low, high = np.minimum(z0, z1), np.maximum(z0, z1)
    # Where the heights overlap any of them will do: the middle of what they share.
    z_q = np.clip((np.clip(low, 0.0, thick) + np.clip(high, 0.0, thick)) / 2, low, high)
    z_p = np.clip(z_q, 0.0, thick)

    def placed(u: Floats, v: Floats, z: Floats) -> Floats:
        return p.foot[i] + u[:, None] * out + v[:, None] * side + z[:, None] * unit

    here = placed(on_x, on_y, z_p)
    there = placed(x + near * (on_x - x), y + near * (on_y - y), z_q)
    return np.hypot(np.maximum(flat - disc, 0.0), z_p - z_q), here, there


@dataclass(slots=True)
class FaceGaps:
    """Rows of the question for which a face decides: core distance, the face's point and the piece's, mm.

    `unsure`: the hull of an arc passes through the face; its true arc may or may not.
    """

    row: Indices
    mm: Floats
    on_face: Floats
    on_piece: Floats
    unsure: Bools


def face_gaps(
    faces: Pieces, i: Indices, chains: Mapping[int, ChainSet], p: Pieces, at: Indices, most: Floats
) -> FaceGaps:
    """Faces `i[n]` against pieces `at[n]` of p; beyond `most[n]` of core distance a row is of no interest.

    The point of a face that lies nearest to a convex body is either the foot of the body's nearest point, or it lies on
    the rim of the face, where the sheets of the edges have it too. And a convex body that meets the metal without
    meeting a sheet passes through a face: then each of its points between the planes of the faces lies in the metal.
    `chains` are the outlines by owner.
    """
    thick = lengths(faces.reach[i])
    up = faces.reach[i] / thick[:, None]
    # Most pieces are told off by their height alone.
    height = dots(p.mid[at] - faces.foot[i], up) - thick / 2
    tall = np.abs(dots(p.stretch[at], up)) + p.girth[at] - p.radius[at] + thick / 2
    likely = np.flatnonzero(np.abs(height) - tall <= most)
    i, at, most, thick, up = i[likely], at[likely], most[likely], thick[likely], up[likely]
    bottom, top = farthest(p, at, -up), farthest(p, at, up)
    z_bottom, z_top = dots(bottom - faces.foot[i], up), dots(top - faces.foot[i], up)
    mm = np.maximum(z_bottom - thick, -z_top)
    near = np.flatnonzero(mm <= most)
    row, i, at, mm, thick, up = likely[near], i[near], at[near], mm[near], thick[near], up[near]
    bottom, top, z_bottom, z_top = bottom[near], top[near], z_bottom[near], z_top[near]
    # The part of the piece between the two planes, or its point nearest to them.
    wanted = (np.clip(z_bottom, 0.0, thick) + np.clip(z_top, 0.0, thick)) / 2
    share = np.clip((wanted - z_bottom) / np.maximum(z_top - z_bottom, _TINY), 0.0, 1.0)
    point = bottom + share[:, None] * (top - bottom)
    off = point - faces.foot[i]
    xy = np.stack((dots(off, faces.out[i]), dots(off, faces.side[i])), axis=1)
    held = np.zeros(len(row), dtype=np.bool_)
    for owner in np.unique(faces.owner[i]).tolist():
        mine = np.flatnonzero(faces.owner[i] == owner)
        inside = chains[owner].hold(xy[mine])  # type: ignore[arg-type]
        held[mine] = inside[:, 0] & ~inside[:, 1:].any(axis=1)
    foot = point + (wanted - dots(off, up))[:, None] * up
    mm = np.maximum(mm, 0.0)
    return FaceGaps(row[held], mm[held], foot[held], point[held], ((mm <= 0) & (p.slack[at] > 0))[held])


# -- how deep two solids meet: the shortest straight move that parts their hulls
#
# Van den Bergen: Proximity queries and penetration depth computation on 3D game objects, Game Developers Conference
# 2001 (from memory): a polytope inside of the difference of the two hulls grows by the support point beyond the face
# that lies nearest to the origin, until that face lies on the difference's skin. Every face asked gives a move that
# surely parts the two, and the nearest face says that no shorter move does.


#: The move found is longer than the shortest by at most this share of it, or by this many mm.
_SHARE, _AGREED_MM = 1e-4, 1e-6
_MOST_FACES_ASKED = 300
#: Points nearer to a plane or line than this lie in it, mm.
_FLAT_MM = 1e-8
_ROUGHLY = 40


class _Difference:
    """Where the middle of q's hull may stand so that it meets p's, without the rounds; asked by support points."""

    def __init__(self, p: Pieces, q: Pieces) -> None:
        self._p, self._q = p, q
        #: Either hull is one capsule or has no round at all.
        self.round_mm = float(p.radius.max() + q.radius.max())
        self.best, self.least = np.array((0.0, 0.0, 1.0)), math.inf

    def support(self, way: Floats) -> Floats:
        """The core point farthest along the unit `way`; remembers the way if it is the shortest out."""
        point: Floats = _farthest_of_all(self._p, way) - _farthest_of_all(self._q, -way)
        mm = float(point @ way) + self.round_mm
        if mm < self.least:
            self.best, self.least = way, mm
        return point


def _farthest_of_all(p: Pieces, way: Floats) -> Floats:
    points = farthest(p, np.arange(len(p)), np.broadcast_to(way, (len(p), 3)))
    found: Floats = points[(points @ way).argmax()]
    return found


def way_out(p: Pieces, q: Pieces) -> tuple[Floats, float]:
    """Unit way and length (0 or less: apart already) of the shortest straight move of q that parts its hull from p's.

    At most a ten-thousandth longer than the shortest there is, never shorter, unless the skin is so even that every way
    out is as long (two drums on one axis): then up to a thousandth.
    """
    difference = _Difference(p, q)
    points = _first_corners(difference)
    if points is not None:
        _grow(difference, points)
    return difference.best, difference.least


def _first_corners(difference: _Difference) -> Floats | None:
    """A tetrahedron inside the difference; None where it is flat: then the way square to it was asked, and is best."""
    a, b = (difference.support(np.array((s, 0.0, 0.0))) for s in (1.0, -1.0))
    along = b - a
    if float(np.linalg.norm(along)) < _FLAT_MM:
        along = np.array((1.0, 0.0, 0.0))
    across = np.cross(along, np.eye(3)[int(np.abs(along).argmin())])
    c = max(
        (difference.support(w) for w in _both_ways(across)), key=lambda c: float(np.linalg.norm(np.cross(c - a, along)))
    )
    square = np.cross(along, c - a)
    if float(np.linalg.norm(square)) < _FLAT_MM * float(np.linalg.norm(along)):
        square = np.cross(along, across)
    d = max((difference.support(w) for w in _both_ways(square)), key=lambda d: abs(float((d - a) @ square)))
    height = abs(float((d - a) @ square)) / float(np.linalg.norm(square))
    return None if height < _FLAT_MM else np.array((a, b, c, d))


def _both_ways(way: Floats) -> tuple[Floats, Floats]:
    unit = way / np.linalg.norm(way)
    return unit, -unit


def _grow(difference: _Difference, points: Floats) -> None:
    inner = points.mean(axis=0)
    faces, normals, offsets = _faces(points, np.array(((0, 1, 2), (0, 1, 3), (0, 2, 3), (1, 2, 3))), inner)
    for _ in range(_MOST_FACES_ASKED):
        nearest = int(offsets.argmin())
        if difference.least - difference.round_mm - offsets[nearest] <= max(_SHARE * difference.least, _AGREED_MM):
            return
        point = difference.support(normals[nearest])
        if float(point @ normals[nearest]) - offsets[nearest] <= _AGREED_MM:
            return
        points = np.concatenate((points, point[None]))
        # All faces that see the new point give way to a cone from their common rim.
        seen = normals @ point > offsets - _FLAT_MM
        edges = np.sort(faces[seen][:, ((0, 1), (1, 2), (2, 0))].reshape(-1, 2), axis=1)
        rim, often = np.unique(edges, axis=0, return_counts=True)
        rim = rim[often == 1]
        cone = _faces(points, np.column_stack((rim, np.full(len(rim), len(points) - 1))), inner)
        faces, normals, offsets = (
            np.concatenate((old[~seen], new)) for old, new in zip((faces, normals, offsets), cone, strict=True)
        )


def _faces(points: Floats, corners: Floats, inner: Floats) -> tuple[Floats, Floats, Floats]:
    """Triangles with their outward unit normals and how far out they are; none without an area."""
    a = points[corners[:, 0]]
    normals = crosses(points[corners[:, 1]] - a, points[corners[:, 2]] - a)
    size = lengths(normals)
    kept = size > _FLAT_MM**2
    corners, a, normals = corners[kept], a[kept], normals[kept] / size[kept][:, None]
    normals = normals * np.where(((a - inner) * normals).sum(axis=1) < 0, -1.0, 1.0)[:, None]
    return corners, normals, (a * normals).sum(axis=1)


def rough_depth(p: Pieces, q: Pieces) -> float:
    """A quick bound on the length of `way_out`, to tell the deep from the shallow, mm."""
    k = np.arange(_ROUGHLY) + 0.5
    z, turn = 1 - 2 * k / _ROUGHLY, np.pi * (1 + math.sqrt(5)) * k  # on a spiral, each a golden angle further
    flat = np.sqrt(1 - z * z)
    difference = _Difference(p, q)
    for way in np.stack((flat * np.cos(turn), flat * np.sin(turn), z), axis=1):
        difference.support(way)
    return difference.least
