"""Solids made ready for a search, standing still or moved step by step, and the search between two such sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bracketgen.fit.near.gap_best import Best, Found, Pairs
from bracketgen.fit.near.gap_depth import way_out
from bracketgen.fit.near.gap_faces import Faces, faces_of
from bracketgen.fit.near.gap_search import HERE, THERE, FaceTask, Search
from bracketgen.fit.near.solids import Gap3, Solid, Wall
from bracketgen.fit.near.support import Floats, Indices, Pieces, dots, farthest
from bracketgen.fit.near.support_of import pieces_of, share_ends_of
from bracketgen.geometry.frame import Frame

Moves = tuple[Frame, ...]
STILL: Moves = (Frame(),)


@dataclass(frozen=True, slots=True)
class Asked:
    """Solid `here` of the one side against solid `there` of the other, at all steps; the least of a group counts."""

    here: int
    there: int
    group: int


@dataclass(frozen=True, slots=True)
class Side:
    """Solids as pieces. `rows` and `ends` list the pieces of every solid, `ends` what only faces need to know of."""

    solids: tuple[Solid, ...]
    moves: tuple[Moves, ...]
    pieces: Pieces
    rows: list[Indices]
    ends: list[Indices]
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
        n = len(solids)
        end_rows = [rows + len(main) for rows in _by_owner(ends, n)]
        return Side(tuple(solids), every, Pieces.joined((main, ends)), _by_owner(main, n), end_rows, faces)


def _swept(pieces: Pieces, moves: tuple[Moves, ...]) -> Pieces:
    """All steps of all pieces. Solids that make the same moves (the same tuple) are moved together."""
    together: dict[int, list[int]] = {}
    for owner, frames in enumerate(moves):
        together.setdefault(id(frames), []).append(owner)
    sets = [pieces.rows(np.isin(pieces.owner, owners)).swept(moves[owners[0]]) for owners in together.values()]
    return Pieces.joined(sets or [pieces])


def _by_owner(pieces: Pieces, owners: int) -> list[Indices]:
    order = np.argsort(pieces.owner, kind="stable")
    return np.split(order, np.searchsorted(pieces.owner[order], np.arange(1, owners))) if owners else []


def search(p: Side, q: Side, asked: Sequence[Asked], groups: int) -> tuple[list[Gap3 | None], Best]:
    """The least gap of every group (none where there is nothing to measure), and whose it is.

    Only solids of q may move.
    """
    pairs = Pairs.joined([Pairs.every(p.rows[a.here], q.rows[a.there], a.group) for a in asked])
    best = Search(p.pieces, q.pieces, groups, _face_tasks(p, q, asked)).run(pairs)
    _ask_walls(p, q, asked, best)
    gaps: list[Gap3 | None] = [
        Gap3(float(mm), _vector(here), _vector(there)) if np.isfinite(mm) else None
        for mm, here, there in zip(best.mm, best.here, best.there, strict=True)
    ]
    _measure_met(p, q, best, gaps)
    return gaps, best


def _vector(v: Floats) -> tuple[float, float, float]:
    x, y, z = v.tolist()
    return (x, y, z)


def _face_tasks(p: Side, q: Side, asked: Sequence[Asked]) -> list[FaceTask]:
    return [t for side, mine, other in ((HERE, p, q), (THERE, q, p)) if mine.faces
            for t in _face_tasks_of(side, mine, other, asked)]  # fmt: skip


def _face_tasks_of(side: int, mine: Side, other: Side, asked: Sequence[Asked]) -> list[FaceTask]:
    partners: dict[int, list[tuple[int, int]]] = {}
    for a in asked:
        owner, partner = (a.here, a.there) if side == HERE else (a.there, a.here)
        partners.setdefault(owner, []).append((partner, a.group))
    tasks = []
    for faces in mine.faces:
        sets = [(rows, g) for k, g in partners.get(faces.owner, ()) for rows in (other.rows[k], other.ends[k])]
        if sets:
            group = np.repeat([g for _, g in sets], [len(rows) for rows, _ in sets])
            tasks.append(FaceTask(faces, side, np.concatenate([rows for rows, _ in sets]), group))
    return tasks


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
    best.offer(Found(np.full(n, a.group), mm, here, there, (nothing, nothing), owners, step), np.arange(n))


# -- solids whose cores meet


def _measure_met(p: Side, q: Side, best: Best, gaps: list[Gap3 | None]) -> None:
    """Where cores meet, the length of the shortest known way out, taken negative, is the gap."""
    for met, point in best.met.items():
        there = q.rows[met.there]
        there = there[q.pieces.step[there] == met.step]
        out = way_out(p.pieces.rows(p.rows[met.here]), q.pieces.rows(there))
        depth = float(np.linalg.norm(out))
        if -depth <= best.mm[met.group]:
            common = _vector(point)
            best.mm[met.group], best.step[met.group] = -depth, met.step
            best.owners[met.group] = (met.here, met.there)
            gaps[met.group] = Gap3(-depth + 0.0, common, common)
