"""What a person wrote down at the vehicle: one model class a table, with help for editors.

The site's frame: the first face's first hole is the origin, x runs to its second hole, z stands out of the face,
y completes a right-handed frame. Neighbours and wished places are measured in it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag, model_validator

from bracketgen.description.model.document import Parameter
from bracketgen.description.model.holes import Pattern, SlotTable
from bracketgen.description.model.values import (
    Angle,
    At,
    Length,
    LengthOrZero,
    Number,
    PositiveLength,
    Size,
    TomlTable,
    fault,
)
from bracketgen.description.read import read_tables
from bracketgen.description.schema import DIALECT, model_schema
from bracketgen.description.text import Source


def xyz(value: Any) -> Any:
    """Three values as a tuple. Raises a fault for anything else."""
    if not isinstance(value, list) or len(value) != 3:
        raise fault("a place in space is three values, [x, y, z]", "for example [120, 35, -40]")
    return tuple(value)


Xyz = Annotated[tuple[Length, Length, Length], BeforeValidator(xyz)]
Direction = Annotated[tuple[Number, Number, Number], BeforeValidator(xyz)]
TravelXyz = Annotated[tuple[LengthOrZero, LengthOrZero, LengthOrZero], BeforeValidator(xyz)]


def _which_stroke(value: Any) -> str:
    return "along axes" if isinstance(value, list) else "any way"


#: Along x, y, z, or one length that holds whichever way it is pulled.
Stroke = Annotated[
    Annotated[TravelXyz, Tag("along axes")] | Annotated[PositiveLength, Tag("any way")], Discriminator(_which_stroke)
]


class FlexibleTable(TomlTable):
    """Something that gives between two bodies: a rubber mount, a hanger's rubber, a bellows, a sliding bolt."""

    stroke: Stroke = Field(
        description="how far it gives to either side before it is tight: [x, y, z] of the site, or one length that "
        "holds whichever way it is pulled; push it and measure, or take the maker's figure"
    )
    matter: Literal["rubber", "plastic", "metal"] = Field("rubber", description="what gives; heat spoils all but metal")
    compound: str | None = Field(None, description="rubber, plastic: which one, such as 'EPDM'; decides its limit")
    limit: Number | None = Field(None, description="what it stands, degrees C")
    surface: Number | None = Field(None, description="how hot the metal gets that it sits on, degrees C")
    at: Xyz | None = Field(
        None, description="where the body takes hold of it (carried: in its own frame); left out: at the bolts"
    )

    @model_validator(mode="after")
    def _gives(self) -> FlexibleTable:
        if isinstance(self.stroke, tuple) and not any(self.stroke):
            raise fault("a stroke of zeros gives nowhere", "measure how far it gives, or leave 'flexible' out")
        return self


#: Beyond this it would come back on itself.
_MOST_TILT_DEG: Final = 180.0


class RemovalLeg(TomlTable):
    """One further leg of the way out: moved straight, or tilted."""

    move: Xyz | None = Field(None, description="straight, as [x, y, z] moved")
    tilt: Angle | None = Field(None, description="degrees it is tilted: the end that comes out first goes `toward`")
    toward: Direction | None = Field(None, description="tilt: which way the end that comes out first swings")
    pivot: Xyz | None = Field(
        None, description="tilt: the place on it that stays, given as it hangs at first; left out: its middle"
    )

    @model_validator(mode="after")
    def _one_way(self) -> RemovalLeg:
        if (self.move is None) == (self.tilt is None):
            raise fault("a leg of the way out is one thing", "give move = [x, y, z], or tilt with toward")
        if self.move is not None and (self.toward is not None or self.pivot is not None):
            raise fault("toward and pivot belong to a tilt", "take them out, or give the tilt a leg of its own")
        if self.move is not None and not any(self.move):
            raise fault("a move of zeros goes nowhere", "say how far it is moved, or take the leg out")
        if self.tilt is not None:
            self._check_tilt(self.tilt)
        return self

    def _check_tilt(self, tilt: float) -> None:
        if self.toward is None or not any(self.toward):
            raise fault("nothing says which way it tilts", "give toward = [x, y, z], where the leading end goes")
        if not 0.0 < tilt <= _MOST_TILT_DEG:
            raise fault(f"a tilt of {tilt:g} degrees", "give more than 0, at most 180; the way is said by toward")


