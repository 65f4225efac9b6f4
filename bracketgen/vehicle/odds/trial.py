"""Every build held against its mates, ready to be asked again with other holes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Bools, Floats, Indices
from bracketgen.vehicle.odds.bolting import BoltPlay, bolt_up, eased, goes_in
from bracketgen.vehicle.odds.draws import Cause, Draws, across_axes
from bracketgen.vehicle.seating.bolts import Placed

#: Turns that move no bolt by more than this share of the usual are not used to bring bolts in: where all bolts lie
#: in one line the part would have to swing about it.
_LEAST_USE: Final = 0.02
#: Times that the part is brought to its mates with the turns of the step before taken in full.
_APPROACHES: Final = 3
_LEAST_PLAY_MM: Final = 0.05
#: Times that slots are turned along with the part as it was found to lie.
_SLOT_TURNS: Final = 4
#: Share of a slot's length by which its turning may help; builds farther from fitting are given up at once.
_SWAY: Final = 0.2
_FIRST_STEPS: Final = 6
_EASING_STEPS: Final = 2
#: Weight of a bolt that is to have no say in how the part lies.
_NO_SAY: Final = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class HolePlay:
    """What the holes of n bolts forgive, mm: `play` (n,) to every side, `slot` (n,) more along `way` (n, 3, unit)."""

    play: Floats
    slot: Floats
    way: Floats
    pull_up_mm: float

    def freed(self, bolt: int, play_mm: float) -> HolePlay:
        """One bolt with more play to every side."""
        play = self.play.copy()
        play[bolt] += play_mm
        return replace(self, play=play)

    def slotted(self, bolt: int, slot_mm: float, way: Floats) -> HolePlay:
        """One bolt with a slot that gives `slot_mm` more to both sides along a direction."""
        slot, ways = self.slot.copy(), self.way.copy()
        slot[bolt], ways[bolt] = slot_mm, way
        return replace(self, slot=slot, way=ways)


def holes_as_drawn(placed: Placed, pull_up_mm: float) -> HolePlay:
    """What the part's holes forgive as they are."""
    ways = [
        across_axes(np.array(b.axis), None if b.slot_axis is None else np.array(b.slot_axis))[0] for b in placed.bolts
    ]
    return HolePlay(
        np.array([b.play_mm for b in placed.bolts]),
        np.array([b.slot_play_mm for b in placed.bolts]),
        np.array(ways),
        pull_up_mm,
    )


@dataclass(frozen=True, slots=True, eq=False)
class BoltGroup:
    """Bolts that one rigid thing is held by: all on old holes, or all on the carried thing.

    `moves` are the shifts and turns that matter, columns of (shift, turn), the turn about `centre` in radians.
    """

    bolts: Indices
    centre: Floats
    moves: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Builds:
    """b builds with the part brought to its mates, all in the site's frame, mm.

    The part's holes lie `at` (b, n, 3), their mates at `mates` (b, n, 3), both wanted at `places` (n, 3); `play` (b, n)
    is what half a diameter came out larger. `spin` (b, n) is how far bringing it there turned the part about each
    bolt's axis, radians: its slots turn along.
    """

    groups: tuple[BoltGroup, ...]
    places: Floats
    axes: Floats
    at: Floats
    mates: Floats
    play: Floats
    spin: Floats

    def fits(self, holes: HolePlay, rows: Indices | None = None, rough: bool = False) -> tuple[Bools, int]:
        """Which builds (of some rows) bolt up, and how many stayed undecided.

        `rough` is good enough to compare: slots stay turned as they were when the part was brought to its mates.
        """
        chosen = np.arange(len(self.at)) if rows is None else rows
        good = np.ones(len(chosen), dtype=np.bool_)
        unsure = 0
        for group in self.groups:
            some = np.flatnonzero(good)
            found, undecided = self._group_fits(group, holes, chosen[some], rough)
            good[some] = found
            unsure += undecided
        return good, unsure

    def alone(self, bolt: int, holes: HolePlay, rows: Indices) -> Floats:
        """Misfit of one bolt, (rows, 3) in the site's frame, where the other bolts say how the part lies."""
        group = next(j for j in self.groups if bolt in j.bolts)
        which, local = group.bolts, self._local(group, holes)
        weight = _weights(which, holes)
        weight[np.repeat(which == bolt, 3)] *= _NO_SAY
        moved = _best_moves(self.places, group, local, weight)
        off = (self.at - self.mates)[np.ix_(rows, which)]
        misfit = np.einsum("nij,bnj->bni", local, off).reshape(len(rows), -1)
        shift = _moved(np.broadcast_to(self.places[bolt], (len(rows), 1, 3)), misfit @ moved.T, group.centre)
        alone: Floats = (self.at - self.mates)[rows, bolt] + shift[:, 0] - self.places[bolt]
        return alone

    def _local(self, group: BoltGroup, holes: HolePlay) -> Floats:
        return np.array([across_axes(self.axes[n], holes.way[n]) for n in group.bolts])

    def _group_fits(self, group: BoltGroup, holes: HolePlay, rows: Indices, rough: bool) -> tuple[Bools, int]:
        which, local = group.bolts, self._local(group, holes)
        some = np.ix_(rows, which)
        pull = np.full(len(which), holes.pull_up_mm)
        room = BoltPlay(holes.play[which] + self.play[some], holes.slot[which], pull, self.spin[some])
        question = _GroupFit(group, local, self.places[which], self.mates[some], room)
        if room.slot.any() and not rough:
            return question.with_slots_turned(self.at[some])
        verdict = bolt_up(question.misfit(self.at[some]), question.moved_by(), room)
        return verdict.fits, int((~verdict.decided).sum())


