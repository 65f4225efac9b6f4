"""Errors at random for many builds of one part, kept apart by cause."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.bending.flat import Flat, FlatHole
from bracketgen.fit.locate.located import Located
from bracketgen.fit.odds.bent import BendError, BentHoles, bent_holes, hole_of
from bracketgen.fit.odds.scatter import Scatter, Spread, hole_place_spread, hole_size_spread
from bracketgen.fit.seating.mates import CARRIED
from bracketgen.fit.seating.placed import Bolted, Placed
from bracketgen.geometry.point import Point

Floats = npt.NDArray[np.float64]


class Cause(StrEnum):
    """Why a build may miss."""

    READINGS = "readings"
    HOLE_PLACE = "places of the cut holes"
    HOLE_SIZE = "sizes of the cut holes"
    TURN = "turn of the bends"
    K_FACTOR = "metal that the bends take"
    BEND_LINE = "places of the bend lines"
    THICKNESS = "thickness of the sheet"
    CARRIED = "holes of the carried thing"


_OF_BENDING: Final = {
    BendError.TURN: Cause.TURN,
    BendError.K_FACTOR: Cause.K_FACTOR,
    BendError.BEND_LINE: Cause.BEND_LINE,
    BendError.THICKNESS: Cause.THICKNESS,
}


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """b builds of n bolts, mm: where the part's holes and their mates come out, and by how much play changes.

    `off` (b, v) holds the errors of the bent model's variables; `cut`, `old` and `carried` are shifts (b, n, 3) in the
    site's frame, of the part's holes, of old holes and of the carried thing's; `play` (b, n) is what half a diameter
    came out larger.
    """

    model: BentHoles
    wanted: Floats
    off: Floats
    cut: Floats
    play: Floats
    old: Floats
    carried: Floats

    def holes(self, without: Cause | None = None) -> tuple[Floats, Floats, Floats]:
        """The part's holes (b, n, 3), their mates (b, n, 3) and the change of play (b, n), one cause left out."""
        kept = np.array([_OF_BENDING[v.error] is not without for v in self.model.variables], dtype=float)
        parts = self.model.places(self.off * kept) + self.cut * (without is not Cause.HOLE_PLACE)
        mates = self.wanted + self.old * (without is not Cause.READINGS) + self.carried * (without is not Cause.CARRIED)
        return parts, mates, self.play * (without is not Cause.HOLE_SIZE)

    def first(self, builds: int) -> Draws:
        """The first so many builds."""
        names = ("off", "cut", "play", "old", "carried")
        return replace(self, **{name: getattr(self, name)[:builds] for name in names})

    def causes(self) -> tuple[Cause, ...]:
        """The causes that have any part in these builds."""
        at_work = {_OF_BENDING[v.error] for v in self.model.variables}
        shifts = {
            Cause.READINGS: self.old,
            Cause.HOLE_PLACE: self.cut,
            Cause.HOLE_SIZE: self.play,
            Cause.CARRIED: self.carried,
        }
        return tuple(c for c in Cause if c in at_work or (c in shifts and bool(np.any(shifts[c]))))


def draw_builds(
    placed: Placed, located: Located | None, flat: Flat, practice: Scatter, seed: int, builds: int
) -> Draws:
    """Errors of so many builds. Equal seeds draw equal errors, each cause from its own row of numbers.

    Raises KeyError for a bolt whose old hole is not among the located ones, LookupFault where no tolerance is held.
    """
    bolts, n = placed.bolts, len(placed.bolts)
    model = bent_holes(placed, flat, practice)

    def random(cause: Cause) -> np.random.Generator:
        return np.random.default_rng([seed, list(Cause).index(cause)])

    off = [v.spread.draw(_of_bend(seed, v.bend, v.error), (builds,)) for v in model.variables]
    place = practice.hole_place_mm or hole_place_spread(flat.part.stock, _widest_mm(placed, flat))
    return Draws(
        model=model,
        wanted=np.array([b.wanted for b in bolts]),
        off=np.stack(off, axis=1) if off else np.zeros((builds, 0)),
        cut=np.einsum("bnc,nck->bnk", place.draw(random(Cause.HOLE_PLACE), (builds, n, 2)), _cut_ways(placed, flat)),
        play=_play(placed, flat, practice, lambda: random(Cause.HOLE_SIZE), builds),
        old=_old(placed, located, random(Cause.READINGS), builds),
        carried=_carried(placed, practice.carried_mm, random(Cause.CARRIED), builds),
    )


