"""The bolts, washers and nuts that a part needs, with lengths from what they hold together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bracketgen.part.hole import Purpose
from bracketgen.part.part import Part
from bracketgen.standards.fastener import Fastener, fastener
from bracketgen.standards.torque import TORQUE_CAUTION, torque_8_8
from bracketgen.standards.washer import washer_thickness_mm
from bracketgen.units import MM_PER_INCH

#: Thread that looks out of a nut, in pitches; common practice, no source.
_TIP_PITCHES: Final = 2.0
#: How deep a bolt goes into a thread that is there already, in diameters; common practice, no source.
_DEPTH_DIAMETERS: Final = 1.5
#: Nominal lengths of ISO 888, those in brackets left out (from memory).
_LENGTHS_MM: Final = (
    *(
        6,
        8,
        10,
        12,
        16,
        20,
        25,
        30,
        35,
        40,
        45,
        50,
        55,
        60,
        65,
        70,
        80,
        90,
        100,
        110,
        120,
        130,
        140,
        150,
        160,
        180,
        200,
    ),
)
#: Steps of inch bolts; common practice, no source.
_STEP_IN: Final = 0.25


@dataclass(frozen=True, slots=True)
class Mate:
    """What a hole is bolted to: its thickness in mm (None = not known), and whether it holds the thread itself."""

    thickness_mm: float | None = None
    threaded: bool = False


@dataclass(frozen=True, slots=True)
class BoltSet:
    """Bolts of one size and length for one part. `least_mm` is the length that is needed, `length_mm` the next usual.

    Lengths are None where none is usual. `nuts` is False where the bolt goes into a thread of the mate.
    """

    size: str
    count: int
    least_mm: float
    length_mm: float | None
    nuts: bool
    mate: Mate


def usual_length_mm(size: Fastener, least_mm: float) -> float | None:
    """The next length that bolts are sold in, mm; None beyond them. Source: ISO 888 (from memory)."""
    if size.size.startswith("M"):
        return next((float(mm) for mm in _LENGTHS_MM if mm >= least_mm - 1e-9), None)
    inch = float(MM_PER_INCH)
    steps = max(2, -int(-(least_mm / inch - 1e-9) // _STEP_IN))
    return steps * _STEP_IN * inch


def bolt_sets(part: Part, mates: Mapping[str, Mate] | None = None) -> tuple[BoltSet, ...]:
    """Bolts for the clearance holes of a part; `mates` says by hole id what is behind.

    Needed: the part, the mate (as thick as the part where nothing says its thickness), a washer under head and nut,
    the nut, two pitches of thread. Into a thread: the part, one washer, 1.5 diameters.
    """
    known = mates or {}
    holes = [h for p in part.panels for h in p.holes if h.purpose is Purpose.CLEARANCE and h.fastener]
    count = Counter((fastener(h.fastener or "").size, known.get(h.id, Mate())) for h in holes)
    order = sorted(count, key=lambda k: (fastener(k[0]).diameter_mm, k[1].threaded, k[1].thickness_mm or 0.0))
    return tuple(_set(size, count[size, mate], part.stock.thickness_mm, mate) for size, mate in order)


def _set(size: str, count: int, thickness_mm: float, mate: Mate) -> BoltSet:
    bolt, washer = fastener(size), washer_thickness_mm(size)
    if mate.threaded:
        least = thickness_mm + washer + _DEPTH_DIAMETERS * bolt.diameter_mm
    else:
        behind = thickness_mm if mate.thickness_mm is None else mate.thickness_mm
        least = thickness_mm + behind + 2 * washer + bolt.nut_height_mm + _TIP_PITCHES * bolt.pitch_mm
    return BoltSet(size, count, least, usual_length_mm(bolt, least), not mate.threaded, mate)


def hardware_lines(part: Part, quantity: int, mates: Mapping[str, Mate] | None = None) -> tuple[str, ...]:
    """The list in words, for `quantity` parts; nothing where no hole is for a bolt."""
    sets = bolt_sets(part, mates)
    if not sets:
        return ()
    lines = [_line(one, quantity) for one in sets]
    if any(torque_8_8(one.size) for one in sets):
        lines.append(TORQUE_CAUTION)
        lines.append(f"Torques from: {next(t.source for one in sets if (t := torque_8_8(one.size)))}")
    if any(h.purpose is Purpose.RIVET_NUT for p in part.panels for h in p.holes):
        lines.append("Rivet nuts: by the figures on their box.")
    lines.append(
        "Where what is carried shakes or must not be squeezed, rubber isolators go between: bolt length, washers and "
        "torque are then the isolator maker's."
    )
    return tuple(lines)


def _line(one: BoltSet, quantity: int) -> str:
    bolts = one.count * quantity
    grade = "class 8.8" if one.size.startswith("M") else "grade 5"
    nuts = f", {bolts} nuts" if one.nuts else ""
    torque = torque_8_8(one.size)
    said = f"; {torque.nm:g} N m" if torque and one.nuts else "; torque by the maker's figures, none is held here"
    washers = bolts * (2 if one.nuts else 1)
    return f"{bolts} bolts {_named(one)}, threaded to the head, {grade}, {washers} washers{nuts}{said} ({_why(one)})"


def _named(one: BoltSet) -> str:
    if one.length_mm is None:
        return f"{one.size}, {one.least_mm:.1f} mm or more"
    if one.size.startswith("M"):
        return f"{one.size} x {one.length_mm:g}"
    return f"{one.size} x {one.length_mm / float(MM_PER_INCH):g} in"


def _why(one: BoltSet) -> str:
    if one.mate.threaded:
        return f"about {one.least_mm:.1f} mm into the thread that is there: measure how deep it is"
    if one.mate.thickness_mm is None:
        return f"{one.least_mm:.1f} mm needed, if what it is bolted to is as thick as the part: measure it"
    return f"{one.least_mm:.1f} mm needed through {one.mate.thickness_mm:g} mm behind"
