"""The odds of fit: how many builds bolt up, which bolt decides, what each cause costs; and the finding of poor odds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from math import sqrt
from typing import Final

import numpy as np

from bracketgen.bending.flat import Flat
from bracketgen.findings import Finding, Level
from bracketgen.geometry.arrays import Bools, Indices
from bracketgen.rules.in_place import ODDS
from bracketgen.vehicle.locate.locate import Located
from bracketgen.vehicle.odds.advice import Z95, Advice, advise
from bracketgen.vehicle.odds.draws import Cause, Draws, ShopScatter, draw_builds, model_error_mm, usual_scatter
from bracketgen.vehicle.odds.trial import Builds, HolePlay, hold, holes_as_drawn
from bracketgen.vehicle.seating.bolts import Placed


@dataclass(frozen=True, slots=True)
class Share:
    """`value` of `builds` builds, 0 to 1; the true share lies between `low` and `high` with 95 % certainty."""

    value: float
    low: float
    high: float
    builds: int


def share_of(hits: float, builds: int) -> Share:
    """The share with its 95 % interval by Wilson's score. Raises ValueError for no builds.

    Source: E. B. Wilson, Journal of the American Statistical Association 22 (1927), pp. 209-212 (from memory).
    """
    if builds < 1 or not 0 <= hits <= builds:
        raise ValueError(f"{hits:g} of {builds} builds is no share")
    p, z2 = hits / builds, Z95**2 / builds
    middle = (p + z2 / 2) / (1 + z2)
    half = Z95 * sqrt(p * (1 - p) / builds + z2 / (4 * builds)) / (1 + z2)
    return Share(p, max(0.0, min(middle - half, p)), min(1.0, max(middle + half, p)), builds)


BUILDS: Final = 20_000
#: Builds that a cause left out is judged by.
_FOR_CAUSES: Final = 8_000
#: Builds that miss, by which one bolt or the pull-up is judged.
_FOR_BOLTS: Final = 3_000
#: More than any hole forgives: as good as no bolt.
_FREE_MM: Final = 50.0
#: Builds that are also folded exactly.
_CHECKED: Final = 24


class OddsDepth(StrEnum):
    """How much is asked: the share only; also bolts and causes; also what to change."""

    SHARE = "share"
    CAUSES = "causes"
    ADVICE = "advice"


@dataclass(frozen=True, slots=True)
class BoltOdds:
    """One bolt: the share of builds that would bolt up if this bolt always went in."""

    part_hole: str
    mate: str
    share_without: float


@dataclass(frozen=True, slots=True)
class CauseOdds:
    """One cause: the share of builds that would bolt up if it were not there."""

    cause: Cause
    share_without: float


@dataclass(frozen=True, slots=True)
class Odds:
    """The answer. Bolts and causes are worst first; `decides` is the hole whose bolt costs the most builds.

    `share_if_shimmed` is the share if gaps along the bolts never mattered. `model_error_mm` is how far the fast model
    of bending strayed from the exact fold in the builds that were checked, `undecided` how many builds no proof was
    found for (counted as misses).
    """

    share: Share
    seed: int
    decides: str | None
    bolts: tuple[BoltOdds, ...]
    causes: tuple[CauseOdds, ...]
    share_if_shimmed: float | None
    advice: Advice | None
    model_error_mm: float
    undecided: int

    @property
    def advice_lines(self) -> list[str]:
        """What to change, the best first, each with the share of builds that it brings."""
        if self.advice is None:
            return []
        changes = self.advice.plan or self.advice.single[:1]
        lines = [f"{c.part_hole}: {c.paste}" for c in changes]
        if self.advice.plan:
            lines.append(f"together: {100 * self.advice.plan_share:.1f} of 100")
        elif changes:
            lines[0] += f" ({100 * changes[0].share:.1f} of 100)"
        if self.advice.readings:
            best = self.advice.readings[0]
            lines.append(f"or measure again: {best.text} ({100 * best.share:.1f} of 100)")
        return [*lines, *self.advice.cautions]


def odds_of_fit(
    placed: Placed,
    located: Located | None,
    flat: Flat,
    practice: ShopScatter | None = None,
    seed: int = 1,
    builds: int = BUILDS,
    depth: OddsDepth = OddsDepth.ADVICE,
    wanted_share: float = 0.99,
) -> Odds:
    """How many of so many builds of the part in its place bolt up, and with `depth` why not and what to change.

    A build bolts up when the bent part can be put (shifted and turned as a rigid thing) so that at every bolt both
    holes leave room for it and the gap under it is no more than `practice.pull_up_mm`. What is carried is put on as
    a rigid thing of its own. `located` None: the old holes are where `placed` says. `practice` None: the usual
    figures. Equal seeds give equal answers. Raises ValueError for no bolts or builds, KeyError for a bolt whose old
    hole is not located, LookupFault where the tables hold no tolerance.
    """
    if not placed.bolts or builds < 1:
        raise ValueError("odds need a bolt and a build")
    practice = practice or usual_scatter()
    holes = holes_as_drawn(placed, practice.pull_up_mm)
    draws = draw_builds(placed, located, flat, practice, seed, builds)
    held = hold(placed, draws, holes)
    fits, unsure = held.fits(holes)
    share = share_of(int(fits.sum()), builds)
    strayed = model_error_mm(draws.model, placed, flat, draws.off[:_CHECKED])
    odds = Odds(share, seed, None, (), (), None, None, strayed, unsure)
    if depth is OddsDepth.SHARE:
        return odds
    odds = _with_reasons(odds, placed, draws, held, holes, fits)
    if depth is OddsDepth.CAUSES:
        return odds
    return replace(odds, advice=advise(placed, located, draws, held, holes, fits, practice, wanted_share))


def _with_reasons(odds: Odds, placed: Placed, draws: Draws, held: Builds, holes: HolePlay, fits: Bools) -> Odds:
    missed = np.flatnonzero(~fits)[:_FOR_BOLTS]
    freed = [share_if(held, holes.freed(n, _FREE_MM), fits, missed) for n in range(len(placed.bolts))]
    bolts = [BoltOdds(b.part_hole, b.mate, share) for b, share in zip(placed.bolts, freed, strict=True)]
    bolts.sort(key=lambda b: -b.share_without)
    causes = [CauseOdds(c, _share_without(placed, draws, holes, fits, c)) for c in draws.causes()]
    causes.sort(key=lambda c: -c.share_without)
    return replace(
        odds,
        decides=bolts[0].part_hole if len(missed) else None,
        bolts=tuple(bolts),
        causes=tuple(causes),
        share_if_shimmed=share_if(held, replace(holes, pull_up_mm=_FREE_MM), fits, missed),
    )


def share_if(held: Builds, holes: HolePlay, fits: Bools, missed: Indices) -> float:
    """The share with roomier holes: builds that went in still do, the others are judged by those in `missed`."""
    now = float(fits.mean())
    if not len(missed):
        return now
    return now + (1.0 - now) * float(held.fits(holes, missed)[0].mean())


def _share_without(placed: Placed, draws: Draws, holes: HolePlay, fits: Bools, cause: Cause) -> float:
    few = draws.first(_FOR_CAUSES)
    without, _ = hold(placed, few, holes, cause).fits(holes)
    gained = float(without.mean()) - float(fits[: len(without)].mean())
    return min(1.0, max(0.0, float(fits.mean()) + gained))


# -- odds below what is wanted, as a finding with what to do

#: The share of builds that should bolt up (own choice).
WANTED_SHARE = 0.99


def odds_findings(odds: Odds) -> Iterator[Finding]:
    """A warning when fewer builds than wanted bolt up: which hole decides, and the change that helps most."""
    if odds.share.value >= WANTED_SHARE:
        return
    said = f"{100 * odds.share.value:.1f} builds of 100 bolt up; '{odds.decides}' decides"
    remedy = "; ".join([said, *odds.advice_lines])
    subject = odds.decides or "bolts"
    yield ODDS.finding(Level.WARN, subject, odds.share.value, WANTED_SHARE, None, remedy, unit="")
