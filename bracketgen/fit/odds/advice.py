"""What to change so that more builds bolt up: at each hole alone, and a plan of the fewest changes that is enough."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, sqrt
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.fit.locate.located import Located
from bracketgen.fit.odds.change import LENGTH_STEP_MM, Choice, Spot, as_written, choices
from bracketgen.fit.odds.draws import Draws
from bracketgen.fit.odds.repeat import Repeat, repeats
from bracketgen.fit.odds.scatter import Scatter
from bracketgen.fit.odds.trial import Care, Held, Holes
from bracketgen.fit.seating.placed import Placed

Floats = npt.NDArray[np.float64]
Truths = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.intp]

#: Builds that miss, by which single changes are weighed, and by which the plan is measured.
_TO_WEIGH: Final = 1_000
_TO_MEASURE: Final = 3_000
#: A change that gains less isn't worth naming; a slot may cost this much when it is made shorter.
_WORTH: Final = 0.001
_MOST_CHANGES_PER_HOLE: Final = 3
_Z95: Final = 1.959964

SLOT_CAUTION: Final = (
    "A slot holds along its length by clamping only: cover it with a stout washer, tighten to the bolt's torque, "
    "and don't let the load pull along it. The rules for edge distance apply to the longer slot and the wider hole too."
)
SHIM_CAUTION: Final = (
    "In some builds a gap stays under a bolt. Close it with a shim or correct the bend; don't pull it shut: "
    "the bracket would be under stress before it carries anything, and the bolt would lose its tightness."
)
#: More than any gap.
_ANY_GAP_MM: Final = 50.0


@dataclass(frozen=True, slots=True)
class Change:
    """One hole made roomier. `share` is the share of builds that bolt up with it.

    `paste` holds the keys for the hole's table in the description; in a pattern, the hole needs a table of its own.
    """

    part_hole: str
    spot: Spot
    share: float
    paste: str


@dataclass(frozen=True, slots=True)
class Advice:
    """`single`: each change alone, best first. `plan`: changes to make together, with the share they reach together
    (`plan_share`, and with shims for every gap `plan_share_if_shimmed`); empty when nothing is needed or nothing helps.
    `readings`: what to measure again, best first."""

    single: tuple[Change, ...]
    plan: tuple[Change, ...]
    plan_share: float
    plan_share_if_shimmed: float
    readings: tuple[Repeat, ...]
    cautions: tuple[str, ...]


def advise(
    placed: Placed,
    located: Located | None,
    draws: Draws,
    held: Held,
    holes: Holes,
    fits: Truths,
    practice: Scatter,
    wanted_share: float,
) -> Advice:
    """Advice for builds of which some miss."""
    judge = _Judge(held, fits, holes, choices(placed))
    single = _single(judge)
    plan, reached, shimmed = _plan(judge, wanted_share + _Z95 * sqrt(wanted_share * (1 - wanted_share) / len(fits)))
    slotted = any(c.spot.length_mm is not None for c in (*single, *plan))
    readings = repeats(placed, located, draws, holes, fits, practice.repeat_mm) if located is not None else ()
    cautions = ((SLOT_CAUTION,) if slotted else ()) + ((SHIM_CAUTION,) if shimmed > reached + _WORTH else ())
    return Advice(single, plan, reached, shimmed, readings, cautions)


@dataclass(frozen=True, slots=True, eq=False)
class _Judge:
    """Weighs holes against the builds that miss with the holes as drawn."""

    held: Held
    fits: Truths
    drawn: Holes
    choices: tuple[Choice, ...]

    def share(self, spots: dict[int, Spot], most: int) -> float:
        """The share with some holes changed, by number; judged by at most so many of the builds that miss."""
        now, missed = float(self.fits.mean()), np.flatnonzero(~self.fits)[:most]
        if not len(missed):
            return now
        care = Care.ROUGH if most == _TO_WEIGH else Care.FULL
        return now + (1.0 - now) * float(self.held.fits(self.holes(spots), missed, care)[0].mean())

    def still_missing(self, spots: dict[int, Spot], rows: Rows) -> Rows:
        """Those of some builds that miss with the changes too, roughly."""
        return rows[~self.held.fits(self.holes(spots), rows, Care.ROUGH)[0]]

    def holes(self, spots: dict[int, Spot]) -> Holes:
        """The holes with those changes."""
        holes = self.drawn
        for number, spot in spots.items():
            holes = self.choices[number].put(holes, spot)
        return holes

    def slot_ways(self, choice: Choice, spots: dict[int, Spot], missed: Rows) -> list[Floats]:
        """Promising directions of a slot: along the misfit where the other bolts rule, and toward the other bolts."""
        off = self.held.alone(choice.number, self.holes(spots), missed)
        across = np.stack([off @ choice.panel_x, off @ choice.panel_y], axis=1)
        _, ways = np.linalg.eigh(across.T @ across)
        x, y = ways[:, -1]
        joint = next(j for j in self.held.joints if choice.number in j.bolts)
        line = self.held.places[choice.number] - joint.centre
        found = [x * choice.panel_x + y * choice.panel_y]
        if np.hypot(line @ choice.panel_x, line @ choice.panel_y) > 1.0:
            found.append(line)
        return found


def _roomier(judge: _Judge, choice: Choice, spots: dict[int, Spot], missed: Rows) -> list[Spot]:
    """The hole's next fit, and the longest slot in every promising direction."""
    now = spots.get(choice.number, choice.now)
    longest = choice.longest_slot_mm(now)
    found = [choice.next_fit(now)]
    if now.length_mm is None or now.length_mm < longest:
        found += [choice.slot(now, way, longest) for way in judge.slot_ways(choice, spots, missed)]
    return [spot for spot in found if spot is not None]


