"""The whole description."""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import AfterValidator, BeforeValidator, Field, PlainValidator, WithJsonSchema, model_validator

from bracketgen.description.model.holes import CutoutTable, HoleTable, MarkTable, SaddleTable
from bracketgen.description.model.panels import PanelName, PanelTable, WeldTable
from bracketgen.description.model.stock import BendTable, CornersTable, Sizes, StockTable
from bracketgen.description.model.values import (
    MOST_ENTRIES,
    MOST_HOLES,
    EdgeRuleWord,
    LengthOrZero,
    OneLine,
    PositiveLength,
    TomlTable,
    Turned,
    fault,
)
from bracketgen.standards.refused import REFUSED_PART

#: Letters of the shortest word for what a part is. Own choice.
_LEAST_MEANS: Final = 8

Hazard = Literal["fuel", "oil", "brake", "exhaust", "load", "weld", "battery", "coolant", "fan", "vehicle"]


def _raw(value: Any) -> Any:
    if not isinstance(value, str | int | float):
        shown = "a list" if isinstance(value, list) else "a table" if isinstance(value, dict) else str(value)
        raise fault(f"{shown} is no value", "write a number, or a text such as '12.7 mm'")
    return value


#: A value as written; what it means is settled with all other parameters.
RawValue = Annotated[
    str | int | float,
    PlainValidator(_raw),
    WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string", "minLength": 1}]}),
]


class ParameterTable(TomlTable):
    """A named value that lengths and counts can lean on."""

    value: RawValue = Field(description="a number, a size with its unit, or arithmetic in round brackets")
    least: RawValue | None = None
    most: RawValue | None = None
    kind: Literal["length", "angle", "number", "count"] | None = Field(
        None, description="left out: the value's own unit says it, a bare number stays a plain number"
    )
    help: OneLine = Field("", description="one line for the person who changes it")


def _parameter(value: Any) -> Any:
    return value if isinstance(value, dict) else {"value": value}


#: A plain value is short for a table that holds nothing else.
Parameter = Annotated[ParameterTable, BeforeValidator(_parameter, json_schema_input_type=str | float | ParameterTable)]


class LegTable(TomlTable):
    """One leg of a bent strip, from bend to bend or to its end."""

    length: PositiveLength = Field(description="measured as `sizes` says")
    name: PanelName | None = Field(None, description="name of the panel; 'leg 1' and so on when left out")
    corner_radius: LengthOrZero = Field(0.0, description="on the free corners of the first and the last leg")
    holes: list[HoleTable] = Field(default_factory=list, max_length=MOST_HOLES)
    cutouts: list[CutoutTable] = Field(default_factory=list, max_length=MOST_ENTRIES)
    saddles: list[SaddleTable] = Field(default_factory=list, max_length=MOST_ENTRIES)
    marks: list[MarkTable] = Field(default_factory=list, max_length=MOST_ENTRIES)
    welds: list[WeldTable] = Field(default_factory=list, max_length=MOST_ENTRIES)


class StripBend(Turned):
    """One bend of a bent strip."""

    way: Literal["up", "down"]


class BentStrip(TomlTable):
    """A part that is one strip: legs and the bends between them, in order."""

    width: PositiveLength = Field(description="across, the same for all legs")
    legs: list[LegTable] = Field(description="from one end to the other", min_length=1, max_length=MOST_ENTRIES)
    bends: list[StripBend] = Field(default_factory=list)
    sizes: Sizes | None = None

    @model_validator(mode="after")
    def _alternate(self) -> BentStrip:
        if len(self.bends) != len(self.legs) - 1:
            raise fault(
                f"the strip has {len(self.legs)} legs and {len(self.bends)} bends",
                "give one bend less than legs: one between each leg and the next",
            )
        return self


def _waivable(rule: str) -> str:
    if rule == REFUSED_PART:
        cure = "take it out; ask a certifying engineer, or the approval body where the vehicle is registered"
        raise fault(f"no waiver reaches '{rule}': a part whose failure kills is not made here", cure)
    return rule


class WaiverTable(TomlTable):
    """Sets a rule aside for a subject; the reason is printed on every output."""

    rule: Annotated[OneLine, AfterValidator(_waivable)] = Field(
        description="its id, as `bracketgen show rules` lists it", min_length=1
    )
    subject: OneLine = Field("*", description="what the finding is about; * = everything", min_length=1)
    reason: OneLine = Field(description="why this part may; at least 8 letters", min_length=8)


class RulesTable(TomlTable):
    """Which published rule the part is held to."""

    edge_distance: EdgeRuleWord = Field("EN 1993-1-8", description="as `bracketgen show edge_distance` lists it")


class CutFileTable(TomlTable):
    """What the cut file holds beyond the cuts."""

    also: list[Literal["marks", "bends"]] = Field(
        default_factory=list, description="bends: only when the cutting shop bends too; each on a layer of its own"
    )


class SiteTable(TomlTable):
    """Where the part goes: a site file, and which of the part's holes is bolted to what."""

    file: str = Field(description="the site file, beside the description")
    bolts: dict[str, str] = Field(min_length=2, description="'panel/hole' = 'face.hole' of the site, or 'carried.hole'")
    touching: dict[str, Literal["face", "back"]] = Field(
        default_factory=dict,
        description="'panel', or 'panel/hole' for one bolt = the side that lies on the mating face; left out: back",
    )
    shims: dict[str, LengthOrZero] = Field(
        default_factory=dict,
        description="'panel/hole' = washers put between it and the mating face; left out: an isolator's height",
    )


def _means(text: str) -> str:
    if text and ("..." in text or len(text) < _LEAST_MEANS):
        raise fault(f"'{text}' says nothing", 'say what the part holds, such as means = "holds the light, not the bar"')
    return text


class Document(TomlTable):
    """A bracket: what a file in shapes/ says."""

    title: OneLine = Field(description="what the part is, in one line", min_length=1, max_length=80)
    note: str = ""
    means: Annotated[OneLine, AfterValidator(_means)] = Field(
        "",
        max_length=100,
        description="what the part holds, where a word of its names can also mean a part that is refused; printed on "
        "every output",
    )
    units: Literal["mm", "in"] = Field(description="the unit of bare numbers in this file")
    stock: StockTable = Field(description="the sheet: its metal, thickness and how it is cut")
    bend: BendTable | None = None
    corners: CornersTable = CornersTable.model_construct()
    rules: RulesTable = RulesTable.model_construct()
    parameters: dict[str, Parameter] = Field(default_factory=dict)
    panels: dict[PanelName, PanelTable] = Field(default_factory=dict, max_length=MOST_ENTRIES)
    strip: BentStrip | None = None
    cut_file: CutFileTable = CutFileTable.model_construct()
    site: SiteTable | None = None
    near: list[Hazard] = Field(
        default_factory=list, description="hazards beyond those that names, welds, metal and site tell"
    )
    waivers: list[WaiverTable] = Field(default_factory=list)
