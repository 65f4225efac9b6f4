"""The hardware list in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from bracketgen.part.isolator import Isolator, IsolatorKind
from bracketgen.part.part import Part
from bracketgen.shop.hardware.bolts import BoltSet, Holder, bolt_sets
from bracketgen.shop.hardware.mates import Mate
from bracketgen.shop.hardware.tightening import tightening
from bracketgen.shop.hardware.weld_list import weld_lines
from bracketgen.standards.torque import TORQUE_CAUTION
from bracketgen.standards.washer import Series
from bracketgen.units import MM_PER_INCH

_ISOLATOR_CAUTION: Final = (
    "Isolators: choose them by their maker's load and travel, away from heat, fuel and oil unless the rubber stands "
    "them. Head, wide washer and nut must hold the part when the rubber is gone. Lengths are with the rubber free: "
    "pulled together, more thread shows."
)
_HOW_TO_ISOLATE: Final = (
    "Where what is carried shakes or must not be squeezed, rubber isolators go between: a hole's `isolator` puts them "
    "on this list."
)


def hardware_lines(part: Part, quantity: int, mates: Mapping[str, Mate] | None = None) -> tuple[str, ...]:
    """The whole list for `quantity` parts, torques and cautions with it; nothing where none is needed."""
    return (*bolt_lines(part, quantity, mates), *weld_lines(part, quantity))


def short_lines(part: Part, mates: Mapping[str, Mate] | None = None) -> tuple[str, ...]:
    """What to buy for one part, without torques: those never stand without their cautions."""
    return tuple(_bought(one, 1) for one in bolt_sets(part, mates))


def bolt_lines(part: Part, quantity: int, mates: Mapping[str, Mate] | None = None) -> tuple[str, ...]:
    """Bolts, nuts, washers, isolators with their tightening."""
    sets = bolt_sets(part, mates)
    if not sets:
        return ()
    pulls = [tightening(one.joint, part.stock) for one in sets]
    lines = [f"{_bought(one, quantity)}; {pull.words} ({_why(one)})" for one, pull in zip(sets, pulls, strict=True)]
    printed = [pull.table for pull in pulls if pull.table is not None]
    if printed:
        lines += [TORQUE_CAUTION, f"Torques from: {printed[0].source}"]
    rubber = any(one.joint.isolator for one in sets)
    return (*lines, _ISOLATOR_CAUTION if rubber else _HOW_TO_ISOLATE)


def _bought(one: BoltSet, quantity: int) -> str:
    """Such as '4 bolts M8 x 25, threaded to the head, class 8.8, 8 washers, 4 nuts class 8'."""
    metric = one.size.startswith("M")
    grade, nut_grade = ("class 8.8", " class 8") if metric else ("grade 5", "")
    said = []
    if one.bolts:
        said.append(f"{_many(one.bolts * quantity, 'bolt')} {_named(one)}, threaded to the head, {grade}")
    wide = "wide " if one.joint.washers is Series.WIDE else ""
    said.append(f"{_many(one.washers * quantity, wide + 'washer')}{'' if one.bolts else f' {one.size}'}")
    if one.joint.holder is Holder.WELDED_NUT:
        said.append(f"{_many(one.nuts * quantity, 'plain nut')} to weld on, unplated")
    elif one.nuts:
        said.append(f"{_many(one.nuts * quantity, 'nut')}{nut_grade}")
    if one.joint.holder is Holder.RIVET_NUT:
        said.append(f"{_many(one.count * quantity, 'rivet nut')} {one.size}")
    if one.joint.isolator is not None:
        said.append(f"{one.count * quantity} x {isolator_words(one.joint.isolator, one.size)}")
    return ", ".join(said)


def _many(count: int, thing: str) -> str:
    return f"{count} {thing}{'s' * (count != 1)}"


def isolator_words(rubber: Isolator, size: str) -> str:
    """Such as 'rubber bush for M8, 18 mm over all, for a hole of 16 mm, steel sleeve 20 mm long'."""
    sizes = {
        IsolatorKind.BUSH: f"rubber bush for {size}, {rubber.height_mm:g} mm over all",
        IsolatorKind.PAD: f"rubber pad for {size}, {rubber.height_mm:g} mm thick",
        IsolatorKind.BOBBIN: f"rubber bobbin {size}, {rubber.height_mm:g} mm between the plates",
    }
    said = [sizes[rubber.kind]]
    if rubber.hole_mm is not None:
        said.append(f"for a hole of {rubber.hole_mm:g} mm")
    if rubber.sleeve_mm is not None:
        said.append(f"steel sleeve {rubber.sleeve_mm:g} mm long")
    if rubber.stud_mm is not None:
        said.append(f"stud {rubber.stud_mm:g} mm through the part")
    if rubber.depth_mm is not None:
        said.append(f"thread {rubber.depth_mm:g} mm deep")
    return ", ".join(said)


def _named(one: BoltSet) -> str:
    if one.least_mm is None:
        return f"{one.size}, length by the rivet nut's box"
    if one.length_mm is None:
        return f"{one.size}, {one.least_mm:.1f} mm or more"
    if one.size.startswith("M"):
        return f"{one.size} x {one.length_mm:g}"
    return f"{one.size} x {one.length_mm / float(MM_PER_INCH):g} in"


def _why(one: BoltSet) -> str:
    """What the length was counted from."""
    between = one.joint.mate.between_mm
    counts = between and one.joint.holder not in (Holder.RIVET_NUT, Holder.STUD, Holder.BOBBIN)
    return _counted(one) + (f"; {between:g} mm between the two counted in" if counts else "")


def _counted(one: BoltSet) -> str:
    match one.joint.holder:
        case Holder.RIVET_NUT:
            return "washer, what is bolted on, and the rivet nut's own length"
        case Holder.STUD:
            return f"the stud needs {one.least_mm:.1f} mm: part, washer, nut, two threads"
        case Holder.BOBBIN:
            return f"{one.least_mm:.1f} mm at least, and not so long that it meets the bottom of the thread"
        case Holder.MATE:
            there = "into the thread that is there: measure how deep it is; on a stud a nut instead"
            return f"about {one.least_mm:.1f} mm {there}"
        case Holder.PART | Holder.WELDED_NUT:
            side = ", put in from the other side"
        case Holder.NUT:
            side = ""
    if one.joint.mate.thickness_mm is None:
        return f"{one.least_mm:.1f} mm needed{side}, if what it is bolted to is as thick as the part: measure it"
    return f"{one.least_mm:.1f} mm needed{side} through {one.joint.mate.thickness_mm:g} mm behind"
