"""Where the part is held: each face and what is carried, with what gives there."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.fit.near.envelope_travel import Travel, relative_travel
from bracketgen.fit.near.required import STATED
from bracketgen.fit.seating.mates import CARRIED
from bracketgen.fit.seating.placed import Placed
from bracketgen.fit.site.flexible_table import FlexibleTable
from bracketgen.fit.site.tables import BodyTable, SiteDocument
from bracketgen.geometry.frame import Vector

#: How findings call the joint between what is carried and its own body.
HUNG: Final = "carried"
_RIGID: Final = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Joint:
    """The part held to a body at a face, or through what it carries.

    `spots` are where the body takes hold, in the site's frame, mm. `flexible` None: nothing gives.
    """

    name: str
    body: str
    spots: tuple[Vector, ...]
    flexible: FlexibleTable | None

    @property
    def along_mm(self) -> Vector:
        """How far it gives along each axis by itself."""
        if self.flexible is None or isinstance(self.flexible.stroke, float):
            return _RIGID
        return self.flexible.stroke

    @property
    def any_way_mm(self) -> float:
        """How far it gives whichever way it is pulled, beside `along_mm`."""
        if self.flexible is None or isinstance(self.flexible.stroke, tuple):
            return 0.0
        return self.flexible.stroke

    @property
    def reach_mm(self) -> Vector:
        """How far it lets the part go along each axis at the most."""
        x, y, z = self.along_mm
        r = self.any_way_mm
        return (x + r, y + r, z + r)


def joints_of(placed: Placed, document: SiteDocument) -> tuple[Joint, ...]:
    """Every face that the part is bolted to, in the order of its bolts, then what it carries.

    A carried thing whose body holds the part already is no joint of its own, unless something gives there.
    """
    found: dict[str, Joint] = {}
    for bolt in placed.bolts:
        face = bolt.mate.partition(".")[0]
        if not bolt.mate.startswith(CARRIED):
            table = document.faces[face]
            before = found[face].spots if face in found else ()
            found[face] = Joint(face, table.body, (*before, bolt.wanted), table.flexible)
    joints = [_held_at(j) for j in found.values()]
    hung = _hung(placed, document)
    if hung is not None and (hung.flexible is not None or all(j.body != hung.body for j in joints)):
        joints.append(hung)
    return tuple(joints)


def _held_at(joint: Joint) -> Joint:
    """The place that a person gave goes before the bolts."""
    if joint.flexible is None or joint.flexible.at is None:
        return joint
    return Joint(joint.name, joint.body, (joint.flexible.at,), joint.flexible)


def _hung(placed: Placed, document: SiteDocument) -> Joint | None:
    carried = document.carried
    spots = tuple(b.wanted for b in placed.bolts if b.mate.startswith(CARRIED))
    if carried is None or placed.carried is None or not spots:
        return None
    if carried.flexible is not None and carried.flexible.at is not None:
        spots = (placed.carried.point(carried.flexible.at),)
    return Joint(HUNG, carried.body, spots, carried.flexible)


def holder_of(joints: Sequence[Joint]) -> Joint | None:
    """The joint that the part moves with: the first where nothing gives; None where every one gives."""
    return next((j for j in joints if j.flexible is None), None)


def part_travel(joints: Sequence[Joint], other: str, bodies: Mapping[str, BodyTable]) -> Travel:
    """How far a body moves as seen from the part.

    A part that hangs on nothing but what gives moves as far as the tightest of it lets it. Raises LookupFault.
    """
    holder = holder_of(joints)
    if holder is not None:
        return relative_travel(holder.body, other, bodies)
    ways = [(j, relative_travel(j.body, other, bodies)) for j in joints]
    x, y, z = (min(j.reach_mm[k] + t.mm[k] for j, t in ways) for k in range(3))
    sources = dict.fromkeys([STATED, *(t.source for _, t in ways if t.moves)])
    return Travel((x, y, z), "; ".join(sources))


def missing_mm(need: Vector, a: Joint, b: Joint) -> tuple[float, float, int | None]:
    """What two joints give together, what they have to give, mm, and along which axis; None = whichever way.

    Of axes the one where the most is missing, else the one with the least to spare.
    """
    along = tuple(p + q for p, q in zip(a.along_mm, b.along_mm, strict=True))
    any_way = a.any_way_mm + b.any_way_mm
    if any_way > 0.0:
        return any_way, math.hypot(*(max(0.0, n - g) for n, g in zip(need, along, strict=True))), None
    axis = max(range(3), key=lambda k: (need[k] - along[k], need[k]))
    return along[axis], need[axis], axis
