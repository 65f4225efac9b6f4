"""A small picture of the folded part: shaded plates, bends as curved strips in their colours."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

from bracketgen.bending.fold import Folded
from bracketgen.drawing.paper.free_room import FreeRoom
from bracketgen.drawing.paper.lettering import Weight
from bracketgen.drawing.paper.palette import INK, OTHER_FACE, WAY_LINE
from bracketgen.drawing.paper.trace import closed
from bracketgen.drawing.picture.callouts import Callout, Target, place_callout
from bracketgen.drawing.sheet import Fill, Label, Mark, Stroke
from bracketgen.drawing.solid.hiding import back_to_front
from bracketgen.drawing.solid.light import back_colour, described_colour, lit
from bracketgen.drawing.solid.piece import Joint, Piece, Ring, pieces_of
from bracketgen.drawing.solid.places import bend_places, face_places
from bracketgen.drawing.solid.viewpoint import Scene, Viewpoint, best_viewpoint, dot, fit_scale, seen_of
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.line import Box
from bracketgen.geometry.point import Point

_MOST_SCALE: Final = 4.0
_HEAD_MM: Final = 7.0
_EDGE_MM: Final = 0.35
_TEXT_MM: Final = 3.4
#: Paper kept free around the picture for its labels.
_RING_MM: Final = 7.0
#: Two walls that meet at more than this show the edge between them.
_SHARP_DEG: Final = 25.0

ToPaper = Callable[[Vector], Point]


def folded_view(folded: Folded, box: Box) -> list[Mark]:
    """The folded part inside `box`, with its bends numbered and the first panel's described face named."""
    title = "FOLDED" if folded.part.bends else "THE PART"
    head = Label(title, Point(box[0], box[3] - 4.6), 4.0, INK, Weight.BOLD, shows="folded view")
    area = (box[0], box[1], box[2], box[3] - _HEAD_MM)
    room = (area[0] + _RING_MM, area[1] + _RING_MM, area[2] - _RING_MM, area[3] - _RING_MM)
    coarse, _ = pieces_of(folded, 1.0)
    view = best_viewpoint(_scene(folded, coarse), room)
    corners = [view.flat(v) for p in coarse for v in (*p.outline.face, *p.outline.back)]
    scale = min(_MOST_SCALE, fit_scale(corners, room))
    pieces, joints = pieces_of(folded, 0.03 / scale)
    to_paper = _mapping(view, corners, scale, room)
    marks: list[Mark] = []
    for i in _order(pieces, joints, view):
        marks += _piece_marks(pieces[i], view, to_paper)
    return [head, *marks, *_words(folded, pieces, area, view, to_paper)]


def _scene(folded: Folded, pieces: Sequence[Piece]) -> Scene:
    panels = [p for p in pieces if p.way is None]
    return Scene(tuple(_middle(p) for p in panels), tuple(p.normal for p in panels))


def _middle(piece: Piece) -> tuple[Vector, ...]:
    """The piece's outline half way through the metal."""
    pairs = zip(piece.outline.face, piece.outline.back, strict=True)
    return tuple(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2) for a, b in pairs)


def _mapping(view: Viewpoint, corners: Sequence[Point], scale: float, room: Box) -> ToPaper:
    xs, ys = [p.x for p in corners], [p.y for p in corners]
    dx = (room[0] + room[2]) / 2 - scale * (min(xs) + max(xs)) / 2
    dy = (room[1] + room[3]) / 2 - scale * (min(ys) + max(ys)) / 2
    return lambda v: Point(view.flat(v).x * scale + dx, view.flat(v).y * scale + dy)


def _order(pieces: Sequence[Piece], joints: Sequence[Joint], view: Viewpoint) -> list[int]:
    """Places of the pieces from the back to the front."""
    before: list[tuple[int, int]] = []
    joined: set[tuple[int, int]] = set()
    for j in joints:
        joined.add((min(j.first, j.second), max(j.first, j.second)))
        if abs(dot(j.across, view.toward)) > 1e-9:
            ahead = dot(j.across, view.toward) > 0.0
            before.append((j.first, j.second) if ahead else (j.second, j.first))
    seen = [seen_of(_middle(p), view) for p in pieces]
    for a in range(len(pieces)):
        for b in range(a + 1, len(pieces)):
            nearer = 0.0 if (a, b) in joined else seen[a].nearer_than(seen[b])
            if nearer:
                before.append((b, a) if nearer > 0.0 else (a, b))
    depth = [sum(view.depth(v) for v in p.outline.face) / len(p.outline.face) for p in pieces]
    return back_to_front(len(pieces), before, depth)


