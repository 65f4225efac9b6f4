"""An order in which all bends of a part can be made: depth first from the finished part, dead ends remembered."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.part.bend import Way
from bracketgen.shop.brake.figures.gauge import gauging
from bracketgen.shop.brake.figures.springback import OverBend
from bracketgen.shop.brake.making.around import Around
from bracketgen.shop.brake.making.leaf import LeafSetup, leaf_obstacle
from bracketgen.shop.brake.making.metal import Metal, Wing
from bracketgen.shop.brake.making.obstacle import Obstacle
from bracketgen.shop.brake.making.press import PressSetup, press_obstacle
from bracketgen.shop.brake.tooling.choice import Choice, Setup
from bracketgen.shop.brake.tooling.tool import Gauge

#: Beyond this many tries the search gives up and says so: no bracket needs them.
MOST_TRIES: Final = 2000
#: How many more are spent on finding out why no order works.
TRIES_FOR_A_REASON: Final = 150


@dataclass(frozen=True, slots=True)
class Step:
    """One bend made: the wing toward the back gauge (press brake) or under the clamp (leaf brake), and the tools."""

    bend: str
    way: Way
    held: Wing
    setup: Setup


@dataclass(frozen=True, slots=True)
class Found:
    """An order, or the longest beginning of one with what stopped every bend that was left."""

    steps: tuple[Step, ...]
    obstacles: tuple[tuple[str, Obstacle], ...] = ()
    gave_up: bool = False

    @property
    def whole(self) -> bool:
        """Whether every bend is made."""
        return not self.obstacles and not self.gave_up


class _GaveUp(Exception):
    """Too many tries."""


@dataclass
class Search:
    """One part on one brake; `choices` and `turns` by bend id."""

    flat: Flat
    choices: Mapping[str, Choice]
    turns: Mapping[str, OverBend]
    tries: int = 0
    _around: dict[tuple[str, frozenset[str]], Around] = field(default_factory=dict)
    _known: dict[tuple[str, frozenset[str], Wing, str], Obstacle | None] = field(default_factory=dict)
    _gauged: dict[tuple[str, frozenset[str], Wing], bool] = field(default_factory=dict)
    _most: int = MOST_TRIES

    def __post_init__(self) -> None:
        self.metal = Metal(self.flat)
        self.bends = {s.bend.id: s.bend for s in self.flat.strips}
        self._rank = _from_the_edges(self.flat)

    def around(self, bend_id: str, done: frozenset[str]) -> Around:
        """The metal around a bend in a state."""
        key = (bend_id, done)
        if key not in self._around:
            self._around[key] = Around(self.metal, bend_id, done)
        return self._around[key]

    def order(self) -> Found:
        """One set of tools for all bends where that works, else changed between bends, else why not."""
        lacking = tuple((b, c.obstacle) for b, c in self.choices.items() if c.obstacle is not None)
        if lacking:
            return Found((), lacking)
        if not self.bends:
            return Found(())
        gave_up = False
        try:
            for allowed in self._passes():
                steps = self._earlier((), frozenset(self.bends), allowed, set())
                if steps is not None:
                    return Found(steps)
        except _GaveUp:
            gave_up = True
        return self._stuck(gave_up)

    def _passes(self) -> Iterator[Callable[[Setup], bool]]:
        """Each set of tools alone, by the first bend's preference, then all of them."""
        names = list(dict.fromkeys(s.name for c in self.choices.values() for s in c.setups))
        for name in names:
            if all(any(s.name == name for s in c.setups) for c in self.choices.values()):
                yield lambda setup, name=name: setup.name == name  # type: ignore[misc]
        if len(names) > 1:
            yield lambda _setup: True

    def _earlier(
        self, later: tuple[Step, ...], made: frozenset[str], allowed: Callable[[Setup], bool], dead: set[frozenset[str]]
    ) -> tuple[Step, ...] | None:
        """The whole order with these last steps, found from the finished part back: that has the least freedom."""
        if not made:
            return later
        following = later[0] if later else None
        for bend_id in reversed(self._in_turn(made, following)):
            before = made - {bend_id}
            if before in dead:
                continue
            step = self._step(bend_id, before, following, allowed)
            whole = self._earlier((step, *later), before, allowed, dead) if step is not None else None
            if whole is not None:
                return whole
        dead.add(made)
        return None

    def _in_turn(self, of: frozenset[str], beside: Step | None) -> list[str]:
        """Bends from the edges inward; those of the other way than the step beside them first."""
        way = beside.way if beside is not None else None
        return sorted(of, key=lambda b: (way is None or self.bends[b].way is way, self._rank[b]))

    def _step(
        self, bend_id: str, done: frozenset[str], beside: Step | None, allowed: Callable[[Setup], bool]
    ) -> Step | None:
        """The bend made in the handiest way that works, like the step beside it; None when none does."""
        setups = [s for s in self.choices[bend_id].setups if allowed(s)]
        if beside is not None:
            setups.sort(key=lambda s: s.name != beside.setup.name)
        for setup in setups:
            for held in self._sides(bend_id, done, beside, setup):
                if self.obstacle(bend_id, done, held, setup) is None:
                    return Step(bend_id, self.bends[bend_id].way, held, setup)
        return None

    def _sides(self, bend_id: str, done: frozenset[str], beside: Step | None, setup: Setup) -> list[Wing]:
        """The wing to hold, best first: one that can be gauged, the same as in the step beside it."""
        unlike = {w: beside is not None and w is not beside.held for w in Wing}
        if not isinstance(setup, PressSetup):
            return sorted(Wing, key=lambda w: unlike[w])
        gauge = setup.brake.gauge
        return sorted(Wing, key=lambda w: (not self._is_gauged(bend_id, done, w, gauge), unlike[w]))

    def _is_gauged(self, bend_id: str, done: frozenset[str], held: Wing, gauge: Gauge) -> bool:
        """Whether the wing can be set to the back gauge; asked for again with every set of tools."""
        key = (bend_id, done, held)
        if key not in self._gauged:
            self._gauged[key] = gauging(self.around(bend_id, done), held, gauge).distance_mm is not None
        return self._gauged[key]

    def obstacle(self, bend_id: str, done: frozenset[str], held: Wing, setup: Setup) -> Obstacle | None:
        """What is in the way of one bend; None when it can be made so."""
        key = (bend_id, done, held, setup.name)
        if key not in self._known:
            self.tries += 1
            if self.tries > self._most:
                raise _GaveUp
            around, to_deg = self.around(bend_id, done), self.turns[bend_id].most_deg
            if isinstance(setup, LeafSetup):
                self._known[key] = leaf_obstacle(around, held, setup, to_deg)
            else:
                self._known[key] = press_obstacle(around, held, setup, to_deg)
        return self._known[key]

    def _stuck(self, gave_up: bool) -> Found:
        """The longest beginning within some more tries, and what stops each bend after it, latest in its turn."""
        self._most = self.tries + TRIES_FOR_A_REASON
        best: list[tuple[Step, ...]] = [()]
        with suppress(_GaveUp):
            self._onward((), frozenset(), set(), best)
        done = frozenset(s.bend for s in best[0])
        found = []
        for bend_id in (b for b in self.bends if b not in done):
            met = [o for (b, d, _, _), o in self._known.items() if b == bend_id and d == done and o is not None]
            if met:
                found.append((bend_id, max(met, key=lambda o: o.turn_deg)))
        return Found(best[0], tuple(found), gave_up or not found)

    def _onward(
        self, steps: tuple[Step, ...], done: frozenset[str], seen: set[frozenset[str]], best: list[tuple[Step, ...]]
    ) -> None:
        """Bends made as long as any can be; every state once."""
        seen.add(done)
        stuck = True
        for bend_id in self._in_turn(frozenset(self.bends) - done, steps[-1] if steps else None):
            step = self._step(bend_id, done, steps[-1] if steps else None, lambda _setup: True)
            if step is None:
                continue
            stuck = False
            if done | {bend_id} not in seen:
                self._onward((*steps, step), done | {bend_id}, seen, best)
        if stuck and len(steps) > len(best[0]):
            best[0] = steps


def _from_the_edges(flat: Flat) -> dict[str, tuple[int, int]]:
    """How many panels lie beyond a bend on its smaller side, then the place in the part's list."""
    bends = [s.bend for s in flat.strips]
    beyond = {b.id: 1 for b in bends}
    for bend in reversed(bends):
        beyond[bend.id] += sum(beyond[b.id] for b in bends if b.parent == bend.child)
    panels = len(flat.part.panels)
    return {b.id: (min(beyond[b.id], panels - beyond[b.id]), n) for n, b in enumerate(bends)}
