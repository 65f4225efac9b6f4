"""What can be changed at one hole of the part, and how it is written into the description."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from math import atan2, ceil, degrees, floor, sqrt
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Bools, Floats, Indices
from bracketgen.part.hole import Hole, HoleShape, Purpose
from bracketgen.standards.cautions import caution
from bracketgen.standards.fasteners import Fit, clearance_hole, fastener
from bracketgen.standards.table import LookupFault
from bracketgen.vehicle.locate.locate import Located
from bracketgen.vehicle.odds.draws import Draws, ShopScatter
from bracketgen.vehicle.odds.trial import Builds, HolePlay, hold
from bracketgen.vehicle.seating.bolts import Bolted, Placed, own_play_mm

#: Longest slot, end to end, in bolt diameters. Source: AISC 360-16, table J3.3, long slots (from memory).
LONGEST_PER_BOLT: Final = 2.5
#: Slots come in steps of this length, end to end, so that a drawing reads well.
LENGTH_STEP_MM: Final = 0.5


@dataclass(frozen=True, slots=True)
class HoleForm:
    """A hole as it is or is to be, in its panel's frame, and its fit if that was changed."""

    shape: HoleShape
    fit: Fit | None = None


@dataclass(frozen=True, slots=True)
class BoltedHole:
    """One bolt's hole: what is drawn now, and what the bolt and panel allow."""

    number: int
    bolt: Bolted
    hole: Hole
    now: HoleForm
    own_play_mm: float
    panel_x: Floats
    panel_y: Floats

    @property
    def may_change(self) -> bool:
        """Tapped, dowel and rivet nut holes must stay as they are, and a hole that is an isolator's."""
        if self.hole.isolator is not None and self.hole.isolator.hole_mm is not None:
            return False
        return self.hole.purpose in (Purpose.CLEARANCE, Purpose.PLAIN) and self.hole.shape.core is not None

    def next_fit(self, form: HoleForm) -> HoleForm | None:
        """The next roomier clearance hole; None when there is none. Source: clearance hole tables."""
        if not self.may_change or self.hole.purpose is not Purpose.CLEARANCE:
            return None
        for fit in Fit:
            try:
                wider = clearance_hole(self.bolt.size, fit).diameter_mm
            except LookupFault:
                continue
            if wider > (form.shape.width_mm or 0.0) + 1e-6:
                shape = form.shape.with_width(wider)
                return None if shape is None else HoleForm(shape, fit)
        return None

    def longest_slot_mm(self, form: HoleForm) -> float:
        """The longest slot over all, in whole steps; the hole's own length where that is longer already."""
        most = LONGEST_PER_BOLT * fastener(self.bolt.size).diameter_mm
        return max(floor(most / LENGTH_STEP_MM) * LENGTH_STEP_MM, form.shape.length_mm or 0.0)

    def slot(self, form: HoleForm, way: Floats, length_mm: float) -> HoleForm | None:
        """A slot along a direction of the site, in whole degrees; a slot that is there already keeps its direction."""
        if not self.may_change or length_mm <= max(form.shape.width_mm or 0.0, form.shape.length_mm or 0.0) + 1e-6:
            return None
        direction = round(degrees(atan2(float(way @ self.panel_y), float(way @ self.panel_x)))) % 180
        shape = form.shape.slotted(length_mm, float(direction))
        return None if shape is None else replace(form, shape=shape)

    def put(self, holes: HolePlay, form: HoleForm) -> HolePlay:
        """The holes with this one as `form` says."""
        wider = ((form.shape.width_mm or 0.0) - (self.now.shape.width_mm or 0.0)) / 2.0
        before, after = self.now.shape.play(self.own_play_mm), form.shape.play(self.own_play_mm + wider)
        # What a hole takes of its width so that the bolt can slide is none where it is straight.
        taken = (self.own_play_mm + wider - after.across_mm) - (self.own_play_mm - before.across_mm)
        play = holes.play.copy()
        play[self.number] = self.bolt.play_mm + wider - taken
        holes = replace(holes, play=play)
        if after.way is None:
            return holes
        slide = after.along_mm if before.way is None else self.bolt.slot_play_mm + (after.along_mm - before.along_mm)
        return holes.slotted(self.number, slide, after.way.x * self.panel_x + after.way.y * self.panel_y)


