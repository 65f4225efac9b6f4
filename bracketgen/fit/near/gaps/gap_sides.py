"""Solids made ready for a search, standing still or moved step by step, and the search between two such sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum, auto

import numpy as np

from bracketgen.fit.near.gaps.gap_best import Best, Found, Met, Pairs
from bracketgen.fit.near.gaps.gap_depth import rough_width, way_out
from bracketgen.fit.near.gaps.gap_faces import Faces, faces_of
from bracketgen.fit.near.gaps.gap_search import HERE, THERE, FaceTask, Search
from bracketgen.fit.near.gaps.solids import Capsule, Drum, Gap3, Solid, Wall
from bracketgen.fit.near.gaps.support import Floats, Indices, Pieces, dots, farthest
from bracketgen.fit.near.gaps.support_of import pieces_of, share_ends_of
from bracketgen.geometry.frame import Frame

Moves = tuple[Frame, ...]
STILL: Moves = (Frame(),)


@dataclass(frozen=True, slots=True)
class Asked:
    """Solid `here` of the one side against solid `there` of the other, at all steps; the least of a group counts.

    Step k belongs to group `group + stride * k`.
    """

    here: int
    there: int
    group: int
    stride: int = 0


@dataclass(frozen=True, slots=True)
class Rows:
    """Which pieces are whose: those of solid k are `order[start[k]:start[k + 1]]`."""

    order: Indices
    start: Indices

    @staticmethod
    def of(pieces: Pieces, solids: int, offset: int = 0) -> Rows:
        """Sorted by owner; numbers counted from `offset`."""
        order = np.argsort(pieces.owner, kind="stable")
        return Rows(order + offset, np.searchsorted(pieces.owner[order], np.arange(solids + 1)))

    def __getitem__(self, solid: int) -> Indices:
        return self.order[self.start[solid] : self.start[solid + 1]]


@dataclass(frozen=True, slots=True)
class Side:
    """Solids as pieces. `rows` and `ends` say whose the pieces are; `ends` are those only faces need to know of."""

    solids: tuple[Solid, ...]
    moves: tuple[Moves, ...]
    pieces: Pieces
    rows: Rows
    ends: Rows
    faces: list[Faces]

    @staticmethod
    def of(solids: Sequence[Solid], moves: Sequence[Moves] | None = None) -> Side:
        """The solids where they are, or each at the steps of its own move."""
        every = tuple(moves) if moves is not None else (STILL,) * len(solids)
        main, ends = pieces_of(solids), share_ends_of(solids)
        faces = faces_of(solids)
        if moves is not None:
            main, ends = _swept(main, every), _swept(ends, every)
            faces = [f.moved(move, k) for f in faces for k, move in enumerate(every[f.owner])]
        rows, end_rows = Rows.of(main, len(solids)), Rows.of(ends, len(solids), len(main))
        return Side(tuple(solids), every, Pieces.joined((main, ends)), rows, end_rows, faces)


def _swept(pieces: Pieces, moves: tuple[Moves, ...]) -> Pieces:
    """All pieces at all steps of their solids' moves."""
    frames = [f for m in moves for f in m]
    count = np.array([len(m) for m in moves], dtype=np.intp)
    first = np.cumsum(count) - count
    mine = count[pieces.owner]
    at, step = np.repeat(np.arange(len(pieces)), mine), _counted(mine)
    return pieces.swept(at, step, frames, first[pieces.owner[at]] + step)


def _counted(sizes: Indices) -> Indices:
    """0, 1, ... up to each of the sizes, one after the other."""
    return np.arange(int(sizes.sum())) - np.repeat(np.cumsum(sizes) - sizes, sizes)


class Depth(Enum):
    """Whether solids that meet are asked how deep."""

    MEASURED = auto()
    LEFT_OUT = auto()


def search(
    p: Side, q: Side, asked: Sequence[Asked], groups: int, depth: Depth = Depth.MEASURED
) -> tuple[list[Gap3 | None], Best]:
    """The least gap of every group (none where there is nothing to measure), and whose it is.

    Only solids of q may move. With the depth left out, solids whose cores meet are -inf apart.
    """
    best = Search(p.pieces, q.pieces, groups, _face_tasks(p, q, asked)).run(_pairs(p, q, asked))
    _ask_walls(p, q, asked, best)
    gaps: list[Gap3 | None] = [
        Gap3(float(mm), _vector(here), _vector(there)) if np.isfinite(mm) else None
        for mm, here, there in zip(best.mm, best.here, best.there, strict=True)
    ]
    _measure_met(p, q, best, gaps, depth)
    return gaps, best


def _pairs(p: Side, q: Side, asked: Sequence[Asked]) -> Pairs:
    """Each piece of the one solid with each piece of the other, for all that is asked."""
    rows = np.array([(a.here, a.there, a.group, a.stride) for a in asked], dtype=np.intp)
    here, there, group, stride = rows.reshape(-1, 4).T
    wide = np.diff(q.rows.start)[there]
    sizes = np.diff(p.rows.start)[here] * wide
    a = np.repeat(np.arange(len(asked)), sizes)
    down, across = np.divmod(_counted(sizes), wide[a])
    i, j = p.rows.order[p.rows.start[here[a]] + down], q.rows.order[q.rows.start[there[a]] + across]
    return Pairs(i, j, group[a] + stride[a] * q.pieces.step[j], np.full(len(a), -np.inf))


