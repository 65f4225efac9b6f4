"""What a part is put up with: bolts, washers and nuts with lengths and torques, isolators, welds; and all in words.

Lengths follow from what a bolt holds together.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from bracketgen.part.hole import Hole, Isolator, IsolatorKind, Nut, Purpose
from bracketgen.part.part import Part, Stock, Weld
from bracketgen.standards.cautions import caution
from bracketgen.standards.fasteners import (
    DEPTH_DIAMETERS,
    LEAST_DEPTH_DIAMETERS,
    TIP_PITCHES,
    Fastener,
    Series,
    Torque,
    fastener,
    is_soft,
    thickest_washer_mm,
    usual_torque,
    washer_thickness_mm,
)
from bracketgen.units import INCH_MM

if TYPE_CHECKING:
    from bracketgen.vehicle.in_place import InPlace


#: Nominal lengths of ISO 888, those in brackets left out (from memory).
_LENGTHS_MM: Final = (
    *(6, 8, 10, 12, 16),
    *range(20, 71, 5),
    *range(80, 161, 10),
    *(180, 200),
)
#: Steps of inch bolts; common practice, no source.
_STEP_IN: Final = 0.25


class Holder(StrEnum):
    """What holds the thread of a bolt."""

    NUT = "nut"
    WELDED_NUT = "nut welded to the part"
    MATE = "thread of what it is bolted to"
    PART = "thread in the part"
    RIVET_NUT = "rivet nut in the part"
    BOBBIN = "thread of the bobbin"
    STUD = "nut on the bobbin's stud"


@dataclass(frozen=True, slots=True)
class BoltedJoint:
    """What decides over a bolt: its size, what holds its thread, what it is bolted to, the rubber in between."""

    size: str
    holder: Holder
    mate: Mate
    isolator: Isolator | None = None

    @property
    def washers(self) -> Series:
        """Wide washers hold rubber, and keep the part captive when the rubber is gone."""
        bobbin = self.isolator is None or self.isolator.kind is IsolatorKind.BOBBIN
        return Series.NORMAL if bobbin else Series.WIDE


@dataclass(frozen=True, slots=True)
class BoltSet:
    """Bolts of one size and length for one part. `least_mm` is the length that is needed, `length_mm` the next usual.

    Both are None where no bolt is bought (a stud) or only the maker can say (a rivet nut); `length_mm` also where none
    is usual.
    """

    joint: BoltedJoint
    count: int
    least_mm: float | None
    length_mm: float | None

    @property
    def size(self) -> str:
        """Such as 'M8'."""
        return self.joint.size

    @property
    def bolts(self) -> int:
        """How many bolts; none where a bobbin brings its stud."""
        return 0 if self.joint.holder is Holder.STUD else self.count

    @property
    def nuts(self) -> int:
        """How many nuts, welded ones among them."""
        return self.count if self.joint.holder in (Holder.NUT, Holder.WELDED_NUT, Holder.STUD) else 0

    @property
    def washers(self) -> int:
        """How many washers: one under each head and loose nut."""
        return self.count * (2 if self.joint.holder is Holder.NUT else 1)


def usual_length_mm(size: Fastener, least_mm: float) -> float | None:
    """The next length that bolts are sold in, mm; None beyond them. Source: ISO 888 (from memory)."""
    if size.size.startswith("M"):
        return next((float(mm) for mm in _LENGTHS_MM if mm >= least_mm - 1e-9), None)
    inch = INCH_MM
    steps = max(2, -int(-(least_mm / inch - 1e-9) // _STEP_IN))
    return steps * _STEP_IN * inch


def bolt_sets(part: Part, mates: Mapping[str, Mate] | None = None) -> tuple[BoltSet, ...]:
    """Bolts for all holes of a part that take one; `mates` says by hole id what is behind.

    With a nut: the part, the mate (as thick as the part where nothing says its thickness), a washer under head and
    nut, the nut, two pitches of thread. Into a thread of the mate: the part, one washer, 1.5 diameters.
    From the mate's side into a nut or thread of the part: a washer, the mate, the part, a welded nut, two pitches.
    What lies between counts too.
    """
    known = mates or {}
    count = Counter(joint for p in part.panels for h in p.holes if (joint := _joint(h, known.get(h.id, Mate()))))
    order = sorted(count, key=_order)
    return tuple(_set(joint, count[joint], part.stock.thickness_mm) for joint in order)


def _joint(hole: Hole, mate: Mate) -> BoltedJoint | None:
    if hole.fastener is None:
        return None
    size = fastener(hole.fastener).size
    match hole.purpose:
        case Purpose.TAPPED:
            return BoltedJoint(size, Holder.PART, mate)
        case Purpose.RIVET_NUT:
            return BoltedJoint(size, Holder.RIVET_NUT, mate)
        case Purpose.CLEARANCE:
            return BoltedJoint(size, _holder(hole, mate), mate, hole.isolator)
        case _:
            return None


def _holder(hole: Hole, mate: Mate) -> Holder:
    rubber = hole.isolator
    if rubber is not None and rubber.kind is IsolatorKind.BOBBIN:
        return Holder.STUD if rubber.stud_mm is not None else Holder.BOBBIN
    if hole.nut is Nut.WELDED:
        return Holder.WELDED_NUT
    return Holder.MATE if mate.threaded else Holder.NUT


def _order(joint: BoltedJoint) -> tuple[float, int, float, str]:
    holders = list(Holder)
    return (fastener(joint.size).diameter_mm, holders.index(joint.holder), joint.mate.thickness_mm or 0.0,
            repr(joint))  # fmt: skip


def _set(joint: BoltedJoint, count: int, thickness_mm: float) -> BoltSet:
    bolt = fastener(joint.size)
    least = needed_mm(joint, thickness_mm)
    if least is None or joint.holder is Holder.STUD:
        return BoltSet(joint, count, least, None)
    length = usual_length_mm(bolt, least)
    if joint.holder is Holder.BOBBIN:
        length = _longest_into(joint, bolt, least, thickness_mm)
    return BoltSet(joint, count, least, length)


def needed_mm(joint: BoltedJoint, thickness_mm: float) -> float | None:
    """Length from under the head that a bolt (or a bobbin's stud, from the part's face) needs, mm.

    Washers are counted as thick as they may be.
    """
    bolt, washer = fastener(joint.size), thickest_washer_mm(joint.size, joint.washers)
    mate = thickness_mm if joint.mate.thickness_mm is None else joint.mate.thickness_mm
    grip = joint.isolator.grip_mm(thickness_mm) if joint.isolator else thickness_mm
    mate += joint.mate.between_mm
    tip = TIP_PITCHES * bolt.pitch_mm
    match joint.holder:
        case Holder.NUT:
            return grip + mate + 2 * washer + bolt.nut_height_mm + tip
        case Holder.WELDED_NUT:
            return washer + mate + grip + bolt.nut_height_mm + tip
        case Holder.PART:
            return washer + mate + grip + tip
        case Holder.MATE:
            return grip + joint.mate.between_mm + washer + DEPTH_DIAMETERS * bolt.diameter_mm
        case Holder.BOBBIN:
            return grip + washer + LEAST_DEPTH_DIAMETERS * bolt.diameter_mm
        case Holder.STUD:
            return grip + washer + bolt.nut_height_mm + tip
        case Holder.RIVET_NUT:
            return None


def _longest_into(joint: BoltedJoint, bolt: Fastener, least_mm: float, thickness_mm: float) -> float | None:
    """The longest usual bolt that does not touch the bottom of a bobbin's thread; None where none is long enough."""
    assert joint.isolator is not None and joint.isolator.depth_mm is not None
    room = thickness_mm + washer_thickness_mm(joint.size, joint.washers) + joint.isolator.depth_mm
    length, found = usual_length_mm(bolt, least_mm), None
    while length is not None and length <= room + 1e-9:
        found, length = length, usual_length_mm(bolt, length + 0.01)
    return found