MeasuringTool = Literal["tape", "ruler", "calliper", "straight edge", "angle finder", "level", "protractor"]

#: What a thing is made of or carries; the required gap depends on it.
Matter = Literal[
    "metal", "air", "fuel", "oil", "brake", "coolant", "exhaust", "wire", "live", "rubber", "plastic", "moving"
]


class BodyTable(TomlTable):
    """Something that moves as one: chassis, engine, exhaust."""

    travel: TravelXyz | None = Field(None, description="how far it moves to either side along x, y, z of the site")


class OldHole(TomlTable):
    """A hole that is there already."""

    diameter: PositiveLength | None = None
    long: PositiveLength | None = Field(None, description="worn oval: the longer diameter")
    short: PositiveLength | None = Field(None, description="worn oval: the shorter diameter")
    direction: Angle | None = Field(None, description="worn oval: the way its long diameter lies, seen on the face")
    unworn: Literal["start", "end"] | None = Field(
        None, description="worn oval: which end of the long diameter kept its round; else the middle is taken"
    )
    thread: str | None = Field(None, description="bolt size, where the hole is tapped")
    about: At | None = Field(None, description="rough place on its face: tells mirror images apart")

    @model_validator(mode="after")
    def _one_size(self) -> OldHole:
        oval = [k for k in ("long", "short", "direction") if getattr(self, k) is not None]
        if (self.diameter is None) == (not oval) and self.thread is None:
            raise fault("the hole's size is not given once", "give diameter; or long, short and direction; or thread")
        if oval and len(oval) != 3:
            raise fault("an oval hole needs long, short and direction", f"add what is missing beside {', '.join(oval)}")
        return self


class FaceTable(TomlTable):
    """A flat place with holes: a tab, a bulkhead, an old bracket."""

    body: str = Field("chassis", description="the one of [bodies] that it moves with")
    coating: LengthOrZero = Field(0.0, description="paint on this face that is to come off, measured over")
    holes: dict[str, OldHole] = Field(min_length=1)
    at: Xyz | None = Field(None, description="rough place of its first hole")
    normal: Direction | None = Field(None, description="rough direction out of the face")
    thickness: PositiveLength | None = Field(None, description="of the metal behind it: where a nut sits")
    flexible: FlexibleTable | None = Field(
        None, description="what gives between the part and this face, such as rubber mounts; left out: nothing gives"
    )


class _Reading(TomlTable):
    tool: MeasuringTool | None = Field(None, description="decides the usual error: `bracketgen show reading_errors`")
    error: PositiveLength | None = Field(None, description="one standard deviation; left out: the tool's usual")
    note: str = ""


class DistanceReading(_Reading):
    """Between two holes, straight through the air, on one face or on two."""

    kind: Literal["distance"]
    start: str = Field(alias="from", description="hole, as face.hole")
    to: str = Field(description="the other hole, as face.hole")
    over: Literal["centres", "inner", "outer", "left to left", "pins"] = Field(
        description="what was measured: centre to centre; gap; over the far edges; edge to same edge; over two pins"
    )
    pins: Size | None = Field(None, description="diameters of the pins, in the order from, to")
    value: PositiveLength

    @model_validator(mode="after")
    def _pins(self) -> DistanceReading:
        if (self.over == "pins") != (self.pins is not None):
            raise fault("pins and over = 'pins' go together", "give pins = [d1, d2] with over = 'pins'")
        return self


class SquareReading(_Reading):
    """Square distance of a hole's centre from the line through two others of its face, left of it positive."""

    kind: Literal["square"]
    hole: str = Field(description="as face.hole")
    line: tuple[str, str] = Field(description="the two others, each as face.hole")
    value: Length


class StepReading(_Reading):
    """With a straight edge on a face: how far a hole of another face stands out of it, inwards negative."""

    kind: Literal["step"]
    hole: str = Field(description="as face.hole")
    face: str = Field(description="the one that the straight edge lies on")
    value: Length


class TiltReading(_Reading):
    """Between two faces: degrees between their outward normals (0 = parallel, looking the same way)."""

    kind: Literal["tilt"]
    faces: tuple[str, str]
    value: Angle
    error: Angle | None = None  # degrees here, not mm