def _single(judge: _Judge) -> tuple[Change, ...]:
    now = float(judge.fits.mean())
    if now == 1.0:
        return ()
    found, missed = [], np.flatnonzero(~judge.fits)[:_TO_WEIGH]
    for choice in judge.choices:
        options = [(judge.share({choice.number: s}, _TO_WEIGH), s) for s in _roomier(judge, choice, {}, missed)]
        kept = [o for o in options if o[1].fit is not None]
        slots = [o for o in options if o[1].fit is None]
        if slots:
            share, spot = max(slots, key=lambda o: o[0])
            trimmed = _trimmed(judge, choice, {choice.number: spot}, share - _WORTH, _TO_WEIGH)
            kept.append((judge.share({choice.number: trimmed}, _TO_WEIGH), trimmed))
        found += [_change(choice, spot, share) for share, spot in kept if share >= now + _WORTH]
    return tuple(sorted(found, key=lambda c: -c.share))


def _trimmed(judge: _Judge, choice: Choice, spots: dict[int, Spot], least_share: float, most: int) -> Spot:
    """The shortest slot, in whole steps, that keeps the share."""
    spot = spots[choice.number]
    if spot.length_mm is None or spot.direction_deg is None:
        return spot
    low = max(spot.diameter_mm, choice.now.length_mm or 0.0)
    steps = [k * LENGTH_STEP_MM for k in range(ceil(low / LENGTH_STEP_MM + 0.5), ceil(spot.length_mm / LENGTH_STEP_MM))]
    first, last = 0, len(steps)
    while first < last:
        middle = (first + last) // 2
        shorter = Spot(spot.diameter_mm, spot.fit, steps[middle], spot.direction_deg)
        if judge.share({**spots, choice.number: shorter}, most) >= least_share:
            last = middle
        else:
            first = middle + 1
    return spot if first == len(steps) else Spot(spot.diameter_mm, spot.fit, steps[first], spot.direction_deg)


def _plan(judge: _Judge, target: float) -> tuple[tuple[Change, ...], float, float]:
    """The changes, the share they reach, and with shims too.

    Greedy: the most helpful change again and again up to the target; then what proved needless is taken back.
    """
    spots = _greedy(judge, target)
    shimmed = replace(judge, drawn=replace(judge.drawn, pull_up_mm=_ANY_GAP_MM))
    if not spots:
        return (), float(judge.fits.mean()), shimmed.share({}, _TO_MEASURE)
    least = min(target, judge.share(spots, _TO_MEASURE) - _WORTH)
    spots = _pared(judge, spots, least)
    share = judge.share(spots, len(judge.fits))
    changes = tuple(_change(judge.choices[n], spots[n], share) for n in sorted(spots))
    return changes, share, max(share, shimmed.share(spots, _TO_MEASURE))


def _greedy(judge: _Judge, target: float) -> dict[int, Spot]:
    spots: dict[int, Spot] = {}
    left = np.flatnonzero(~judge.fits)[:_TO_WEIGH]
    # What one of the weighed builds stands for.
    worth = (1.0 - float(judge.fits.mean())) / max(len(left), 1)
    for _ in range(_MOST_CHANGES_PER_HOLE * len(judge.choices)):
        if len(left) * worth <= 1.0 - target:
            break
        tried = [
            (judge.still_missing({**spots, c.number: s}, left), c.number, s)
            for c in judge.choices
            for s in _roomier(judge, c, spots, left)
        ]
        best = min(tried, key=lambda t: len(t[0]), default=None)
        if best is None or (len(left) - len(best[0])) * worth < _WORTH:
            break
        left, spots = best[0], {**spots, best[1]: best[2]}
    return spots


def _pared(judge: _Judge, spots: dict[int, Spot], least: float) -> dict[int, Spot]:
    """Without the changes that are not needed, and with every slot as short as it may be."""
    for number in list(spots):
        fewer = {n: s for n, s in spots.items() if n != number}
        if judge.share(fewer, _TO_MEASURE) >= least:
            spots = fewer
    for number in list(spots):
        spots = {**spots, number: _trimmed(judge, judge.choices[number], spots, least, _TO_MEASURE)}
    return spots


def _change(choice: Choice, spot: Spot, share: float) -> Change:
    return Change(choice.bolt.part_hole, spot, share, as_written(spot, choice.now))