def bolted_holes(placed: Placed) -> tuple[BoltedHole, ...]:
    """Every bolt's hole with its panel's directions in the site."""
    found = []
    for number, bolt in enumerate(placed.bolts):
        hole = placed.hole(bolt)
        own = own_play_mm(hole, fastener(bolt.size), placed.folded.part.stock)
        panel = placed.folded.frames[bolt.panel].within(placed.frame)
        found.append(BoltedHole(number, bolt, hole, HoleForm(hole.shape), own, np.array(panel.x), np.array(panel.y)))
    return tuple(found)


def as_written(form: HoleForm, now: HoleForm) -> str:
    """The keys that make the change, to be put into the hole's own table of the description."""
    lines = []
    if form.fit is not None:
        lines.append(f'fit = "{form.fit}"')
    if form.shape.keys != now.shape.keys:
        lines.append(form.shape.keys)
    return "\n".join(lines)


# What to change so that more builds bolt up: at each hole alone, a plan of the fewest changes, readings to repeat.


#: Builds that miss, by which single changes are weighed, and by which the plan is measured.
_TO_WEIGH: Final = 1_000
_TO_MEASURE: Final = 3_000
#: A change that gains less isn't worth naming; a slot may cost this much when it is made shorter.
_WORTH: Final = 0.001
_MOST_CHANGES_PER_HOLE: Final = 3
#: 95 % of a normal distribution lie within so many standard deviations.
Z95: Final = 1.959964

#: More than any gap.
_ANY_GAP_MM: Final = 50.0


@dataclass(frozen=True, slots=True)
class Change:
    """One hole made roomier. `share` is the share of builds that bolt up with it.

    `paste` holds the keys for the hole's table in the description; in a pattern, the hole needs a table of its own.
    """

    part_hole: str
    form: HoleForm
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
    held: Builds,
    holes: HolePlay,
    fits: Bools,
    practice: ShopScatter,
    wanted_share: float,
) -> Advice:
    """Advice for builds of which some miss."""
    judge = _Weighing(held, fits, holes, bolted_holes(placed))
    single = _single(judge)
    plan, reached, shimmed = _plan(judge, wanted_share + Z95 * sqrt(wanted_share * (1 - wanted_share) / len(fits)))
    slotted = any(c.form.shape.length_mm is not None for c in (*single, *plan))
    readings = repeats(placed, located, draws, holes, fits, practice.repeat_mm) if located is not None else ()
    cautions = ((caution("slot"),) if slotted else ()) + ((caution("shim"),) if shimmed > reached + _WORTH else ())
    return Advice(single, plan, reached, shimmed, readings, cautions)


@dataclass(frozen=True, slots=True, eq=False)
class _Weighing:
    """Weighs holes against the builds that miss with the holes as drawn."""

    held: Builds
    fits: Bools
    drawn: HolePlay
    bolted_holes: tuple[BoltedHole, ...]

    def share(self, forms: dict[int, HoleForm], most: int) -> float:
        """The share with some holes changed, by number; judged by at most so many of the builds that miss."""
        now, missed = float(self.fits.mean()), np.flatnonzero(~self.fits)[:most]
        if not len(missed):
            return now
        return now + (1.0 - now) * float(self.held.fits(self.holes(forms), missed, most == _TO_WEIGH)[0].mean())

    def holes(self, forms: dict[int, HoleForm]) -> HolePlay:
        """The holes with those changes."""
        holes = self.drawn
        for number, form in forms.items():
            holes = self.bolted_holes[number].put(holes, form)
        return holes

    def slot_ways(self, choice: BoltedHole, forms: dict[int, HoleForm], missed: Indices) -> list[Floats]:
        """Promising directions of a slot: along the misfit where the other bolts rule, and toward the other bolts."""
        off = self.held.alone(choice.number, self.holes(forms), missed)
        across = np.stack([off @ choice.panel_x, off @ choice.panel_y], axis=1)
        _, ways = np.linalg.eigh(across.T @ across)
        x, y = ways[:, -1]
        group = next(j for j in self.held.groups if choice.number in j.bolts)
        line = self.held.places[choice.number] - group.centre
        found = [x * choice.panel_x + y * choice.panel_y]
        if np.hypot(line @ choice.panel_x, line @ choice.panel_y) > 1.0:
            found.append(line)
        return found


def _roomier(judge: _Weighing, choice: BoltedHole, forms: dict[int, HoleForm], missed: Indices) -> list[HoleForm]:
    """The hole's next fit, and the longest slot in every promising direction."""
    now = forms.get(choice.number, choice.now)
    longest = choice.longest_slot_mm(now)
    found = [choice.next_fit(now)]
    if now.shape.length_mm is None or now.shape.length_mm < longest:
        found += [choice.slot(now, way, longest) for way in judge.slot_ways(choice, forms, missed)]
    return [form for form in found if form is not None]


