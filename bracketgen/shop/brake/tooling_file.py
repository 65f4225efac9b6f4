"""A shop's own tooling file: what may stand in it, and the brake that it describes."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from bracketgen.description.model.document import Parameter
from bracketgen.description.model.values import (
    Angle,
    Length,
    LengthOrZero,
    Number,
    PositiveLength,
    TomlTable,
    fault,
)
from bracketgen.description.read import read_tables
from bracketgen.description.text import Source
from bracketgen.errors import Fault, GeometryFault, InputFaults
from bracketgen.geometry.plane import Point
from bracketgen.geometry.prism import triangles
from bracketgen.shop.brake.brakes import (
    USUAL_CLEARANCE_MM,
    Brake,
    BrakeDie,
    Gauge,
    LeafBrake,
    Nose,
    PressBrake,
    Punch,
    Ring,
    v_outline,
)
from bracketgen.standards.machines import dies

#: Shortest outside leg as a share of the V, between the chart's own openings. Source: air bending chart.
_LEG_PER_OPENING = 0.70
#: How far a stated height may lie off the outline, mm.
_SAME_MM = 0.05


def _corner(value: object) -> object:
    if not isinstance(value, list) or len(value) != 2:
        raise fault("a corner of an outline is two values, [x, y]", "for example [6.5, 40]")
    return tuple(value)


Corner = Annotated[tuple[Length, Length], BeforeValidator(_corner)]


def _above_zero(value: float) -> float:
    if value <= 0:
        raise fault(f"{value:g} is too small", "give more than 0")
    return value


def _v_angle(value: float) -> float:
    if not 20.0 <= value <= 120.0:
        raise fault(f"no V has {value:g} degrees", "give 20 to 120 degrees")
    return value


Load = Annotated[Number, AfterValidator(_above_zero)]
VAngle = Annotated[Angle, AfterValidator(_v_angle)]
Outline = Annotated[list[Corner], Field(min_length=3, max_length=200)]
Lengths = Annotated[list[PositiveLength], Field(min_length=1, max_length=40)]


class _ToolTable(TomlTable):
    """What punches, dies and noses have in common."""

    name: str = Field(min_length=1, max_length=24)
    lengths: Lengths = Field(description="every piece that there is; pieces are put together")
    most_kn_per_m: Load | None = Field(None, description="load plate of the tool, kN a metre")


class PunchTable(_ToolTable):
    """A punch: its tip is the outline's lowest corner and the origin, x runs to the back gauge."""

    height: PositiveLength = Field(description="from the tip to the ram")
    radius: LengthOrZero = Field(description="of the tip")
    outline: Outline

    @model_validator(mode="after")
    def _tip_at_origin(self) -> PunchTable:
        low = min(self.outline, key=lambda c: (c[1], abs(c[0])))
        if abs(low[0]) > _SAME_MM or abs(low[1]) > _SAME_MM:
            raise fault("the punch's lowest corner is not [0, 0]", "measure its outline from the tip")
        top = max(y for _, y in self.outline)
        if abs(top - self.height) > _SAME_MM:
            raise fault(f"the outline is {top:g} mm high, the height says {self.height:g} mm", "make them the same")
        return self


class DieTable(_ToolTable):
    """A V die: the middle of its V on the top face is the origin. Without an outline: a block with one V."""

    opening: PositiveLength = Field(description="of the V, shoulder to shoulder")
    height: PositiveLength = Field(description="from its foot to its top")
    outline: Outline | None = None
    angle: VAngle = Field(85.0, description="of the V, where no outline is given")
    width: PositiveLength | None = Field(None, description="of the block, where no outline is given")
    minimum_leg: PositiveLength | None = Field(None, description="shortest leg over the outside; else by the chart")

    @model_validator(mode="after")
    def _top_at_zero(self) -> DieTable:
        if self.outline is None:
            if self.width is None or self.width <= self.opening:
                raise fault("a die without an outline needs its width, wider than the V", "give width or outline")
            return self
        top, foot = max(y for _, y in self.outline), min(y for _, y in self.outline)
        if abs(top) > _SAME_MM or abs(foot + self.height) > _SAME_MM:
            raise fault(f"the outline runs from {foot:g} to {top:g} mm", f"it must run from {-self.height:g} to 0")
        return self


class GaugeTable(TomlTable):
    """The back gauge, and what its fingers reach."""

    least: LengthOrZero = Gauge().least_mm
    most: PositiveLength = Gauge().most_mm
    below: LengthOrZero = Field(Gauge().below_mm, description="how far the fingers reach below the die's top")
    above: PositiveLength = Field(Gauge().above_mm, description="how far they reach above it")


class PressTable(TomlTable):
    """The press brake itself."""

    capacity_kn: Load = Field(description="what its load plate says, kN (1 t = 9.81 kN)")
    length: PositiveLength
    open_height: PositiveLength = Field(description="from the die to the punch's tip when open")
    clearance: PositiveLength = USUAL_CLEARANCE_MM
    ram: Outline = Field(description="what the punch hangs in: y = 0 where the punch ends")
    bed: Outline = Field(description="what the die stands on: y = 0 at the die's foot")


class LeafTable(TomlTable):
    """The leaf brake itself."""

    length: PositiveLength
    lift: PositiveLength = Field(description="how far the clamp opens")
    most_thickness: PositiveLength = Field(description="of mild steel over its whole length")
    clearance: PositiveLength = USUAL_CLEARANCE_MM
    bed: Outline = Field(description="origin at its upper front edge, x into the machine")
    leaf: Outline = Field(description="origin at its upper edge next to the bed, x out along the leaf")


