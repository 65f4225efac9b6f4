"""The place of the carried thing that has the most to spare, before there is a bracket.

What is to spare at a place is the least of all margins: gaps to every neighbour over what they need (with travel,
growth and heat), ways out, and room for the tools on the bolts. A place is better when that least margin is greater.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import isfinite
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.plane import cos_sin_deg
from bracketgen.geometry.space import Frame, Vector, plus
from bracketgen.vehicle.locate.locate import Located
from bracketgen.vehicle.placing.margins import Margin, Pair, PairSearch, ToolRoom, lever_of, pairs_of
from bracketgen.vehicle.seating.place import wished_frame
from bracketgen.vehicle.site import CarriedTable, SiteDocument


@dataclass(frozen=True, slots=True)
class Pose:
    """Moved by `shift` (mm, in the site), and turned anticlockwise about its mounting face's normal."""

    shift: Vector = (0.0, 0.0, 0.0)
    turn_deg: float = 0.0

    def frame(self, carried: CarriedTable) -> Frame:
        """The carried thing's frame in the site."""
        wished = wished_frame(carried)
        c, s = cos_sin_deg(self.turn_deg)
        turned = Frame((0.0, 0.0, 0.0), (c, s, 0.0), (-s, c, 0.0)).within(wished)
        return replace(turned, origin=plus(wished.origin, self.shift))


@dataclass(frozen=True, slots=True)
class PoseRange:
    """The poses that are allowed, as numbers: shift x, y, z in mm, and the turn as the mm that `lever_mm` travels."""

    half: Floats
    lever_mm: float

    @staticmethod
    def of(carried: CarriedTable, lever_mm: float) -> PoseRange:
        """The room that the site file gives, to either side."""
        return PoseRange(np.array([*carried.room, math.radians(carried.turn_room) * lever_mm]), lever_mm)

    def pose(self, u: Floats) -> Pose:
        """The numbers as a pose."""
        x, y, z, turn = u.tolist()
        return Pose((x, y, z), math.degrees(turn / self.lever_mm))


# -- the highest place of the least of many heights, in a box: a coarse grid, then a climb
#
# The climb tries steps along the axes and along the steepest way up of all heights that are about least together (the
# shortest vector in the hull of their gradients: V. F. Demyanov, V. N. Malozemov, Introduction to Minimax, 1974), and
# halves the step when none is higher. No chance is involved: the same question has the same answer.


#: A place is found this closely, mm.
EXACT_MM: Final = 0.01
#: Steps of the search for the shortest vector of a hull.
_HULL_STEPS: Final = 60
#: Grid points along an axis: with one or two free axes, and with more.
_FINE, _COARSE = 5, 3
#: Where the climb starts besides the place given first.
_STARTS: Final = 2
#: Higher by less is no higher, as a share of the step.
_GAIN: Final = 1e-4


@dataclass(frozen=True, slots=True)
class Heights:
    """Heights at one place (m), and how each of them grows along every axis (m, d)."""

    mm: Floats
    slope: Floats

    @property
    def least(self) -> float:
        """The least of them."""
        return float(self.mm.min(initial=np.inf))


#: Heights at many places at once (n, d).
Survey = Callable[[Floats], Sequence[Heights]]
#: The least height at a place with what is costly to know; given the least of the others, which it can't exceed.
Checked = Callable[[Floats, float], float]


def highest(survey: Survey, checked: Checked, half: Floats) -> Floats:
    """The place within `half` to either side of 0 where the least height is greatest; as near to 0 as can be."""
    climb = _Climb(survey, checked, half)
    zero = np.zeros(len(half))
    starts = [zero, *climb.grid()]
    tops = [climb.up(s) for s in starts]
    best = max(tops, key=lambda top: (round(top[1], 3), -float(np.linalg.norm(top[0]))))
    return climb.back(*best)


