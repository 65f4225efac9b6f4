"""A job file: several descriptions with their quantities, and if it is wanted the sheets and rates of the shop."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from bracketgen.description.model.quantities import Count, LengthOrZero, Number, PositiveLength, Size, Table
from bracketgen.description.read import Source, parse, read_tables


class PartTable(Table):
    """One part: its description, how many, and values of parameters to set."""

    file: str = Field(min_length=1, description="the description, from this file's folder")
    quantity: Count = 1
    set: dict[str, str | int | float] = Field(default_factory=dict, description="other values of its parameters")


class SheetTable(Table):
    """Sheets or offcuts of one size: length along x, width along y. The rolling direction runs along one of them."""

    name: str = Field("sheet", min_length=1, max_length=40)
    size: Size = Field(description="[length, width]")
    quantity: Count = 1
    grain: Literal["length", "width", "unknown"] = Field("length", description="what the rolling direction runs along")


class NestingTable(Table):
    """How close parts may lie to each other and to the sheet's edge."""

    gap: PositiveLength | None = Field(None, description="between parts; left out: the thickness, at least 5 mm")
    margin: LengthOrZero | None = Field(None, description="to the sheet's edge; left out: as the gap, at least 10 mm")


class RatesTable(Table):
    """The shop's own figures; the estimate is no better than they are."""

    currency: str = Field("", max_length=12)
    cut_mm_per_min: Number = Field(gt=0, description="along the cut, in this metal and thickness")
    pierce_s: Number = Field(0.0, ge=0, description="seconds for each pierce")
    machine_per_hour: Number = Field(0.0, ge=0)
    metal_per_kg: Number = Field(0.0, ge=0)
    setup: Number = Field(0.0, ge=0, description="once for the job")


class JobDocument(Table):
    """An order: descriptions with their quantities; with sheets also what they are laid on."""

    title: str = Field(min_length=1, max_length=120)
    units: Literal["mm", "in"]
    finish: str = Field("", max_length=200, description="stands on the order sheet")
    bends: Literal["customer", "shop"] = Field("customer", description="who bends the parts")
    parts: list[PartTable] = Field(min_length=1, max_length=200)
    sheets: list[SheetTable] = Field(default_factory=list, max_length=100)
    nesting: NestingTable = NestingTable()
    rates: RatesTable | None = None


def is_job_file(text: str, file: str) -> bool:
    """Whether a file lists parts; a description has panels instead. Raises InputFaults for faulty TOML."""
    raw = parse(text, file).raw
    return "parts" in raw and "panels" not in raw


def read_job_file(text: str, file: str) -> tuple[Source, JobDocument]:
    """The job. Raises InputFaults with every fault of the file."""
    source, document, _ = read_tables(text, file, JobDocument, {})
    return source, document
