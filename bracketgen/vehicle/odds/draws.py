"""How far off each step of a build may be: the shop's practice, or the usual figures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial
from itertools import combinations
from math import radians, sqrt
from typing import Final

import numpy as np

from bracketgen.bending.flat import Flat, FlatHole
from bracketgen.bending.fold import fold
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Hole
from bracketgen.part.part import Bend, Stock
from bracketgen.standards.deviations import Deviation, cut_tolerance, general_tolerance, usual_scatter_of
from bracketgen.standards.table import LookupFault
from bracketgen.vehicle.locate.locate import Located
from bracketgen.vehicle.seating.bolts import Placed, Touching

#: ISO 2768-1 begins here; the nearer of two holes is never nearer than that.
_LEAST_SIZE_MM = 0.5


class Distribution(StrEnum):
    """What a plus-or-minus says: nothing lies beyond it (evenly spread), or it is one standard deviation (normal)."""

    LIMIT = "limit"
    SIGMA = "sigma"


@dataclass(frozen=True, slots=True)
class Spread:
    """Plus or minus `value`, 0 or more, in the unit of the field that holds it."""

    value: float
    kind: Distribution = Distribution.LIMIT

    @property
    def sigma(self) -> float:
        """One standard deviation; limit / sqrt(3) where evenly spread."""
        return self.value if self.kind is Distribution.SIGMA else self.value / sqrt(3.0)

    def draw(self, random: np.random.Generator, shape: tuple[int, ...]) -> Floats:
        """Errors at random, of that shape."""
        if self.kind is Distribution.SIGMA:
            return random.normal(0.0, 1.0, shape) * self.value
        return random.uniform(-1.0, 1.0, shape) * self.value


@dataclass(frozen=True, slots=True)
class ShopScatter:
    """What a shop keeps to; degrees, mm, K as a ratio.

    `hole_place_mm` is for each hole along x and along y of the flat; `hole_size_mm` is for diameters. None: from
    the tolerance class of the part's process, with half the deviation of the widest hole distance to each hole.
    `pull_up_mm` is the gap under a bolt that tightening closes, `repeat_mm` one standard deviation of a careful
    second reading.
    """

    turn_deg: Spread
    k_factor: Spread
    bend_line_mm: Spread
    thickness_mm: Spread
    carried_mm: Spread
    pull_up_mm: float
    repeat_mm: float
    hole_place_mm: Spread | None = None
    hole_size_mm: Spread | None = None


def usual_scatter() -> ShopScatter:
    """The usual figures. Source: the table of bend scatter, row by row."""

    def limit(scatter_id: str) -> Spread:
        return Spread(usual_scatter_of(scatter_id).plus_minus)

    return ShopScatter(
        turn_deg=limit("turn"),
        k_factor=limit("k_factor"),
        bend_line_mm=limit("bend_line"),
        thickness_mm=limit("thickness"),
        carried_mm=limit("carried"),
        pull_up_mm=usual_scatter_of("pull_up").plus_minus,
        repeat_mm=usual_scatter_of("repeat").plus_minus,
    )


def hole_place_spread(stock: Stock, widest_mm: float) -> Spread:
    """Each hole's place along x and y, mm: half the deviation of the widest distance between two holes.

    Two holes that each keep to half keep their distance to the whole. Raises LookupFault beyond the tables.
    """
    return Spread(_deviation(stock, max(widest_mm, _LEAST_SIZE_MM)).plus_minus / 2.0)


def hole_size_spread(stock: Stock, hole: Hole) -> Spread:
    """The hole's diameter, mm; drilled holes (with a pilot) and openings are taken as true."""
    if hole.pilot is not None or hole.shape.width_mm is None:
        return Spread(0.0)
    return Spread(_deviation(stock, hole.shape.width_mm).plus_minus)


#: Which table a process names, as the processes table words it.
_TABLES: dict[str, Callable[[float, float, str], Deviation]] = {
    "ISO 9013": cut_tolerance,
    "ISO 2768-1": lambda size_mm, _thickness_mm, tolerance_class: general_tolerance(size_mm, tolerance_class),
}


