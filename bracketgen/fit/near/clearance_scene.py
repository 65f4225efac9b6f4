"""Everything that stands at a site once the part is in place: the part, its bolts, what is carried, the neighbours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from bracketgen.description.model.words import what_and_cure
from bracketgen.description.read import Path
from bracketgen.errors import Fault, InputFaults
from bracketgen.fit.near.clearance_solids import ShapeFault, solids_of
from bracketgen.fit.near.envelope import State
from bracketgen.fit.near.envelope_growth import Growth, growth_of, hot_states
from bracketgen.fit.near.envelope_travel import Travel, travel_of
from bracketgen.fit.near.gaps.solids import Bow, Plate, Solid
from bracketgen.fit.near.joints.joints import Joint, holder_of, joints_of, part_travel
from bracketgen.fit.near.metal import metal_solids
from bracketgen.fit.near.required import Kind, stands
from bracketgen.fit.near.ways_out.route import Leg, Straight, legs_of
from bracketgen.fit.seating.hardware import BoltSolids, hardware
from bracketgen.fit.seating.mates import CARRIED
from bracketgen.fit.seating.placed import Bolted, Placed
from bracketgen.fit.site.flexible_table import FlexibleTable
from bracketgen.fit.site.site import Site
from bracketgen.fit.site.tables import PipeTable, Thing
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.standards.table import LookupFault
from bracketgen.standards.vehicle import heat_kinds


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
    kind: Kind
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
        return _body_of_part(self.joints)

    def travel_to(self, body: str) -> Travel:
        """How far a body moves as seen from the part."""
        return part_travel(self.joints, body, self.site.document.bodies)

    def vehicle_bolts(self) -> tuple[Bolted, ...]:
        """The bolts that go to the vehicle."""
        return tuple(b for b in self.placed.bolts if not b.mate.startswith(CARRIED))


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
        body = _body_of_part(joints)
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


def _body_of_part(joints: Sequence[Joint]) -> str:
    return (holder_of(joints) or joints[0]).body


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
        growth = self._growth(table, frame, path)
        self._compound(kind, path)
        states = hot_states(solids, growth) if growth is not None else (("as measured", solids),)
        return Standing(name, role, table, kind, body, solids, states, growth, legs)

    def _growth(self, table: Thing, frame: Frame, path: Path) -> Growth | None:
        if not isinstance(table, PipeTable):
            return None
        try:
            return growth_of(table, frame)
        except LookupFault as error:
            self._add((*path, "metal"), *what_and_cure(error))
            return None

    def _compound(self, kind: Kind, path: Path) -> None:
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


def kind_of(thing: Thing) -> Kind:
    """What a thing is, as far as gaps go."""
    return Kind(thing.matter, thing.gap, thing.surface, thing.limit, thing.compound)


def kind_of_flexible(table: FlexibleTable) -> Kind:
    """What gives at a joint, as far as heat goes."""
    return Kind(table.matter, limit_c=table.limit, compound=table.compound)
