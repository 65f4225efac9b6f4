"""The bolts, washers and nuts that a part needs, with lengths from what they hold together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from bracketgen.part.hole import Hole, Nut, Purpose
from bracketgen.part.isolator import Isolator, IsolatorKind
from bracketgen.part.part import Part
from bracketgen.shop.hardware.mates import Mate
from bracketgen.standards.bolt_practice import DEPTH_DIAMETERS, LEAST_DEPTH_DIAMETERS, TIP_PITCHES
from bracketgen.standards.fastener import Fastener, fastener
from bracketgen.standards.washer import Series, washer_thickness_mm
from bracketgen.units import MM_PER_INCH

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
class Joint:
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

    joint: Joint
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
    inch = float(MM_PER_INCH)
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


def _joint(hole: Hole, mate: Mate) -> Joint | None:
    if hole.fastener is None:
        return None
    size = fastener(hole.fastener).size
    match hole.purpose:
        case Purpose.TAPPED:
            return Joint(size, Holder.PART, mate)
        case Purpose.RIVET_NUT:
            return Joint(size, Holder.RIVET_NUT, mate)
        case Purpose.CLEARANCE:
            return Joint(size, _holder(hole, mate), mate, hole.isolator)
        case _:
            return None


def _holder(hole: Hole, mate: Mate) -> Holder:
    rubber = hole.isolator
    if rubber is not None and rubber.kind is IsolatorKind.BOBBIN:
        return Holder.STUD if rubber.stud_mm is not None else Holder.BOBBIN
    if hole.nut is Nut.WELDED:
        return Holder.WELDED_NUT
    return Holder.MATE if mate.threaded else Holder.NUT


def _order(joint: Joint) -> tuple[float, int, float, str]:
    holders = list(Holder)
    return (fastener(joint.size).diameter_mm, holders.index(joint.holder), joint.mate.thickness_mm or 0.0,
            repr(joint))  # fmt: skip


def _set(joint: Joint, count: int, thickness_mm: float) -> BoltSet:
    bolt = fastener(joint.size)
    least = needed_mm(joint, thickness_mm)
    if least is None or joint.holder is Holder.STUD:
        return BoltSet(joint, count, least, None)
    length = usual_length_mm(bolt, least)
    if joint.holder is Holder.BOBBIN:
        length = _longest_into(joint, bolt, least, thickness_mm)
    return BoltSet(joint, count, least, length)


def needed_mm(joint: Joint, thickness_mm: float) -> float | None:
    """Length from under the head that a bolt (or a bobbin's stud, from the part's face) needs, mm."""
    bolt, washer = fastener(joint.size), washer_thickness_mm(joint.size, joint.washers)
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


def _longest_into(joint: Joint, bolt: Fastener, least_mm: float, thickness_mm: float) -> float | None:
    """The longest usual bolt that does not touch the bottom of a bobbin's thread; None where none is long enough."""
    assert joint.isolator is not None and joint.isolator.depth_mm is not None
    room = thickness_mm + washer_thickness_mm(joint.size, joint.washers) + joint.isolator.depth_mm
    length, found = usual_length_mm(bolt, least_mm), None
    while length is not None and length <= room + 1e-9:
        found, length = length, usual_length_mm(bolt, length + 0.01)
    return found
