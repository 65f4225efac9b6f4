"""The place of the carried thing that has the most to spare, before there is a bracket.

What is to spare at a place is the least of all margins: gaps to every neighbour over what they need (with travel,
growth and heat), ways out, and room for the tools on the bolts. A place is better when that least margin is greater.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Final

import numpy as np

from bracketgen.vehicle.locate.located import Located
from bracketgen.vehicle.placing.climb import Heights, highest
from bracketgen.vehicle.placing.margin import Margin
from bracketgen.vehicle.placing.pairs import Pair, PairSearch, lever_of, pairs_of
from bracketgen.vehicle.placing.pose import Floats, Pose, Room
from bracketgen.vehicle.placing.tool_room import ToolRoom
from bracketgen.vehicle.site.tables import CarriedTable, SiteDocument

#: Metal between the carried thing and the heads of its bolts, while there is no bracket; common practice, no source.
METAL_MM: Final = 4.0
#: Margins of something else that depends on the place: a bracket that is made to suit it, for instance.
Further = Callable[[Pose], Iterable[Margin]]


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


def best_place(
    site: SiteDocument, located: Located | None = None, metal_mm: float = METAL_MM, further: Further | None = None
) -> Placing:
    """The pose within the carried thing's room with the greatest least margin, and the wished one beside it.

    With `located` the bolts of the vehicle's holes must stay within reach of a tool too. `metal_mm` of bracket lie
    under every head. `further` gives margins of a bracket that follows the pose. Of equal places the one nearest to the
    wished place is taken. Raises ValueError when nothing is carried; ShapeFault and LookupFault for things that can't
    stand as they are written.
    """
    carried = site.carried
    if carried is None:
        raise ValueError("the site carries nothing")
    judge = _Judge(site, carried, located, metal_mm, further)
    today = judge.judged(Pose())
    best = judge.judged(judge.search(today))
    if best.least_mm <= today.least_mm:
        best = today
    return Placing(today, best, judge.hopeless())


class _Judge:
    def __init__(
        self,
        site: SiteDocument,
        carried: CarriedTable,
        located: Located | None,
        metal_mm: float,
        further: Further | None,
    ) -> None:
        self.carried = carried
        self.pairs = pairs_of(site)
        self.tools = ToolRoom.of(site, carried, located, metal_mm)
        self.further = further
        self.room = Room.of(carried, lever_of(site))

    def judged(self, pose: Pose) -> Judged:
        """All margins of a place, exactly."""
        frame = pose.frame(self.carried)
        margins = [p.margin(frame) for p in self.pairs if isfinite(p.needed_mm)]
        margins += self.tools.margins(frame)
        margins += self.further(pose) if self.further is not None else ()
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
        pose = self.room.pose(place)
        height = self.tools.least_mm(pose.frame(self.carried), least)
        more = [m.mm for m in self.further(pose)] if self.further is not None else []
        return min([height, *more])
