"""Holes of a proposal made roomier where builds would miss: the next fit, or a slot, as the odds of fit advise."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from bracketgen.errors import GeometryFault
from bracketgen.standards.fasteners import Fit
from bracketgen.vehicle.locate.locate import Located
from bracketgen.vehicle.odds.advice import Change, HoleForm, Repeat, repeats
from bracketgen.vehicle.odds.draws import ShopScatter, draw_builds
from bracketgen.vehicle.odds.odds import OddsDepth, odds_of_fit
from bracketgen.vehicle.odds.trial import hold, holes_as_drawn
from bracketgen.vehicle.seating.bolts import Placed, Touching
from bracketgen.vehicle.site import Site
from bracketgen.vehicle.span.layout import LaidHole, LaidPanel, Layout, lay_out
from bracketgen.vehicle.span.practice import EdgeDistance, Practice, hole_room
from bracketgen.vehicle.span.proposal import (
    GOOD_ODDS,
    Closest,
    FitShare,
    Proposal,
    fold_of,
    hazards,
    kind_of,
    proved,
    ranked,
    reasoned,
    site_file,
)
from bracketgen.vehicle.span.seat import Footing, MatingFace, footing, seats_of
from bracketgen.vehicle.span.surroundings import closest_of, crowding, keep_outs
from bracketgen.vehicle.span.ways import Connection, Crowding, one_bend_connections, two_bend_connections
from bracketgen.vehicle.span.writing import Heading

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
    return replace(p, odds=FitShare(_share(p, located, scatter)))


def first_fit(p: Proposal, site: Site, located: Located, seats: Sequence[MatingFace], scatter: ShopScatter) -> Proposal:
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
        p, done = better, [*done, *((f"{c.part_hole}: {c.paste.replace(chr(10), ', ')}") for c in made)]
        share = _share(p, located, scatter)
    told = [f"{100 * plain:.1f} % with plain holes", *done] if done else []
    told += [reading] if reading and share < GOOD_ODDS else []
    return replace(p, odds=FitShare(share, tuple(told)))


def _share(p: Proposal, located: Located, scatter: ShopScatter) -> float:
    return odds_of_fit(p.placed, located, p.flat, scatter, _SEED, _BUILDS, OddsDepth.SHARE).share.value


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
    p: Proposal, plan: Sequence[Change], site: Site, located: Located, seats: Sequence[MatingFace]
) -> tuple[Proposal, list[Change]]:
    """The proposal with the whole plan; where that breaks a rule, with each change that does not. And what was made."""
    for changes in ([plan] if plan else []) + [[c] for c in plan if len(plan) > 1]:
        layout = with_spots(p.layout, {c.part_hole: c.form for c in changes})
        made = proved(layout, p.heading, p.name, site, located, seats)
        if isinstance(made, str):
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
        pad = max(pad, hole_room(seat.bolt, Fit(seat.fit), layout.practice, EdgeDistance.TIGHT, length).pad)
    return replace(laid, hole=seat, slot=slot, pad=pad)


# Proposes brackets for a site: every way that can be made, proved, and ranked.


#: Ways that are looked for between two seats, combinations that are tried, proposals that are handed back.
_WAYS: Final = 10
_TRIES: Final = 30
_MOST: Final = 6
#: Share of its cost by which a proposal falls back for each one before it that is folded alike.
_ALIKE_SHARE: Final = 0.15
#: The first of each fold is tried as if it cost this share.
_FIRST_SHARE: Final = 0.5
#: Larger dies that are tried when the first gives nothing.
_DIES: Final = 2
#: Proposals that the odds of fit are worked out for: the best by everything else.
_WITH_ODDS: Final = 3

Judge = Callable[[Placed], Closest | None]


@dataclass(frozen=True, slots=True)
class SpanRequest:
    """What is asked for: faces to join (all when empty), sheet and tooling, and how many proposals at most.

    `scatter` is what the shop keeps to when the odds of fit are worked out; None leaves the odds out. `judge` holds
    a part in its place against what stands near; None asks the site's own neighbours.
    """

    faces: tuple[str, ...] = ()
    practice: Practice = field(default_factory=Practice)
    most: int = _MOST
    scatter: ShopScatter | None = None
    judge: Judge | None = None


@dataclass(slots=True)
class Trail:
    """What was tried and refused, for the person who gets no proposal; `seats` are the faces that were to be joined."""

    refusals: list[str] = field(default_factory=list)
    seats: tuple[MatingFace, ...] = ()


def span(
    site: Site, located: Located, wish: SpanRequest | None = None, trail: Trail | None = None
) -> tuple[Proposal, ...]:
    """Brackets that join the old holes with those of what is carried, the best first; empty when none can be made.

    Every one passes all rules and meets its holes within 0.01 mm. Raises GeometryFault or LookupFault for a site
    or a practice that nothing can be spanned with, InputFaults for neighbours that can't stand as they are written.
    """
    wish, trail = wish or SpanRequest(), trail or Trail()
    wish.practice.check()
    seats = seats_of(located, site.document.carried, wish.practice.thickness_mm, wish.faces)
    trail.seats = seats
    if sum(len(s.holes) for s in seats) < 2:
        raise GeometryFault("one hole is nothing to span", None, "choose more faces, or describe what is carried")
    near = keep_outs(site, seats[0].body)
    judge = wish.judge or (lambda placed: closest_of(placed, site))
    found: list[Proposal] = []
    for practice, room in _ease(wish.practice):
        if (found and room is EdgeDistance.EASY) or any(not p.fouls for p in found):
            # A larger die makes brackets that can be bent, not such that keep clear.
            break
        search = _SpanSearch(site, located, seats, practice, room, wish.most, judge, trail, crowding(near))
        found += search.proposals()
    if wish.scatter is None:
        return ranked(found)[: wish.most]
    best = ranked(found)[: wish.most]
    order = ranked([*(with_odds(p, located, wish.scatter) for p in best[:_WITH_ODDS]), *best[_WITH_ODDS:]])
    # Roomier holes leave the metal where it is, so that what stands near is not asked again.
    first = [first_fit(p, site, located, seats, wish.scatter) for p in order[:1]]
    return reasoned([*first, *order[1:]])


def _ease(practice: Practice) -> Iterator[tuple[Practice, EdgeDistance]]:
    """Practices to try in turn: with room to spare, then tight, then with larger dies."""
    now: Practice | None = practice
    for _ in range(_DIES + 1):
        if now is None:
            return
        for room in EdgeDistance:
            yield now, room
        now = now.with_larger_die()


@dataclass(slots=True)
class _SpanSearch:
    site: Site
    located: Located
    seats: tuple[MatingFace, ...]
    practice: Practice
    room: EdgeDistance
    most: int
    judge: Judge
    trail: Trail
    near: Crowding | None
    pairs: dict[tuple[str, str], list[Connection]] = field(default_factory=dict)

    def proposals(self) -> list[Proposal]:
        found: list[Proposal] = []
        for layout in itertools.islice(self._layouts(), _TRIES):
            if len(found) >= self.most:
                break
            made = self._proved(layout, len(found) + 1)
            if isinstance(made, str):
                self.trail.refusals.append(f"{kind_of(layout)}: {made}")
                continue
            found.append(replace(made, closest=self.judge(made.placed)))
        return found

    def _proved(self, layout: Layout, n: int) -> Proposal | str:
        heading = heading_of(self.site, layout, self.seats)
        return proved(layout, heading, f"{self.site.name}-{n}", self.site, self.located, self.seats)

    def _layouts(self) -> Iterator[Layout]:
        """Layouts from the cheapest on."""
        if len(self.seats) == 1:
            yield lay_out(footing(self.seats[0], Touching.BACK, self.practice, self.room), (), self.practice, self.room)
            return
        if self.practice.most_turn_deg() <= 0.0:
            return
        plans: list[_Plan] = []
        for root in self._roots():
            branches = [self._ways(root, s) for s in self.seats if s is not root]
            for ways in itertools.product(*branches):
                plans.append((sum(w.cost for w in ways), len(plans), ways[0].first, ways))
        for _, _, first, ways in _varied(plans):
            yield lay_out(first, ways, self.practice, self.room)

    def _roots(self) -> Iterator[MatingFace]:
        """Seats that have a way to every other: of two the first, of more each may be the one in the middle."""
        if len(self.seats) == 2:
            yield self.seats[0]
            return
        joined = {frozenset((a.name, b.name)) for a, b in itertools.combinations(self.seats, 2) if self._ways(a, b)}
        for seat in self.seats:
            if all(frozenset((seat.name, s.name)) in joined for s in self.seats if s is not seat):
                yield seat

    def _ways(self, root: MatingFace, seat: MatingFace) -> list[Connection]:
        """Ways from a root whose back touches, found once."""
        key = (root.name, seat.name)
        if key not in self.pairs:
            self.pairs[key] = self._new_ways(root, seat)
        return self.pairs[key]

    def _new_ways(self, root: MatingFace, seat: MatingFace) -> list[Connection]:
        first = footing(root, Touching.BACK, self.practice, self.room)
        found: list[Connection] = []
        for touching in Touching:
            other = footing(seat, touching, self.practice, self.room)
            found += one_bend_connections(first, other, self.practice, self.near)
            found += two_bend_connections(first, other, self.practice, _WAYS, self.near)
        most = 2 * _WAYS if len(self.seats) == 2 else _WAYS // 2
        return [p[3][0] for p in _varied([(w.cost, n, first, (w,)) for n, w in enumerate(found)])][:most]


def heading_of(site: Site, layout: Layout, seats: Sequence[MatingFace]) -> Heading:
    """What a proposed description says of itself."""
    joined = ", ".join(s.name for s in seats)
    told = (
        f"Proposed for the site '{site.document.title}': joins {joined}.",
        "Sizes come from the positions solved from the readings; look at their residuals before cutting.",
        "The rules check making, not strength: have load paths judged by someone qualified.",
    )
    return Heading(f"{site.document.title}: {kind_of(layout)}", told, site_file(site), hazards(site))


_Plan = tuple[float, int, Footing, tuple[Connection, ...]]


def _varied(plans: list[_Plan]) -> list[_Plan]:
    """By cost, but the first of each fold comes early, and each further one like it waits a little longer."""
    seen: dict[tuple[object, ...], int] = {}
    waiting: list[tuple[float, int, _Plan]] = []
    for n, plan in enumerate(sorted(plans, key=lambda p: p[:2])):
        fold = tuple(fold_of(w) for w in plan[3])
        before = seen.get(fold, 0)
        waiting.append((plan[0] * (1.0 + _ALIKE_SHARE * before if before else _FIRST_SHARE), n, plan))
        seen[fold] = before + 1
    return [plan for _, _, plan in sorted(waiting, key=lambda w: w[:2])]