class _Climb:
    def __init__(self, survey: Survey, checked: Checked, half: Floats) -> None:
        self.survey, self.checked, self.half = survey, checked, half
        self.free = np.flatnonzero(half > 0.0)

    def grid(self) -> list[Floats]:
        """The best places of a coarse grid."""
        count = _FINE if len(self.free) <= 2 else _COARSE
        lines = [np.linspace(-h, h, count) if h > 0.0 else np.zeros(1) for h in self.half]
        places = np.array(list(product(*lines)))
        return [places[k] for k, _ in self._best(self.survey(places), places, _STARTS, -np.inf)]

    def _best(self, surveyed: Sequence[Heights], places: Floats, count: int, above: float) -> list[tuple[int, float]]:
        """The `count` highest of the places and their heights, all above `above`; costly ones are asked last."""
        least = np.array([h.least for h in surveyed])
        found: list[tuple[int, float]] = []
        for k in np.argsort(-least, kind="stable").tolist():
            bar = found[count - 1][1] if len(found) >= count else above
            if least[k] <= bar:
                break
            height = self.checked(places[k], float(least[k]))
            if height > bar:
                found = sorted([*found, (k, height)], key=lambda f: -f[1])[:count]
        return found

    def up(self, start: Floats) -> tuple[Floats, float]:
        """Climbs from a place as far as it goes."""
        heights = self.survey(start[None])[0]
        here, height = start, self.checked(start, heights.least)
        step = float(self.half.max(initial=0.0))
        while step > EXACT_MM and len(self.free):
            places = self._steps(here, step, heights)
            surveyed = self.survey(places)
            found = self._best(surveyed, places, 1, height + _GAIN * step)
            if found:
                k, height = found[0]
                here, heights = places[k], surveyed[k]
            else:
                step /= 2
        return here, height

    def _steps(self, here: Floats, step: float, heights: Heights) -> Floats:
        ways = [s * np.eye(len(here))[i] for i in self.free for s in (1.0, -1.0)]
        for about in (0.0, step / 4, step):
            active = heights.mm <= heights.least + about + 1e-9
            way = shortest_in_hull(heights.slope[active] * (self.half > 0.0))
            size = float(np.linalg.norm(way))
            if size > 1e-9:
                ways.append(way / size)
        return np.unique(np.clip(here + step * np.array(ways), -self.half, self.half), axis=0)

    def back(self, here: Floats, height: float) -> Floats:
        """Nearer to 0 along every axis, as long as nothing gets lower."""
        for i in self.free:
            for share in (0.0, 0.25, 0.5, 0.75):
                place = here.copy()
                place[i] *= share
                if self.checked(place, self.survey(place[None])[0].least) >= height - EXACT_MM / 10:
                    here = place
                    break
        return here


def shortest_in_hull(vectors: Floats) -> Floats:
    """The shortest vector in the hull of some vectors (n, d)."""
    if not len(vectors):
        return np.zeros(vectors.shape[1])
    x: Floats = vectors[int(np.argmin((vectors**2).sum(axis=1)))]
    for _ in range(_HULL_STEPS):
        far = vectors[int(np.argmin(vectors @ x))]
        line = far - x
        size = float(line @ line)
        if size < 1e-18 or float(-x @ line) <= 1e-12:
            break
        x = x + min(1.0, float(-x @ line) / size) * line
    return x


# -- the best place and the wished one

#: Metal between the carried thing and the heads of its bolts, while there is no bracket; common practice, no source.
METAL_MM: Final = 4.0


@dataclass(frozen=True, slots=True)
class Judged:
    """A place with all its margins, the least first."""

    pose: Pose
    margins: tuple[Margin, ...]

    @property
    def least_mm(self) -> float:
        """The least margin; inf when nothing is near."""
        return self.margins[0].mm if self.margins else float("inf")