def _deviation(stock: Stock, size_mm: float) -> Deviation:
    process = stock.process
    if process.tolerance_table not in _TABLES:
        raise LookupFault("tolerance table", process.tolerance_table, tuple(_TABLES))
    return _TABLES[process.tolerance_table](size_mm, stock.thickness_mm, process.tolerance_class)


# How builds of one part come out: where bends that are off leave the holes, and errors at random kept apart by cause.
#
# What is cut stays as cut: the flat keeps the allowance that it was made with, while each bend takes the metal of its
# own turn, K factor and thickness, half to each side of its centre line. So a bend that takes less than it was given
# leaves both panels longer, and one set beside its line makes the parent longer and the child shorter.


# -- a second-order model of the exact fold


#: Steps below this say nothing of a bend and everything of rounding.
_LEAST_STEP = 1e-3


class BendError(StrEnum):
    """What may be off in bending."""

    TURN = "turn"
    K_FACTOR = "K factor"
    BEND_LINE = "bend line"
    THICKNESS = "thickness"


@dataclass(frozen=True, slots=True)
class Variable:
    """One thing that may be off: an error of one bend, by its number; thickness is of the whole sheet (-1)."""

    error: BendError
    bend: int
    spread: Spread

    @property
    def step(self) -> float:
        """How far the model looks to each side: the limit, or two standard deviations."""
        return max(self.spread.sigma * 1.8, _LEAST_STEP)


@dataclass(frozen=True, slots=True, eq=False)
class BentHoles:
    """n holes in the site's frame, mm: base (n, 3), slope (v, n, 3), curve (v, v, n, 3) for v variables."""

    variables: tuple[Variable, ...]
    base: Floats
    slope: Floats
    curve: Floats

    def places(self, off: Floats) -> Floats:
        """Holes of b builds, (b, n, 3), for errors (b, v) in the units of the variables."""
        b, v = off.shape
        n = len(self.base)
        if not v:
            return np.broadcast_to(self.base, (b, n, 3)).copy()
        bow = (off @ self.curve.reshape(v, -1)).reshape(b, v, 3 * n)
        moved: Floats = off @ self.slope.reshape(v, 3 * n) + 0.5 * np.einsum("bv,bvk->bk", off, bow)
        places: Floats = self.base + moved.reshape(b, n, 3)
        return places


def variables_of(placed: Placed, practice: ShopScatter) -> tuple[Variable, ...]:
    """Everything that may be off in bending this part and has a spread above 0."""
    found = [
        Variable(error, n, spread)
        for n in range(len(placed.folded.part.bends))
        for error, spread in (
            (BendError.TURN, practice.turn_deg),
            (BendError.K_FACTOR, practice.k_factor),
            (BendError.BEND_LINE, practice.bend_line_mm),
        )
    ]
    found.append(Variable(BendError.THICKNESS, -1, practice.thickness_mm))
    return tuple(v for v in found if v.spread.value > 0)


def exact_places(placed: Placed, flat: Flat, variables: tuple[Variable, ...], off: Floats) -> Floats:
    """The holes, (n, 3), by the exact fold of one build with errors `off`, one for each variable."""
    part = placed.folded.part
    thicker = sum((float(x) for v, x in zip(variables, off, strict=True) if v.error is BendError.THICKNESS), 0.0)
    thickness = part.stock.thickness_mm + thicker
    bends = []
    for n, bend in enumerate(part.bends):
        mine = {v.error: float(x) for v, x in zip(variables, off, strict=True) if v.bend == n}
        bends.append(_bent_off(bend, flat, thickness, mine))
    folded = fold(replace(part, bends=tuple(bends), stock=replace(part.stock, thickness_mm=thickness)))
    places = []
    for bolt in placed.bolts:
        depth = thickness if bolt.touching is Touching.BACK else 0.0
        places.append(placed.frame.point(folded.point(bolt.panel, placed.hole(bolt).centre, depth)))
    return np.array(places)