class LevelReading(_Reading):
    """With a level along two holes of a face: degrees that the second stands above the first."""

    kind: Literal["level"]
    start: str = Field(alias="from", description="hole, as face.hole")
    to: str = Field(description="the other hole of that face, as face.hole")
    value: Angle
    error: Angle | None = None  # degrees here, not mm


Reading = Annotated[
    DistanceReading | SquareReading | StepReading | TiltReading | LevelReading, Field(discriminator="kind")
]


class _Thing(TomlTable):
    """What every solid says of itself."""

    matter: Matter = Field("metal", description="what it is or carries; decides the required gap")
    body: str = Field("chassis", description="the one of [bodies] that it moves with")
    surface: Number | None = Field(None, description="surface temperature when hot, degrees C")
    limit: Number | None = Field(None, description="what rubber or plastic stands, degrees C")
    compound: str | None = Field(
        None, description="rubber, plastic, wire: which one, such as 'EPDM'; decides its limit"
    )
    gap: LengthOrZero | None = Field(None, description="required gap to the part, where the table is not to decide")


class PipeTable(_Thing):
    """A pipe, hose or line along points; corners rounded by the bend radius."""

    shape: Literal["pipe"]
    points: list[Xyz] = Field(min_length=2)
    diameter: PositiveLength = Field(description="outside")
    bend_radius: LengthOrZero = Field(0.0, description="of its centre line")
    grows_from: Literal["start", "end"] | None = Field(None, description="hot pipe: the end that is held")
    metal: str | None = Field(None, description="hot pipe: decides how far it grows")


class _Removable(_Thing):
    """What may be taken away for service."""

    removal: Xyz | None = Field(None, description="how it is taken away: straight, as [x, y, z] moved")
    removal_then: list[RemovalLeg] = Field(
        default_factory=list, max_length=20, description="further legs of its way out, after `removal`, in order"
    )

    @model_validator(mode="after")
    def _first_leg(self) -> _Removable:
        if self.removal_then and (self.removal is None or not any(self.removal)):
            raise fault(
                "removal_then without removal", "give removal = [x, y, z] first: straight off its thread or seat"
            )
        return self


class CylinderTable(_Removable):
    """A filter, a can, a motor: round with flat ends."""

    shape: Literal["cylinder"]
    at: Xyz = Field(description="middle of one end")
    to: Xyz = Field(description="middle of the other end")
    diameter: PositiveLength
    grip: Literal["hand", "strap wrench"] | None = Field(
        None, description="what unscrews it: that needs room all around, while it turns"
    )
    grip_at: LengthOrZero | None = Field(
        None, description="middle of the grip, from the end that comes out first; left out: as near to it as can be"
    )

    @model_validator(mode="after")
    def _gripped(self) -> CylinderTable:
        if self.grip is not None and (self.removal is None or not any(self.removal)):
            raise fault("a grip is for what is taken away", "give removal = [x, y, z] beside grip")
        if self.grip is None and self.grip_at is not None:
            raise fault("grip_at without grip", "give grip = 'hand' or 'strap wrench' beside it")
        long_mm = math.dist(self.at, self.to)
        if self.grip_at is not None and self.grip_at > long_mm:
            what = f"grip_at = {self.grip_at:g} mm is off a cylinder {long_mm:g} mm long"
            raise fault(what, "count from the end that comes out first")
        return self


class BoxTable(_Removable):
    """An upright or turned box."""

    shape: Literal["box"]
    at: Xyz = Field(description="its middle")
    size: Annotated[tuple[PositiveLength, PositiveLength, PositiveLength], BeforeValidator(xyz)]
    x: Direction = Field((1.0, 0.0, 0.0), description="way of its first size")
    z: Direction = Field((0.0, 0.0, 1.0), description="way of its third size")


class WallTable(_Thing):
    """An endless flat wall."""

    shape: Literal["wall"]
    at: Xyz
    normal: Direction = Field(description="out of the wall, toward the free side")


Thing = Annotated[PipeTable | CylinderTable | BoxTable | WallTable, Field(discriminator="shape")]


class CarriedHoles(TomlTable):
    """Bolt holes of the carried thing, on its mounting face."""

    name: str = Field(min_length=1, max_length=40)
    at: At = (0.0, 0.0)
    bolt: str
    slot: SlotTable | None = None
    pattern: Pattern | None = None