@dataclass(frozen=True, slots=True)
class Placing:
    """The wished place and the best one in the room there is. `hopeless` margins no place can keep are left out."""

    today: Judged
    best: Judged
    hopeless: tuple[Margin, ...]

    @property
    def gain_mm(self) -> float:
        """By how much the best place has more to spare than the wished one."""
        if self.best.least_mm == self.today.least_mm:
            return 0.0
        return self.best.least_mm - self.today.least_mm

    def lines(self) -> list[str]:
        """In words: the wished place, the best, what limits each."""
        x, y, z, turn = (round(v, 1) + 0.0 for v in (*self.best.pose.shift, self.best.pose.turn_deg))
        move = f"moved by ({x:.1f}, {y:.1f}, {z:.1f}) mm, turned by {turn:.1f} degrees"
        said = [*_words("wished place", self.today), *_words(f"best place, {move}", self.best)]
        said += [f"no place keeps this: {m.a} to {m.b}, {m.reason}" for m in self.hopeless]
        return said


def _words(title: str, judged: Judged) -> list[str]:
    if not judged.margins:
        return [f"{title}: nothing is near"]
    amount = f"{abs(judged.least_mm):.1f} mm {'to spare' if judged.least_mm >= 0.0 else 'missing'}"
    return [f"{title}: {amount}", *(f"  {m}" for m in judged.margins[:2])]


def best_place(site: SiteDocument, located: Located | None = None, metal_mm: float = METAL_MM) -> Placing:
    """The pose within the carried thing's room with the greatest least margin, and the wished one beside it.

    With `located` the bolts of the vehicle's holes must stay within reach of a tool too. `metal_mm` of bracket lie
    under every head. Of equal places the one nearest to the wished place is taken. Raises ValueError when nothing is
    carried; ShapeFault and LookupFault for things that can't stand as they are written.
    """
    carried = site.carried
    if carried is None:
        raise ValueError("the site carries nothing")
    judge = _PlaceSearch(site, carried, located, metal_mm)
    today = judge.judged(Pose())
    best = judge.judged(judge.search(today))
    if best.least_mm <= today.least_mm:
        best = today
    return Placing(today, best, judge.hopeless())


class _PlaceSearch:
    def __init__(
        self,
        site: SiteDocument,
        carried: CarriedTable,
        located: Located | None,
        metal_mm: float,
    ) -> None:
        self.carried = carried
        self.pairs = pairs_of(site)
        self.tools = ToolRoom.of(site, carried, located, metal_mm)
        self.room = PoseRange.of(carried, lever_of(site))

    def judged(self, pose: Pose) -> Judged:
        """All margins of a place, exactly."""
        frame = pose.frame(self.carried)
        margins = [p.margin(frame) for p in self.pairs if isfinite(p.needed_mm)]
        margins += self.tools.margins(frame)
        return Judged(pose, tuple(sorted(margins, key=lambda m: m.mm)))

    def hopeless(self) -> tuple[Margin, ...]:
        """Pairs that heat forbids at any distance."""
        frame = Pose().frame(self.carried)
        return tuple(p.margin(frame) for p in self.pairs if not isfinite(p.needed_mm))

    def search(self, today: Judged) -> Pose:
        """The best place, with ways out looked at in steps and travel on the safe side."""
        if not any(self.room.half > 0.0):
            return Pose()
        asked = PairSearch(self._that_count(today))
        return self.room.pose(highest(lambda u: self._survey(asked, u), self._checked, self.room.half))

    def _that_count(self, today: Judged) -> Sequence[Pair]:
        """Pairs that can become the least at some place: no margin changes by more than the thing moves."""
        far = float(np.linalg.norm(self.room.half[:3]) + self.room.half[3])
        frame = today.pose.frame(self.carried)
        return [p for p in self.pairs if isfinite(p.needed_mm) and p.margin(frame).mm <= today.least_mm + 2.0 * far]

    def _survey(self, asked: PairSearch, places: Floats) -> list[Heights]:
        frames = [self.room.pose(u).frame(self.carried) for u in places]
        mm, slope = asked.heights(frames, self.room.lever_mm)
        return [Heights(mm[k], slope[k]) for k in range(len(places))]

    def _checked(self, place: Floats, least: float) -> float:
        return self.tools.least_mm(self.room.pose(place).frame(self.carried), least)