# -- what the holes of a part are bolted to


@dataclass(frozen=True, slots=True)
class Mate:
    """What a hole is bolted to: its thickness in mm (None = not known), and whether it holds the thread itself.

    `between_mm` is what lies between it and the part besides an isolator: washers, or a step.
    """

    thickness_mm: float | None = None
    threaded: bool = False
    between_mm: float = 0.0


def mates_in_place(place: InPlace | None) -> dict[str, Mate]:
    """What each hole is bolted to, as far as the part's site says."""
    if place is None:
        return {}
    # Only a part with a site loads the rooms that know it.
    from bracketgen.vehicle.seating.bolts import CARRIED, lift_mm

    mates, faces, part = {}, place.site.document.faces, place.placed.folded.part
    rubbers = {hole.id: hole.isolator for panel in part.panels for hole in panel.holes}
    for bolt in place.placed.bolts:
        rubber = rubbers[bolt.part_hole]
        stands = rubber.stand_mm(part.stock.thickness_mm) if rubber else 0.0
        between = max(0.0, round(lift_mm(bolt) - stands, 1))
        face, _, hole = bolt.mate.partition(".")
        if bolt.mate.startswith(CARRIED):
            # Whether the carried thing holds the thread isn't said: its holes are taken as threads, the shorter bolt.
            mates[bolt.part_hole] = Mate(None, True, between)
        else:
            threaded = faces[face].holes[hole].thread is not None
            mates[bolt.part_hole] = Mate(faces[face].thickness, threaded, between)
    return mates


