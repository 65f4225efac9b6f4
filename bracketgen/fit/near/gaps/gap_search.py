"""The nearest pair of pieces in every group of pairs, by bounds first and exact distances after.

Arcs of flat metal are hulls that reach behind the true arc by a known slack; where such a hull decides, it is cut finer
until the slack no longer counts. So the distance found is never larger than the true one, and at most TOLERANCE_MM
below it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bracketgen.fit.near.gaps.convex import Distances, Limits, distances
from bracketgen.fit.near.gaps.convex_bounds import ball_bounds, round_arc_distance, round_beside_arc, stretch_bound
from bracketgen.fit.near.gaps.gap_best import Best, Found, Met, Pairs
from bracketgen.fit.near.gaps.gap_faces import Faces, face_gaps
from bracketgen.fit.near.gaps.support import Floats, Indices, Pieces, depth_behind_arc
from bracketgen.fit.near.gaps.support_of import finer

#: Slack behind true arcs that no longer counts, mm.
TOLERANCE_MM = 1e-6
#: Bounds of one and the same distance differ by less than this.
_NOISE_MM = 1e-9
#: An arc that decides is cut into so many.
_SHARES = 8
#: Enough to know roughly how near a pair is.
_FEW_ROUNDS = 5

#: The two sides of a search; only the second one moves.
HERE, THERE = 0, 1


@dataclass(slots=True)
class FaceTask:
    """Faces of a plate on one side, and the pieces of the other side that are held against them."""

    faces: Faces
    side: int
    piece: Indices
    group: Indices


class Search:
    """One search over two sets of pieces; `face_tasks` hold every piece against the plates of the other side."""

    def __init__(self, p: Pieces, q: Pieces, groups: int, face_tasks: list[FaceTask]) -> None:
        self._sides = [p, q]
        self._best = Best.of(groups)
        self._limit = np.full(groups, np.inf)
        self._way = np.zeros((groups, 3))
        self._face_tasks = face_tasks
        self._faces = {(t.side, t.faces.owner, t.faces.step): t.faces for t in face_tasks}

    def run(self, pairs: Pairs) -> Best:
        """The nearest of every group."""
        pairs, above = self._within_balls(pairs)
        unsure = [left for task in self._face_tasks if len((left := self._ask_faces(task)).piece)]
        self._try_out(pairs.rows(_least_of_each(pairs.group, above, len(self._limit))))
        pairs = self._within_stretches(self._near(pairs))
        pending = self._ask(self._settle_round_ones(pairs))
        while len(pending) or unsure:
            pending, unsure = self._cut_finer(pending, unsure)
        return self._best

    # -- bounds

    def _within_balls(self, pairs: Pairs) -> tuple[Pairs, Floats]:
        """Those that may be the nearest of their group, by the balls around them; their distances from above."""
        pairs.below, above = ball_bounds(self._sides[0], pairs.i, self._sides[1], pairs.j)
        np.minimum.at(self._limit, pairs.group, above)
        chosen = pairs.below <= self._reach(pairs.group)
        return pairs.rows(chosen), above[chosen]

    def _within_stretches(self, pairs: Pairs) -> Pairs:
        pairs.below = stretch_bound(self._sides[0], pairs.i, self._sides[1], pairs.j)
        return self._near(pairs)

    def _near(self, pairs: Pairs) -> Pairs:
        """Those that may still be the nearest of their group."""
        return pairs.rows(pairs.below <= self._reach(pairs.group))

    def _reach(self, group: Indices) -> Floats:
        """Pairs farther apart are of no interest; pairs that may meet always are.

        A bound from below and one from above may both be the distance itself: noise must not lose the pair.
        """
        reach: Floats = np.maximum(self._limit[group], 0.0) + _NOISE_MM
        return reach

    # -- answers that need no search

    def _ask_faces(self, task: FaceTask) -> FaceTask:
        """Takes what the faces decide; gives back what they leave unsure."""
        p = self._sides[1 - task.side]
        most = self._reach(task.group) + p.radius[task.piece]
        found = face_gaps(task.faces, p, task.piece, most)
        at, group = task.piece[found.row], task.group[found.row]
        sure = ~found.unsure | (p.slack[at] <= TOLERANCE_MM)
        n, at_sure = int(sure.sum()), at[sure]
        flat, mine = np.zeros(n), p.radius[at_sure]
        owner, owned = np.full(n, task.faces.owner), p.owner[at_sure]
        core, on_face, on_piece = found.mm[sure], found.on_face[sure], found.on_piece[sure]
        if task.side == HERE:
            self._take(Found(group[sure], core, on_face, on_piece, (flat, mine), (owner, owned), p.step[at_sure]))
        else:
            step = np.full(n, task.faces.step)
            self._take(Found(group[sure], core, on_piece, on_face, (mine, flat), (owned, owner), step))
        return FaceTask(task.faces, task.side, at[~sure], group[~sure])

    def _settle_round_ones(self, pairs: Pairs) -> Pairs:
        p, q = self._sides
        beside = round_beside_arc(p, pairs.i, q, pairs.j)
        if beside.any():
            some = pairs.rows(beside)
            core, here, there = round_arc_distance(p, some.i, q, some.j)
            self._take(self._found(some, core, here, there))
        around = round_beside_arc(q, pairs.j, p, pairs.i)
        if around.any():
            some = pairs.rows(around)
            core, there, here = round_arc_distance(q, some.j, p, some.i)
            self._take(self._found(some, core, here, there))
        return self._near(pairs.rows(~(beside | around)))

    # -- answers by search

    def _try_out(self, pairs: Pairs) -> None:
        """A few rounds for one likely pair of each group, to know early what is near and which way."""
        p, q = self._sides
        rounds = p.radius[pairs.i] + q.radius[pairs.j]
        d = distances(p, pairs.i, q, pairs.j, self._ways(pairs), most_rounds=_FEW_ROUNDS)
        behind = depth_behind_arc(p, pairs.i, d.here) + depth_behind_arc(q, pairs.j, d.there)
        behind = np.where(d.above <= 0, p.slack[pairs.i] + q.slack[pairs.j], behind)
        np.minimum.at(self._limit, pairs.group, d.above + behind - rounds)
        self._way[pairs.group] = d.there - d.here

    def _ask(self, pairs: Pairs) -> Pairs:
        """Takes the distances that are sure; gives back the pairs of which an arc has to be cut finer."""
        p, q = self._sides
        rounds = p.radius[pairs.i] + q.radius[pairs.j]
        limits = Limits(pairs.group, self._limit, rounds, p.slack[pairs.i] + q.slack[pairs.j])
        return self._sort_out(pairs, distances(p, pairs.i, q, pairs.j, self._ways(pairs), limits), rounds)

    def _ways(self, pairs: Pairs) -> Floats:
        """What parts the nearest pair of the group parts most of the others too; else from middle to middle."""
        way = self._way[pairs.group]
        unknown = (way == 0).all(axis=1)
        way[unknown] = (self._sides[1].mid[pairs.j] - self._sides[0].mid[pairs.i])[unknown]
        way[(way == 0).all(axis=1), 2] = 1.0
        return way

    def _sort_out(self, pairs: Pairs, d: Distances, rounds: Floats) -> Pairs:
        p, q = self._sides
        pairs.below = d.below - rounds
        known = np.isfinite(d.above)
        pairs, core, here, there = pairs.rows(known), d.above[known], d.here[known], d.there[known]
        behind = depth_behind_arc(p, pairs.i, here) + depth_behind_arc(q, pairs.j, there)
        behind = np.where(core <= 0, p.slack[pairs.i] + q.slack[pairs.j], behind)
        np.minimum.at(self._limit, pairs.group, core + behind - rounds[known])
        sure = behind <= TOLERANCE_MM
        self._take(self._found(pairs.rows(sure), core[sure], here[sure], there[sure]))
        return pairs.rows(~sure)

    def _found(self, pairs: Pairs, core: Floats, here: Floats, there: Floats) -> Found:
        p, q = self._sides
        i, j = pairs.i, pairs.j
        return Found(pairs.group, core, here, there, (p.radius[i], q.radius[j]), (p.owner[i], q.owner[j]), q.step[j])

    def _take(self, found: Found) -> None:
        if not len(found.group):
            return
        self._best.take(found)
        np.minimum.at(self._limit, found.group, found.core - found.rounds[0] - found.rounds[1])
        group = np.unique(found.group)
        apart = (self._best.mm[group] > 0) & np.isfinite(self._best.mm[group])
        self._way[group[apart]] = (self._best.there - self._best.here)[group[apart]]

    # -- arcs that decide

    def _cut_finer(self, pending: Pairs, unsure: list[FaceTask]) -> tuple[Pairs, list[FaceTask]]:
        """Cuts the arcs that left something open, and asks again."""
        pending = self._near(self._not_met(pending))
        # What is sure already, and as near as the slack that no longer counts, need not be found once more.
        pending = pending.rows((pending.below < self._best.mm[pending.group] - TOLERANCE_MM) | (pending.below <= 0))
        p, q = self._sides
        coarse_here = p.slack[pending.i] >= q.slack[pending.j]
        asked: list[Pairs] = []
        still: list[FaceTask] = []
        for side, cut in ((HERE, pending.rows(coarse_here)), (THERE, pending.rows(~coarse_here))):
            mine, other = (cut.i, cut.j) if side == HERE else (cut.j, cut.i)
            faces = [t for t in unsure if t.side != side] + self._faces_in_doubt(side, cut)
            arcs = np.unique(np.concatenate([mine, *(t.piece for t in faces)]))
            if not len(arcs):
                continue
            children = self._cut(side, arcs)
            shares = children[np.searchsorted(arcs, mine)]
            new, partner = shares.ravel(), np.repeat(other, shares.shape[1])
            group, none = np.repeat(cut.group, shares.shape[1]), np.zeros(len(new))
            asked.append(Pairs(new, partner, group, none) if side == HERE else Pairs(partner, new, group, none))
            still += self._ask_faces_again(faces, arcs, children)
        return self._ask(self._within_stretches(Pairs.joined(asked))), still

    def _not_met(self, pairs: Pairs) -> Pairs:
        """Without those whose solids are known to meet."""
        met = self._best.met
        if not met or not len(pairs):
            return pairs
        p, q = self._sides
        keys = zip(
            pairs.group.tolist(), p.owner[pairs.i].tolist(), q.owner[pairs.j].tolist(), q.step[pairs.j].tolist(),
            strict=True,
        )  # fmt: skip
        return pairs.rows(np.array([Met(*key) not in met for key in keys], dtype=np.bool_))

    def _cut(self, side: int, arcs: Indices) -> Indices:
        """Adds the shares of the arcs, and the true lines between them; their numbers, a row an arc."""
        pieces, n = self._sides[side], len(arcs)
        shares, lines = finer(pieces.rows(arcs), _SHARES)
        start = len(pieces)
        self._sides[side] = Pieces.joined((pieces, shares, lines))
        share_rows = start + np.arange(n * _SHARES).reshape(n, _SHARES)
        line_rows = start + n * _SHARES + np.arange(n * (_SHARES - 1)).reshape(n, _SHARES - 1)
        return np.concatenate((share_rows, line_rows), axis=1)

    def _faces_in_doubt(self, side: int, cut: Pairs) -> list[FaceTask]:
        """The cut arcs against the faces of the plates whose sheets they may touch: a share may pass through them."""
        mine, other = (cut.i, cut.j) if side == HERE else (cut.j, cut.i)
        q = self._sides[1 - side]
        keys = np.stack((q.owner[other], q.step[other], mine, cut.group), axis=1)
        tasks = []
        for owner, step in np.unique(keys[:, :2], axis=0).tolist():
            faces = self._faces.get((1 - side, owner, step))
            if faces is not None:
                rows = np.unique(keys[(keys[:, 0] == owner) & (keys[:, 1] == step)], axis=0)
                tasks.append(FaceTask(faces, 1 - side, rows[:, 2], rows[:, 3]))
        return tasks

    def _ask_faces_again(self, faces: list[FaceTask], arcs: Indices, children: Indices) -> list[FaceTask]:
        """Faces against the shares of the arcs; what is still unsure, unless the solids are known to meet."""
        still = []
        for task in faces:
            finer_pieces = children[np.searchsorted(arcs, task.piece)]
            group = np.repeat(task.group, finer_pieces.shape[1])
            left = self._ask_faces(FaceTask(task.faces, task.side, finer_pieces.ravel(), group))
            open_ones = self._open(left)
            if len(open_ones.piece):
                still.append(open_ones)
        return still

    def _open(self, task: FaceTask) -> FaceTask:
        p, met = self._sides[1 - task.side], self._best.met
        chosen = []
        for at, group in zip(task.piece.tolist(), task.group.tolist(), strict=True):
            owners = (task.faces.owner, int(p.owner[at]))
            step = int(p.step[at]) if task.side == HERE else task.faces.step
            chosen.append(Met(group, *(owners if task.side == HERE else owners[::-1]), step) not in met)
        return FaceTask(task.faces, task.side, *(a[np.array(chosen, dtype=np.bool_)] for a in (task.piece, task.group)))


def _least_of_each(group: Indices, value: Floats, groups: int) -> Indices:
    """A row of each group that holds its least value."""
    least = np.full(groups, np.inf)
    np.minimum.at(least, group, value)
    rows = np.flatnonzero(value == least[group])
    _, first = np.unique(group[rows], return_index=True)
    return rows[first]
