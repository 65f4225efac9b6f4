"""Everything at a site once the part is in place: the part, its bolts and joints, what is carried, the neighbours."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from bracketgen.description.model.values import what_and_cure
from bracketgen.description.text import Path
from bracketgen.errors import Fault, InputFaults
from bracketgen.geometry.space import Frame, Vector
from bracketgen.standards.table import LookupFault
from bracketgen.standards.vehicle import heat_kinds
from bracketgen.vehicle.near.envelope import Named, State
from bracketgen.vehicle.near.motion import (
    Growth,
    Leg,
    Straight,
    Travel,
    growth_of,
    heat_states,
    legs_of,
    relative_travel,
    travel_of,
)
from bracketgen.vehicle.near.required import STATED, Properties, stands
from bracketgen.vehicle.near.solids import Bow, Plate, ShapeFault, Solid, metal_solids, solids_of
from bracketgen.vehicle.seating.bolts import Bolted, BoltSolids, Placed, hardware
from bracketgen.vehicle.site import BodyTable, FlexibleTable, Site, SiteDocument, Thing

#: How findings call the part with its bolts.
PART: Final = "part"
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
        if not bolt.to_carried:
            table = document.faces[face]
            before = found[face].spots if face in found else ()
            found[face] = Joint(face, table.body, (*before, bolt.wanted), table.flexible)
    # The place that a person gave goes before the bolts.
    joints = [replace(j, spots=(j.flexible.at,)) if j.flexible and j.flexible.at else j for j in found.values()]
    hung = _hung(placed, document)
    if hung is not None and (hung.flexible is not None or all(j.body != hung.body for j in joints)):
        joints.append(hung)
    return tuple(joints)


def _hung(placed: Placed, document: SiteDocument) -> Joint | None:
    carried = document.carried
    spots = tuple(b.wanted for b in placed.hung)
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


class Role(StrEnum):
    """What a thing is to the part."""

    NEIGHBOUR = "neighbour"
    CARRIED = "carried"


@dataclass(frozen=True, slots=True)
class Standing:
    """A thing where it stands: its solids cold, and in every state that it takes by heat.

    `legs` are the way out in the site when it is taken away, none when it is not.
    """

    name: str
    role: Role
    table: Thing
    kind: Properties
    body: str
    solids: tuple[Solid, ...]
    states: tuple[State, ...]
    growth: Growth | None
    legs: tuple[Leg, ...]

    @property
    def removal(self) -> Vector | None:
        """The first leg of its way out, straight, mm."""
        first = self.legs[0] if self.legs else None
        return first.way if isinstance(first, Straight) else None

    @property
    def title(self) -> str:
        """How findings call it: "fuel line", or "carried can"."""
        return f"carried {self.name}" if self.role is Role.CARRIED else self.name


@dataclass(frozen=True, slots=True)
class Scene:
    """The part in place with everything around it, in the site's frame, mm."""

    placed: Placed
    site: Site
    metal: tuple[tuple[str, Plate | Bow], ...]
    bolts: tuple[BoltSolids, ...]
    neighbours: tuple[Standing, ...]
    carried: tuple[Standing, ...]
    joints: tuple[Joint, ...]

    @property
    def bodies(self) -> tuple[str, ...]:
        """Every body that the part is held to, in the order of its joints."""
        return tuple(dict.fromkeys(j.body for j in self.joints))

    @property
    def things(self) -> tuple[Standing, ...]:
        """Neighbours and carried things."""
        return (*self.neighbours, *self.carried)

    @property
    def body(self) -> str:
        """The body that the part moves with: of its first joint where nothing gives."""
        return (holder_of(self.joints) or self.joints[0]).body

    def travel_to(self, body: str) -> Travel:
        """How far a body moves as seen from the part."""
        return part_travel(self.joints, body, self.site.document.bodies)

    def part_solids(
        self, down: Sequence[Bolted] = (), into: Sequence[Bolted] = (), without: str | None = None
    ) -> list[Named]:
        """The part's metal, less the panels that are bolted `down` and the bends that rise from them; then its bolts.

        Of bolts that go `into` the thing that is asked about only what stands on the part's free side; nothing of the
        bolt in the hole `without`.
        """
        bends = self.placed.folded.part.bends
        seated = {b.panel for b in down}
        left_out = seated | {b.id for b in bends if b.parent in seated or b.child in seated}
        ids = {b.id for b in bends}
        metal = [(name if name in ids else f"panel {name}", s) for name, s in self.metal if name not in left_out]
        bolts = (
            (f"{name} of {b.bolt.part_hole}", s)
            for b in self.bolts
            if b.bolt.part_hole != without
            for name, s in (b.over if b.bolt in into else b.all)
        )
        return [*metal, *bolts]

    def beside(self, thing: Standing, touching: Sequence[Bolted], fellows: bool) -> Iterator[tuple[str, list[Named]]]:
        """What may be in a thing's way, by title: the part, less the panels that touch it, and the other things.

        Old neighbours that are in each other's way are not the part's doing and are left out; `fellows` says whether
        carried things count for each other.
        """
        carried = thing.role is Role.CARRIED
        yield PART, self.part_solids(touching, self.placed.hung if carried else ())
        for other in (self.things if fellows else self.neighbours) if carried else self.carried:
            if other is not thing:
                yield other.title, [(other.title, s) for s in other.solids]


