"""Which hole of the part meets which hole of the vehicle or the carried thing; wrong names told with their places."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from bracketgen.bending.fold import Folded
from bracketgen.description.making.holes import hole_places, slot_shape
from bracketgen.description.model.document import SiteTable
from bracketgen.description.model.holes import HoleTable
from bracketgen.description.model.values import what_and_cure
from bracketgen.description.text import Path, Source
from bracketgen.errors import Fault, InputFaults
from bracketgen.geometry.space import Frame, Vector, dot, minus, plus
from bracketgen.part.hole import Hole, IsolatorKind, Purpose
from bracketgen.part.part import Part, Stock
from bracketgen.standards.fasteners import Fastener, fastener, washer_thickness_mm
from bracketgen.standards.table import LookupFault
from bracketgen.units import nearest_word
from bracketgen.vehicle.locate.locate import Located
from bracketgen.vehicle.near.solids import Drum
from bracketgen.vehicle.site import CarriedTable, SiteDocument


class Touching(StrEnum):
    """Which side of a panel lies on the mating face."""

    FACE = "face"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class Bolted:
    """One bolt: a hole of the part on an old hole ('left.A') or on a hole of the carried thing ('carried.head-1').

    `at` is the centre of the part's hole on the side that touches, in the site's frame; `wanted` where the mating
    hole is, `shim_mm` of washers or rubber above its face; `axis` (unit) runs from the mating face out through the
    part. `play_mm` is what the bolt may move in the two holes together, to each side; a slot adds `slot_play_mm` along
    `slot_axis`.
    """

    part_hole: str
    mate: str
    panel: str
    touching: Touching
    size: str
    at: Vector
    wanted: Vector
    axis: Vector
    play_mm: float
    slot_play_mm: float = 0.0
    slot_axis: Vector | None = None
    shim_mm: float = 0.0

    @property
    def to_carried(self) -> bool:
        """Whether it goes to the carried thing, not to an old hole of the vehicle."""
        return self.mate.startswith(CARRIED)


@dataclass(frozen=True, slots=True)
class Placed:
    """The folded part in the site: `frame` is the first panel's frame there; `carried` that of the carried thing."""

    folded: Folded
    frame: Frame
    bolts: tuple[Bolted, ...]
    carried: Frame | None

    @property
    def hung(self) -> tuple[Bolted, ...]:
        """The bolts to the carried thing."""
        return tuple(b for b in self.bolts if b.to_carried)

    @property
    def seated(self) -> tuple[Bolted, ...]:
        """The bolts to the vehicle."""
        return tuple(b for b in self.bolts if not b.to_carried)

    def hole(self, bolt: Bolted) -> Hole:
        """The part's hole that a bolt goes through; KeyError when there is none."""
        for hole in self.folded.part.panel(bolt.panel).holes:
            if hole.id == bolt.part_hole:
                return hole
        raise KeyError(bolt.part_hole)


# -- bolts before anything is placed


#: What names of the carried thing's holes begin with.
CARRIED = "carried."
#: Play in these holes of the part is none: the thread or the nut holds the bolt.
_HELD: Final = frozenset({Purpose.TAPPED, Purpose.RIVET_NUT})


class HoleOwner(StrEnum):
    """Whose the mating hole is."""

    VEHICLE = "vehicle"
    CARRIED = "carried"


@dataclass(frozen=True, slots=True)
class MatingHole:
    """A hole to be met: place on its face and unit normal out of it, mm, in the site's or the carried thing's frame.

    `diameter_mm` None: the bolt sits in it without play (thread, stud). `slot_mm` is how far a slot lets the bolt
    move to each side along `slot_axis`.
    """

    id: str
    kind: HoleOwner
    body: str
    centre: Vector
    normal: Vector
    diameter_mm: float | None
    size: str | None
    slot_mm: float = 0.0
    slot_axis: Vector | None = None


@dataclass(frozen=True, slots=True)
class PlannedBolt:
    """One bolt before anything is placed.

    `point` is the middle of the part's hole on the side that touches, `normal` where the mating face's normal has to
    look, both in the part's frame. `shim_mm` of washers lie between. The part's hole gives the bolt `play_mm` to every
    side, below 0 when it does not go in; a slot `slot_mm` more to each side along `slot_axis` (part's frame).
    """

    hole: Hole
    panel: str
    touching: Touching
    size: Fastener
    point: Vector
    normal: Vector
    meets: MatingHole
    shim_mm: float
    play_mm: float
    slot_mm: float = 0.0
    slot_axis: Vector | None = None

    @property
    def target(self) -> Vector:
        """Where `point` belongs, in the frame of the mating hole."""
        c, n = self.meets.centre, self.meets.normal
        return (c[0] + self.shim_mm * n[0], c[1] + self.shim_mm * n[1], c[2] + self.shim_mm * n[2])


