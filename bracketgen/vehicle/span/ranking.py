"""Which proposal comes first, and why, in words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from bracketgen.vehicle.span.proposal import Kind, Proposal

#: A margin over the required gap beyond this counts as ample (common practice, no source).
AMPLE_MM: Final = 10.0
#: Odds of fit from which on nothing has to be done.
GOOD_ODDS: Final = 0.99
#: What a bend, a warning, and half the stiffness weigh, in shares of the lightest bracket's mass (own choice: a bend
#: is a set-up at the brake, a warning is a look at the bench).
_PER_BEND: Final = 0.15
_PER_WARNING: Final = 0.2
_PER_HALVING: Final = 0.2
#: Bends that are neither parallel nor square to the edges are harder to set up.
_TWISTED: Final = 0.15
#: A turn that is no multiple of five degrees, within the tolerance of a short leg (1 deg, ISO 2768-1 m), needs a
#: gauge of its own.
_PER_ODD_TURN: Final = 0.05
_WHOLE_DEG: Final = 1.0


def ranked(proposals: Iterable[Proposal]) -> tuple[Proposal, ...]:
    """The best first, each with its reasons: those that foul nothing; ample margins; good odds; then the lightest,
    with a little added for each bend and warning and for lack of stiffness."""
    found = list(proposals)
    if not found:
        return ()
    lightest = min(p.mass_kg for p in found)
    stiffest = max(p.stiffness_n_mm for p in found)
    return reasoned(sorted(found, key=lambda p: _key(p, lightest, stiffest)))


def reasoned(order: Sequence[Proposal]) -> tuple[Proposal, ...]:
    """Proposals in their order, each with why it stands there."""
    lightest = min((p.mass_kg for p in order), default=0.0)
    stiffest = max((p.stiffness_n_mm for p in order), default=0.0)
    return tuple(replace(p, reasons=_reasons(p, order, lightest, stiffest)) for p in order)


def _key(p: Proposal, lightest: float, stiffest: float) -> tuple[int, float, int, float]:
    margin = p.closest.margin_mm if p.closest else AMPLE_MM
    fails = 0 if not p.fouls else 1 + (p.closest.fails if p.closest else 0)
    short = max(0.0, math.ceil((AMPLE_MM - margin) / 2.5))
    return fails, short, _odds_short(p), weight(p, lightest, stiffest)


def _odds_short(p: Proposal) -> int:
    """Whole points that the odds fall short of good."""
    return 0 if p.odds is None or p.odds.share >= GOOD_ODDS else math.ceil(100 * (GOOD_ODDS - p.odds.share))


def weight(p: Proposal, lightest: float, stiffest: float) -> float:
    """Mass over the lightest, plus what bends, warnings and lack of stiffness count for."""
    soft = math.log2(max(stiffest / max(p.stiffness_n_mm, 1e-9), 1.0))
    odd = sum(abs(b.turn_deg - 5 * round(b.turn_deg / 5)) > _WHOLE_DEG for b in p.flat.part.bends)
    twist = _PER_ODD_TURN * odd + (_TWISTED if p.kind is Kind.TWISTED else 0.0)
    return p.mass_kg / lightest + twist + _PER_BEND * p.bends + _PER_WARNING * p.warnings + _PER_HALVING * soft


def _reasons(p: Proposal, order: Sequence[Proposal], lightest: float, stiffest: float) -> tuple[str, ...]:
    told = []
    if p.closest is not None:
        told.append(p.closest.told)
        if p.closest.mend:
            told.append(p.closest.mend)
    if p.odds is not None:
        told.append(f"odds of fit {100 * p.odds.share:.1f} %")
        told += p.odds.told
    extra = p.mass_kg / lightest - 1.0
    told.append("the lightest of these" if extra < 0.005 else f"{100 * extra:.0f} % heavier than the lightest")
    softer = stiffest / max(p.stiffness_n_mm, 1e-9)
    told.append("the stiffest of these" if softer < 1.01 else f"1/{softer:.1f} of the stiffest one's stiffness")
    if p.warnings:
        told.append(f"{p.warnings} warning{'s' if p.warnings > 1 else ''} of the rules to look at")
    if p.fouls and any(not q.fouls for q in order):
        told.append("placed behind those that stand clear")
    return tuple(told)
