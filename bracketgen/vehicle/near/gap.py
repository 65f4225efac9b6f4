"""The gap between solids in space, mm: the one door to the search for nearest points.

`gap` asks for two solids, `gaps` for many pairs. `Bodies` are solids made ready once, standing still or moved step by
step; `least_gaps` holds two such sets against each other, `gaps_at` one that stands still against solids at many poses.
True arcs count. A gap is never larger than the true one, and at most TOLERANCE_MM below it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bracketgen.geometry.arrays import Floats, Indices
from bracketgen.geometry.contour import ChainSet
from bracketgen.geometry.space import Frame, Vector, vector
from bracketgen.vehicle.near.convex import (
    MEETING_MM,
    SearchLimits,
    ball_bounds,
    distances,
    face_gaps,
    rough_depth,
    round_arc_distance,
    round_beside_arc,
    stretch_bound,
    way_out,
)
from bracketgen.vehicle.near.pieces import (
    Pieces,
    bow_plate,
    chains_of,
    counted,
    depth_behind_arc,
    dots,
    farthest,
    finer,
    lengths,
    pieces_of,
)
from bracketgen.vehicle.near.solids import Bow, Capsule, Drum, Gap3, Plate, Solid, Wall

#: Slack behind true arcs that no longer counts, mm.
TOLERANCE_MM = 1e-6
#: Bounds of one and the same distance differ by less than this, mm.
_NOISE_MM = 1e-9
#: An arc that decides is cut into so many.
_SHARES = 8
#: Enough to know roughly how near a pair is.
_FEW_ROUNDS = 5

_STILL = (Frame(),)


@dataclass(frozen=True, slots=True)
class Bodies:
    """Solids made ready to be asked. Piece rows of solid k are `order[start[k]:start[k + 1]]`, its faces among them.

    The rows of one piece follow each other, a row a step; from the middle step no place of the stretch that the piece
    lies around goes farther than `sway` (mm). `outlines` are those of flat metal and bends, by the number of the solid.
    """

    solids: tuple[Solid, ...]
    moves: tuple[Sequence[Frame], ...]
    pieces: Pieces
    order: Indices
    start: Indices
    steps: Indices
    sway: Floats
    outlines: Mapping[int, ChainSet]

    @staticmethod
    def of(solids: Sequence[Solid], moves: Sequence[Sequence[Frame]] | None = None) -> Bodies:
        """The solids where they are, or each at the steps of its own move (frames: where the outer frame goes)."""
        pieces = pieces_of(solids)
        if moves is not None:
            pieces = pieces.swept(moves)
        order = np.argsort(pieces.owner, kind="stable")
        start = np.searchsorted(pieces.owner[order], np.arange(len(solids) + 1))
        plates = ((k, bow_plate(s) if isinstance(s, Bow) else s) for k, s in enumerate(solids))
        outlines = {k: ChainSet(chains_of(s)) for k, s in plates if isinstance(s, Plate)}
        every = tuple(moves) if moves is not None else (_STILL,) * len(solids)
        steps = np.array([len(m) for m in every], dtype=np.intp)
        first = np.arange(len(pieces)) - pieces.step
        middle = first + steps[pieces.owner] // 2
        off = lengths(pieces.mid - pieces.mid[middle]) + lengths(pieces.stretch - pieces.stretch[middle])
        sway = np.zeros(len(pieces))
        np.maximum.at(sway, middle, off)
        return Bodies(tuple(solids), every, pieces, order, start, steps, sway, outlines)

    def hull(self, solid: int, step: int | None = None) -> Indices:
        """The pieces of a solid, at one step or at all; no faces."""
        rows = self.order[self.start[solid] : self.start[solid + 1]]
        mine = ~self.pieces.face[rows]
        return rows[mine if step is None else mine & (self.pieces.step[rows] == step)]


def gap(a: Solid, b: Solid) -> Gap3:
    """Distance and nearest points, `here` on a and `there` on b; mm.

    Where the solids meet, mm is 0 or less. Pipes and drums whose axis stays outside measure to their skin, as a bolt in
    its hole does. Else its amount is the length of a straight move that surely parts the two: for convex solids the
    shortest there is, to within a thousandth; for plates and bends one that parts their hulls. `here` and `there` are
    then one shared point, unless pipes measure to their skin.
    Two walls that are not parallel meet endlessly: mm is -inf.
    """
    return gaps(((a, b),))[0]


def gaps(pairs: Sequence[tuple[Solid, Solid]]) -> list[Gap3]:
    """The gap of each pair, as `gap`; many at once are quicker than one by one."""
    p, q = Bodies.of([a for a, _ in pairs]), Bodies.of([b for _, b in pairs])
    found = least_gaps(p, q, [(k, k, k) for k in range(len(pairs))], len(pairs))
    return [_between_walls(a, b) if g is None else g for g, (a, b) in zip(found, pairs, strict=True)]


def gaps_at(
    still: Bodies, solids: Sequence[Solid], poses: Sequence[Frame], *, depths: bool = True
) -> list[Gap3 | None]:
    """The gap between what stands still and solids given in each of the poses; None: there is nothing to measure."""
    going = Bodies.of(solids, [poses] * len(solids))
    pairs = [(i, j, 0) for j in range(len(solids)) for i in range(len(still.solids))]
    return least_gaps(still, going, pairs, len(poses), by_step=True, depths=depths)


def mm_at(still: Bodies, solids: Sequence[Solid], poses: Sequence[Frame], *, depths: bool) -> list[float]:
    """The gaps alone, mm, where there is something to measure: as `gaps_at`, and -inf where that says nothing."""
    return [-math.inf if g is None else g.mm for g in gaps_at(still, solids, poses, depths=depths)]


def least_gaps(
    p: Bodies, q: Bodies, pairs: Sequence[tuple[int, int, int]], groups: int, *, by_step: bool = False,
    depths: bool = True,
) -> list[Gap3 | None]:  # fmt: skip
    """The least gap of every group: None where there is nothing to measure, as between two walls.

    A pair holds a solid of p against one of q at all steps, for a group; `by_step` each step k for the group k further.
    Only solids of q may move. Where solids of a group meet in several places the deepest counts, by a rough measure.
    With `depths` left out solids whose cores meet are -inf apart, which is quicker.
    """
    asked = np.array(pairs, dtype=np.intp).reshape(-1, 3)
    search = _Search(p, q, groups)
    search.run(_piece_pairs(p, q, asked), by_step)
    _ask_walls(search, asked, by_step)
    _measure_met(search, depths)
    return [
        None if math.isnan(mm) or mm == math.inf else Gap3(mm, vector(here), vector(there))
        for mm, here, there in zip(search.mm.tolist(), search.here, search.there, strict=True)
    ]


def _between_walls(a: Solid, b: Solid) -> Gap3:
    assert isinstance(a, Wall) and isinstance(b, Wall)
    n, m = np.array(a.normal), np.array(b.normal)
    if float(np.linalg.norm(n + m)) > 1e-12:
        return Gap3(-math.inf, a.point, a.point)
    mm = float(n @ (np.array(b.point) - np.array(a.point)))
    return Gap3(mm, a.point, vector(np.array(a.point) + n * mm))


def _piece_pairs(p: Bodies, q: Bodies, asked: Indices) -> Indices:
    """Each piece of the one solid with each of the other at its middle step: rows of piece, piece, group."""
    here, there, group = asked.T
    wide = np.diff(q.start)[there] // np.maximum(q.steps[there], 1)
    sizes = np.diff(p.start)[here] * wide
    a = np.repeat(np.arange(len(asked)), sizes)
    down, across = np.divmod(counted(sizes), wide[a])
    steps = q.steps[there[a]]
    i, j = p.order[p.start[here[a]] + down], q.order[q.start[there[a]] + across * steps + steps // 2]
    found = np.stack((i, j, group[a]), axis=1)
    return found[~(p.pieces.face[i] & q.pieces.face[j])] if p.outlines and q.outlines else found


class _Search:
    """The nearest of every group among pairs of pieces, by bounds first and exact distances after.

    Hulls of arcs reach behind the true arc; where such a hull decides, it is cut finer until the slack no longer
    counts. Pairs are rows of a piece of p, a piece of q and a group.
    """

    def __init__(self, p: Bodies, q: Bodies, groups: int) -> None:
        self.bodies = (p, q)
        self._sides = [p.pieces, q.pieces]
        #: The row of the faces of (owner, step), on either side.
        self._faces = [{(int(s.owner[k]), int(s.step[k])): int(k) for k in np.flatnonzero(s.face)} for s in self._sides]
        self.mm, self.here, self.there = np.full(groups, np.inf), np.zeros((groups, 3)), np.zeros((groups, 3))
        #: Group, solid of p, solid of q and step of those whose cores meet, and a point in both.
        self.met: dict[tuple[int, int, int, int], Floats] = {}
        self._limit = np.full(groups, np.inf)
        self._way = np.zeros((groups, 3))

    def run(self, pairs: Indices, by_step: bool) -> None:
        """Finds the nearest of every group, from pairs at the middle step; `by_step`: step k for the group k further.

        What sways too little to come near at any step is told off at once.
        """
        if by_step:
            pairs = self._at_all_steps(pairs, by_step)
        p, q = self._sides
        below, above = ball_bounds(p, pairs[:, 0], q, pairs[:, 1])
        np.minimum.at(self._limit, pairs[:, 2], above)
        self._try_out(pairs[_least_of_each(pairs[:, 2], above, len(self._limit))])
        if not by_step:
            pairs = self._at_all_steps(self._within_stretches(pairs, self.bodies[1].sway[pairs[:, 1]]), by_step)
            below = ball_bounds(p, pairs[:, 0], q, pairs[:, 1])[0]
        pairs = pairs[below <= self._reach(pairs[:, 2])]
        pairs, unsure = self._ask_faces(self._within_stretches(pairs))
        pending = np.concatenate((self._ask(self._settle_round_ones(pairs)), unsure))
        while len(pending):
            pending = self._cut_finer(pending)

    def _at_all_steps(self, pairs: Indices, by_step: bool) -> Indices:
        steps = self.bodies[1].steps[self._sides[1].owner[pairs[:, 1]]]
        step = counted(steps)
        pairs = np.repeat(pairs, steps, axis=0)
        pairs[:, 1] += step - np.repeat(steps // 2, steps)
        pairs[:, 2] += step * by_step
        return pairs

    def offer(self, group: Indices, mm: Floats, here: Floats, there: Floats) -> None:
        """Keeps what is nearer than what is known; of equals the first."""
        rows = np.lexsort((mm, group))
        first = np.ones(len(rows), dtype=np.bool_)
        first[1:] = group[rows][1:] != group[rows][:-1]
        rows = rows[first]
        rows = rows[mm[rows] < self.mm[group[rows]]]
        g = group[rows]
        self.mm[g], self.here[g], self.there[g] = mm[rows], here[rows], there[rows]

    # -- bounds

    def _reach(self, group: Indices) -> Floats:
        """Pairs farther apart are of no interest; pairs that may meet always are.

        A bound from below and one from above may both be the distance itself: noise must not lose the pair.
        """
        reach: Floats = np.maximum(self._limit[group], 0.0) + _NOISE_MM
        return reach

    def _within_stretches(self, pairs: Indices, sway_mm: Floats | float = 0.0) -> Indices:
        below = stretch_bound(self._sides[0], pairs[:, 0], self._sides[1], pairs[:, 1]) - sway_mm
        return pairs[below <= self._reach(pairs[:, 2])]

    # -- answers that need no search

    def _ask_faces(self, pairs: Indices) -> tuple[Indices, Indices]:
        """Takes what faces decide; gives back the pairs without a face, and those that faces leave unsure."""
        of_faces = [self._sides[side].face[pairs[:, side]] for side in (0, 1)]
        unsure = [pairs[:0]]
        for side in (0, 1):
            some = pairs[of_faces[side]]
            if not len(some):
                continue
            faces, p, at = self._sides[side], self._sides[1 - side], some[:, 1 - side]
            most = self._reach(some[:, 2]) + p.radius[at]
            found = face_gaps(faces, some[:, side], self.bodies[side].outlines, p, at, most)
            some = some[found.row]
            sure = ~found.unsure | (p.slack[some[:, 1 - side]] <= TOLERANCE_MM)
            points = (found.on_face[sure], found.on_piece[sure])
            self._take(some[sure], found.mm[sure], *(points if side == 0 else points[::-1]))
            unsure.append(some[~sure])
        return pairs[~(of_faces[0] | of_faces[1])], np.concatenate(unsure)

    def _settle_round_ones(self, pairs: Indices) -> Indices:
        """Takes drums and pipes along arcs; gives back the others."""
        for side in (0, 1):
            p, q = self._sides[side], self._sides[1 - side]
            beside = round_beside_arc(p, pairs[:, side], q, pairs[:, 1 - side])
            if beside.any():
                some = pairs[beside]
                core, here, there = round_arc_distance(p, some[:, side], q, some[:, 1 - side])
                self._take(some, core, *((here, there) if side == 0 else (there, here)))
                pairs = pairs[~beside]
        return pairs

    # -- answers by search

    def _try_out(self, pairs: Indices) -> None:
        """A few rounds for one likely pair of each group, to know early what is near and which way."""
        p, q = self._sides
        i, j, group = pairs.T
        d = distances(p, i, q, j, self._ways(pairs), most_rounds=_FEW_ROUNDS)
        behind = self._behind(pairs, d.above, d.here, d.there)
        np.minimum.at(self._limit, group, d.above + behind - p.radius[i] - q.radius[j])
        self._way[group] = d.there - d.here

    def _ask(self, pairs: Indices) -> Indices:
        """Takes the distances that are sure; gives back the pairs of which an arc has to be cut finer."""
        p, q = self._sides
        i, j, group = pairs.T
        limits = SearchLimits(group, self._limit, p.radius[i] + q.radius[j], p.slack[i] + q.slack[j])
        d = distances(p, i, q, j, self._ways(pairs), limits)
        known = np.isfinite(d.above)
        pairs, core, here, there = pairs[known], d.above[known], d.here[known], d.there[known]
        rounds, below = limits.rounds[known], d.below[known]
        behind = self._behind(pairs, core, here, there)
        np.minimum.at(self._limit, pairs[:, 2], core + behind - rounds)
        sure = behind <= TOLERANCE_MM
        self._take(pairs[sure], core[sure], here[sure], there[sure])
        pairs, below = pairs[~sure], (below - rounds)[~sure]
        # What is sure already, and as near as the slack that no longer counts, need not be found once more.
        group = pairs[:, 2]
        return pairs[((below < self.mm[group] - TOLERANCE_MM) & (below <= self._reach(group))) | (below <= 0)]

    def _behind(self, pairs: Indices, core: Floats, here: Floats, there: Floats) -> Floats:
        """How far the points found lie behind true arcs; where the hulls meet, all that they may."""
        p, q = self._sides
        i, j = pairs[:, 0], pairs[:, 1]
        most = p.slack[i] + q.slack[j]
        return np.where(core <= 0, most, depth_behind_arc(p, i, here) + depth_behind_arc(q, j, there))

    def _ways(self, pairs: Indices) -> Floats:
        """What parts the nearest pair of the group parts most of the others too; else from middle to middle."""
        way = self._way[pairs[:, 2]]
        unknown = (way == 0).all(axis=1)
        way[unknown] = (self._sides[1].mid[pairs[:, 1]] - self._sides[0].mid[pairs[:, 0]])[unknown]
        way[(way == 0).all(axis=1), 2] = 1.0
        return way

    def _take(self, pairs: Indices, core: Floats, here: Floats, there: Floats) -> None:
        """Core distances and core points that are sure."""
        if not len(pairs):
            return
        p, q = self._sides
        i, j, group = pairs.T
        apart = core > MEETING_MM
        for k in np.flatnonzero(~apart).tolist():
            self.met.setdefault(self._key(pairs[k]), (here[k] + there[k]) / 2)
        unit = (there - here) / np.where(apart, core, 1.0)[:, None]
        mm = core - p.radius[i] - q.radius[j]
        on_p, on_q = here + unit * p.radius[i][:, None], there - unit * q.radius[j][:, None]
        self.offer(group[apart], mm[apart], on_p[apart], on_q[apart])
        np.minimum.at(self._limit, group, mm)
        group = np.unique(group[apart])
        group = group[self.mm[group] > 0]
        self._way[group] = (self.there - self.here)[group]

    def _key(self, pair: Indices) -> tuple[int, int, int, int]:
        i, j, group = pair.tolist()
        p, q = self._sides
        return group, int(p.owner[i]), int(q.owner[j]), int(q.step[j])

    # -- arcs that decide

    def _cut_finer(self, pending: Indices) -> Indices:
        """Cuts the arcs that left something open, unless the solids are known to meet, and asks again."""
        if self.met:
            pending = pending[np.array([self._key(k) not in self.met for k in pending], dtype=np.bool_)]
        p, q = self._sides
        coarse = p.slack[pending[:, 0]] >= q.slack[pending[:, 1]]
        asked = [self._cut(side, pending[coarse == (side == 0)]) for side in (0, 1)]
        pairs, unsure = self._ask_faces(self._within_stretches(np.concatenate(asked)))
        return np.concatenate((self._ask(pairs), unsure))

    def _cut(self, side: int, pairs: Indices) -> Indices:
        """The pairs with shares in place of their arcs on one side, and these with faces; adds them to the pieces.

        A share may pass through the faces of a plate whose sheets the whole arc met.
        """
        if not len(pairs):
            return pairs
        other, at = self._sides[1 - side], pairs[:, 1 - side]
        solids = zip(other.owner[at].tolist(), other.step[at].tolist(), strict=True)
        faces = np.array([self._faces[1 - side].get(solid, -1) for solid in solids], dtype=np.intp)
        with_faces = pairs[faces >= 0]
        with_faces[:, 1 - side] = faces[faces >= 0]
        pairs = np.unique(np.concatenate((pairs, with_faces)), axis=0)
        arcs = np.unique(pairs[:, side])
        children, numbers = finer(self._sides[side].rows(arcs), _SHARES)
        numbers = numbers + len(self._sides[side])
        self._sides[side] = Pieces.joined((self._sides[side], children))
        new = np.repeat(pairs, numbers.shape[1], axis=0)
        new[:, side] = numbers[np.searchsorted(arcs, pairs[:, side])].ravel()
        return new


def _least_of_each(group: Indices, value: Floats, groups: int) -> Indices:
    """A row of each group that holds its least value, if it has one."""
    least = np.full(groups, np.inf)
    np.minimum.at(least, group, value)
    rows = np.flatnonzero((value == least[group]) & np.isfinite(value))
    return rows[np.unique(group[rows], return_index=True)[1]]


# -- walls: the farthest point toward them decides, in front of them or behind


def _ask_walls(search: _Search, asked: Indices, by_step: bool) -> None:
    p, q = search.bodies
    planes = {j: np.array([(f.point(w.point), f.direction(w.normal)) for f in q.moves[j]])
              for j, w in enumerate(q.solids) if isinstance(w, Wall)}  # fmt: skip
    for i, j, group in asked.tolist():
        here = p.solids[i]
        if isinstance(here, Wall) == (j in planes):
            continue
        if isinstance(here, Wall):
            at, pieces, plane = q.hull(j), q.pieces, np.array([(here.point, here.normal)] * q.steps[j])
            step = pieces.step[at]
        else:
            one, pieces, plane = p.hull(i), p.pieces, planes[j]
            at, step = np.tile(one, len(plane)), np.repeat(np.arange(len(plane)), len(one))
        point, normal = plane[step].swapaxes(0, 1)
        on_piece = farthest(pieces, at, -normal) - normal * pieces.radius[at][:, None]
        mm = dots(on_piece - point, normal)
        ends = on_piece, on_piece - normal * mm[:, None]
        if isinstance(here, Wall):
            ends = ends[::-1]
        search.offer(group + step * by_step, mm, *ends)


# -- solids whose cores meet


def _measure_met(search: _Search, depths: bool) -> None:
    """Where cores meet, the length of the shortest known way out, taken negative, is the gap."""
    groups: dict[int, list[tuple[int, int, int, int]]] = {}
    for key in search.met:
        groups.setdefault(key[0], []).append(key)
    p, q = search.bodies
    for group, keys in groups.items():
        mm, deepest = -math.inf, keys[0]
        if depths:
            hulls = {k: (p.pieces.rows(p.hull(k[1])), q.pieces.rows(q.hull(k[2], k[3]))) for k in keys}
            deepest = keys[0] if len(keys) == 1 else max(keys, key=lambda k: rough_depth(*hulls[k]))
            _, i, j, step = deepest
            depth = max(way_out(*hulls[deepest])[1], 0.0)
            mm = -min(depth, _depth_of_skin(p.solids[i], q.solids[j], q.moves[j][step])) + 0.0
        if mm <= search.mm[group]:
            search.mm[group] = mm
            search.here[group] = search.there[group] = search.met[deepest]


def _depth_of_skin(a: Solid, b: Solid, move: Frame) -> float:
    """Drums taken as pipes: how deep the skin is in, while the axis stays outside; else infinite."""
    found = _skins(a, b, move) if isinstance(a, Drum) or isinstance(b, Drum) else None
    return -found.mm if found is not None else math.inf


def _skins(a: Solid, b: Solid, move: Frame) -> Gap3 | None:
    """The gap of both with drums taken as pipes; -inf where an axis is inside."""
    pipes = [Capsule(s.a, s.b, s.radius) if isinstance(s, Drum) else s for s in (a, b)]
    return gaps_at(Bodies.of(pipes[:1]), pipes[1:], (move,), depths=False)[0]


def ways_apart(a: Solid, b: Solid) -> list[Vector]:
    """Straight moves of a, mm, that may part it from b where the two meet: off the skin or wall that it is in, and out
    of b's hull. None of them is checked against the ends of a pipe or drum, or against anything else.
    """
    found: list[Vector] = []
    wall = isinstance(a, Wall) or isinstance(b, Wall)
    skins = gap(a, b) if wall else _skins(a, b, Frame())
    if skins is not None and -math.inf < skins.mm < 0.0:
        found.append(vector(np.array(skins.there) - np.array(skins.here)))
    if not wall:
        p, q = Bodies.of([a]), Bodies.of([b])
        way, mm = way_out(p.pieces.rows(p.hull(0)), q.pieces.rows(q.hull(0)))
        found.append(vector(-way * max(mm, 0.0)))
    return found