def scene(placed: Placed, site: Site) -> Scene:
    """The scene. Raises InputFaults for things that can't stand as written, unknown metals, compounds and bodies."""
    document = site.document
    faults = _Faults(site)
    joints = joints_of(placed, document)
    neighbours = [
        faults.standing(name, Role.NEIGHBOUR, table, table.body, Frame(), ("neighbours", name))
        for name, table in document.neighbours.items()
    ]
    hung = []
    if document.carried is not None and placed.carried is not None:
        # What is carried moves with the part.
        body = (holder_of(joints) or joints[0]).body
        hung = [
            faults.standing(name, Role.CARRIED, table, body, placed.carried, ("carried", "things", name))
            for name, table in document.carried.things.items()
        ]
    faults.check_bodies()
    faults.check_flexible()
    if faults.faults:
        raise InputFaults(faults.faults)
    return Scene(
        placed,
        site,
        metal_solids(placed.folded, placed.frame),
        hardware(placed, document),
        tuple(s for s in neighbours if s is not None),
        tuple(s for s in hung if s is not None),
        joints,
    )


class _Faults:
    """Makes standing things, and keeps what is wrong with them."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self.faults: list[Fault] = []

    def standing(self, name: str, role: Role, table: Thing, body: str, frame: Frame, path: Path) -> Standing | None:
        kind = kind_of(table)
        try:
            solids = solids_of(table, frame)
            legs = legs_of(table, frame, solids)
        except ShapeFault as error:
            self._add(path, str(error), "measure again, or change it")
            return None
        growth = None
        try:
            growth = growth_of(table, frame)
        except LookupFault as error:
            self._add((*path, "metal"), *what_and_cure(error))
        self._compound(kind, path)
        return Standing(name, role, table, kind, body, solids, heat_states(solids, growth), growth, legs)

    def _compound(self, kind: Properties, path: Path) -> None:
        if kind.compound is not None and kind.matter not in heat_kinds():
            what = f"a compound means nothing for {kind.matter}"
            self._add((*path, "compound"), what, f"give limit, or one of these as matter: {', '.join(heat_kinds())}")
            return
        try:
            stands(kind)
        except LookupFault as error:
            self._add((*path, "compound"), *what_and_cure(error))

    def check_bodies(self) -> None:
        """Every body that is named has a travel, in the site file or in the table."""
        document = self.site.document
        named: dict[str, Path] = {}
        for name, face in document.faces.items():
            named.setdefault(face.body, ("faces", name, "body"))
        for name, thing in document.neighbours.items():
            named.setdefault(thing.body, ("neighbours", name, "body"))
        for name, hose in document.hoses.items():
            named.setdefault(hose.start.body, ("hoses", name, "from", "body"))
            named.setdefault(hose.to.body, ("hoses", name, "to", "body"))
        if document.carried is not None:
            named.setdefault(document.carried.body, ("carried", "body"))
        for body, path in named.items():
            try:
                travel_of(body, document.bodies)
            except LookupFault:
                what = f"nothing says how far the body '{body}' moves"
                self._add(path, what, f"add [bodies.{body}] with travel = [x, y, z]; [0, 0, 0] for none")

    def check_flexible(self) -> None:
        """Every compound of what gives is one that the table knows."""
        document = self.site.document
        for name, face in document.faces.items():
            if face.flexible is not None:
                self._compound(kind_of_flexible(face.flexible), ("faces", name, "flexible"))
        if document.carried is not None and document.carried.flexible is not None:
            self._compound(kind_of_flexible(document.carried.flexible), ("carried", "flexible"))

    def _add(self, path: Path, what: str, cure: str = "") -> None:
        self.faults.append(Fault(self.site.source.pointed(path), what, cure))


def kind_of(thing: Thing) -> Properties:
    """What a thing is, as far as gaps go."""
    return Properties(thing.matter, thing.gap, thing.surface, thing.limit, thing.compound)


def kind_of_flexible(table: FlexibleTable) -> Properties:
    """What gives at a joint, as far as heat goes."""
    return Properties(table.matter, limit_c=table.limit, compound=table.compound)
