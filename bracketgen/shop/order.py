"""The order: a job file with its parts, sheets and rates, and the order sheet for the cutting shop."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Literal

from pydantic import Field

from bracketgen.bending.flat import Flat
from bracketgen.description.model.values import Count, LengthOrZero, Number, PositiveLength, Size, TomlTable
from bracketgen.description.read import read_tables
from bracketgen.description.text import Source, parse
from bracketgen.part.part import Stock, Waiver
from bracketgen.units import INCH_MM, KG_PER_LB, format_mm

#: Width, depth, height, mm.
Size3 = tuple[float, float, float]


class Bender(StrEnum):
    """Who bends the parts; the value stands on the order sheet."""

    CUSTOMER = "the customer bends it: send it flat"
    SHOP = "the cutting shop bends it, by the bends listed here"


@dataclass(frozen=True, slots=True)
class OrderLine:
    """A part with its quantity. Lengths in mm, mass in kg each; `bends` and `hardware` are lines of text."""

    name: str
    title: str
    quantity: int
    stock: Stock
    bender: Bender
    finish: str
    flat_mm: tuple[float, float]
    folded_mm: Size3
    mass_kg: float
    cut_mm: float
    pierces: int
    bends: tuple[str, ...] = ()
    hardware: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    mark: str = ""


def order_line(
    flat: Flat, folded_mm: Size3, quantity: int, bender: Bender, finish: str = "", hardware: tuple[str, ...] = ()
) -> OrderLine:
    """The line of a part. `folded_mm` is the box round the folded part; ValueError for a quantity below 1."""
    if quantity < 1:
        raise ValueError(f"a quantity of {quantity}")
    part = flat.part
    x0, y0, x1, y1 = flat.bounds_mm
    bends = tuple(
        f"bend {n}, {s.bend.parent} to {s.bend.child}: {s.bend.way.value}, turn {s.bend.turn_deg:g} deg from flat "
        f"({180 - s.bend.turn_deg:g} deg between the faces), inside radius {s.bend.inside_radius_mm:g} mm"
        for n, s in enumerate(flat.strips, start=1)
    )
    return OrderLine(
        name=part.name,
        title=part.title,
        quantity=quantity,
        stock=part.stock,
        bender=bender,
        finish=finish,
        flat_mm=(x1 - x0, y1 - y0),
        folded_mm=folded_mm,
        mass_kg=flat.mass_kg,
        cut_mm=flat.cut_length_mm,
        pierces=flat.pierces,
        bends=bends,
        hardware=hardware,
        cautions=part.cautions,
        waivers=part.waivers,
        mark=part.mark,
    )


# -- a job file: several descriptions with their quantities, and if it is wanted the sheets and rates of the shop


class PartTable(TomlTable):
    """One part: its description, how many, and values of parameters to set."""

    file: str = Field(min_length=1, description="the description, from this file's folder")
    quantity: Count = 1
    set: dict[str, str | int | float] = Field(default_factory=dict, description="other values of its parameters")


class SheetTable(TomlTable):
    """Sheets or offcuts of one size: length along x, width along y. The rolling direction runs along one of them."""

    name: str = Field("sheet", min_length=1, max_length=40)
    size: Size = Field(description="[length, width]")
    quantity: Count = 1
    grain: Literal["length", "width", "unknown"] = Field("length", description="what the rolling direction runs along")


class NestingTable(TomlTable):
    """How close parts may lie to each other and to the sheet's edge."""

    gap: PositiveLength | None = Field(None, description="between parts; left out: the thickness, at least 5 mm")
    margin: LengthOrZero | None = Field(None, description="to the sheet's edge; left out: as the gap, at least 10 mm")


class RatesTable(TomlTable):
    """The shop's own figures; the estimate is no better than they are."""

    currency: str = Field("", max_length=12)
    cut_mm_per_min: Number = Field(gt=0, description="along the cut, in this metal and thickness")
    pierce_s: Number = Field(0.0, ge=0, description="seconds for each pierce")
    machine_per_hour: Number = Field(0.0, ge=0)
    metal_per_kg: Number = Field(0.0, ge=0)
    setup: Number = Field(0.0, ge=0, description="once for the job")


class JobDocument(TomlTable):
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


# -- the order sheet as plain text: read in any mail program, printed on anything

_WIDTH: Final = 96
_LABEL: Final = 12
_ON_ALL: Final = (
    "All sizes are nominal: no kerf is taken off or put on. Please let the machine put in its own.",
    "One unit in a cut file is 1 mm. Cut files show the described face up; they must not be mirrored.",
    "If the flat does not come up in the size given below, it was read in the wrong unit: please stop and ask.",
)