def _single(judge: _Weighing) -> tuple[Change, ...]:
    now = float(judge.fits.mean())
    if now == 1.0:
        return ()
    found, missed = [], np.flatnonzero(~judge.fits)[:_TO_WEIGH]
    for choice in judge.bolted_holes:
        options = [(judge.share({choice.number: s}, _TO_WEIGH), s) for s in _roomier(judge, choice, {}, missed)]
        kept = [o for o in options if o[1].fit is not None]
        slots = [o for o in options if o[1].fit is None]
        if slots:
            share, form = max(slots, key=lambda o: o[0])
            trimmed = _trimmed(judge, choice, {choice.number: form}, share - _WORTH, _TO_WEIGH)
            kept.append((judge.share({choice.number: trimmed}, _TO_WEIGH), trimmed))
        found += [_change(choice, form, share) for share, form in kept if share >= now + _WORTH]
    return tuple(sorted(found, key=lambda c: -c.share))


def _trimmed(
    judge: _Weighing, choice: BoltedHole, forms: dict[int, HoleForm], least_share: float, most: int
) -> HoleForm:
    """The shortest slot, in whole steps, that keeps the share."""
    form = forms[choice.number]
    whole, direction = form.shape.length_mm, form.shape.direction_deg
    if whole is None or direction is None:
        return form
    low = max(form.shape.width_mm or 0.0, choice.now.shape.length_mm or 0.0)
    steps = [k * LENGTH_STEP_MM for k in range(ceil(low / LENGTH_STEP_MM + 0.5), ceil(whole / LENGTH_STEP_MM))]
    shorter = [replace(form, shape=form.shape.slotted(length, direction) or form.shape) for length in steps]
    first, last = 0, len(steps)
    while first < last:
        middle = (first + last) // 2
        if judge.share({**forms, choice.number: shorter[middle]}, most) >= least_share:
            last = middle
        else:
            first = middle + 1
    return form if first == len(steps) else shorter[first]


def _plan(judge: _Weighing, target: float) -> tuple[tuple[Change, ...], float, float]:
    """The changes, the share they reach, and with shims too.

    Greedy: the most helpful change again and again up to the target; then what proved needless is taken back.
    """
    forms = _greedy(judge, target)
    shimmed = replace(judge, drawn=replace(judge.drawn, pull_up_mm=_ANY_GAP_MM))
    if not forms:
        return (), float(judge.fits.mean()), shimmed.share({}, _TO_MEASURE)
    least = min(target, judge.share(forms, _TO_MEASURE) - _WORTH)
    forms = _pared(judge, forms, least)
    share = judge.share(forms, len(judge.fits))
    changes = tuple(_change(judge.bolted_holes[n], forms[n], share) for n in sorted(forms))
    return changes, share, max(share, shimmed.share(forms, _TO_MEASURE))


def _greedy(judge: _Weighing, target: float) -> dict[int, HoleForm]:
    forms: dict[int, HoleForm] = {}
    left = np.flatnonzero(~judge.fits)[:_TO_WEIGH]
    # What one of the weighed builds stands for.
    worth = (1.0 - float(judge.fits.mean())) / max(len(left), 1)
    for _ in range(_MOST_CHANGES_PER_HOLE * len(judge.bolted_holes)):
        if len(left) * worth <= 1.0 - target:
            break
        tried = [
            (left[~judge.held.fits(judge.holes({**forms, c.number: s}), left, rough=True)[0]], c.number, s)
            for c in judge.bolted_holes
            for s in _roomier(judge, c, forms, left)
        ]
        best = min(tried, key=lambda t: len(t[0]), default=None)
        if best is None or (len(left) - len(best[0])) * worth < _WORTH:
            break
        left, forms = best[0], {**forms, best[1]: best[2]}
    return forms


def _pared(judge: _Weighing, forms: dict[int, HoleForm], least: float) -> dict[int, HoleForm]:
    """Without the changes that are not needed, and with every slot as short as it may be."""
    for number in list(forms):
        fewer = {n: s for n, s in forms.items() if n != number}
        if judge.share(fewer, _TO_MEASURE) >= least:
            forms = fewer
    for number in list(forms):
        forms = {**forms, number: _trimmed(judge, judge.bolted_holes[number], forms, least, _TO_MEASURE)}
    return forms