def _of_bend(seed: int, bend: int, error: BendError) -> np.random.Generator:
    return np.random.default_rng([seed, list(Cause).index(_OF_BENDING[error]), bend + 1])


def _flat_holes(placed: Placed, flat: Flat) -> list[FlatHole]:
    by_id = {h.hole.id: h for h in flat.holes}
    return [by_id[b.part_hole] for b in placed.bolts]


def _widest_mm(placed: Placed, flat: Flat) -> float:
    centres = [h.centre for h in _flat_holes(placed, flat)]
    return max((a.distance(b) for a, b in combinations(centres, 2)), default=0.0)


def _cut_ways(placed: Placed, flat: Flat) -> Floats:
    """Where x and y of the flat point in the site once the part is bent and in place, (n, 2, 3)."""
    ways = []
    for bolt, hole in zip(placed.bolts, _flat_holes(placed, flat), strict=True):
        panel = placed.folded.frames[bolt.panel]
        back = hole.placement.inverse()
        on_panel = (back.direction(Point(1.0, 0.0)), back.direction(Point(0.0, 1.0)))
        ways.append([placed.frame.direction(panel.direction((p.x, p.y, 0.0))) for p in on_panel])
    return np.array(ways)


def _play(
    placed: Placed, flat: Flat, practice: Scatter, random: Callable[[], np.random.Generator], builds: int
) -> Floats:
    stock = flat.part.stock
    spreads = [practice.hole_size_mm or hole_size_spread(stock, hole_of(placed, b)) for b in placed.bolts]
    source = random()
    return np.stack([0.5 * s.draw(source, (builds,)) for s in spreads], axis=1)


def _old(placed: Placed, located: Located | None, random: np.random.Generator, builds: int) -> Floats:
    shifts = np.zeros((builds, len(placed.bolts), 3))
    if located is None:
        return shifts
    values, ways = np.linalg.eigh(located.covariance)
    root = ways * np.sqrt(np.maximum(values, 0.0))
    drawn = (random.normal(0.0, 1.0, (builds, len(values))) @ root.T).reshape(builds, -1, 3)
    number = {hole.id: k for k, hole in enumerate(located.holes)}
    for n, bolt in enumerate(placed.bolts):
        if is_old(bolt):
            shifts[:, n] = drawn[:, number[bolt.mate]]
    return shifts


def is_old(bolt: Bolted) -> bool:
    """Whether the bolt's mate is an old hole of the vehicle, not one of the carried thing."""
    return not bolt.mate.startswith(CARRIED)


def _carried(placed: Placed, spread: Spread, random: np.random.Generator, builds: int) -> Floats:
    shifts = np.zeros((builds, len(placed.bolts), 3))
    for n, bolt in enumerate(placed.bolts):
        drawn = spread.draw(random, (builds, 2))
        if not is_old(bolt):
            axes = across_axes(np.array(bolt.axis), None)
            shifts[:, n] = drawn @ axes[:2]
    return shifts


def across_axes(axis: Floats, first: Floats | None) -> Floats:
    """Unit axes of a bolt, (3, 3): `first` made square to the axis (any where None), across it, along the bolt."""
    along = axis / np.linalg.norm(axis)
    guess = first if first is not None else np.eye(3)[int(np.argmin(np.abs(along)))]
    u = guess - along * float(guess @ along)
    u = u / np.linalg.norm(u)
    return np.array([u, np.cross(along, u), along])
