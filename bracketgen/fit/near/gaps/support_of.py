"""The convex pieces of a solid.

Capsules, drums and blocks are one piece each. Flat metal and bends are sheets: every straight edge, drawn through the
thickness, is a rectangle; every arc is cut into shares whose hulls err by a known slack and can be cut finer. The flat
faces need no pieces: see gap_faces.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bracketgen.fit.near.gaps.solids import Block, Bow, Capsule, Drum, Plate, Solid
from bracketgen.fit.near.gaps.support import MOST_CORNERS, Floats, Pieces
from bracketgen.geometry.arc import Arc
from bracketgen.geometry.contour import Contour, Edge
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.geometry.line import Line
from bracketgen.geometry.point import Point, polar

#: An arc starts as shares of at most this angle; finer ones are made where they decide.
_WIDEST_SHARE_RAD = math.radians(46.0)

_NO = (0.0, 0.0, 0.0)


@dataclass(slots=True)
class _Row:
    """One piece before it goes into the arrays."""

    mid: npt.ArrayLike
    stretch: npt.ArrayLike
    girth: float
    near: float
    corners: npt.ArrayLike = _NO
    radius: float = 0.0
    arc: bool = False
    foot: npt.ArrayLike = _NO
    reach: npt.ArrayLike = _NO
    out: npt.ArrayLike = _NO
    side: npt.ArrayLike = _NO
    rho: float = 0.0
    half_rad: float = 0.0
    slack: float = 0.0


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
    """The pieces of all solids; `owner` is the place in the sequence. A wall has none."""
    rows: list[_Row] = []
    owners: list[int] = []
    for owner, solid in enumerate(solids):
        mine = list(_rows_of(solid))
        rows += mine
        owners += [owner] * len(mine)
    return _packed(rows, owners)


def _packed(rows: list[_Row], owners: list[int]) -> Pieces:
    n = len(rows)

    def vectors(name: str) -> Floats:
        return np.array([getattr(r, name) for r in rows], dtype=np.float64).reshape(n, 3)

    def numbers(name: str) -> Floats:
        return np.array([getattr(r, name) for r in rows], dtype=np.float64)

    corners = np.zeros((n, MOST_CORNERS, 3))
    for at, row in enumerate(rows):
        given = np.asarray(row.corners, dtype=np.float64).reshape(-1, 3)
        corners[at, : len(given)], corners[at, len(given) :] = given, given[0]
    return Pieces(
        corners, numbers("radius"), np.array([r.arc for r in rows], dtype=np.bool_),
        vectors("foot"), vectors("reach"), vectors("out"), vectors("side"),
        numbers("rho"), numbers("half_rad"), numbers("slack"),
        vectors("mid"), vectors("stretch"), numbers("girth"), numbers("near"),
        np.array(owners, dtype=np.intp), np.zeros(n, dtype=np.intp),
    )  # fmt: skip


def _rows_of(solid: Solid) -> Iterator[_Row]:
    match solid:
        case Capsule(a, b, radius):
            mid, half = _middle(a, b)
            yield _Row(mid, half, radius, 0.0, corners=(a, b), radius=radius)
        case Drum():
            yield _drum(solid)
        case Block():
            yield _block(solid)
        case Plate():
            yield from _sheets(solid)
        case Bow():
            yield from _sheets(bow_plate(solid))


def _middle(a: Vector, b: Vector) -> tuple[Floats, Floats]:
    pa, pb = np.array(a, dtype=np.float64), np.array(b, dtype=np.float64)
    return (pa + pb) / 2, (pb - pa) / 2


def square_to(axis: Floats) -> tuple[Floats, Floats]:
    """Two unit directions square to `axis` (not zero) and to each other."""
    unit = axis / np.linalg.norm(axis)
    least = np.eye(3)[int(np.argmin(np.abs(unit)))]
    first = np.cross(unit, least)
    first /= np.linalg.norm(first)
    return first, np.cross(unit, first)


def _drum(drum: Drum) -> _Row:
    mid, half = _middle(drum.a, drum.b)
    out, side = square_to(half)
    within = min(drum.radius, float(np.linalg.norm(half)))
    return _Row(
        mid, half, drum.radius, -within, arc=True, foot=drum.a, reach=2 * half, out=out, side=side,
        rho=drum.radius, half_rad=math.pi,
    )  # fmt: skip


def _block(block: Block) -> _Row:
    f, h = block.frame, block.half
    axes = (f.x, f.y, f.z)
    long = max(range(3), key=lambda i: h[i])
    rest = math.hypot(*(h[i] for i in range(3) if i != long))
    corners = [f.point((i * h[0], j * h[1], k * h[2])) for i in (-1, 1) for j in (-1, 1) for k in (-1, 1)]
    return _Row(f.origin, np.array(axes[long]) * h[long], rest, -min(h), corners=corners)


def _sheets(plate: Plate) -> Iterator[_Row]:
    """Edges drawn through the thickness, arcs in shares."""
    for edge in _edges(plate):
        if isinstance(edge, Line):
            yield _upright(plate, (edge.start, edge.end))
            continue
        shares = _shares(edge)
        for i in range(shares):
            yield _share(plate, edge, i, shares)


def _edges(plate: Plate) -> Iterator[Edge]:
    return (edge for chain in chains_of(plate) for edge in chain.edges)


def _shares(arc: Arc) -> int:
    return max(1, math.ceil(abs(arc.sweep_rad) / _WIDEST_SHARE_RAD))


def share_ends_of(solids: Sequence[Solid]) -> Pieces:
    """The true lines, through the thickness of flat metal and bends, in which the shares of arcs end."""
    rows: list[_Row] = []
    owners: list[int] = []
    for owner, solid in enumerate(solids):
        plate = bow_plate(solid) if isinstance(solid, Bow) else solid
        if not isinstance(plate, Plate):
            continue
        arcs = [e for e in _edges(plate) if isinstance(e, Arc)]
        mine = [_upright(plate, (a.at(i / _shares(a)),)) for a in arcs for i in range(_shares(a) + 1)]
        rows += mine
        owners += [owner] * len(mine)
    return _packed(rows, owners)


def _upright(plate: Plate, ends: tuple[Point, ...]) -> _Row:
    low, high = plate.low, plate.high
    corners = np.array([plate.frame.point((p.x, p.y, z)) for p in ends for z in (low, high)])
    mid = corners.mean(axis=0)
    along = np.array(plate.frame.direction((ends[-1].x - ends[0].x, ends[-1].y - ends[0].y, 0.0))) / 2
    return _Row(mid, along, abs(high - low) / 2, 0.0, corners=corners)


def _share(plate: Plate, arc: Arc, i: int, shares: int) -> _Row:
    f, rho, half = plate.frame, arc.radius, abs(arc.sweep_rad) / shares / 2
    to_middle = arc.at((i + 0.5) / shares).minus(arc.centre).unit()
    foot = np.array(f.point((arc.centre.x, arc.centre.y, plate.low)))
    reach = np.array(f.direction((0.0, 0.0, plate.high - plate.low)))
    out = np.array(f.direction((to_middle.x, to_middle.y, 0.0)))
    side = np.array(f.direction((-to_middle.y, to_middle.x, 0.0)))
    row = _Row(_NO, _NO, 0.0, 0.0, arc=True, foot=foot, reach=reach, out=out, side=side, rho=rho, half_rad=half)
    row.slack = rho * (1 - math.cos(half))
    row.mid = foot + reach / 2 + out * (rho - row.slack / 2)
    row.stretch = side * (rho * math.sin(half))
    row.girth = math.hypot(row.slack, abs(plate.high - plate.low)) / 2
    row.near = row.slack / 2
    return row


def finer(p: Pieces, shares: int) -> tuple[Pieces, Pieces]:
    """Every arc piece of `p` cut into `shares` (n x shares rows, in order), and the true lines at its inner ends.

    The lines (n x (shares - 1) rows, in order) are pieces of the true solid: what meets them surely meets it.
    """
    n = len(p)
    half = p.half_rad / shares
    centre = ((2 * np.arange(shares) + 1) / shares - 1.0) * p.half_rad[:, None]
    joint = (2 * np.arange(1, shares) / shares - 1.0) * p.half_rad[:, None]
    cut = p.rows(np.repeat(np.arange(n), shares))
    out, side = _turned(p, centre)
    rho, reach = cut.rho, cut.reach
    slack = np.repeat(p.rho * 2 * np.sin(half / 2) ** 2, shares)
    half_rad = np.repeat(half, shares)
    thick = np.sqrt((reach**2).sum(axis=1))
    shorter = Pieces(
        cut.corners, cut.radius, cut.arc, cut.foot, reach, out, side, rho, half_rad, slack,
        cut.foot + reach / 2 + out * (rho - slack / 2)[:, None], side * (rho * np.sin(half_rad))[:, None],
        np.hypot(slack, thick) / 2, slack / 2, cut.owner, cut.step,
    )  # fmt: skip
    return shorter, _lines(p.rows(np.repeat(np.arange(n), shares - 1)), _turned(p, joint)[0])


def _turned(p: Pieces, angles: Floats) -> tuple[Floats, Floats]:
    """`out` and `side` turned about the arc's axis: one row an angle (n, k)."""
    c, s = np.cos(angles)[..., None], np.sin(angles)[..., None]
    out, side = p.out[:, None, :], p.side[:, None, :]
    return (c * out + s * side).reshape(-1, 3), (c * side - s * out).reshape(-1, 3)


def _lines(p: Pieces, out: Floats) -> Pieces:
    low = p.foot + p.rho[:, None] * out
    corners = np.repeat(low[:, None, :], MOST_CORNERS, axis=1)
    corners[:, 1] += p.reach
    nothing = np.zeros(len(p))
    return Pieces(
        corners, nothing, np.zeros(len(p), dtype=np.bool_), p.foot, p.reach, p.out, p.side, nothing, nothing, nothing,
        low + p.reach / 2, p.reach / 2, nothing, nothing, p.owner, p.step,
    )  # fmt: skip
