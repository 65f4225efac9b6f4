"""Rules about what holds a part: welds, rubber and paint in the grip of a bolt."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.part.hole import Hole, Isolator, IsolatorKind, Nut, Purpose
from bracketgen.part.part import Weld
from bracketgen.rules.engine import NO_SOURCE, Rule, cited, short_of, up_mm
from bracketgen.rules.subject import PlacedHole, Subject
from bracketgen.standards.fasteners import LEAST_DEPTH_DIAMETERS, TIP_PITCHES, Fastener, is_soft, thickest_washer_mm
from bracketgen.standards.metals import metal
from bracketgen.standards.table import LookupFault, citation

#: EN 1993-1-8 holds from this thickness on (4.1(1)), thinner sheet goes by EN 1993-1-3. As a book on composite bridges
#: quotes it (section 3.10.3).
THICK_MM: Final = 4.0
LEAST_THROAT_MM: Final = 3.0
LEAST_LENGTH_MM: Final = 30.0
LEAST_THROATS: Final = 6.0
LEAST_THICKNESSES: Final = 8.0
#: As worked examples of joints quote it (MSB05, pp. 5-11, 5-104).
_THICK: Final = "EN 1993-1-8:2005, 4.5.1 and 4.5.2: a >= 3 mm; L - 2a >= 30 mm and 6a"
_THIN_THROAT: Final = "EN 1993-1-3:2006, 8.5.1 (from memory): throat no less than the thickness of the sheet"
#: The older ENV text.
_THIN_LENGTH: Final = "ENV 1993-1-3, 8.6.2(4): below 8 thicknesses a fillet is not to carry any force"


def _throats(subject: Subject) -> Iterator[Finding]:
    """In thin sheet the throat is a wish, so that the sheet gives before the weld; from 4 mm on it is a limit."""
    t = subject.thickness_mm
    thin = short_of(t, THICK_MM)
    least = t if thin else LEAST_THROAT_MM
    for panel, weld in _welds(subject):
        if short_of(weld.throat_mm, least):
            remedy = f"make the throat at least {up_mm(least)}, or the weld is weaker than it looks"
            level, source = (Level.WARN, _THIN_THROAT) if thin else (Level.FAIL, _THICK)
            place = subject.flat.placements[panel].point(weld.runs[0].middle)
            yield WELD_THROAT.finding(level, weld.id, weld.throat_mm, least, place, remedy, source)


def _lengths(subject: Subject) -> Iterator[Finding]:
    """The ends of a fillet are not full: from 4 mm on each counts for one throat less, but a closed weld has none."""
    t = subject.thickness_mm
    thin = short_of(t, THICK_MM)
    for panel, weld in _welds(subject):
        ends = 0.0 if thin else 2.0 * weld.throat_mm
        least = LEAST_THICKNESSES * t if thin else max(LEAST_LENGTH_MM, LEAST_THROATS * weld.throat_mm)
        for run in weld.runs:
            counts = run.length_mm - (0.0 if run.is_closed else ends)
            if short_of(counts, least):
                remedy = f"it is too short to carry anything: weld {up_mm(least - counts)} more, or another edge"
                place = subject.flat.placements[panel].point(run.middle)
                source = _THIN_LENGTH if thin else _THICK
                yield WELD_LENGTH.finding(Level.FAIL, weld.id, counts, least, place, remedy, source)


def _welds(subject: Subject) -> Iterator[tuple[str, Weld]]:
    return ((panel.id, weld) for panel in subject.part.panels for weld in panel.welds)


WELD_THROAT: Final = Rule(
    "weld-throat",
    "A fillet weld is at least 3 mm thick, in sheet thinner than 4 mm as thick as the sheet",
    f"{_THICK}; {_THIN_THROAT}",
    _throats,
)
WELD_LENGTH: Final = Rule(
    "weld-length",
    "A fillet weld counts at least 30 mm and 6 throats, in sheet thinner than 4 mm 8 thicknesses",
    f"{_THICK}; {_THIN_LENGTH}",
    _lengths,
)


# -- what a weld takes from the metal


#: Of 6061-T6, MPa: 0.2 % proof and ultimate strength away from a weld, and beside it.
_HARD_MPA: Final = (240.0, 260.0)
_SOFT_MPA: Final = (115.0, 175.0)


def _softened(subject: Subject) -> Iterator[Finding]:
    part = subject.part
    welded = bool(part.welds) or any(hole.nut is Nut.WELDED for panel in part.panels for hole in panel.holes)
    if part.stock.metal.id == "6061-T6" and welded:
        remedy = (
            f"beside a weld 6061-T6 keeps {_SOFT_MPA[0]:g} of {_HARD_MPA[0]:g} MPa of its proof strength, "
            f"{_SOFT_MPA[1]:g} of {_HARD_MPA[1]:g} MPa of its tensile strength: weld where it carries little, bolt it "
            "instead, or have it reckoned with the lower figures"
        )
        yield WELD_SOFTENED.finding(Level.WARN, "part", _SOFT_MPA[0], _HARD_MPA[0], None, remedy, unit="MPa")


WELD_SOFTENED: Final = Rule(
    "weld-softened",
    "Metal that is hard by heat treatment keeps its strength: 6061-T6 loses half of it beside a weld",
    citation("en-1999-1-1-3.2b"),
    _softened,
)


# -- what must not be welded to


#: What looks empty explodes at hot work; a hardened spring breaks beside the weld.
_VESSEL: Final = re.compile(
    r"tank|drum|barrel|vessel|cask|jerry ?can|reservoir|receiver|bottle|cylinder", re.IGNORECASE
)
_SPRING: Final = re.compile(r"spring|torsion ?bar|stabili[sz]er|anti.?roll", re.IGNORECASE)
#: A bracket of it, or what it hangs in, is not the thing itself.
_NOT_ITSELF: Final = re.compile(
    r"\b(bracket|mount|strap|cradle|stand|guard|shield|frame|support|plate|seat|hanger|perch)s?\b", re.IGNORECASE
)
_STEEL: Final = re.compile(r"steel|\biron\b|stainless|chassis|\baxle", re.IGNORECASE)
_ALUMINIUM: Final = re.compile(r"alumin|alloy", re.IGNORECASE)


def _forbidden(subject: Subject) -> Iterator[Finding]:
    light = subject.part.stock.metal.family == "aluminium"
    for panel, weld in _welds(subject):
        place = subject.flat.placements[panel].point(weld.runs[0].middle)
        itself = not _NOT_ITSELF.search(weld.to)
        if itself and _VESSEL.search(weld.to):
            remedy = (
                f"'{weld.to}': what looks empty still explodes at hot work. Don't weld to it: strap or bolt the part "
                "on, or have it made gas-free by people who do that; a new one that never held anything may be waived"
            )
            yield WELD_FORBIDDEN.finding(Level.FAIL, weld.id, None, None, place, remedy, _TANKS)
        if itself and _SPRING.search(weld.to):
            remedy = f"'{weld.to}': a spring breaks beside a weld; clamp or bolt the part to what holds the spring"
            yield WELD_FORBIDDEN.finding(Level.FAIL, weld.id, None, None, place, remedy, NO_SOURCE)
        family = _family(weld.to)
        if family and light != (family == "aluminium"):
            remedy = (
                f"'{weld.to}': aluminium and steel can't be fused, the joint is brittle and breaks; bolt them with "
                "something between that keeps them apart"
            )
            yield WELD_FORBIDDEN.finding(Level.FAIL, weld.id, None, None, place, remedy, NO_SOURCE)


def _family(to: str) -> str:
    """The family of metals that what is welded to is of, as far as its name tells: aluminium, steel, or ''."""
    if _ALUMINIUM.search(to):
        return "aluminium"
    if _STEEL.search(to):
        return "steel"
    for word in re.findall(r"[\w+-]+", to):
        with suppress(LookupFault):
            return metal(word).family
    return ""


_TANKS: Final = "HSE safety alert FOD 8-2010, Explosion of drums and tanks at hot work, November 2010"
WELD_FORBIDDEN: Final = Rule(
    "weld-forbidden",
    "Nothing is welded to tanks and drums or to springs, nor aluminium to steel",
    f"{_TANKS}; {NO_SOURCE}",
    _forbidden,
)


# -- isolators: their sizes go with the part, which stays captive when the rubber is gone

#: The rubber (or its sleeve) must stand out of the part by more than nothing.
_NOTHING_MM: Final = 1e-6


def _isolator_fit(subject: Subject) -> Iterator[Finding]:
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
    place = h.centre
    through = rubber.sleeve_mm is not None or rubber.kind is IsolatorKind.BUSH
    grip = rubber.grip_mm(thickness_mm)
    if through and grip <= thickness_mm + _NOTHING_MM:
        remedy = "washer and mate meet the part: take a longer bush or sleeve, or the rubber carries nothing"
        yield ISOLATOR_FIT.finding(Level.FAIL, h.id, grip, thickness_mm, place, remedy, "plane geometry")
    free = rubber.height_mm + (thickness_mm if rubber.kind is IsolatorKind.PAD else 0.0)
    if rubber.sleeve_mm is not None and short_of(free, rubber.sleeve_mm):
        remedy = f"the sleeve is {up_mm(rubber.sleeve_mm - free)} longer than what lies on it: the rubber rattles"
        yield ISOLATOR_FIT.finding(Level.WARN, h.id, free, rubber.sleeve_mm, place, remedy, "plane geometry")


def _captive(h: PlacedHole, rubber: Isolator, bolt: Fastener) -> Iterator[Finding]:
    washer = bolt.wide_washer_od_mm or bolt.washer_od_mm or bolt.head_across_corners_mm
    hole = rubber.hole_mm or 0.0
    if washer <= hole + _NOTHING_MM:
        remedy = (
            f"a wide washer of {washer:g} mm goes through the hole: when the rubber is gone the part falls off; take a "
            "larger bolt or plates, or a bush with a smaller hole"
        )
        source = cited(bolt.source, bolt.how_of("wide_washer_od_mm", "washer_od_mm"))
        yield ISOLATOR_FIT.finding(Level.FAIL, h.id, washer, hole, h.centre, remedy, source)


def _bobbin(h: PlacedHole, rubber: Isolator, bolt: Fastener, thickness_mm: float) -> Iterator[Finding]:
    place = h.centre
    if rubber.stud_mm is not None:
        full = thickness_mm + thickest_washer_mm(bolt.size) + bolt.nut_height_mm
        needed = full + TIP_PITCHES * bolt.pitch_mm
        if short_of(rubber.stud_mm, needed):
            level = Level.FAIL if short_of(rubber.stud_mm, full) else Level.WARN
            what = "the nut is not full" if level is Level.FAIL else "two threads should look out of the nut"
            remedy = f"{what}: take a stud at least {up_mm(needed)} long, for part, washer and nut"
            yield ISOLATOR_FIT.finding(level, h.id, rubber.stud_mm, needed, place, remedy, NO_SOURCE)
    elif rubber.depth_mm is not None:
        needed = LEAST_DEPTH_DIAMETERS * bolt.diameter_mm
        if short_of(rubber.depth_mm, needed):
            remedy = f"the bobbin's thread holds less than a bolt's diameter: take one at least {up_mm(needed)} deep"
            yield ISOLATOR_FIT.finding(Level.WARN, h.id, rubber.depth_mm, needed, place, remedy, NO_SOURCE)


ISOLATOR_FIT: Final = Rule(
    "isolator-fit",
    "Rubber stands out of the part, studs and threads reach, and washers hold the part when the rubber is gone",
    "plane geometry; the fastener table; common practice",
    _isolator_fit,
)


# Nothing in the grip of a bolt gives way unsaid: rubber has its maker's torque, paint is masked.


#: A joint that comes loose beside these leaks: there a torque must be known.
_FLUIDS: Final = frozenset({"fuel", "oil", "brake"})
_BOLTED: Final = frozenset({Purpose.CLEARANCE, Purpose.TAPPED, Purpose.RIVET_NUT})


def _soft_grip(subject: Subject) -> Iterator[Finding]:
    fluid = any(hazard in _FLUIDS for hazard in subject.part.near)
    for h in subject.holes:
        if h.hole.isolator is not None and h.hole.isolator.torque_nm is None:
            yield from _rubber(h, h.hole.isolator, Level.FAIL if fluid else Level.WARN)
    stock = subject.part.stock
    if is_soft(stock.coating) and stock.coating_mm > 0 and any(_on_paint(h.hole) for h in subject.holes):
        remedy = (
            f"{stock.coating} under heads, washers and nuts flows and the bolts come loose: mask the seats bare (a "
            "washer's width), or tighten again after the first run"
        )
        yield SOFT_GRIP.finding(Level.NOTE, "part", stock.coating_mm, None, None, remedy)


def _on_paint(hole: Hole) -> bool:
    """Whether a bolt is pulled tight on the part's own faces."""
    rubber = hole.isolator
    return hole.purpose in _BOLTED and (rubber is None or rubber.kind is IsolatorKind.BOBBIN)


def _rubber(h: PlacedHole, rubber: Isolator, level: Level) -> Iterator[Finding]:
    if rubber.is_squeezed:
        remedy = (
            "rubber in the bolt's grip: no table's torque holds, and the bolt comes loose when it settles; give "
            "torque = the isolator maker's figure, or an isolator with a steel sleeve, and use a locking nut"
        )
        yield SOFT_GRIP.finding(level, h.id, rubber.height_mm, None, h.centre, remedy)
    elif rubber.kind is IsolatorKind.BOBBIN:
        remedy = "no torque is given for the bobbin: ask its maker, and hold it from turning, or its rubber tears"
        yield SOFT_GRIP.finding(Level.NOTE, h.id, rubber.height_mm, None, h.centre, remedy)


SOFT_GRIP: Final = Rule(
    "soft-grip",
    "Rubber in the grip of a bolt has its maker's torque or a steel sleeve; paint is masked",
    NO_SOURCE,
    _soft_grip,
)