def carried_holes(carried: CarriedTable) -> dict[str, MatingHole]:
    """The carried thing's holes by name, in its own frame: 'carried.head', or 'carried.head-1' in a pattern."""
    found: dict[str, MatingHole] = {}
    for table in carried.holes:
        asked = HoleTable.model_construct(at=table.at, pattern=table.pattern, turned=0.0, mirrored=None)
        places = hole_places(asked)
        for n, spot in enumerate(places, 1):
            id_ = f"{CARRIED}{table.name}" + (f"-{n}" if len(places) > 1 else "")
            at, up = (spot.at.x, spot.at.y, 0.0), (0.0, 0.0, 1.0)
            mating = MatingHole(id_, HoleOwner.CARRIED, carried.body, at, up, None, table.bolt)
            if table.slot is not None:
                # Its width is the bolt's: nobody says how much wider it is.
                play = slot_shape(table.slot, spot, fastener(table.bolt).diameter_mm).play(0.0)
                axis = (play.way.x, play.way.y, 0.0) if play.way is not None else None
                mating = replace(mating, slot_mm=max(0.0, play.along_mm), slot_axis=axis)
            found[id_] = mating
    return found


def own_play_mm(hole: Hole, size: Fastener, stock: Stock) -> float:
    """What the width of the part's hole leaves the bolt to each side; below 0 when it does not go in."""
    rubber, width = hole.isolator, hole.shape.width_mm or 0.0
    if hole.purpose in _HELD or (rubber is not None and rubber.hole_mm is not None):
        # A bush fills its hole and holds the bolt in the middle; what its rubber gives is not counted.
        return 0.0
    # The film on the wall takes its share of the drawn hole.
    return (width - 2 * stock.coating_mm - size.diameter_mm) / 2


def mating_holes(located: Located, carried: CarriedTable | None) -> dict[str, MatingHole]:
    """Every hole that the site has for the part, by name."""
    old = {
        h.id: MatingHole(
            h.id,
            HoleOwner.VEHICLE,
            h.body,
            h.centre,
            h.normal,
            None if h.thread is not None else h.diameter_mm,
            h.thread,
        )
        for h in located.holes
    }
    return old | (carried_holes(carried) if carried is not None else {})


def mates(folded: Folded, table: SiteTable, source: Source, meets: Mapping[str, MatingHole]) -> tuple[PlannedBolt, ...]:
    """The bolts of [site], in order. Raises InputFaults with every wrong name and size."""
    return _BoltReader(folded, table, source, meets).mates()


