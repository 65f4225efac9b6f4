"""Where the bolted holes come out when the bends are off: a second-order model of the exact fold.

What is cut stays as cut: the flat keeps the allowance that it was made with, while each bend takes the metal of its
own turn, K factor and thickness, half to each side of its centre line. So a bend that takes less than it was given
leaves both panels longer, and one set beside its line makes the parent longer and the child shorter.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial
from math import radians

import numpy as np
import numpy.typing as npt

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import fold
from bracketgen.fit.odds.scatter import Scatter, Spread
from bracketgen.fit.seating.placed import Bolted, Placed, Touching
from bracketgen.geometry.line import Line
from bracketgen.part.bend import Bend
from bracketgen.part.hole import Hole

Floats = npt.NDArray[np.float64]

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


def hole_of(placed: Placed, bolt: Bolted) -> Hole:
    """The part's hole that a bolt goes through; KeyError when there is none."""
    for hole in placed.folded.part.panel(bolt.panel).holes:
        if hole.id == bolt.part_hole:
            return hole
    raise KeyError(bolt.part_hole)


def variables_of(placed: Placed, practice: Scatter) -> tuple[Variable, ...]:
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
        places.append(placed.frame.point(folded.point(bolt.panel, hole_of(placed, bolt).centre, depth)))
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


def bent_holes(placed: Placed, flat: Flat, practice: Scatter) -> BentHoles:
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