def _vector(v: Floats) -> tuple[float, float, float]:
    x, y, z = v.tolist()
    return (x, y, z)


def _face_tasks(p: Side, q: Side, asked: Sequence[Asked]) -> list[FaceTask]:
    return [t for side, mine, other in ((HERE, p, q), (THERE, q, p)) if mine.faces
            for t in _face_tasks_of(side, mine, other, asked)]  # fmt: skip


def _face_tasks_of(side: int, mine: Side, other: Side, asked: Sequence[Asked]) -> list[FaceTask]:
    partners: dict[int, list[Asked]] = {}
    for a in asked:
        partners.setdefault(a.here if side == HERE else a.there, []).append(a)
    tasks = []
    for faces in mine.faces:
        sets = [(_face_rows(other, a.there if side == HERE else a.here), a) for a in partners.get(faces.owner, ())]
        if sets:
            rows = np.concatenate([rows for rows, _ in sets])
            sizes = [len(rows) for rows, _ in sets]
            step = other.pieces.step[rows] if side == HERE else np.full(len(rows), faces.step)
            group = np.repeat([a.group for _, a in sets], sizes) + np.repeat([a.stride for _, a in sets], sizes) * step
            tasks.append(FaceTask(faces, side, rows, group))
    return tasks


def _face_rows(side: Side, owner: int) -> Indices:
    return np.concatenate((side.rows[owner], side.ends[owner]))


# -- walls: the farthest point toward them decides, in front of them or behind


def _ask_walls(p: Side, q: Side, asked: Sequence[Asked], best: Best) -> None:
    for a in asked:
        wall = q.solids[a.there]
        if isinstance(wall, Wall) and len(p.rows[a.here]):
            frames = q.moves[a.there]
            points = np.array([f.point(wall.point) for f in frames])
            normals = np.array([f.direction(wall.normal) for f in frames])
            at = np.tile(p.rows[a.here], len(frames))
            k = np.repeat(np.arange(len(frames)), len(p.rows[a.here]))
            mm, on_piece, on_wall = _to_wall(p.pieces, at, points[k], normals[k])
            _offer(best, a, mm, on_piece, on_wall, k)
        wall = p.solids[a.here]
        if isinstance(wall, Wall) and len(q.rows[a.there]):
            at = q.rows[a.there]
            mm, on_piece, on_wall = _to_wall(q.pieces, at, *_repeated(wall, len(at)))
            _offer(best, a, mm, on_wall, on_piece, q.pieces.step[at])


def _repeated(wall: Wall, n: int) -> tuple[Floats, Floats]:
    return np.tile(wall.point, (n, 1)), np.tile(wall.normal, (n, 1))


def _to_wall(p: Pieces, at: Indices, point: Floats, normal: Floats) -> tuple[Floats, Floats, Floats]:
    on_piece = farthest(p, at, -normal) - normal * p.radius[at][:, None]
    mm = dots(on_piece - point, normal)
    return mm, on_piece, on_piece - normal * mm[:, None]


def _offer(best: Best, a: Asked, mm: Floats, here: Floats, there: Floats, step: Indices) -> None:
    n = len(mm)
    nothing = np.zeros(n)
    owners = (np.full(n, a.here), np.full(n, a.there))
    best.offer(Found(a.group + a.stride * step, mm, here, there, (nothing, nothing), owners, step), np.arange(n))


# -- solids whose cores meet


def _measure_met(p: Side, q: Side, best: Best, gaps: list[Gap3 | None], depth: Depth) -> None:
    """Where cores meet, the length of the shortest known way out, taken negative, is the gap."""
    groups: dict[int, list[Met]] = {}
    for met in best.met:
        groups.setdefault(met.group, []).append(met)
    for group, those in groups.items():
        met = those[0] if len(those) == 1 else max(those, key=lambda m: rough_width(*_hulls(p, q, m)))
        mm = -_depth_mm(p, q, met) if depth is Depth.MEASURED else -np.inf
        if mm <= best.mm[group]:
            common = _vector(best.met[met])
            best.mm[group], best.step[group], best.owners[group] = mm, met.step, (met.here, met.there)
            gaps[group] = Gap3(mm + 0.0, common, common)


def _hulls(p: Side, q: Side, met: Met) -> tuple[Pieces, Pieces]:
    there = q.rows[met.there]
    return p.pieces.rows(p.rows[met.here]), q.pieces.rows(there[q.pieces.step[there] == met.step])


def _depth_mm(p: Side, q: Side, met: Met) -> float:
    depth = max(way_out(*_hulls(p, q, met))[1], 0.0)
    return min(depth, _depth_of_skin(p.solids[met.here], q.solids[met.there], q.moves[met.there][met.step]))


def _depth_of_skin(a: Solid, b: Solid, move: Frame) -> float:
    """Drums taken as pipes: how deep the skin is in, while the axis stays outside; else infinite."""
    if not isinstance(a, Drum) and not isinstance(b, Drum):
        return np.inf
    mine, other = Side.of((_as_pipe(a),)), Side.of((_as_pipe(b),), ((move,),))
    found = search(mine, other, [Asked(0, 0, 0)], 1, Depth.LEFT_OUT)[0][0]
    return -found.mm if found is not None else np.inf


def _as_pipe(solid: Solid) -> Solid:
    return Capsule(solid.a, solid.b, solid.radius) if isinstance(solid, Drum) else solid