class _BoltReader:
    def __init__(self, folded: Folded, table: SiteTable, source: Source, meets: Mapping[str, MatingHole]) -> None:
        self.folded = folded
        self.part: Part = folded.part
        self.table = table
        self.source = source
        self.meets = meets
        self.holes = {h.id: (p.id, h) for p in self.part.panels for h in p.holes}
        self.faults: list[Fault] = []

    def mates(self) -> tuple[PlannedBolt, ...]:
        panels = [p.id for p in self.part.panels]
        for name in self.table.touching:
            if name not in panels and name not in self.table.bolts:
                known = [*panels, *self.table.bolts]
                self._unknown(("site", "touching", name), "panel or bolt of [site]", name, known)
        for name in self.table.shims:
            if name not in self.table.bolts:
                self._unknown(("site", "shims", name), "bolt of [site]", name, self.table.bolts)
        made = [m for name, mate in self.table.bolts.items() if (m := self._mate(name, mate)) is not None]
        self._twice()
        if not self.faults and all(m.meets.kind is HoleOwner.CARRIED for m in made):
            what = "no bolt goes to a hole of the vehicle: nothing holds the part"
            self._add(("site", "bolts"), what, f"the site has {_listed(self._old())}")
        if self.faults:
            raise InputFaults(self.faults)
        return tuple(made)

    def _old(self) -> list[str]:
        return [m.id for m in self.meets.values() if m.kind is HoleOwner.VEHICLE]

    def _mate(self, name: str, mate: str) -> PlannedBolt | None:
        path: Path = ("site", "bolts", name)
        if name not in self.holes:
            bolted = [id_ for id_, (_, h) in self.holes.items() if h.purpose is not Purpose.OPENING]
            self._unknown(path, "hole of the part", name, bolted)
        if mate not in self.meets:
            self._unknown_value(path, "hole of the site", mate, self.meets)
        if name not in self.holes or mate not in self.meets:
            return None
        panel, hole = self.holes[name]
        if hole.shape.core is None:
            self._add(path, f"'{name}' is no bolt hole", "name a round hole or a slot")
            return None
        size = self._size(path, hole, self.meets[mate])
        return self._bolt(name, panel, hole, size, self.meets[mate]) if size else None

    def _bolt(self, name: str, panel: str, hole: Hole, size: Fastener, meets: MatingHole) -> PlannedBolt:
        # One panel may lie on the vehicle with its back and carry something on its face.
        touching = Touching(self.table.touching.get(name, self.table.touching.get(panel, Touching.BACK.value)))
        depth, sign = (0.0, -1.0) if touching is Touching.FACE else (self.part.stock.thickness_mm, 1.0)
        z = self.folded.normal(panel)
        normal = (sign * z[0], sign * z[1], sign * z[2])
        # Rubber holds the part off its mate, unless the person says how far.
        stands = hole.isolator.stand_mm(self.part.stock.thickness_mm) if hole.isolator else 0.0
        shim = self.table.shims.get(name, stands)
        point = self.folded.point(panel, hole.centre, depth)
        play = hole.shape.play(own_play_mm(hole, size, self.part.stock))
        way = play.way
        axis = None if way is None else self.folded.frames[panel].direction((way.x, way.y, 0.0))
        return PlannedBolt(hole, panel, touching, size, point, normal, meets, shim, play.across_mm, play.along_mm, axis)

    def _size(self, path: Path, hole: Hole, meets: MatingHole) -> Fastener | None:
        # A thread or stud decides; else what the part's hole was made for.
        word = meets.size or hole.fastener
        if word is None:
            what = f"nothing says which bolt goes through '{hole.id}' and '{meets.id}'"
            self._add(path, what, "give the part's hole a bolt, such as bolt = 'M8'")
            return None
        try:
            return fastener(word)
        except LookupFault as error:
            self._add(path, *what_and_cure(error))
            return None

    def _twice(self) -> None:
        seen: dict[str, str] = {}
        for name, mate in self.table.bolts.items():
            if mate in seen:
                what = f"'{mate}' has the bolt of '{seen[mate]}' in it already"
                self.faults.append(Fault(self.source.at(("site", "bolts", name)), what, "one bolt a hole"))
            seen.setdefault(mate, name)

    def _unknown(self, path: Path, what: str, given: str, known: Iterable[str]) -> None:
        self.faults.append(Fault(self.source.at_key(path), f"there is no {what} '{given}'", _offered(given, known)))

    def _unknown_value(self, path: Path, what: str, given: str, known: Iterable[str]) -> None:
        self.faults.append(Fault(self.source.at(path), f"there is no {what} '{given}'", _offered(given, known)))

    def _add(self, path: Path, what: str, cure: str) -> None:
        self.faults.append(Fault(self.source.pointed(path), what, cure))


def _offered(given: str, known: Iterable[str]) -> str:
    words = list(known)
    near = nearest_word(given, words)
    return (f"did you mean '{near}'? " if near else "") + f"there are: {_listed(words)}"


def _listed(words: Iterable[str]) -> str:
    return ", ".join(words) or "none"


# Bolts, washers and nuts as solids.


#: How many pitches of thread look out of a nut; common practice, no source.
TIP_PITCHES: Final = 2.0
#: How deep a bolt goes into a thread of the vehicle or the carried thing, in diameters; common practice, no source.
DEPTH_DIAMETERS: Final = 1.5


@dataclass(frozen=True, slots=True)
class BoltSolids:
    """One bolt's solids: what stands on the part's free side, and what stands behind the mating face."""

    bolt: Bolted
    over: tuple[tuple[str, Drum], ...]
    behind: tuple[tuple[str, Drum], ...]

    @property
    def all(self) -> tuple[tuple[str, Drum], ...]:
        """All of them, by name."""
        return (*self.over, *self.behind)


def hardware(placed: Placed, site: SiteDocument) -> tuple[BoltSolids, ...]:
    """Every bolt's head, washers, nut, shank and tip; hexagons as the round of their corners.

    The head lies on the part's free side, the nut behind the mating face; where the part holds the thread it is
    the other way round. Behind a face whose thickness is not given the metal counts as thick as the part.
    """
    return tuple(_bolt(placed, site, b) for b in placed.bolts)


