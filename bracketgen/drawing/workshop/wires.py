"""The edges of a folded part in space, and the surfaces that can hide them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from bracketgen.bending.fold import Folded, strip_frame, turned_frame
from bracketgen.drawing.solid.piece import Piece, Ring, pieces_of
from bracketgen.drawing.solid.viewpoint import Viewpoint, dot
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.part.bend import Bend

Chain = tuple[Vector, ...]
#: Two walls that meet at more than this show the edge between them.
_SHARP_DEG: Final = 25.0
#: Slices of a bend as a surface that hides others; its own lines are exact.
_SLICE_DEG: Final = 3.0
_ALONG_VIEW: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Cover:
    """A flat surface of the part: its rings in space, outer one first, and its unit normal out of the metal."""

    rings: tuple[Chain, ...]
    normal: Vector


@dataclass(frozen=True, slots=True)
class Wires:
    """Chains of points along all edges that a view shows, and the part's surfaces."""

    chains: tuple[Chain, ...]
    covers: tuple[Cover, ...]


def wires_of(folded: Folded, view: Viewpoint, chord_mm: float) -> Wires:
    """Sharp edges, and those where a rounded surface turns away from the eye; bends count as true cylinders."""
    pieces, _ = pieces_of(folded, chord_mm)
    chains: list[Chain] = []
    covers: list[Cover] = []
    for piece in pieces:
        if piece.way is None:
            chains += _panel_chains(piece, view)
            covers += _panel_covers(piece)
    for bend in folded.part.bends:
        chains += _bend_chains(bend, folded, view, chord_mm)
        covers += _bend_covers(bend, folded)
    return Wires(tuple(chains), tuple(covers))


def _panel_chains(piece: Piece, view: Viewpoint) -> list[Chain]:
    made: list[Chain] = []
    for ring, side in ((piece.outline, 1.0), *((h, -1.0) for h in piece.holes)):
        for corners in (ring.face, ring.back):
            made += _runs(corners, ring.joins)
        made += _uprights(ring, piece.normal, side, view)
    return made


def _runs(corners: Sequence[Vector], joins: Sequence[bool]) -> list[Chain]:
    """The ring without its joints, as chains."""
    n = len(corners)
    if not any(joins):
        return [(*corners, corners[0])]
    first = next(i for i in range(n) if joins[i])
    made: list[Chain] = []
    run: list[Vector] = []
    for step in range(1, n + 1):
        i = (first + step) % n
        if joins[i]:
            if run:
                made.append((*run, corners[i]))
            run = []
        else:
            run.append(corners[i])
    return made


def _uprights(ring: Ring, normal: Vector, side: float, view: Viewpoint) -> list[Chain]:
    """Edges through the thickness: at sharp corners, and where a round turns away from the eye."""
    n = len(ring.face)
    ways = [_unit(_minus(ring.face[(i + 1) % n], ring.face[i])) for i in range(n)]
    outs = [_scaled(_cross(w, normal), side) for w in ways]
    made: list[Chain] = []
    for i in range(n):
        before = (i - 1) % n
        if ring.joins[i] and ring.joins[before]:
            continue
        # Beside a joint stands the bend's own end, which looks along the joint.
        a = ways[before] if ring.joins[before] else outs[before]
        b = _scaled(ways[i], -1.0) if ring.joins[i] else outs[i]
        sharp = dot(a, b) < math.cos(math.radians(_SHARP_DEG))
        turns = (dot(a, view.toward) > _ALONG_VIEW) is not (dot(b, view.toward) > _ALONG_VIEW)
        if sharp or turns:
            made.append((ring.face[i], ring.back[i]))
    return made


