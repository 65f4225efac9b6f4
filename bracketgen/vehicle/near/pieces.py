"""Solids as convex pieces, many at a time, and how far each piece reaches in a direction.

Capsules, drums and blocks are one piece each. Of flat metal and bends every straight edge, drawn through the thickness,
is a rectangle, and every arc is cut into shares. A share is an arc drawn straight along its axis; its hull reaches
behind the true arc by a known slack, and it can be cut finer. The two flat faces are one more row, which is no piece of
its own: `Pieces.face` marks it, and only the closed form in convex.py asks it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np

from bracketgen.geometry.arrays import Bools, Floats, Indices
from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point, polar
from bracketgen.geometry.space import Frame
from bracketgen.vehicle.near.solids import Block, Bow, Capsule, Drum, Plate, Solid, Wall

#: An arc starts as shares of at most this angle; finer ones are made where they decide. Own choice.
_WIDEST_SHARE_RAD = math.radians(46.0)
_CORNERS = 8
_TINY = 1e-300


def dots(a: Floats, b: Floats) -> Floats:
    """Scalar products of rows of three."""
    return a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2]


def crosses(a: Floats, b: Floats) -> Floats:
    """Vector products of rows of three."""
    out = np.empty(np.broadcast_shapes(a.shape, b.shape))
    out[..., 0] = a[..., 1] * b[..., 2] - a[..., 2] * b[..., 1]
    out[..., 1] = a[..., 2] * b[..., 0] - a[..., 0] * b[..., 2]
    out[..., 2] = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return out


def lengths(a: Floats) -> Floats:
    """Lengths of rows of three."""
    size: Floats = np.sqrt(dots(a, a))
    return size


@dataclass(slots=True)
class Pieces:
    """One row a piece, mm.

    The core of a piece is the hull of its `corners` (n, 8, 3; repeated where there are fewer) or an arc drawn straight
    (`arc`): `foot` is the centre at the low end, `reach` goes from the low end to the high end, `out` and `side` are
    unit directions to the arc's middle and square to it, `rho` the arc's radius, `half_rad` half of its angle (pi: a
    drum), `slack` how deep its hull reaches behind the true arc. The piece is the core with a round of `radius` all
    around. Everything lies within `girth` of the stretch from `mid - stretch` to `mid + stretch`; some point of the
    true core lies within `near` of `mid` (below 0: a ball of that size around `mid` belongs to the core). `owner` is
    the number of the solid, `step` that of its move.

    Faces (`face`) have the box around the metal for `corners`; `foot` is the frame's origin on the low face, `reach`
    goes to the high one, `out` and `side` are the frame's x and y.
    """

    corners: Floats
    radius: Floats
    arc: Bools
    face: Bools
    foot: Floats
    reach: Floats
    out: Floats
    side: Floats
    rho: Floats
    half_rad: Floats
    slack: Floats
    mid: Floats
    stretch: Floats
    girth: Floats
    near: Floats
    owner: Indices
    step: Indices

    def __len__(self) -> int:
        return len(self.radius)

    def rows(self, chosen: Indices | Bools) -> Pieces:
        """Some of the pieces."""
        return Pieces(*(getattr(self, f.name)[chosen] for f in fields(self)))

    @staticmethod
    def joined(sets: Sequence[Pieces]) -> Pieces:
        """All pieces of the sets, in order."""
        return Pieces(*(np.concatenate([getattr(s, f.name) for s in sets]) for f in fields(Pieces)))

    def swept(self, moves: Sequence[Sequence[Frame]]) -> Pieces:
        """All pieces at all steps of their owners' moves (a frame says where the outer one goes)."""
        count = np.array([len(m) for m in moves], dtype=np.intp)
        at = np.repeat(np.arange(len(self)), count[self.owner])
        new = self.rows(at)
        new.step = counted(count[self.owner])
        frame = (np.cumsum(count) - count)[new.owner] + new.step
        frames = [f for m in moves for f in m]
        turns = np.array([(f.x, f.y, f.z) for f in frames]).reshape(-1, 3, 3)
        shift = np.array([f.origin for f in frames]).reshape(-1, 3)[frame]
        if (turns != np.eye(3)).any():
            turn = turns[frame]
            new.corners = np.matmul(new.corners, turn)
            for name in ("foot", "reach", "out", "side", "mid", "stretch"):
                setattr(new, name, np.matmul(getattr(new, name)[:, None], turn)[:, 0])
        new.corners = new.corners + shift[:, None]
        new.foot, new.mid = new.foot + shift, new.mid + shift
        return new