class NoseTable(_ToolTable):
    """A nose with its clamp: its lower front corner is the origin, x into the machine; the radius rounds it."""

    radius: LengthOrZero
    outline: Outline

    @model_validator(mode="after")
    def _corner_at_origin(self) -> NoseTable:
        if min(abs(x) + abs(y) for x, y in self.outline) > _SAME_MM or min(y for _, y in self.outline) < -_SAME_MM:
            raise fault("the nose's lower front corner is not [0, 0]", "measure its outline from there, nothing below")
        return self


class ToolingDocument(TomlTable):
    """One brake with the tools there are for it."""

    title: str = Field(min_length=1, max_length=80)
    note: str = ""
    units: Literal["mm", "in"]
    parameters: dict[str, Parameter] = Field(default_factory=dict)
    press: PressTable | None = None
    gauge: GaugeTable = GaugeTable()
    punches: list[PunchTable] = Field(default_factory=list, max_length=40)
    dies: list[DieTable] = Field(default_factory=list, max_length=40)
    leaf_brake: LeafTable | None = None
    noses: list[NoseTable] = Field(default_factory=list, max_length=40)

    @model_validator(mode="after")
    def _whole(self) -> ToolingDocument:
        if self.press is None and self.leaf_brake is None:
            raise fault("neither a press nor a leaf brake is described", "add [press] or [leaf_brake]")
        if self.press is not None and not (self.punches and self.dies):
            raise fault("a press brake needs a punch and a die", "add [[punches]] and [[dies]]")
        if self.leaf_brake is not None and not self.noses:
            raise fault("a leaf brake needs a nose", "add [[noses]]")
        return self


def read_tooling(text: str, file: str) -> tuple[Brake, ...]:
    """The brakes of a tooling file: press, leaf, or both in that order. Raises InputFaults with every fault."""
    source, document, _ = read_tables(text, file, ToolingDocument, {})
    faults = _crossed(source, document)
    if faults:
        raise InputFaults(faults)
    brakes: list[Brake] = []
    if document.press is not None:
        brakes.append(_press(document, document.press))
    if document.leaf_brake is not None:
        brakes.append(_leaf(document, document.leaf_brake))
    return tuple(brakes)


def _ring(outline: list[tuple[float, float]]) -> Ring:
    return tuple(Point(x, y) for x, y in outline)


def _crossed(source: Source, document: ToolingDocument) -> list[Fault]:
    """Outlines that cross or touch themselves, or are none of the machine's side of the sheet."""
    rings: list[tuple[tuple[str | int, ...], list[tuple[float, float]]]] = []
    rings += [(("punches", n, "outline"), p.outline) for n, p in enumerate(document.punches)]
    rings += [(("dies", n, "outline"), d.outline) for n, d in enumerate(document.dies) if d.outline is not None]
    rings += [(("noses", n, "outline"), nose.outline) for n, nose in enumerate(document.noses)]
    if document.press is not None:
        rings += [(("press", "ram"), document.press.ram), (("press", "bed"), document.press.bed)]
    if document.leaf_brake is not None:
        rings += [(("leaf_brake", key), getattr(document.leaf_brake, key)) for key in ("bed", "leaf")]
    faults = []
    for path, ring in rings:
        up = path[-1] == "ram"
        if path[-1] != "outline" and any((y < -_SAME_MM) if up else (y > _SAME_MM) for _, y in ring):
            cure = "no corner below 0" if up else "no corner above 0"
            faults.append(Fault(source.at(path), "the outline reaches to the sheet's other side", cure))
        try:
            triangles([_ring(ring)])
        except GeometryFault:
            cure = "give the corners in order round the outline, each once"
            faults.append(Fault(source.at(path), "the outline crosses or touches itself", cure))
    return faults


def _press(document: ToolingDocument, table: PressTable) -> PressBrake:
    gauge = document.gauge
    return PressBrake(
        title=document.title,
        punches=tuple(
            Punch(p.name, _ring(p.outline), tuple(p.lengths), p.most_kn_per_m, p.height, p.radius)
            for p in document.punches
        ),
        dies=tuple(_die(d) for d in document.dies),
        ram=_ring(table.ram),
        bed=_ring(table.bed),
        open_height_mm=table.open_height,
        length_mm=table.length,
        capacity_kn=table.capacity_kn,
        gauge=Gauge(gauge.least, gauge.most, gauge.below, gauge.above),
        clearance_mm=table.clearance,
    )


def _die(table: DieTable) -> BrakeDie:
    if table.outline is not None:
        ring = _ring(table.outline)
    else:
        ring = v_outline(table.opening, table.height, table.angle, table.width or 0.0)
    leg = table.minimum_leg if table.minimum_leg is not None else minimum_leg_mm(table.opening)
    return BrakeDie(table.name, ring, tuple(table.lengths), table.most_kn_per_m, table.opening, table.height, leg)


def minimum_leg_mm(opening_mm: float) -> float:
    """Shortest outside leg on a V: the chart's figure, or its usual share of the V between the chart's openings."""
    for one in dies():
        if abs(one.opening_mm - opening_mm) < _SAME_MM:
            return one.minimum_flange_mm
    return _LEG_PER_OPENING * opening_mm


def _leaf(document: ToolingDocument, table: LeafTable) -> LeafBrake:
    return LeafBrake(
        title=document.title,
        noses=tuple(
            Nose(n.name, _ring(n.outline), tuple(n.lengths), n.most_kn_per_m, n.radius) for n in document.noses
        ),
        bed=_ring(table.bed),
        leaf=_ring(table.leaf),
        lift_mm=table.lift,
        length_mm=table.length,
        most_thickness_mm=table.most_thickness,
        clearance_mm=table.clearance,
    )
