"""How well each bolt meets its hole: off in the plane, off out of it, out of square; and the stress of a step."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.edge import Line
from bracketgen.geometry.space import Vector, degrees_between, dot, length, minus, plus, scaled
from bracketgen.rules.engine import NO_SOURCE, short_of, up_mm
from bracketgen.rules.in_place import HOLE_AXIS, HOLE_STEP, MISFIT
from bracketgen.tolerances import SAME_POINT_MM
from bracketgen.vehicle.seating.bolts import Bolted, Placed, Touching

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
class HoleStep:
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


def steps(placed: Placed) -> tuple[HoleStep, ...]:
    """Every bolt on the vehicle whose face is not level with the lowest of its direction, as the part sees it.

    The heights are compared along the faces' normal, so that they don't depend on where least squares put the part.
    """
    found = []
    for group in _parallel(placed.seated):
        heights = [_height(placed, group[0], bolt) for bolt in group]
        base = sorted(heights)[(len(heights) - 1) // 2]
        off_level = ((b, h - base) for b, h in zip(group, heights, strict=True) if abs(h - base) > SAME_POINT_MM)
        found += [_step(placed, b, step) for b, step in off_level]
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


def _step(placed: Placed, bolt: Bolted, step_mm: float) -> HoleStep:
    free = _free_length(placed, bolt)
    if free is None:
        return HoleStep(bolt, step_mm, None, None)
    stock = placed.folded.part.stock
    modulus_mpa = stock.metal.elastic_modulus_gpa * 1000.0
    return HoleStep(bolt, step_mm, free, pull_up_mpa(modulus_mpa, abs(step_mm), stock.thickness_mm, free))


def pull_up_mpa(modulus_mpa: float, step_mm: float, thickness_mm: float, free_mm: float) -> float:
    """Bending stress at the root of a foot pulled down by `step_mm` over the length `free_mm`, its end free to slant.

    A cantilever's end deflection is F L^3 / (3 E I), its root stress F L t / (2 I): 3 E d t / (2 L^2). Small
    deflections only. Clamped square it is twice that.
    """
    return 3.0 * modulus_mpa * step_mm * thickness_mm / (2.0 * free_mm**2)


def _free_length(placed: Placed, bolt: Bolted) -> float | None:
    here = placed.hole(bolt).centre
    ways = [here.distance(placed.hole(b).centre) for b in placed.bolts if b.panel == bolt.panel and b is not bolt]
    ways += [here.distance(line.nearest(here)) for line in _tangents(placed, bolt.panel)]
    return min((way for way in ways if way > 0.0), default=None)


def _tangents(placed: Placed, panel: str) -> list[Line]:
    bends = placed.folded.part.bends
    return [b.parent_line for b in bends if b.parent == panel] + [b.child_line for b in bends if b.child == panel]


# -- findings


#: Washers and paint even out this much; common practice, no source.
NO_STEP_MM: Final = 0.05
#: A foot this much out of square shows (the general tolerance of a short leg, ISO 2768-1 m), and this much is wrong.
_TILT_WARN_DEG: Final = 1.0
_TILT_FAIL_DEG: Final = 3.0
_WRONG_SIDE_DEG: Final = 90.0


def seating_findings(placed: Placed) -> list[Finding]:
    """Every finding of rules misfit, hole-axis and hole-step."""
    found: list[Finding] = []
    for one in misfits(placed):
        found += _misfit_finding(one)
        found += _tilt_finding(one)
    for step in steps(placed):
        found += _step_finding(step, placed.folded.part.stock.metal.yield_mpa)
    return found


def _subject(one: BoltMisfit | HoleStep) -> str:
    return f"{one.bolt.part_hole} on {one.bolt.mate}"


def _misfit_finding(one: BoltMisfit) -> Iterator[Finding]:
    bolt, play = one.bolt, one.bolt.play_mm
    if play < 0.0:
        remedy = f"a {bolt.size} bolt does not go in: the smaller hole lacks {up_mm(-2 * play)} in diameter; drill it"
        yield MISFIT.finding(Level.FAIL, _subject(one), play, 0.0, None, remedy)
    elif short_of(play, one.off_mm):
        x, y, z = one.off
        remedy = (
            f"the part's hole stands {one.off_mm:.2f} mm off, by ({x:.2f}, {y:.2f}, {z:.2f}) mm in the site, and the "
            f"bolt has {play:.2f} mm of play to each side: move the hole, or make it a slot along that way with "
            f"{up_mm(2 * one.over_mm)} more length"
        )
        yield MISFIT.finding(Level.FAIL, _subject(one), one.off_mm, play, None, remedy)


def _tilt_finding(one: BoltMisfit) -> Iterator[Finding]:
    tilt = one.tilt_deg
    if tilt <= _TILT_WARN_DEG:
        return
    other = "face" if one.bolt.touching is Touching.BACK else "back"
    if tilt > _WRONG_SIDE_DEG:
        remedy = f"the wrong side of panel '{one.bolt.panel}' lies on the face: touching = '{other}', or turn its bend"
    else:
        remedy = (
            f"panel '{one.bolt.panel}' stands {tilt:.1f} degrees out of square there: change its bend by that much, "
            "or measure the tilt again"
        )
    level = Level.FAIL if tilt > _TILT_FAIL_DEG else Level.WARN
    yield HOLE_AXIS.finding(level, _subject(one), tilt, _TILT_WARN_DEG, None, remedy, unit="deg")


def _step_finding(step: HoleStep, yield_mpa: float | None) -> Iterator[Finding]:
    if abs(step.step_mm) < NO_STEP_MM:
        return
    gap = f"its face stands {abs(step.step_mm):.2f} mm {'out' if step.step_mm > 0 else 'back'}"
    cure = f"a shim of {abs(step.step_mm):.2f} mm, or an offset bend, takes it up"
    square = step.square_mpa
    if step.free_mm is None or square is None:
        remedy = f"{gap}; nothing says over which length the part would bend: {cure}"
        yield HOLE_STEP.finding(Level.WARN, _subject(step), abs(step.step_mm), 0.0, None, remedy, NO_SOURCE)
        return
    remedy = (
        f"{gap}; bolted down over {step.free_mm:.1f} mm the metal is pulled to {step.free_mpa:.0f} MPa with the foot "
        f"free to slant, {square:.0f} MPa clamped square: {cure}"
    )
    source = "3 E d t / (2 L^2), twice that clamped square; beam theory"
    level = _level(square, yield_mpa)
    yield HOLE_STEP.finding(level, _subject(step), square, yield_mpa, None, remedy, source, "MPa")


def _level(square_mpa: float, yield_mpa: float | None) -> Level:
    """Beyond the yield stress it fails; a metal without a least yield stress can't be let through."""
    if yield_mpa is None or square_mpa > yield_mpa:
        return Level.FAIL
    return Level.WARN if square_mpa > yield_mpa / 2 else Level.NOTE