class CarriedTable(TomlTable):
    """What hangs on the part. Its own frame: z = 0 is its mounting face, z points out of it, to the bracket."""

    title: str = ""
    mass: Number = Field(description="kg")
    centre: Xyz = Field(description="centre of gravity in its own frame")
    body: str = Field("chassis", description="the body it is held to when the bracket is on")
    flexible: FlexibleTable | None = Field(
        None,
        description="what gives between its bolts and that body, such as a hanger's rubber; left out: nothing gives",
    )
    holes: list[CarriedHoles] = Field(min_length=1)
    things: dict[str, Thing] = Field(
        default_factory=dict, description="its shape in its own frame: what hangs from the face has negative z"
    )
    at: Xyz = Field(description="wished place of its frame's origin")
    normal: Direction = Field(description="wished direction out of its mounting face")
    x: Direction = Field(description="wished direction of its x axis")
    room: TravelXyz = Field((0.0, 0.0, 0.0), description="how far it may be moved to either side along x, y, z")
    turn_room: Angle = Field(0.0, description="how far it may be turned about its normal, to either side")


class HoseEnd(TomlTable):
    """Where a hose is held."""

    at: Xyz = Field(description="where its fitting begins")
    way: Direction = Field(description="the direction in which the hose leaves")
    fitting: LengthOrZero = Field(description="length of the stiff end fitting; 0 for a hose clip on a stub")
    body: str = Field("chassis", description="what it moves with")
    on: Literal["vehicle", "carried"] = Field("vehicle", description="carried: at and way count in its own frame")

    @model_validator(mode="after")
    def _some_way(self) -> HoseEnd:
        if not any(self.way):
            raise fault("way = [0, 0, 0] points nowhere", "give the direction in which the hose leaves its fitting")
        return self


class HoseTable(TomlTable):
    """A hose between two fittings. Of one that is clamped to something that moves otherwise, write each piece."""

    start: HoseEnd = Field(alias="from")
    to: HoseEnd
    length: PositiveLength = Field(description="end to end over its fittings, lying straight")
    diameter: PositiveLength = Field(description="outside")
    bend_radius: PositiveLength | None = Field(None, description="least, as printed for this hose")
    clamps: list[PositiveLength] = Field(default_factory=list, description="where it is clamped, along it from 'from'")

    @model_validator(mode="after")
    def _some_length(self) -> HoseTable:
        if self.start.fitting + self.to.fitting >= self.length:
            raise fault("its fittings are as long as the hose", "length runs end to end over both fittings")
        stops = [0.0, *self.clamps, self.length]
        if any(b <= a for a, b in pairwise(stops)):
            raise fault("clamps don't lie in order along the hose", "give them rising, each below its length")
        return self


class SiteDocument(TomlTable):
    """A place on the vehicle: old holes, readings, neighbours, and what is to hang there."""

    title: str = Field(min_length=1, max_length=80)
    note: str = ""
    units: Literal["mm", "in"]
    down: Direction = Field((0.0, 0.0, -1.0), description="which way things fall, in the site's frame")
    parameters: dict[str, Parameter] = Field(default_factory=dict)
    bodies: dict[str, BodyTable] = Field(default_factory=dict)
    faces: dict[str, FaceTable] = Field(min_length=1)
    readings: list[Reading] = Field(default_factory=list)
    neighbours: dict[str, Thing] = Field(default_factory=dict)
    hoses: dict[str, HoseTable] = Field(default_factory=dict)
    carried: CarriedTable | None = None

    @model_validator(mode="after")
    def _carried_ends(self) -> SiteDocument:
        for name, hose in self.hoses.items():
            if self.carried is None and "carried" in (hose.start.on, hose.to.on):
                what = f"hose '{name}' ends on what is carried, and nothing is carried"
                raise fault(what, "add [carried], or on = 'vehicle'")
        return self


@dataclass(frozen=True)
class Site:
    """What a site file says, and where everything stands in it."""

    name: str
    document: SiteDocument
    source: Source


def read_site(text: str, file: str, name: str, set_values: Mapping[str, str | int | float] | None = None) -> Site:
    """The site in `text`. Raises InputFaults with every fault of the file."""
    source, document, _ = read_tables(text, file, SiteDocument, set_values or {})
    return Site(name, document, source)


def site_schema() -> dict[str, Any]:
    """The schema as plain values. It knows no unknown keys; which keys go together is left to the reader."""
    return {"$schema": DIALECT, **model_schema(SiteDocument), "title": "A place on the vehicle"}