def _bent_off(bend: Bend, flat: Flat, thickness_mm: float, off: dict[BendError, float]) -> Bend:
    metal = flat.strip(bend.id).metal
    turn_deg = bend.turn_deg + off.get(BendError.TURN, 0.0)
    # Whatever the method, the allowance has its K factor, so that with nothing off the bend takes what it was given.
    k = metal.k_factor + off.get(BendError.K_FACTOR, 0.0)
    taken = radians(turn_deg) * (bend.inside_radius_mm + k * thickness_mm)
    longer = (metal.allowance_mm - taken) / 2.0
    beside = off.get(BendError.BEND_LINE, 0.0)
    return replace(
        bend,
        turn_deg=turn_deg,
        parent_line=_shifted(bend.parent_line, longer + beside),
        child_line=_shifted(bend.child_line, beside - longer),
    )


def _shifted(line: Line, left_mm: float) -> Line:
    side = line.end.minus(line.start).unit().left()
    return Line(line.start.plus(side, left_mm), line.end.plus(side, left_mm))


def bent_holes(placed: Placed, flat: Flat, practice: ShopScatter) -> BentHoles:
    """The model, from exact folds at the edges of every spread, one and two variables at a time."""
    variables = variables_of(placed, practice)
    exact = partial(exact_places, placed, flat, variables)
    steps = np.array([v.step for v in variables])
    count, n = len(variables), len(placed.bolts)
    unit = np.diag(steps)
    base = exact(np.zeros(count))
    more = [exact(unit[i]) for i in range(count)]
    less = [exact(-unit[i]) for i in range(count)]
    slope = np.zeros((count, n, 3))
    curve = np.zeros((count, count, n, 3))
    for i in range(count):
        slope[i] = (more[i] - less[i]) / (2.0 * steps[i])
        curve[i, i] = (more[i] + less[i] - 2.0 * base) / steps[i] ** 2
        for j in range(i):
            both = exact(unit[i] + unit[j]) - more[i] - more[j] + base
            curve[i, j] = curve[j, i] = both / (steps[i] * steps[j])
    return BentHoles(variables, base, slope, curve)


def model_error_mm(model: BentHoles, placed: Placed, flat: Flat, off: Floats) -> float:
    """The largest distance between model and exact fold over some builds, errors (b, v), mm."""
    if not off.size:
        return 0.0
    exact = np.array([exact_places(placed, flat, model.variables, row) for row in off])
    return float(np.linalg.norm(exact - model.places(off), axis=2).max())


# -- errors at random for many builds


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
    placed: Placed, located: Located | None, flat: Flat, practice: ShopScatter, seed: int, builds: int
) -> Draws:
    """Errors of so many builds. Equal seeds draw equal errors, each cause from its own row of numbers.

    Raises KeyError for a bolt whose old hole is not among the located ones, LookupFault where no tolerance is held.
    """
    bolts, n = placed.bolts, len(placed.bolts)
    model = bent_holes(placed, flat, practice)

    def random(cause: Cause) -> np.random.Generator:
        return np.random.default_rng([seed, list(Cause).index(cause)])

    off = [
        v.spread.draw(np.random.default_rng([seed, list(Cause).index(_OF_BENDING[v.error]), v.bend + 1]), (builds,))
        for v in model.variables
    ]
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
    placed: Placed, flat: Flat, practice: ShopScatter, random: Callable[[], np.random.Generator], builds: int
) -> Floats:
    stock = flat.part.stock
    spreads = [practice.hole_size_mm or hole_size_spread(stock, placed.hole(b)) for b in placed.bolts]
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
        if not bolt.to_carried:
            shifts[:, n] = drawn[:, number[bolt.mate]]
    return shifts


def _carried(placed: Placed, spread: Spread, random: np.random.Generator, builds: int) -> Floats:
    shifts = np.zeros((builds, len(placed.bolts), 3))
    for n, bolt in enumerate(placed.bolts):
        drawn = spread.draw(random, (builds, 2))
        if bolt.to_carried:
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