def _change(choice: BoltedHole, form: HoleForm, share: float) -> Change:
    return Change(choice.bolt.part_hole, form, share, as_written(form, choice.now))


# -- which reading, taken once more with care, would bring the most builds to bolt up

#: Readings that are least sure are weighed, so many of them, by so many builds.
_WEIGHED: Final = 6
_BUILDS: Final = 5_000
_WORTH_A_READING: Final = 0.002
_TOLD: Final = 3


@dataclass(frozen=True, slots=True)
class Repeat:
    """A reading to take (again): its words, how unsure it is now (one standard deviation, mm), the share it brings.

    `reading` is the number of an earlier reading that names both holes, None where there was none.
    """

    text: str
    between: tuple[str, str]
    reading: int | None
    unsure_mm: float
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class _Candidate:
    text: str
    between: tuple[str, str]
    row: Floats
    variance: float


def repeats(
    placed: Placed, located: Located, draws: Draws, holes: HolePlay, fits: Bools, sigma_mm: float
) -> tuple[Repeat, ...]:
    """The few readings between the bolted old holes that help most, each good to `sigma_mm`, best first.

    A reading with design row a, taken on top of all others, moves the solution by C a / (a C a + sigma2) for each mm
    that it disagrees: the update of least squares by one observation.
    """
    covariance = _of_bolts(placed, located)
    found = sorted(_candidates(placed, covariance), key=lambda c: -c.variance)[:_WEIGHED]
    few = draws.first(_BUILDS)
    before, now = float(fits.mean()), float(fits[: len(few.old)].mean())
    noise = np.random.default_rng(len(fits)).normal(0.0, sigma_mm, len(few.old))
    told = []
    for candidate in found:
        if candidate.variance <= sigma_mm**2:
            continue
        better = replace(few, old=_updated(few.old, candidate, covariance, sigma_mm, noise))
        share = before + float(hold(placed, better, holes).fits(holes)[0].mean()) - now
        if share >= before + _WORTH_A_READING:
            told.append(_told(candidate, located, min(share, 1.0)))
    return tuple(sorted(told, key=lambda r: -r.share)[:_TOLD])


def _of_bolts(placed: Placed, located: Located) -> Floats:
    """Joint covariance of the bolts' old holes, (3 n, 3 n); 0 for what is carried."""
    number = {hole.id: k for k, hole in enumerate(located.holes)}
    n = len(placed.bolts)
    pick = np.zeros((3 * n, len(located.covariance)))
    for k, bolt in enumerate(placed.bolts):
        if not bolt.to_carried:
            pick[3 * k : 3 * k + 3, 3 * number[bolt.mate] : 3 * number[bolt.mate] + 3] = np.eye(3)
    covariance: Floats = pick @ located.covariance @ pick.T
    return covariance


def _candidates(placed: Placed, covariance: Floats) -> list[_Candidate]:
    found = []
    old = [k for k, bolt in enumerate(placed.bolts) if not bolt.to_carried]
    for i, j in combinations(old, 2):
        a, b = placed.bolts[i], placed.bolts[j]
        between = (a.mate, b.mate)
        apart = np.array(b.wanted) - np.array(a.wanted)
        if np.linalg.norm(apart) > 0:
            found.append(_candidate(f"distance {a.mate} to {b.mate}", between, i, j, apart, covariance))
        step = np.array(a.axis)
        found.append(_candidate(f"step of {b.mate} out of the face of {a.mate}", between, i, j, step, covariance))
    return found


def _candidate(text: str, between: tuple[str, str], i: int, j: int, way: Floats, covariance: Floats) -> _Candidate:
    row = np.zeros(len(covariance))
    unit = way / np.linalg.norm(way)
    row[3 * i : 3 * i + 3], row[3 * j : 3 * j + 3] = -unit, unit
    return _Candidate(text, between, row, float(row @ covariance @ row))


def _updated(old: Floats, candidate: _Candidate, covariance: Floats, sigma_mm: float, noise: Floats) -> Floats:
    flat = old.reshape(len(old), -1)
    gain = covariance @ candidate.row / (candidate.variance + sigma_mm**2)
    updated: Floats = flat - np.outer(flat @ candidate.row + noise, gain)
    return updated.reshape(old.shape)


def _told(candidate: _Candidate, located: Located, share: float) -> Repeat:
    named = [r.reading for r in located.residuals if all(hole in r.text for hole in candidate.between)]
    unsure = float(np.sqrt(candidate.variance))
    return Repeat(candidate.text, candidate.between, named[0] if named else None, unsure, share)
