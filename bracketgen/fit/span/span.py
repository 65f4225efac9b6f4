"""Proposes brackets for a site: every way that can be made, proved, and ranked."""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from bracketgen.fit.locate.located import Located
from bracketgen.fit.seating.placed import Touching
from bracketgen.fit.site.site import Site
from bracketgen.fit.span.layout import Layout, lay_out
from bracketgen.fit.span.lying import Lying, lying
from bracketgen.fit.span.practice import Practice, Room
from bracketgen.fit.span.proposal import Closest, Odds, Proposal, Refusal, fold_of, hazards, kind_of, proved, site_file
from bracketgen.fit.span.ranking import ranked
from bracketgen.fit.span.search import Crowding, Way, one_bend_ways, two_bend_ways
from bracketgen.fit.span.seat import Seat, seats_of
from bracketgen.fit.span.writing import Heading, described

#: Ways that are looked for between two seats, combinations that are tried, proposals that are handed back.
_WAYS: Final = 10
_TRIES: Final = 60
_MOST: Final = 6
#: Share of its cost by which a proposal falls back for each one before it that is folded alike.
_ALIKE_SHARE: Final = 0.15
#: Larger dies that are tried when the first gives nothing.
_DIES: Final = 2

GapOf = Callable[[Proposal], Closest | None]
OddsOf = Callable[[Proposal], Odds | None]


@dataclass(frozen=True, slots=True)
class Wish:
    """What is asked for: faces to join (all when empty), sheet and tooling, and how many proposals at most.

    `gap_of` judges a proposal against what stands near, `odds_of` says how likely it bolts up, `crowding` is a quick
    guess for the search: mm by which the worst of some points falls short of its gap.
    """

    faces: tuple[str, ...] = ()
    practice: Practice = field(default_factory=Practice)
    most: int = _MOST
    gap_of: GapOf | None = None
    odds_of: OddsOf | None = None
    crowding: Crowding | None = None
    seconds: float = 1.6


@dataclass(slots=True)
class Trail:
    """What was tried: the refusals, for the person who gets no proposal."""

    refusals: list[str] = field(default_factory=list)


def span(site: Site, located: Located, wish: Wish | None = None, trail: Trail | None = None) -> tuple[Proposal, ...]:
    """Brackets that join the old holes with those of what is carried, the best first; empty when none can be made.

    Every one passes all rules and meets its holes within 0.01 mm. Raises GeometryFault or LookupFault for a site
    or a practice that nothing can be spanned with.
    """
    wish, trail = wish or Wish(), trail or Trail()
    wish.practice.check()
    until = time.monotonic() + wish.seconds
    seats = seats_of(located, site.document.carried, wish.faces)
    found: list[Proposal] = []
    for practice, room in _ease(wish.practice):
        job = _Search(site, located, wish, seats, practice, room, trail, until)
        found += job.proposals()
        if any(not p.fouls for p in found) or time.monotonic() > until:
            break
    return ranked(found)[: wish.most]


def _ease(practice: Practice) -> Iterator[tuple[Practice, Room]]:
    """Practices to try in turn: with room to spare, then tight, then with larger dies."""
    now: Practice | None = practice
    for _ in range(_DIES + 1):
        if now is None:
            return
        for room in Room:
            yield now, room
        now = now.with_larger_die()


@dataclass(slots=True)
class _Search:
    site: Site
    located: Located
    wish: Wish
    seats: tuple[Seat, ...]
    practice: Practice
    room: Room
    trail: Trail
    until: float

    def proposals(self) -> list[Proposal]:
        found: list[Proposal] = []
        for layout in itertools.islice(self._layouts(), _TRIES):
            if len(found) >= self.wish.most or time.monotonic() > self.until:
                break
            made = self._proved(layout, len(found) + 1)
            if isinstance(made, Refusal):
                self.trail.refusals.append(f"{kind_of(layout)}: {made.why}")
                continue
            found.append(self._judged(made))
        return found

    def _judged(self, made: Proposal) -> Proposal:
        closest = self.wish.gap_of(made) if self.wish.gap_of else None
        odds = self.wish.odds_of(made) if self.wish.odds_of else None
        return replace(made, closest=closest, odds=odds)

    def _proved(self, layout: Layout, n: int) -> Proposal | Refusal:
        name = f"{self.site.name}-{n}"
        text = described(layout, self._heading(layout))
        return proved(text, name, layout, self.site, self.located, self.seats)

    def _heading(self, layout: Layout) -> Heading:
        joined = ", ".join(s.name for s in self.seats)
        told = (
            f"Proposed for the site '{self.site.document.title}': joins {joined}.",
            "Sizes come from the positions solved from the readings; look at their residuals before cutting.",
            "The rules check making, not strength: have load paths judged by someone qualified.",
        )
        title = f"{self.site.document.title}: {kind_of(layout)}"
        return Heading(title, told, site_file(self.site), hazards(self.site))

    def _layouts(self) -> Iterator[Layout]:
        """Layouts from the cheapest on."""
        if len(self.seats) == 1:
            yield lay_out(lying(self.seats[0], Touching.BACK, self.practice, self.room), (), self.practice, self.room)
            return
        if self.practice.most_turn_deg() <= 0.0:
            return
        plans: list[_Plan] = []
        for root_seat in self._roots():
            root = lying(root_seat, Touching.BACK, self.practice, self.room)
            branches = [self._ways(root, s) for s in self.seats if s is not root_seat]
            if not all(branches):
                continue
            for ways in itertools.product(*branches):
                plans.append((sum(w.cost for w in ways), len(plans), root, ways))
        for _, _, root, ways in _varied(sorted(plans, key=lambda p: p[:2])):
            yield lay_out(root, ways, self.practice, self.room)

    def _roots(self) -> Sequence[Seat]:
        """Between two seats either can be the first panel; of more, each may be the one in the middle."""
        return self.seats[:1] if len(self.seats) == 2 else self.seats

    def _ways(self, root: Lying, seat: Seat) -> list[Way]:
        found: list[Way] = []
        for touching in Touching:
            other = lying(seat, touching, self.practice, self.room)
            found += one_bend_ways(root, other, self.practice)
            found += two_bend_ways(root, other, self.practice, _WAYS, self.wish.crowding)
        most = _WAYS if len(self.seats) == 2 else 5
        return [p[3][0] for p in _varied([(w.cost, n, root, (w,)) for n, w in enumerate(found)])][: 2 * most]


_Plan = tuple[float, int, Lying, tuple[Way, ...]]


def _varied(plans: list[_Plan]) -> list[_Plan]:
    """By cost, but each further plan that is folded like one before it waits a little longer."""
    seen: dict[tuple[object, ...], int] = {}
    waiting: list[tuple[float, int, _Plan]] = []
    for n, plan in enumerate(sorted(plans, key=lambda p: p[:2])):
        fold = tuple(fold_of(w) for w in plan[3])
        waiting.append((plan[0] * (1.0 + _ALIKE_SHARE * seen.get(fold, 0)), n, plan))
        seen[fold] = seen.get(fold, 0) + 1
    return [plan for _, _, plan in sorted(waiting, key=lambda w: w[:2])]
