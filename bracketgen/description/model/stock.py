"""The sheet, how it is cut, and how the shop bends."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field, PlainValidator, ValidationInfo, WithJsonSchema, model_validator

from bracketgen.description.model.values import (
    Grain,
    KFactorNumber,
    LengthOrZero,
    MetalWord,
    OneLine,
    PositiveLength,
    ProcessWord,
    Size,
    TomlTable,
    Turned,
    fault,
    number_of,
)
from bracketgen.units import Kind, parse_gauge

Sizes = Literal["outside", "mould", "inside", "tangent"]


def _thickness(value: Any, info: ValidationInfo) -> int | float:
    """A gauge number as an int, anything else as mm: the gauge needs the metal, which is known later."""
    gauge = parse_gauge(value) if isinstance(value, str) else None
    if gauge is not None:
        return gauge
    mm = number_of(value, Kind.LENGTH, info)
    if not 0.3 <= mm <= 25.0:
        raise fault(f"a thickness of {mm:g} mm is not sheet or plate for a brake", "give 0.3 mm to 25 mm")
    return mm


Thickness = Annotated[
    int | float,
    PlainValidator(_thickness),
    WithJsonSchema(
        {
            "anyOf": [{"type": "number"}, {"type": "string", "minLength": 1}],
            "description": "'4 mm', '3/16 in', or a gauge such as '11 ga' (then the metal says which series).",
        }
    ),
]


class CoatingTable(TomlTable):
    """What is put on after bending: holes are drawn larger by a film on each side."""

    kind: OneLine = Field(min_length=1, max_length=40, description="paint, powder, zinc ...")
    film: LengthOrZero = Field(description="thickness of the film on one face")


class StockTable(TomlTable):
    """The sheet that the part is cut from."""

    metal: MetalWord = Field(description="metal with its temper, as `bracketgen show metals` lists it")
    thickness: Thickness = Field(description="'4 mm', '3/16 in', or a gauge such as '11 ga'")
    process: ProcessWord = Field("laser", description="how it is cut, as `bracketgen show processes` lists it")
    grain: Grain = Field(
        "unknown", description="rolling direction in the first panel, anticlockwise from +x, or 'unknown'"
    )
    sheet: Size | None = Field(None, description="largest sheet to be had")
    coating: CoatingTable | None = None


class StripTable(Turned):
    """A test strip that was bent from the same sheet with the same tool; bent square when it says no turn."""

    usual_turn_deg: ClassVar[float | None] = 90.0

    blank: PositiveLength = Field(description="length before bending")
    legs: Size = Field(description="both legs after bending")
    sizes: Sizes = "outside"


class ReliefTable(TomlTable):
    """The cut beside the end of a bend, where metal goes on beyond it."""

    shape: Literal["round", "square"] = Field("round", description="how the cut ends")
    width: PositiveLength | None = None
    depth: PositiveLength | None = Field(None, description="how far it reaches beyond the tangent line")


#: The key without which a way of finding the allowance says nothing.
_NEEDED_BY_ALLOWANCE = {
    "K factor": "k_factor",
    "handbook": "handbook_metal",
    "shop table": "table",
    "test strip": "test_strip",
}


class BendTable(TomlTable):
    """How the shop bends: the radius, how the allowance is found, what sizes are measured to."""

    inside_radius: LengthOrZero | None = Field(None, description="measured on a bend of this sheet with this tool")
    die: PositiveLength | None = Field(None, description="V opening of the die (air bending): it sets the radius")
    punch_radius: PositiveLength | None = Field(None, description="bottoming: the punch sets the radius")
    nose_radius: PositiveLength | None = Field(None, description="leaf brake: the nose sets the radius")
    allowance: Literal["K factor", "DIN 6935", "FAA", "handbook", "shop table", "test strip"] = "DIN 6935"
    k_factor: KFactorNumber | None = Field(
        None, description="neutral line from the inside face / thickness, 0.25 to 0.50"
    )
    handbook_metal: Literal["soft", "medium", "hard"] | None = Field(
        None, description="soft: soft copper, brass; medium: soft steel, aluminium; hard: cold-rolled steel, bronze"
    )
    table: str | None = Field(None, description="CSV file of the shop's own deductions, beside the description")
    table_metal: str | None = Field(None, description="the metal as the shop's table names it")
    test_strip: StripTable | None = None
    sizes: Sizes | None = Field(None, description="what sizes across bends are measured to")
    relief: ReliefTable = ReliefTable.model_construct()
    minimum_leg: PositiveLength | None = Field(
        None, description="shortest leg that the tooling holds, over the outside"
    )

    @model_validator(mode="after")
    def _one_radius(self) -> BendTable:
        given = [k for k in ("inside_radius", "punch_radius", "nose_radius") if getattr(self, k) is not None]
        if len(given) > 1:
            raise fault(f"{given[0]} and {given[1]} both set the inside radius", "give one of them")
        if not given and self.die is None:
            cure = "give die (V opening), punch_radius, nose_radius, or the inside_radius measured on a bend"
            raise fault("nothing says the inside radius of the bends", cure)
        return self

    @model_validator(mode="after")
    def _complete(self) -> BendTable:
        key = _NEEDED_BY_ALLOWANCE.get(self.allowance)
        if key and getattr(self, key) is None:
            raise fault(f"allowance '{self.allowance}' needs the key {key}", f"add {key} to this table")
        for method, other in (*_NEEDED_BY_ALLOWANCE.items(), ("shop table", "table_metal")):
            if getattr(self, other) is not None and method != self.allowance:
                raise fault(
                    f"{other} is given, but the allowance is '{self.allowance}'", f"write allowance = '{method}'"
                )
        return self


class CornersTable(TomlTable):
    """What is done to corners that say nothing of themselves."""

    outer: LengthOrZero = Field(1.0, description="radius on corners that stick out; 0 leaves them sharp")