@dataclass(frozen=True, slots=True, eq=False)
class _GroupFit:
    """Whether one joint's bolts go in, in b builds: local axes (n, 3, 3), places as wanted (n, 3), mates (b, n, 3)."""

    group: BoltGroup
    local: Floats
    places: Floats
    mates: Floats
    room: BoltPlay

    def misfit(self, at: Floats) -> Floats:
        """Misfits in local axes of holes that lie at `at`, (b, n, 3)."""
        local: Floats = np.einsum("nij,bnj->bni", self.local, at - self.mates)
        return local

    def moved_by(self) -> Floats:
        """How the joint's moves change the misfits, (3 n, m)."""
        return reach(self.places - self.group.centre, self.local) @ self.group.moves

    def moved_by_about_bolts(self) -> Floats:
        """The same for each build, (b, 3 n, m), as seen along the slots: a slot turns about its bolt, not its middle.

        Heights of the bolts stay as wanted: the part lies flat on its faces.
        """
        off = self.mates - self.places
        axis = self.local[:, 2]
        off = off - np.einsum("bnk,nk->bn", off, axis)[..., None] * axis
        arms = self.places - self.group.centre + off * (self.room.slot > 0)[:, None]
        turns = np.cross(arms[:, :, None, :], self.local[None])
        shifts = np.broadcast_to(self.local, turns.shape)
        moves: Floats = (
            np.concatenate([shifts, turns], axis=3).reshape(len(off), 3 * len(self.places), 6) @ self.group.moves
        )
        return moves

    def only(self, rows: Bools) -> _GroupFit:
        """The same of some builds."""
        return replace(self, mates=self.mates[rows], room=self.room.only(rows))

    def moved(self, at: Floats, moves: Floats) -> tuple[_GroupFit, Floats]:
        """The question and the holes' places once the part is moved, its turns taken in full."""
        spin = self.room.spin + moves @ (self.local[:, 2] @ self.group.moves[3:]).T
        placed = _moved(at, moves @ self.group.moves.T, self.group.centre)
        return replace(self, room=replace(self.room, spin=spin)), placed

    def with_slots_turned(self, at: Floats) -> tuple[Bools, int]:
        """Which builds bolt up when slots turn along with the part, and how many stayed undecided.

        What is far from fitting is given up at once; the others are eased, moved in full, and eased again.
        """
        sway_mm = _SWAY * float(self.room.slot.max())
        verdict = bolt_up(self.misfit(at), self.moved_by(), self.room, sway_mm, _FIRST_STEPS)
        good, hopeful = np.zeros(len(at), dtype=np.bool_), verdict.fits | ~verdict.decided
        question, at = self.moved(at, verdict.moves)
        question, at, rows = question.only(hopeful), at[hopeful], np.flatnonzero(hopeful)
        for _ in range(_SLOT_TURNS):
            inside = goes_in(question.misfit(at), question.room)
            good[rows[inside]] = True
            question, at, rows = question.only(~inside), at[~inside], rows[~inside]
            moves = eased(question.misfit(at), question.moved_by_about_bolts(), question.room, _EASING_STEPS)
            question, at = question.moved(at, moves)
        last = bolt_up(question.misfit(at), question.moved_by(), question.room)
        good[rows] = last.fits
        return good, int((~last.decided).sum())