#: For each part: its cut file, then those to send if it is refused.
CutFiles = Mapping[str, Sequence[str]]


def order_text(title: str, lines: Sequence[OrderLine], cut_files: CutFiles, left_out: Sequence[str] = ()) -> str:
    """The sheet. `left_out` names parts of the job that are not in the pack, each with its reason."""
    head = [f"ORDER SHEET: {title}", ""]
    for text in (*_cautions(lines), *_ON_ALL):
        head += textwrap.wrap(text, _WIDTH, initial_indent="- ", subsequent_indent="  ")
    pieces = sum(line.quantity for line in lines)
    mass = sum(line.quantity * line.mass_kg for line in lines)
    head += ["", f"{len(lines)} part{'s' * (len(lines) != 1)}, {pieces} in all, {_mass(mass)} together"]
    head += [f"NOT in this pack: {text}" for text in left_out]
    body = [row for number, line in enumerate(lines, start=1) for row in _part(number, line, cut_files[line.name])]
    return "\n".join([*head, *body, ""])


def _cautions(lines: Sequence[OrderLine]) -> Iterator[str]:
    """Each caution once, with the numbers of the parts that it is about where it is not about all."""
    told = dict.fromkeys(text for line in lines for text in line.cautions)
    for text in sorted(told, key=lambda t: max(line.cautions.index(t) for line in lines if t in line.cautions)):
        about = [str(n) for n, line in enumerate(lines, start=1) if text in line.cautions]
        yield text if len(about) == len(lines) else f"Part{'s' * (len(about) > 1)} {', '.join(about)}: {text}"


def _part(number: int, line: OrderLine, files: Sequence[str]) -> Iterator[str]:
    yield from ("", "-" * _WIDTH)
    yield from textwrap.wrap(f"{number}. {line.name}  {line.title}", _WIDTH, subsequent_indent="   ")
    for label, text in _facts(line, files):
        yield from textwrap.wrap(
            text,
            _WIDTH,
            initial_indent=f"   {label:<{_LABEL}}",
            subsequent_indent=" " * (_LABEL + 3),
            break_long_words=False,
            break_on_hyphens=False,
        )


def _facts(line: OrderLine, files: Sequence[str]) -> Iterator[tuple[str, str]]:
    stock = line.stock
    yield "cut file", files[0]
    yield "mark", f"{line.mark}: every file of this part carries it; another mark is another state of the part"
    yield "quantity", f"{line.quantity}"
    yield "metal", f"{stock.metal.id}: {stock.metal.title}, {stock.metal.temper}"
    yield "thickness", _both(stock.thickness_mm)
    yield "process", f"{stock.process.id}: {stock.process.title}"
    yield "grain", "free" if stock.grain_deg is None else f"rolling direction {stock.grain_deg:g} deg from the file's x"
    yield "finish", _finish(line)
    yield from _bending(line)
    yield "flat size", _sizes(line.flat_mm)
    if line.bends:
        yield "folded size", _sizes(line.folded_mm) + " over all, outside"
    yield "mass", f"{_mass(line.mass_kg)} each"
    yield "cutting", f"{line.cut_mm:.0f} mm, {line.pierces} pierce{'s' * (line.pierces != 1)}"
    if len(files) > 1:
        yield "if refused", f"if this file is refused, send that one: {', then '.join(files[1:])}"
    yield from _labelled("hardware", line.hardware)
    yield from _labelled("waived", (f"{w.rule} on {w.subject}: {w.reason}" for w in line.waivers))


def _finish(line: OrderLine) -> str:
    stock = line.stock
    coat = (
        f"{stock.coating}, {stock.coating_mm:g} mm on a face, put on after bending" if stock.coating else "no coating"
    )
    return "; ".join(text for text in (coat, line.finish) if text)


def _bending(line: OrderLine) -> Iterator[tuple[str, str]]:
    if not line.bends:
        yield "bending", "none, the part stays flat"
        return
    yield "bending", line.bender.value
    yield from _labelled("", line.bends)


def _labelled(label: str, texts: Iterable[str]) -> Iterator[tuple[str, str]]:
    for number, text in enumerate(texts):
        yield ("" if number else label), text


def _both(mm: float) -> str:
    return f"{format_mm(mm)} = {mm / INCH_MM:.4f} in"


def _sizes(sizes_mm: Sequence[float]) -> str:
    inches = " x ".join(f"{mm / INCH_MM:.3f}" for mm in sizes_mm)
    return f"{' x '.join(f'{mm:.2f}' for mm in sizes_mm)} mm = {inches} in"


def _mass(kg: float) -> str:
    return f"{kg:.3f} kg ({kg / KG_PER_LB:.2f} lb)"
