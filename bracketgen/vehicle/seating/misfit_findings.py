"""What the seating of the part has to say: bolts that don't go in, feet that are pulled, sides that are wrong."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.rules.in_place import HOLE_AXIS, HOLE_STEP, MISFIT
from bracketgen.rules.rule import NO_SOURCE, short_of, up_mm
from bracketgen.vehicle.seating.misfit import BoltMisfit, Step, misfits, steps
from bracketgen.vehicle.seating.placed import Placed, Touching

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
        found += _misfit(one)
        found += _tilt(one)
    for step in steps(placed):
        found += _step(step, placed.folded.part.stock.metal.yield_mpa)
    return found


def _subject(one: BoltMisfit | Step) -> str:
    return f"{one.bolt.part_hole} on {one.bolt.mate}"


def _misfit(one: BoltMisfit) -> Iterator[Finding]:
    bolt, play = one.bolt, one.bolt.play_mm
    if play < 0.0:
        remedy = f"a {bolt.size} bolt does not go in: the smaller hole lacks {up_mm(-2 * play)} in diameter; drill it"
        yield Finding(MISFIT.id, Level.FAIL, _subject(one), play, 0.0, "mm", None, remedy, MISFIT.source)
    elif short_of(play, one.off_mm):
        x, y, z = one.off
        remedy = (
            f"the part's hole stands {one.off_mm:.2f} mm off, by ({x:.2f}, {y:.2f}, {z:.2f}) mm in the site, and the "
            f"bolt has {play:.2f} mm of play to each side: move the hole, or make it a slot along that way with "
            f"{up_mm(2 * one.over_mm)} more length"
        )
        yield Finding(MISFIT.id, Level.FAIL, _subject(one), one.off_mm, play, "mm", None, remedy, MISFIT.source)


def _tilt(one: BoltMisfit) -> Iterator[Finding]:
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
    yield Finding(HOLE_AXIS.id, level, _subject(one), tilt, _TILT_WARN_DEG, "deg", None, remedy, NO_SOURCE)


def _step(step: Step, yield_mpa: float | None) -> Iterator[Finding]:
    if abs(step.step_mm) < NO_STEP_MM:
        return
    gap = f"its face stands {abs(step.step_mm):.2f} mm {'out' if step.step_mm > 0 else 'back'}"
    cure = f"a shim of {abs(step.step_mm):.2f} mm, or an offset bend, takes it up"
    square = step.square_mpa
    if step.free_mm is None or square is None:
        remedy = f"{gap}; nothing says over which length the part would bend: {cure}"
        yield Finding(HOLE_STEP.id, Level.WARN, _subject(step), abs(step.step_mm), 0.0, "mm", None, remedy, NO_SOURCE)
        return
    remedy = (
        f"{gap}; bolted down over {step.free_mm:.1f} mm the metal is pulled to {step.free_mpa:.0f} MPa with the foot "
        f"free to slant, {square:.0f} MPa clamped square: {cure}"
    )
    source = "3 E d t / (2 L^2), twice that clamped square; beam theory"
    yield Finding(
        HOLE_STEP.id, _level(square, yield_mpa), _subject(step), square, yield_mpa, "MPa", None, remedy, source
    )


def _level(square_mpa: float, yield_mpa: float | None) -> Level:
    """Beyond the yield stress it fails; a metal without a least yield stress can't be let through."""
    if yield_mpa is None or square_mpa > yield_mpa:
        return Level.FAIL
    return Level.WARN if square_mpa > yield_mpa / 2 else Level.NOTE
