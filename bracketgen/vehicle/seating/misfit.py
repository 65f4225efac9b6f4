"""How well each bolt meets its hole: off in the plane, off out of it, out of square; and the stress of a step."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Vector, degrees_between, dot, length, minus, plus, scaled
from bracketgen.part.hole import Hole
from bracketgen.vehicle.seating.mates import CARRIED
from bracketgen.vehicle.seating.placed import Bolted, Placed, Touching

#: Feet whose faces are this nearly parallel are pulled onto them like one flat foot; common practice, no source.
_PARALLEL_DEG: Final = 1.0


@dataclass(frozen=True, slots=True)
class BoltMisfit:
    """One bolt of the placed part, mm and degrees.

    `off` is the way in the plane of the face from the mating hole to the part's, less what a slot forgives; `lift`
    how far the part stands off its face there (below 0: into it). `tilt_deg` is the angle between the part and the
    face. `over_mm` is how far `off` goes beyond the bolt's play.
    """

    bolt: Bolted
    off: Vector
    lift_mm: float
    tilt_deg: float

    @property
    def off_mm(self) -> float:
        """Length of `off`."""
        return length(self.off)

    @property
    def over_mm(self) -> float:
        """What is missing for the bolt to go in; 0 when it goes in."""
        return max(0.0, self.off_mm - max(0.0, self.bolt.play_mm))


@dataclass(frozen=True, slots=True)
class Step:
    """A foot that stands off its face when the part is bolted to the others of that face's direction, mm and MPa.

    `free_mm` is the length that bends: to the nearest other bolt, or bend, of the panel; None when there is none.
    Stresses: 3 E d t / (2 L^2) at the root of a foot whose end is free to lie slanted, twice that when the bolt
    clamps its end square (a beam built in at one end, or at both; Euler-Bernoulli).
    """

    bolt: Bolted
    step_mm: float
    free_mm: float | None
    free_mpa: float | None

    @property
    def square_mpa(self) -> float | None:
        """Stress when the end is clamped square."""
        return None if self.free_mpa is None else 2.0 * self.free_mpa


def misfits(placed: Placed) -> tuple[BoltMisfit, ...]:
    """Every bolt, in order."""
    return tuple(_misfit(placed, bolt) for bolt in placed.bolts)


def part_normal(placed: Placed, bolt: Bolted) -> Vector:
    """The direction in the site in which the mating face's normal should look, by the part."""
    z = placed.frame.direction(placed.folded.normal(bolt.panel))
    return scaled(z, -1.0) if bolt.touching is Touching.FACE else z


def _misfit(placed: Placed, bolt: Bolted) -> BoltMisfit:
    apart = minus(bolt.at, bolt.wanted)
    lift = dot(apart, bolt.axis)
    off = plus(apart, bolt.axis, -lift)
    if bolt.slot_axis is not None:
        along = dot(off, bolt.slot_axis)
        off = plus(off, bolt.slot_axis, -max(-bolt.slot_play_mm, min(bolt.slot_play_mm, along)))
    return BoltMisfit(bolt, off, lift, degrees_between(part_normal(placed, bolt), bolt.axis))


def steps(placed: Placed) -> tuple[Step, ...]:
    """Every bolt on the vehicle whose face is not level with the lowest of its direction, as the part sees it.

    The heights are compared along the faces' normal, so that they don't depend on where least squares put the part.
    """
    found = []
    for group in _parallel([b for b in placed.bolts if not b.mate.startswith(CARRIED)]):
        heights = [_height(placed, group[0], bolt) for bolt in group]
        base = sorted(heights)[(len(heights) - 1) // 2]
        found += [_step(placed, b, h - base) for b, h in zip(group, heights, strict=True) if h != base]
    return tuple(found)


def _parallel(bolts: Sequence[Bolted]) -> Iterator[list[Bolted]]:
    left = list(bolts)
    while left:
        group = [b for b in left if degrees_between(b.axis, left[0].axis) <= _PARALLEL_DEG]
        yield group
        left = [b for b in left if b not in group]


def _height(placed: Placed, base: Bolted, bolt: Bolted) -> float:
    """How far the bolt's face stands out beyond the base's, less how far the part's own foot does."""
    of_face = dot(minus(bolt.wanted, base.wanted), base.axis)
    of_part = dot(minus(bolt.at, base.at), part_normal(placed, base))
    return of_face - of_part


def _step(placed: Placed, bolt: Bolted, step_mm: float) -> Step:
    free = _free_length(placed, bolt)
    if free is None:
        return Step(bolt, step_mm, None, None)
    stock = placed.folded.part.stock
    modulus_mpa = stock.metal.elastic_modulus_gpa * 1000.0
    return Step(bolt, step_mm, free, pull_up_mpa(modulus_mpa, abs(step_mm), stock.thickness_mm, free))


def pull_up_mpa(modulus_mpa: float, step_mm: float, thickness_mm: float, free_mm: float) -> float:
    """Bending stress at the root of a foot pulled down by `step_mm` over the length `free_mm`, its end free to slant.

    A cantilever's end deflection is F L^3 / (3 E I), its root stress F L t / (2 I): 3 E d t / (2 L^2). Small
    deflections only. Clamped square it is twice that.
    """
    return 3.0 * modulus_mpa * step_mm * thickness_mm / (2.0 * free_mm**2)


def _free_length(placed: Placed, bolt: Bolted) -> float | None:
    here = _hole(placed, bolt).centre
    ways = [here.distance(_hole(placed, b).centre) for b in placed.bolts if b.panel == bolt.panel and b is not bolt]
    ways += [_distance(line, here) for line in _tangents(placed, bolt.panel)]
    return min((way for way in ways if way > 0.0), default=None)


def _hole(placed: Placed, bolt: Bolted) -> Hole:
    return next(h for h in placed.folded.part.panel(bolt.panel).holes if h.id == bolt.part_hole)


def _tangents(placed: Placed, panel: str) -> list[Line]:
    bends = placed.folded.part.bends
    return [b.parent_line for b in bends if b.parent == panel] + [b.child_line for b in bends if b.child == panel]


def _distance(line: Line, p: Point) -> float:
    return p.distance(line.nearest(p))