# -- how tight a bolt is pulled: a figure of the table, or the reason why there is none


@dataclass(frozen=True, slots=True)
class Tightening:
    """A torque in N m (None = none is given) with what goes with it; `table` is set where it is the table's."""

    nm: float | None
    words: str
    table: Torque | None = None


def tightening(joint: BoltedJoint, stock: Stock) -> Tightening:
    """The torque of a bolt: its isolator's, else that of the table where head and nut press on hard metal only."""
    rubber = joint.isolator
    if rubber is not None and rubber.torque_nm is not None:
        return Tightening(rubber.torque_nm, f"{rubber.torque_nm:g} N m, the isolator maker's as the description says")
    why = _why_none(joint, stock)
    if why:
        return Tightening(None, why)
    printed = usual_torque(joint.size)
    if printed is None:
        return Tightening(None, "torque by the maker's figures, none is held here")
    words = f"{printed.nm:g} N m {printed.condition}"
    if rubber is None and is_soft(stock.coating) and stock.coating_mm > 0:
        film = f"{stock.coating} in the grip gives way, {stock.coating_mm:g} mm on each face"
        return Tightening(printed.nm, f"{words}, only on seats masked bare: {film}", printed)
    return Tightening(printed.nm, f"{words}{' on the steel sleeve' if rubber else ''}", printed)


def _why_none(joint: BoltedJoint, stock: Stock) -> str:
    """Why no table holds for this joint; '' where one does."""
    if joint.isolator is not None and joint.isolator.is_squeezed:
        return "no torque from a table: rubber in the grip; by the isolator maker's figure, locked"
    match joint.holder:
        case Holder.BOBBIN | Holder.STUD:
            return "no torque from a table: the bobbin turns and tears; hold it, by its maker's figure"
        case Holder.RIVET_NUT:
            return "no torque from a table: by the figures on the rivet nuts' box"
        case Holder.WELDED_NUT:
            return "no torque from a table: welding softens a nut; weld nuts by their maker's figure"
        case Holder.PART:
            share = stock.thickness_mm / fastener(joint.size).diameter_mm
            return (
                f"no torque from a table: only {stock.thickness_mm:g} mm of thread in the part, {share:.2g} diameters"
            )
        case Holder.MATE:
            return "torque by the maker's figures, none is held here"
        case Holder.NUT:
            return ""


# -- the welds of a part in words, with what goes with them


def weld_lines(part: Part, quantity: int) -> tuple[str, ...]:
    """Every weld of `quantity` parts with its length, and the cautions; nothing where nothing is welded."""
    if not part.welds:
        return ()
    lines = [weld_words(weld) for weld in part.welds]
    whole = sum(weld.total_mm for weld in part.welds)
    if quantity > 1 or len(part.welds) > 1:
        lines.append(f"{whole * quantity:.0f} mm of weld in all for {quantity} part{'s' * (quantity != 1)}")
    return (*lines, caution("weld list"))


def weld_words(weld: Weld) -> str:
    """Such as 'weld tab/weld-1 on saddle 1, to the pipe: fillet a 3 mm (leg 4.2 mm), 54.1 mm on both faces'."""
    to = f", to {weld.to}" if weld.to else ""
    lengths = " + ".join(f"{run.length_mm:.1f}" for run in weld.runs)
    whole = f" = {weld.total_mm:.1f} mm of weld" if weld.total_mm != weld.runs[0].length_mm else ""
    return (
        f"weld {weld.id} on {weld.where}{to}: fillet a {round(weld.throat_mm, 1):g} mm (leg {weld.leg_mm:.1f} mm), "
        f"{lengths} mm {weld.sides.value}{whole}"
    )


# -- the hardware list in words

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
    sources = dict.fromkeys(pull.table.source for pull in pulls if pull.table is not None)
    if sources:
        lines += [caution("torque"), f"Torques from: {'; '.join(sources)}"]
    rubber = any(one.joint.isolator for one in sets)
    return (*lines, caution("isolator") if rubber else _HOW_TO_ISOLATE)


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
    return f"{one.size} x {one.length_mm / INCH_MM:g} in"


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