def counted(sizes: Indices) -> Indices:
    """0, 1, ... up to each of the sizes, one after the other."""
    return np.arange(int(sizes.sum())) - np.repeat(np.cumsum(sizes) - sizes, sizes)


def _of_corners(corners: Floats, radius: Floats, owner: Indices, step: Indices) -> Pieces:
    """Boxes, rectangles and stretches: the corner numbers, in twos, say which ends of their edges they are."""
    n, nothing, none = len(corners), np.zeros(len(corners)), np.zeros((len(corners), 3))
    edges = corners[:, (1, 2, 4)] - corners[:, :1]
    stretch = edges[np.arange(n), lengths(edges).argmax(axis=1)] / 2
    mid = (corners[:, 0] + corners[:, 7]) / 2
    off = corners - mid[:, None]
    along = dots(off, stretch[:, None]) / np.maximum(dots(stretch, stretch), _TINY)[:, None]
    girth = lengths(off - along[..., None] * stretch[:, None]).max(axis=1) + radius
    no = np.zeros(n, dtype=np.bool_)
    return Pieces(
        corners, radius, no, no, none, none, none, none, nothing, nothing, nothing,
        mid, stretch, girth, nothing, owner, step,
    )  # fmt: skip


def _of_arcs(
    foot: Floats, reach: Floats, out: Floats, side: Floats, rho: Floats, half_rad: Floats, owner: Indices, step: Indices
) -> Pieces:
    n, drum, thick = len(rho), half_rad == math.pi, lengths(reach)
    # 1 - cos, without losing what is small.
    slack = np.where(drum, 0.0, rho * 2 * np.sin(half_rad / 2) ** 2)
    mid = foot + reach / 2 + out * np.where(drum, 0.0, rho - slack / 2)[:, None]
    stretch = np.where(drum[:, None], reach / 2, side * (rho * np.sin(half_rad))[:, None])
    girth = np.where(drum, rho, np.hypot(slack, thick) / 2)
    near = np.where(drum, -np.minimum(rho, thick / 2), slack / 2)
    yes, no = np.ones(n, dtype=np.bool_), np.zeros(n, dtype=np.bool_)
    return Pieces(
        np.repeat(foot[:, None], _CORNERS, axis=1), np.zeros(n), yes, no, foot, reach, out, side, rho, half_rad, slack,
        mid, stretch, girth, near, owner, step,
    )  # fmt: skip


# -- from solids


def bow_plate(bow: Bow) -> Plate:
    """A bend's metal as a flat outline, drawn along the bend's axis. Valid for 0 < turn_deg < 360, inner >= 0."""
    steps = max(1, math.ceil(bow.turn_deg / 90.0))
    turn = math.radians(bow.turn_deg)
    angles = [-math.pi / 2 + turn * i / steps for i in range(steps + 1)]
    o = Point(0.0, 0.0)
    far = [polar(bow.outer, a) for a in angles]
    near = [polar(bow.inner, a) for a in angles]
    edges: list[Edge] = [Arc(far[i], far[i + 1], o, bow.outer, turn / steps) for i in range(steps)]
    edges.append(Line(far[-1], near[-1]))
    if bow.inner > 0:
        edges += [Arc(near[i + 1], near[i], o, bow.inner, -turn / steps) for i in reversed(range(steps))]
    edges.append(Line(near[0], far[0]))
    f = bow.frame
    return Plate(Frame(f.origin, f.y, f.z, f.x), Contour(tuple(edges)), (), 0.0, bow.width)


def chains_of(plate: Plate) -> tuple[Contour, ...]:
    """Outline and cuts as closed chains, outline first."""
    return (plate.outline, *(c.contour() for c in plate.holes))