def reach(arms: Floats, axes: Floats) -> Floats:
    """How shifts and small turns (rad) of a body move n points along their local axes, (3 n, 6)."""
    turns = np.cross(arms[:, None, :], axes)
    return np.concatenate([axes, turns], axis=2).reshape(-1, 6)


def hold(placed: Placed, draws: Draws, holes: HolePlay, without: Cause | None = None) -> Builds:
    """Bring every build to its mates, all bolts pulled alike, turns taken in full."""
    parts, mates, play = draws.holes(without)
    axes = np.array([b.axis for b in placed.bolts])
    at, spin = parts.copy(), np.zeros(play.shape)
    groups = []
    for of_site in (True, False):
        which = np.flatnonzero([b.to_carried is not of_site for b in placed.bolts])
        if len(which):
            groups.append(_bolt_group(which, draws.wanted))
            brought = _brought(groups[-1], parts[:, which], mates[:, which], axes, holes, draws.wanted)
            at[:, which], spin[:, which] = brought
    return Builds(tuple(groups), draws.wanted, axes, at, mates, play, spin)


def _bolt_group(which: Indices, places: Floats) -> BoltGroup:
    centre = places[which].mean(axis=0)
    arms = places[which] - centre
    size = max(float(np.sqrt((arms**2).sum(axis=1).mean())), 1.0)
    plain = np.broadcast_to(np.eye(3), (len(which), 3, 3))
    unit = np.diag([1.0, 1.0, 1.0, 1.0 / size, 1.0 / size, 1.0 / size])
    _, strength, moves = np.linalg.svd(reach(arms, plain) @ unit, full_matrices=False)
    return BoltGroup(which, centre, unit @ moves[strength > _LEAST_USE * strength[0]].T)


def _weights(which: Indices, holes: HolePlay) -> Floats:
    """Least squares in units of what each bolt is forgiven: along its slot, across it, along the bolt; (3 n,)."""
    across = 1.0 / np.maximum(holes.play[which], _LEAST_PLAY_MM)
    along_slot = 1.0 / np.maximum(holes.play[which] + holes.slot[which], _LEAST_PLAY_MM)
    axial = np.full(len(which), 1.0 / max(holes.pull_up_mm, _LEAST_PLAY_MM))
    return np.stack([along_slot, across, axial], axis=1).reshape(-1)


def _best_moves(places: Floats, group: BoltGroup, local: Floats, weight: Floats) -> Floats:
    """From local misfits (3 n,) to the move (6,) that makes them least."""
    effect = weight[:, None] * (reach(places[group.bolts] - group.centre, local) @ group.moves)
    best: Floats = -group.moves @ np.linalg.pinv(effect, rcond=1e-6) * weight
    return best


def _brought(
    group: BoltGroup, parts: Floats, mates: Floats, axes: Floats, holes: HolePlay, places: Floats
) -> tuple[Floats, Floats]:
    """Holes (b, n, 3) in the site's frame and turns about the bolts (b, n) after the moves best by least squares."""
    local = np.array([across_axes(axes[n], holes.way[n]) for n in group.bolts])
    best = _best_moves(places, group, local, _weights(group.bolts, holes))
    at, turn = parts, np.zeros((len(parts), 3))
    for _ in range(_APPROACHES):
        move = np.einsum("nij,bnj->bni", local, at - mates).reshape(len(at), -1) @ best.T
        at = _moved(at, move, group.centre)
        # Every turn after the first is small enough to be added.
        turn += move[:, 3:]
    return at, turn @ local[:, 2].T


def _moved(points: Floats, move: Floats, centre: Floats) -> Floats:
    """Points (b, n, 3) of each build turned in full about `centre` and shifted; move (b, 6)."""
    turn = move[:, None, 3:]
    angle = np.linalg.norm(turn, axis=2, keepdims=True)
    axis = turn / np.maximum(angle, 1e-300)
    arm = points - centre
    along = axis * np.einsum("bnk,bnk->bn", np.broadcast_to(axis, arm.shape), arm)[..., None]
    turned = np.cos(angle) * (arm - along) + np.sin(angle) * np.cross(axis, arm) + along
    moved: Floats = centre + turned + move[:, None, :3]
    return moved
