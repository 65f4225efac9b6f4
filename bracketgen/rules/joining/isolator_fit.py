"""An isolator's sizes go with the part, and the part stays captive when the rubber is gone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.part.hole import Isolator, IsolatorKind
from bracketgen.rules.placed_hole import PlacedHole
from bracketgen.rules.rule import NO_SOURCE, Rule, at, cited, short_of, up_mm
from bracketgen.rules.subject import Subject
from bracketgen.standards.fasteners import LEAST_DEPTH_DIAMETERS, TIP_PITCHES, Fastener, washer_thickness_mm

_ID: Final = "isolator-fit"
#: The rubber (or its sleeve) must stand out of the part by more than nothing.
_NOTHING_MM: Final = 1e-6


def _check(subject: Subject) -> Iterator[Finding]:
    for h in subject.holes:
        rubber, bolt = h.hole.isolator, h.bolt
        if rubber is None or bolt is None:
            continue
        if rubber.kind is IsolatorKind.BOBBIN:
            yield from _bobbin(h, rubber, bolt, subject.thickness_mm)
        else:
            yield from _sleeve(h, rubber, subject.thickness_mm)
            yield from _captive(h, rubber, bolt)


def _sleeve(h: PlacedHole, rubber: Isolator, thickness_mm: float) -> Iterator[Finding]:
    """A bush or sleeve no longer than the metal isolates nothing; a sleeve longer than all rubber leaves it loose."""
    place = at(h.centre)
    through = rubber.sleeve_mm is not None or rubber.kind is IsolatorKind.BUSH
    grip = rubber.grip_mm(thickness_mm)
    if through and grip <= thickness_mm + _NOTHING_MM:
        remedy = "washer and mate meet the part: take a longer bush or sleeve, or the rubber carries nothing"
        yield Finding(_ID, Level.FAIL, h.id, grip, thickness_mm, "mm", place, remedy, "plane geometry")
    free = rubber.height_mm + (thickness_mm if rubber.kind is IsolatorKind.PAD else 0.0)
    if rubber.sleeve_mm is not None and short_of(free, rubber.sleeve_mm):
        remedy = f"the sleeve is {up_mm(rubber.sleeve_mm - free)} longer than what lies on it: the rubber rattles"
        yield Finding(_ID, Level.WARN, h.id, free, rubber.sleeve_mm, "mm", place, remedy, "plane geometry")


def _captive(h: PlacedHole, rubber: Isolator, bolt: Fastener) -> Iterator[Finding]:
    washer = bolt.wide_washer_od_mm or bolt.washer_od_mm or bolt.head_across_corners_mm
    hole = rubber.hole_mm or 0.0
    if washer <= hole + _NOTHING_MM:
        remedy = (
            f"a wide washer of {washer:g} mm goes through the hole: when the rubber is gone the part falls off; take a "
            "larger bolt or plates, or a bush with a smaller hole"
        )
        source = cited(bolt.source, bolt.how)
        yield Finding(_ID, Level.FAIL, h.id, washer, hole, "mm", at(h.centre), remedy, source)


def _bobbin(h: PlacedHole, rubber: Isolator, bolt: Fastener, thickness_mm: float) -> Iterator[Finding]:
    place = at(h.centre)
    if rubber.stud_mm is not None:
        full = thickness_mm + washer_thickness_mm(bolt.size) + bolt.nut_height_mm
        needed = full + TIP_PITCHES * bolt.pitch_mm
        if short_of(rubber.stud_mm, needed):
            level = Level.FAIL if short_of(rubber.stud_mm, full) else Level.WARN
            what = "the nut is not full" if level is Level.FAIL else "two threads should look out of the nut"
            remedy = f"{what}: take a stud at least {up_mm(needed)} long, for part, washer and nut"
            yield Finding(_ID, level, h.id, rubber.stud_mm, needed, "mm", place, remedy, NO_SOURCE)
    elif rubber.depth_mm is not None:
        needed = LEAST_DEPTH_DIAMETERS * bolt.diameter_mm
        if short_of(rubber.depth_mm, needed):
            remedy = f"the bobbin's thread holds less than a bolt's diameter: take one at least {up_mm(needed)} deep"
            yield Finding(_ID, Level.WARN, h.id, rubber.depth_mm, needed, "mm", place, remedy, NO_SOURCE)


RULE = Rule(
    _ID,
    "Rubber stands out of the part, studs and threads reach, and washers hold the part when the rubber is gone",
    "plane geometry; the fastener table; common practice",
    _check,
)