def _panel_covers(piece: Piece) -> list[Cover]:
    rings = (piece.outline, *piece.holes)
    made = [
        Cover(tuple(r.face for r in rings), piece.normal),
        Cover(tuple(r.back for r in rings), _scaled(piece.normal, -1.0)),
    ]
    for ring, side in ((piece.outline, 1.0), *((h, -1.0) for h in piece.holes)):
        n = len(ring.face)
        for i in range(n):
            k = (i + 1) % n
            if not ring.joins[i]:
                out = _scaled(_cross(_unit(_minus(ring.face[k], ring.face[i])), piece.normal), side)
                made.append(Cover(((ring.face[i], ring.face[k], ring.back[k], ring.back[i]),), out))
    return made


def _frames(bend: Bend, folded: Folded, turns_deg: Sequence[float]) -> list[Frame]:
    """On the described face across the bend, at so many degrees of the turn."""
    start = strip_frame(bend, folded.frames[bend.parent])
    thickness = folded.part.stock.thickness_mm
    return [turned_frame(bend, thickness, turn).within(start) for turn in turns_deg]


def _bend_chains(bend: Bend, folded: Folded, view: Viewpoint, chord_mm: float) -> list[Chain]:
    """The arcs at both ends of a bend, on both its faces, and the lines where it turns away from the eye."""
    t = folded.part.stock.thickness_mm
    outer = bend.inside_radius_mm + t
    half = math.degrees(math.acos(max(0.5, 1.0 - chord_mm / outer))) if outer > chord_mm else 30.0
    count = max(2, math.ceil(bend.turn_deg / (2 * half)))
    frames = _frames(bend, folded, [bend.turn_deg * i / count for i in range(count + 1)])
    made = [tuple(f.point((x, 0.0, -depth)) for f in frames) for x in (0.0, bend.width_mm) for depth in (0.0, t)]
    for frame in _frames(bend, folded, _turning_deg(bend, folded, view)):
        made += [(frame.point((0.0, 0.0, -d)), frame.point((bend.width_mm, 0.0, -d))) for d in (0.0, t)]
    return made


def _turning_deg(bend: Bend, folded: Folded, view: Viewpoint) -> list[float]:
    """Where in its turn the bend is seen edge on."""
    start = strip_frame(bend, folded.frames[bend.parent])
    # The normal is z cos(turn) -+ y sin(turn) in the strip's frame.
    sign = -1.0 if bend.way.value == "up" else 1.0
    across, out = sign * dot(start.y, view.toward), dot(start.z, view.toward)
    if math.hypot(across, out) < 1e-6:
        return []
    turn = math.degrees(math.atan2(-out, across)) % 180.0
    return [a for a in (turn - 180.0, turn, turn + 180.0) if -1e-6 <= a <= bend.turn_deg + 1e-6]


def _bend_covers(bend: Bend, folded: Folded) -> list[Cover]:
    t, w = folded.part.stock.thickness_mm, bend.width_mm
    count = max(2, math.ceil(bend.turn_deg / _SLICE_DEG))
    frames = _frames(bend, folded, [bend.turn_deg * i / count for i in range(count + 1)])
    made: list[Cover] = []
    for a, b in pairwise(frames):
        out = _unit((a.z[0] + b.z[0], a.z[1] + b.z[1], a.z[2] + b.z[2]))
        for depth, normal in ((0.0, out), (t, _scaled(out, -1.0))):
            quad = tuple(f.point((x, 0.0, -depth)) for f, x in ((a, 0.0), (a, w), (b, w), (b, 0.0)))
            made.append(Cover((quad,), normal))
    for x, normal in ((0.0, _scaled(frames[0].x, -1.0)), (w, frames[0].x)):
        face = [f.point((x, 0.0, 0.0)) for f in frames]
        back = [f.point((x, 0.0, -t)) for f in frames]
        made.append(Cover(((*face, *back[::-1]),), normal))
    return made


def _minus(a: Vector, b: Vector) -> Vector:
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def _cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _scaled(v: Vector, by: float) -> Vector:
    return (v[0] * by, v[1] * by, v[2] * by)


def _unit(v: Vector) -> Vector:
    size = math.hypot(*v) or 1.0
    return (v[0] / size, v[1] / size, v[2] / size)