def _bolt(placed: Placed, site: SiteDocument, bolt: Bolted) -> BoltSolids:
    size = fastener(bolt.size)
    hole = placed.hole(bolt)
    thickness = placed.folded.part.stock.thickness_mm
    up = thickness + lift_mm(bolt)
    if hole.isolator is not None and hole.isolator.kind is IsolatorKind.BUSH:
        # The head lies on the bush (or its sleeve), which stands out of the part.
        up = max(up, up - thickness + hole.isolator.grip_mm(thickness) - hole.isolator.stand_mm(thickness))
    stack = _Stack(bolt, up, _behind_mm(placed, site, bolt))
    if hole.purpose in (Purpose.TAPPED, Purpose.RIVET_NUT):
        over = stack.tip_over(size, hole.shape.width_mm or 0.0, hole.purpose)
        return BoltSolids(bolt, over, stack.head_behind(size))
    threaded = bolt.to_carried or _is_threaded(site, bolt.mate)
    return BoltSolids(bolt, stack.head_over(size), stack.thread(size) if threaded else stack.nut(size))


def lift_mm(bolt: Bolted) -> float:
    """Washers between face and part, or a step: how far the part stands off its mating hole's face."""
    return max(0.0, bolt.shim_mm + dot(minus(bolt.at, bolt.wanted), bolt.axis))


def _is_threaded(site: SiteDocument, mate: str) -> bool:
    face, _, hole = mate.partition(".")
    return site.faces[face].holes[hole].thread is not None


def _behind_mm(placed: Placed, site: SiteDocument, bolt: Bolted) -> float:
    if bolt.to_carried:
        return 0.0
    given = site.faces[bolt.mate.partition(".")[0]].thickness
    return placed.folded.part.stock.thickness_mm if given is None else given


@dataclass(frozen=True, slots=True)
class _Stack:
    """Solids along the bolt's axis, from the mating face: up through the part (`up_mm`), down through `down_mm`."""

    bolt: Bolted
    up_mm: float
    down_mm: float

    def drum(self, low: float, high: float, radius: float) -> Drum:
        foot, axis = plus(self.bolt.wanted, self.bolt.axis, -self.bolt.shim_mm), self.bolt.axis
        return Drum(plus(foot, axis, low), plus(foot, axis, high), radius)

    def head_over(self, size: Fastener) -> tuple[tuple[str, Drum], ...]:
        washer, on = washer_thickness_mm(size.size), self.up_mm
        head = size.head_height_mm
        return (
            ("washer", self.drum(on, on + washer, _washer_radius(size))),
            ("head", self.drum(on + washer, on + washer + head, size.head_across_corners_mm / 2)),
        )

    def nut(self, size: Fastener) -> tuple[tuple[str, Drum], ...]:
        washer, down = washer_thickness_mm(size.size), -self.down_mm
        low = down - washer - size.nut_height_mm
        return (
            ("washer behind", self.drum(down - washer, down, _washer_radius(size))),
            ("nut", self.drum(low, down - washer, _nut_radius(size))),
            ("tip", self.drum(low - TIP_PITCHES * size.pitch_mm, low, size.diameter_mm / 2)),
        )

    def thread(self, size: Fastener) -> tuple[tuple[str, Drum], ...]:
        return (("thread", self.drum(-DEPTH_DIAMETERS * size.diameter_mm, 0.0, size.diameter_mm / 2)),)

    def tip_over(self, size: Fastener, hole_mm: float, purpose: Purpose) -> tuple[tuple[str, Drum], ...]:
        tip = TIP_PITCHES * size.pitch_mm
        if purpose is Purpose.TAPPED:
            return (("tip", self.drum(self.up_mm, self.up_mm + tip, size.diameter_mm / 2)),)
        body = DEPTH_DIAMETERS * size.diameter_mm
        return (("rivet nut", self.drum(self.up_mm, self.up_mm + body, max(hole_mm, size.diameter_mm) / 2)),)

    def head_behind(self, size: Fastener) -> tuple[tuple[str, Drum], ...]:
        washer, down = washer_thickness_mm(size.size), -self.down_mm
        low = down - washer
        return (
            ("washer behind", self.drum(low, down, _washer_radius(size))),
            ("head behind", self.drum(low - size.head_height_mm, low, size.head_across_corners_mm / 2)),
        )


def _washer_radius(size: Fastener) -> float:
    return (size.washer_od_mm or size.head_across_corners_mm) / 2


def _nut_radius(size: Fastener) -> float:
    # Across corners of a regular hexagon: across flats times 2 / sqrt 3.
    return size.nut_across_flats_mm / 3**0.5