def pieces_of(solids: Sequence[Solid]) -> Pieces:
    """The pieces of all solids, and the faces of the flat ones; `owner` is the place in the sequence.

    A wall has none.
    """
    parts = [_parts_of(solid) for solid in solids]
    corners, corner_owner = _stacked([one for one, _, _ in parts], _NO_CORNERS)
    arcs, arc_owner = _stacked([one for _, one, _ in parts], _NO_ARCS)
    boxes, face_owner = _stacked([one for _, _, one in parts], _NO_FACES)
    radius = np.array([s.radius if isinstance(s, Capsule) else 0.0 for s in solids])
    faces = _of_corners(boxes[:, :_CORNERS], np.zeros(len(boxes)), face_owner, np.zeros_like(face_owner))
    faces.foot, faces.reach, faces.out, faces.side = boxes[:, _CORNERS:].swapaxes(0, 1)
    faces.face, faces.near = np.ones(len(faces), dtype=np.bool_), np.full(len(faces), np.inf)
    foot, reach, out, side = arcs[:, :12].reshape(-1, 4, 3).swapaxes(0, 1)
    return Pieces.joined((
        _of_corners(corners, radius[corner_owner], corner_owner, np.zeros_like(corner_owner)),
        _of_arcs(foot, reach, out, side, arcs[:, 12], arcs[:, 13], arc_owner, np.zeros_like(arc_owner)),
        faces,
    ))  # fmt: skip


#: Corners; foot, reach, out, side, rho and half_rad of arcs; boxes around flat metal with foot, reach, out and side.
_Parts = tuple[Floats, Floats, Floats]
_NO_CORNERS, _NO_ARCS, _NO_FACES = np.zeros((0, _CORNERS, 3)), np.zeros((0, 14)), np.zeros((0, _CORNERS + 4, 3))


def _stacked(sets: Sequence[Floats], none: Floats) -> tuple[Floats, Indices]:
    return np.concatenate([none, *sets]), np.repeat(np.arange(len(sets)), [len(s) for s in sets])


def _parts_of(solid: Solid) -> _Parts:
    match solid:
        case Capsule(a, b, _):
            return np.tile(np.array((a, b), dtype=np.float64), (4, 1))[None], _NO_ARCS, _NO_FACES
        case Drum(a, b, radius):
            reach = np.subtract(b, a, dtype=np.float64)
            arc = np.concatenate((a, reach, *_square_to(reach), (radius, math.pi)))
            return _NO_CORNERS, arc[None], _NO_FACES
        case Block(frame, half):
            return _box(frame, tuple(-h for h in half), half)[None], _NO_ARCS, _NO_FACES
        case Plate():
            return _parts_of_plate(solid)
        case Bow():
            return _parts_of_plate(bow_plate(solid))
        case Wall():
            return _NO_CORNERS, _NO_ARCS, _NO_FACES


def _square_to(axis: Floats) -> tuple[Floats, Floats]:
    unit = axis / np.linalg.norm(axis)
    first = np.cross(unit, np.eye(3)[int(np.argmin(np.abs(unit)))])
    first /= np.linalg.norm(first)
    return first, np.cross(unit, first)


def _box(frame: Frame, low: Sequence[float], high: Sequence[float]) -> Floats:
    x_ends, y_ends, z_ends = zip(low, high, strict=True)
    return np.array([frame.point((x, y, z)) for x in x_ends for y in y_ends for z in z_ends])


def _parts_of_plate(plate: Plate) -> _Parts:
    """Edges drawn through the thickness, arcs in shares; and the faces."""
    f, (low, high) = plate.frame, sorted((plate.low, plate.high))
    origin, x, y, z = (np.array(v) for v in (f.origin, f.x, f.y, f.z))
    foot, reach = origin + low * z, (high - low) * z
    edges = [edge for chain in chains_of(plate) for edge in chain.edges]
    lines = np.array([(e.start, e.end) for e in edges if isinstance(e, Line)], dtype=np.float64).reshape(-1, 2, 2)
    ends = foot + lines[..., :1] * x + lines[..., 1:] * y
    corners = np.tile(np.stack((ends, ends + reach), axis=2).reshape(-1, 4, 3), (1, 2, 1))
    arcs = [_NO_ARCS]
    for arc in edges:
        if isinstance(arc, Arc):
            shares = max(1, math.ceil(abs(arc.sweep_rad) / _WIDEST_SHARE_RAD))
            start = math.atan2(arc.start.y - arc.centre.y, arc.start.x - arc.centre.x)
            angle = start + arc.sweep_rad * (np.arange(shares)[:, None] + 0.5) / shares
            c, s = np.cos(angle), np.sin(angle)
            centre = np.tile(np.concatenate((foot + arc.centre.x * x + arc.centre.y * y, reach)), (shares, 1))
            sizes = np.tile((arc.radius, abs(arc.sweep_rad) / shares / 2), (shares, 1))
            arcs.append(np.concatenate((centre, c * x + s * y, c * y - s * x, sizes), axis=1))
    x0, y0, x1, y1 = plate.outline.bounds()
    box = np.concatenate((_box(f, (x0, y0, low), (x1, y1, high)), (foot, reach, x, y)))
    return corners, np.concatenate(arcs), box[None]