def _piece_marks(piece: Piece, view: Viewpoint, to_paper: ToPaper) -> list[Mark]:
    """The walls that face the eye, then the face that does."""
    shown = dot(piece.normal, view.toward) > 0.0
    marks: list[Mark] = []
    for hole in piece.holes:
        marks += _walls(piece, hole, view, to_paper, -1.0, shown)
    marks += _walls(piece, piece.outline, view, to_paper, 1.0, shown)
    rings = [tuple(map(to_paper, r.face if shown else r.back)) for r in (piece.outline, *piece.holes)]
    out = piece.normal if shown else _minus(piece.normal)
    colour = described_colour(piece.way) if shown else back_colour(piece.way)
    marks.append(Fill(tuple(rings), lit(colour, out, view), piece.shows))
    marks += [Stroke(closed(r), _EDGE_MM * 0.8, INK) for r in rings[1:]]
    return marks + _edges(piece, rings[0])


def _walls(piece: Piece, ring: Ring, view: Viewpoint, to_paper: ToPaper, side: float, shown: bool) -> list[Mark]:
    """The cut edges that face the eye, farthest first, with their lower and sharp upright lines."""
    n = len(ring.face)
    outs = [_out(ring, i, piece.normal, side) for i in range(n)]
    facing = [not ring.joins[i] and dot(outs[i], view.toward) > 1e-9 for i in range(n)]
    order = sorted((i for i in range(n) if facing[i]), key=lambda i: view.depth(ring.face[i]))
    far = ring.back if shown else ring.face
    marks: list[Mark] = []
    for i in order:
        k = (i + 1) % n
        quad = tuple(map(to_paper, (ring.face[i], ring.face[k], ring.back[k], ring.back[i])))
        marks.append(Fill((quad,), lit(OTHER_FACE, outs[i], view), piece.shows))
        if side > 0.0:
            marks.append(Stroke((to_paper(far[i]), to_paper(far[k])), _EDGE_MM, INK))
            for corner, neighbour in ((i, (i - 1) % n), (k, k)):
                if dot(outs[i], outs[neighbour]) < math.cos(math.radians(_SHARP_DEG)) and piece.way is None:
                    marks.append(Stroke((to_paper(ring.face[corner]), to_paper(ring.back[corner])), _EDGE_MM, INK))
    return marks


def _out(ring: Ring, i: int, normal: Vector, side: float) -> Vector:
    """Unit direction out of the metal at edge `i`: along x normal for an outline, the other way for a hole."""
    a, b = ring.face[i], ring.face[(i + 1) % len(ring.face)]
    d = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
    v = (d[1] * normal[2] - d[2] * normal[1], d[2] * normal[0] - d[0] * normal[2], d[0] * normal[1] - d[1] * normal[0])
    size = math.hypot(*v) or 1.0
    return (side * v[0] / size, side * v[1] / size, side * v[2] / size)


def _edges(piece: Piece, ring: Sequence[Point]) -> list[Mark]:
    """The outline of the face without the joints; a bend's tangent lines thin, in its colour."""
    n = len(ring)
    joins = piece.outline.joins
    marks: list[Mark] = []
    if not any(joins):
        return [Stroke(closed(ring), _EDGE_MM, INK)]
    first = next(i for i in range(n) if joins[i])
    run: list[Point] = []
    for step in range(1, n + 1):
        i = (first + step) % n
        if joins[i]:
            if run:
                marks.append(Stroke((*run, ring[i]), _EDGE_MM, INK))
            run = []
        else:
            run.append(ring[i])
    if piece.way is not None:
        colour = WAY_LINE[piece.way]
        lines = [(ring[0], ring[1])] * piece.tangent[0] + [(ring[2], ring[3])] * piece.tangent[1]
        marks += [Stroke(line, 0.25, colour) for line in lines]
    return marks


def _words(folded: Folded, pieces: Sequence[Piece], area: Box, view: Viewpoint, to_paper: ToPaper) -> list[Mark]:
    """Bend numbers with their way, and the name of the first panel's described face."""
    room = FreeRoom(area)
    for ring in (r for p in pieces for r in (p.outline, *p.holes)):
        for side in (ring.face, ring.back):
            room.ink_line(closed(tuple(map(to_paper, side))))
    seen = [seen_of(_middle(p), view) for p in pieces]
    t = folded.part.stock.thickness_mm

    def in_sight(v: Vector) -> bool:
        return not any(s.hides(view.flat(v), view.depth(v), t) for s in seen)

    callouts: list[Callout] = []
    for number, bend in enumerate(folded.part.bends, 1):
        places = bend_places(folded, bend)
        targets = tuple(Target(to_paper(v)) for v in (list(filter(in_sight, places)) or places))
        text, colour = f"{number} {bend.way}", WAY_LINE[bend.way]
        callouts.append(Callout(text, targets, _TEXT_MM, f"folded bend {number}", colour, away_mm=4.0))
    places = face_places(folded)
    targets = tuple(Target(to_paper(v)) for v in (list(filter(in_sight, places)) or places))
    callouts.append(Callout("this face up in the flat", targets, _TEXT_MM, "face up", INK, Weight.PLAIN, away_mm=5.0))
    found = (place_callout(room, c) for c in callouts)
    return [m for marks in found if marks for m in marks]


def _minus(v: Vector) -> Vector:
    return (-v[0], -v[1], -v[2])
