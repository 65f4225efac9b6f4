"""Holes of a proposal made roomier where builds would miss: the next fit, or a slot, as the odds of fit advise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from bracketgen.standards.fasteners import Fit
from bracketgen.vehicle.locate.located import Located
from bracketgen.vehicle.odds.advice import Change, Repeat, repeats
from bracketgen.vehicle.odds.change import HoleForm
from bracketgen.vehicle.odds.draws import draw_builds
from bracketgen.vehicle.odds.odds import OddsDepth, odds_of_fit
from bracketgen.vehicle.odds.scatter import ShopScatter
from bracketgen.vehicle.odds.trial import hold, holes_as_drawn
from bracketgen.vehicle.site.site import Site
from bracketgen.vehicle.span.layout import LaidHole, LaidPanel, Layout
from bracketgen.vehicle.span.practice import Room, hole_room
from bracketgen.vehicle.span.proposal import Odds, Proposal, Refusal, proved
from bracketgen.vehicle.span.ranking import GOOD_ODDS
from bracketgen.vehicle.span.seat import Seat

#: Builds drawn to judge: enough to tell 98 % from 99 % (standard deviation of the share 0.16 points).
_BUILDS: Final = 4000
#: Builds drawn to find what to change; the plan allows for their fewness.
_FOR_ADVICE: Final = 1200
#: Below these odds the holes are not to blame, but what was read: roomier ones would only hide it.
_HOPELESS: Final = 0.4
#: Times that the advice is taken.
_ROUNDS: Final = 2
_SEED: Final = 1


def with_odds(p: Proposal, located: Located, scatter: ShopScatter) -> Proposal:
    """The proposal as it is with its odds of fit."""
    return replace(p, odds=Odds(_share(p, located, scatter)))


def first_fit(p: Proposal, site: Site, located: Located, seats: Sequence[Seat], scatter: ShopScatter) -> Proposal:
    """The proposal with its odds of fit; holes are changed as long as builds miss and changes help.

    A change that breaks a rule is not made. Readings to repeat are told, not taken.
    """
    share = plain = _share(p, located, scatter)
    done: list[str] = []
    reading = ""
    for _ in range(_ROUNDS):
        if share >= GOOD_ODDS:
            break
        if share < _HOPELESS:
            reading = next_reading(_repeats(p, located, scatter), located)
            break
        advice = odds_of_fit(p.placed, located, p.flat, scatter, _SEED, _FOR_ADVICE, OddsDepth.ADVICE, GOOD_ODDS).advice
        reading = next_reading(advice.readings if advice else (), located)
        better, made = _changed(p, advice.plan if advice else (), site, located, seats)
        if advice and len(made) < len(advice.plan):
            done.append("not every hole may be made roomier here, a rule would break")
        if not made:
            break
        p, done = better, [*done, *(_told(c) for c in made)]
        share = _share(p, located, scatter)
    told = [f"{100 * plain:.1f} % with plain holes", *done] if done else []
    told += [reading] if reading and share < GOOD_ODDS else []
    return replace(p, odds=Odds(share, tuple(told)))


def _share(p: Proposal, located: Located, scatter: ShopScatter) -> float:
    return odds_of_fit(p.placed, located, p.flat, scatter, _SEED, _BUILDS, OddsDepth.SHARE).share.value


def _told(change: Change) -> str:
    return f"{change.part_hole}: {change.paste.replace(chr(10), ', ')}"


def next_reading(found: Sequence[Repeat], located: Located) -> str:
    """What to measure next in words: the reading that brings most, else what makes the holes surer; '' for nothing."""
    for one in found:
        first, second = (mate.partition(".")[0] for mate in one.between)
        # A hole stands in its own face: there is nothing to be read.
        if first != second or one.text.startswith("distance"):
            return f"measure again with care: {one.text} (then about {100 * one.share:.0f} %)"
    return located.advice[0] if located.advice else ""


def _repeats(p: Proposal, located: Located, scatter: ShopScatter) -> tuple[Repeat, ...]:
    """Readings to repeat, without asking what roomier holes would bring."""
    holes = holes_as_drawn(p.placed, scatter.pull_up_mm)
    draws = draw_builds(p.placed, located, p.flat, scatter, _SEED, _FOR_ADVICE)
    fits, _ = hold(p.placed, draws, holes).fits(holes)
    return repeats(p.placed, located, draws, holes, fits, scatter.repeat_mm)


def _changed(
    p: Proposal, plan: Sequence[Change], site: Site, located: Located, seats: Sequence[Seat]
) -> tuple[Proposal, list[Change]]:
    """The proposal with the whole plan; where that breaks a rule, with each change that does not. And what was made."""
    for changes in ([plan] if plan else []) + [[c] for c in plan if len(plan) > 1]:
        layout = with_spots(p.layout, {c.part_hole: c.form for c in changes})
        made = proved(layout, p.heading, p.name, site, located, seats)
        if isinstance(made, Refusal):
            continue
        if changes is plan:
            return replace(made, closest=p.closest), list(plan)
        better, more = _changed(
            replace(made, closest=p.closest), [c for c in plan if c not in changes], site, located, seats
        )
        return better, [*changes, *more]
    return p, []


def with_spots(layout: Layout, spots: Mapping[str, HoleForm]) -> Layout:
    """The layout with some holes, named 'panel/hole', made as told."""
    return replace(layout, panels=tuple(_panel(panel, layout, spots) for panel in layout.panels))


def _panel(panel: LaidPanel, layout: Layout, spots: Mapping[str, HoleForm]) -> LaidPanel:
    holes = [_hole(h, spots.get(f"{panel.name}/{h.hole.name}"), layout) for h in panel.holes]
    return replace(panel, holes=holes)


def _hole(laid: LaidHole, spot: HoleForm | None, layout: Layout) -> LaidHole:
    if spot is None:
        return laid
    seat = replace(laid.hole, fit=spot.fit or laid.hole.fit)
    slot = laid.slot
    if spot.shape.length_mm is not None and spot.shape.direction_deg is not None:
        slot = (spot.shape.length_mm, spot.shape.direction_deg)
    pad = laid.pad
    if pad is not None:
        length = slot[0] if slot else 0.0
        pad = max(pad, hole_room(seat.bolt, Fit(seat.fit), layout.practice, Room.TIGHT, length).pad)
    return replace(laid, hole=seat, slot=slot, pad=pad)