def finer(p: Pieces, shares: int) -> tuple[Pieces, Indices]:
    """Every arc of `p` cut into `shares`, and the true lines at its inner ends; a row of numbers an arc.

    The lines are pieces of the true solid: what meets them surely meets it.
    """
    n = len(p)
    cut, joint = np.repeat(np.arange(n), shares), np.repeat(np.arange(n), shares - 1)
    share_out, share_side = _turned(p, (2 * np.arange(shares) + 1) / shares - 1.0)
    low = p.foot[joint] + p.rho[joint, None] * _turned(p, 2 * np.arange(1, shares) / shares - 1.0)[0]
    lines = np.tile(np.stack((low, low + p.reach[joint]), axis=1), (1, 4, 1))
    children = Pieces.joined((
        _of_arcs(p.foot[cut], p.reach[cut], share_out, share_side, p.rho[cut], p.half_rad[cut] / shares, p.owner[cut],
                 p.step[cut]),
        _of_corners(lines, np.zeros(len(lines)), p.owner[joint], p.step[joint]),
    ))  # fmt: skip
    numbers = np.arange(n * shares).reshape(n, -1), n * shares + np.arange(n * (shares - 1)).reshape(n, -1)
    return children, np.concatenate(numbers, axis=1)


def _turned(p: Pieces, parts: Floats) -> tuple[Floats, Floats]:
    """`out` and `side` turned about the arc's axis by parts of half its angle: one row a part."""
    angle = parts * p.half_rad[:, None]
    c, s = np.cos(angle)[..., None], np.sin(angle)[..., None]
    out, side = p.out[:, None, :], p.side[:, None, :]
    return (c * out + s * side).reshape(-1, 3), (c * side - s * out).reshape(-1, 3)


# -- how far they reach


def farthest(p: Pieces, at: Indices, way: Floats) -> Floats:
    """The core point (without the round) of piece `at[n]` that lies farthest along `way[n]` (any length)."""
    arc = p.arc[at]
    if not arc.any():
        return _farthest_corner(p, at, way)
    if arc.all():
        return _farthest_on_arc(p, at, way)
    found = np.empty((len(at), 3))
    flat = ~arc
    found[flat] = _farthest_corner(p, at[flat], way[flat])
    found[arc] = _farthest_on_arc(p, at[arc], way[arc])
    return found


def _farthest_corner(p: Pieces, at: Indices, way: Floats) -> Floats:
    corners = p.corners[at]
    best = np.matmul(corners, way[:, :, None])[:, :, 0].argmax(axis=1)
    found: Floats = corners[np.arange(len(at)), best]
    return found


def _farthest_on_arc(p: Pieces, at: Indices, way: Floats) -> Floats:
    out, side, reach, half = p.out[at], p.side[at], p.reach[at], p.half_rad[at]
    u, v = dots(way, out), dots(way, side)
    size = np.sqrt(u * u + v * v)
    cos_end = np.cos(half)
    on_arc = (u >= size * cos_end) & (size > _TINY)
    size = np.where(size > _TINY, size, 1.0)
    cos = np.where(on_arc, u / size, cos_end)
    sin = np.where(on_arc, v / size, np.where(v < 0, -1.0, 1.0) * np.sin(half))
    rho = p.rho[at]
    top = (dots(way, reach) > 0).astype(np.float64)
    return p.foot[at] + (rho * cos)[:, None] * out + (rho * sin)[:, None] * side + top[:, None] * reach


def depth_behind_arc(p: Pieces, at: Indices, points: Floats) -> Floats:
    """How far points of the pieces' hulls lie behind the true arc, mm; 0 for pieces that are true themselves."""
    behind = np.zeros(len(at))
    sheet = p.slack[at] > 0
    if sheet.any():
        rows = at[sheet]
        off = points[sheet] - p.foot[rows]
        off = np.hypot(dots(off, p.out[rows]), dots(off, p.side[rows]))
        behind[sheet] = np.clip(p.rho[rows] - off, 0.0, p.slack[rows])
    return behind
