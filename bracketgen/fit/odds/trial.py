"""Every build held against its mates, ready to be asked again with other holes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.fit.odds.bolting import Room, bolt_up
from bracketgen.fit.odds.draws import Cause, Draws, across_axes, is_old
from bracketgen.fit.seating.placed import Placed

Floats = npt.NDArray[np.float64]
Truths = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.intp]

#: Turns that move no bolt by more than this share of the usual are not used to bring bolts in: where all bolts lie
#: in one line the part would have to swing about it.
_LEAST_USE: Final = 0.02
#: Times that the part is brought to its mates with the turns of the step before taken in full.
_APPROACHES: Final = 3
_LEAST_PLAY_MM: Final = 0.05
#: Times that slots are turned along with the part as it was found to lie: to answer, and to compare.
SLOT_TURNS: Final = 4
ROUGH_SLOT_TURNS: Final = 1
#: Slots whose ends move by less count as turned along.
_SETTLED_MM: Final = 0.01
#: Weight of a bolt that is to have no say in how the part lies.
_NO_SAY: Final = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class Holes:
    """What the holes of n bolts forgive, mm: `play` (n,) to every side, `slot` (n,) more along `way` (n, 3, unit)."""

    play: Floats
    slot: Floats
    way: Floats
    pull_up_mm: float

    def freed(self, bolt: int, play_mm: float) -> Holes:
        """One bolt with more play to every side."""
        play = self.play.copy()
        play[bolt] += play_mm
        return replace(self, play=play)

    def slotted(self, bolt: int, slot_mm: float, way: Floats) -> Holes:
        """One bolt with a slot that gives `slot_mm` more to both sides along a direction."""
        slot, ways = self.slot.copy(), self.way.copy()
        slot[bolt], ways[bolt] = slot_mm, way
        return replace(self, slot=slot, way=ways)


def holes_as_drawn(placed: Placed, pull_up_mm: float) -> Holes:
    """What the part's holes forgive as they are."""
    ways = [
        across_axes(np.array(b.axis), None if b.slot_axis is None else np.array(b.slot_axis))[0] for b in placed.bolts
    ]
    return Holes(
        np.array([b.play_mm for b in placed.bolts]),
        np.array([b.slot_play_mm for b in placed.bolts]),
        np.array(ways),
        pull_up_mm,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Joint:
    """Bolts that one rigid thing is held by: all on old holes, or all on the carried thing.

    `moves` are the shifts and turns that matter, columns of (shift, turn), the turn about `centre` in radians.
    """

    bolts: Rows
    centre: Floats
    moves: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """b builds with the part brought to its mates: `misfit` (b, n, 3) in the site's frame and `play` changes, mm.

    `spin` (b, n) is how far bringing it there turned the part about each bolt's axis, radians: its slots turn along.
    """

    joints: tuple[Joint, ...]
    places: Floats
    axes: Floats
    misfit: Floats
    play: Floats
    spin: Floats

    def fits(self, holes: Holes, rows: Rows | None = None, slot_turns: int = SLOT_TURNS) -> tuple[Truths, int]:
        """Which builds (of some rows) bolt up, and how many stayed undecided."""
        chosen = np.arange(len(self.misfit)) if rows is None else rows
        good = np.ones(len(chosen), dtype=np.bool_)
        unsure = 0
        for joint in self.joints:
            some = np.flatnonzero(good)
            found, undecided = self._joint_fits(joint, holes, chosen[some], slot_turns)
            good[some] = found
            unsure += undecided
        return good, unsure

    def alone(self, bolt: int, holes: Holes, rows: Rows) -> Floats:
        """Misfit of one bolt, (rows, 3) in the site's frame, where the other bolts say how the part lies."""
        joint = next(j for j in self.joints if bolt in j.bolts)
        which, local = joint.bolts, self._local(joint, holes)
        weight = _weights(which, holes)
        weight[np.repeat(which == bolt, 3)] *= _NO_SAY
        moved = _best_moves(self.places, joint, local, weight)
        misfit = np.einsum("nij,bnj->bni", local, self.misfit[np.ix_(rows, which)]).reshape(len(rows), -1)
        shift = _moved(np.broadcast_to(self.places[bolt], (len(rows), 1, 3)), misfit @ moved.T, joint.centre)
        alone: Floats = self.misfit[rows, bolt] + shift[:, 0] - self.places[bolt]
        return alone

    def _local(self, joint: Joint, holes: Holes) -> Floats:
        return np.array([across_axes(self.axes[n], holes.way[n]) for n in joint.bolts])

    def _joint_fits(self, joint: Joint, holes: Holes, rows: Rows, slot_turns: int) -> tuple[Truths, int]:
        which, local = joint.bolts, self._local(joint, holes)
        some = np.ix_(rows, which)
        start = np.einsum("nij,bnj->bni", local, self.misfit[some])
        moved_by = reach(self.places[which] - joint.centre, local) @ joint.moves
        pull = np.full(len(which), holes.pull_up_mm)
        room = Room(holes.play[which] + self.play[some], holes.slot[which], pull, self.spin[some])
        turns = slot_turns if room.slot.any() else 0
        return _with_slots_turned(start, moved_by, room, local[:, 2] @ joint.moves[3:], turns)


def _with_slots_turned(
    start: Floats, moved_by: Floats, room: Room, turned_by: Floats, turns: int
) -> tuple[Truths, int]:
    """Which builds bolt up when slots turn along with the part: asked again from where the part was found to lie.

    `turned_by` (n, m) is how the moves turn the part about each bolt, radians.
    """
    good, unsure = np.zeros(len(start), dtype=np.bool_), 0
    rows = np.arange(len(start))
    for turns_left in range(turns, -1, -1):
        verdict = bolt_up(start, moved_by, room)
        spin = verdict.moves @ turned_by.T
        again = (np.abs(spin * room.slot).max(axis=1) > _SETTLED_MM) & (turns_left > 0)
        good[rows[~again]] = verdict.fits[~again]
        unsure += int((~verdict.decided[~again]).sum())
        rows, start = rows[again], verdict.misfit[again]
        room = replace(room.only(again), spin=room.spin[again] + spin[again])
        if not len(rows):
            break
    return good, unsure


def reach(arms: Floats, axes: Floats) -> Floats:
    """How shifts and small turns (rad) of a body move n points along their local axes, (3 n, 6)."""
    turns = np.cross(arms[:, None, :], axes)
    return np.concatenate([axes, turns], axis=2).reshape(-1, 6)


def hold(placed: Placed, draws: Draws, holes: Holes, without: Cause | None = None) -> Held:
    """Bring every build to its mates, all bolts pulled alike, turns taken in full."""
    parts, mates, play = draws.holes(without)
    axes = np.array([b.axis for b in placed.bolts])
    misfit, spin = parts - mates, np.zeros(play.shape)
    joints = []
    for of_site in (True, False):
        which = np.flatnonzero([is_old(b) is of_site for b in placed.bolts])
        if len(which):
            joints.append(_joint(which, draws.wanted))
            brought = _brought(joints[-1], parts[:, which], mates[:, which], axes, holes, draws.wanted)
            misfit[:, which], spin[:, which] = brought
    return Held(tuple(joints), draws.wanted, axes, misfit, play, spin)


def _joint(which: Rows, places: Floats) -> Joint:
    centre = places[which].mean(axis=0)
    arms = places[which] - centre
    size = max(float(np.sqrt((arms**2).sum(axis=1).mean())), 1.0)
    plain = np.broadcast_to(np.eye(3), (len(which), 3, 3))
    unit = np.diag([1.0, 1.0, 1.0, 1.0 / size, 1.0 / size, 1.0 / size])
    _, strength, moves = np.linalg.svd(reach(arms, plain) @ unit, full_matrices=False)
    return Joint(which, centre, unit @ moves[strength > _LEAST_USE * strength[0]].T)


def _weights(which: Rows, holes: Holes) -> Floats:
    """Least squares in units of what each bolt is forgiven: along its slot, across it, along the bolt; (3 n,)."""
    across = 1.0 / np.maximum(holes.play[which], _LEAST_PLAY_MM)
    along_slot = 1.0 / np.maximum(holes.play[which] + holes.slot[which], _LEAST_PLAY_MM)
    axial = np.full(len(which), 1.0 / max(holes.pull_up_mm, _LEAST_PLAY_MM))
    return np.stack([along_slot, across, axial], axis=1).reshape(-1)


def _best_moves(places: Floats, joint: Joint, local: Floats, weight: Floats) -> Floats:
    """From local misfits (3 n,) to the move (6,) that makes them least."""
    effect = weight[:, None] * (reach(places[joint.bolts] - joint.centre, local) @ joint.moves)
    best: Floats = -joint.moves @ np.linalg.pinv(effect, rcond=1e-6) * weight
    return best


def _brought(
    joint: Joint, parts: Floats, mates: Floats, axes: Floats, holes: Holes, places: Floats
) -> tuple[Floats, Floats]:
    """Misfits (b, n, 3) in the site's frame and turns about the bolts (b, n) after the moves best by least squares."""
    local = np.array([across_axes(axes[n], holes.way[n]) for n in joint.bolts])
    best = _best_moves(places, joint, local, _weights(joint.bolts, holes))
    at, turn = parts, np.zeros((len(parts), 3))
    for _ in range(_APPROACHES):
        move = np.einsum("nij,bnj->bni", local, at - mates).reshape(len(at), -1) @ best.T
        at = _moved(at, move, joint.centre)
        # Every turn after the first is small enough to be added.
        turn += move[:, 3:]
    return at - mates, turn @ local[:, 2].T


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
