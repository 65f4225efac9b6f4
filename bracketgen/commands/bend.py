"""Work out a bend for the bench.

Allowance, deduction, setback and K factor; with legs also the flat and its lines.

For example: bracketgen bend -t "3 mm" -r "3 mm" --turn 90 --legs 40mm,25mm
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated, Final

import typer

from bracketgen.bending.allowance import (
    AllowanceChoice,
    Din6935,
    Faa,
    FromStrip,
    Handbook,
    HandbookRow,
    KFactor,
    Method,
    ShopTable,
)
from bracketgen.bending.bench import BenchAnswer, BenchQuestion, answer_bench
from bracketgen.bending.measured_strip import MeasuredStrip
from bracketgen.bending.setback import SQUARE_DEG, BendFault, SizeReference
from bracketgen.bending.shop_table import parse_deduction_table
from bracketgen.errors import Fault, Place
from bracketgen.standards.machines import Die
from bracketgen.standards.metals import gauge_mm
from bracketgen.standards.metals import metal as metal_row
from bracketgen.terminal.exits import stop
from bracketgen.terminal.named_files import read_text
from bracketgen.terminal.options import OptionReader
from bracketgen.terminal.screen import Tone, aligned, say, toned, wrapped
from bracketgen.tolerances import SAME_POINT_MM
from bracketgen.units import (
    INCH_MM,
    LengthUnit,
    QuantityFault,
    format_mm,
    nearest_word,
    parse_angle,
    parse_gauge,
    parse_number,
)

Thickness = Annotated[str, typer.Option("--thickness", "-t", metavar="LENGTH", help="Such as '4 mm' or '11 ga'.")]
Metal = Annotated[
    str | None, typer.Option("--metal", help="For a gauge, and as the shop's table names it; see show metals.")
]
Radius = Annotated[
    str | None, typer.Option("--radius", "-r", metavar="LENGTH", help="Inside radius, measured on a bend.")
]
DieWord = Annotated[
    str | None, typer.Option("--die", metavar="LENGTH", help="V opening of the die instead: it sets the radius.")
]
Turn = Annotated[
    str | None, typer.Option("--turn", metavar="DEG", help="Turned from flat: 0 flat, 90 square.  [default: 90]")
]
Between = Annotated[
    str | None, typer.Option("--between", metavar="DEG", help="Instead of turn, between the legs: 180 flat, 90 square.")
]
MethodWord = Annotated[
    str, typer.Option("--method", "-m", help="K factor, DIN 6935, FAA, handbook, shop table or test strip.")
]
KFactorOption = Annotated[str | None, typer.Option("--k", metavar="K", help="The K factor, 0.25 to 0.50.")]
HandbookMetal = Annotated[
    str, typer.Option("--handbook-metal", metavar="ROW", help="For the handbook: soft, medium or hard.")
]
ShopCsv = Annotated[str | None, typer.Option("--shop-table", metavar="CSV", help="The shop's own deductions.")]
Strip = Annotated[
    str | None,
    typer.Option("--strip", metavar="BLANK,LEG,LEG", help="A test strip: blank, then both legs, each with its unit."),
]
Legs = Annotated[
    str | None,
    typer.Option("--legs", metavar="LEG,LEG,...", help="Legs of a strip in order, each with its unit: 40mm,25mm."),
]
Sizes = Annotated[
    str | None,
    typer.Option(
        "--sizes",
        help="What the legs are measured to: outside, mould, inside or tangent.  [default: outside; FAA: mould]",
    ),
]
Unit = Annotated[str, typer.Option("--unit", help="Unit of numbers without one: mm or in.")]


def bend(
    thickness: Thickness,
    radius: Radius = None,
    die: DieWord = None,
    turn: Turn = None,
    between: Between = None,
    method: MethodWord = "DIN 6935",
    k: KFactorOption = None,
    metal: Metal = None,
    handbook_metal: HandbookMetal = "medium",
    shop_table: ShopCsv = None,
    strip: Strip = None,
    legs: Legs = None,
    sizes: Sizes = None,
    unit: Unit = "mm",
) -> None:
    reader = OptionReader()
    reader.unit = reader.word("--unit", unit, {u.value: u for u in LengthUnit}) or LengthUnit.MM
    thick = reader.attempt("--thickness", lambda: _thickness(reader, thickness, metal))
    inside, opening = reader.inside_radius(radius, die)
    turned = _turn(reader, turn, between)
    leg_lengths = reader.lengths("--legs", legs) if legs is not None else ()
    way = _method(reader, method, {_K: k, _SHOP_TABLE: shop_table, _STRIP: strip})
    # The FAA's setback runs to the mould line, whatever the turn.
    reference = SizeReference.MOULD if way is Method.FAA else SizeReference.OUTSIDE
    if sizes is not None:
        reference = reader.word("--sizes", sizes, {r.value: r for r in SizeReference}) or reference
    reader.stop_if_any()
    assert thick is not None and inside is not None and turned is not None
    choice: AllowanceChoice | None
    match way:
        case Method.FAA:
            choice = Faa()
        case Method.HANDBOOK:
            row = reader.word("--handbook-metal", handbook_metal, {row.name.lower(): row for row in HandbookRow})
            choice = None if row is None else Handbook(row)
        case Method.K_FACTOR:
            factor = reader.attempt(_K, lambda: parse_number(k or "").number)
            choice = None if factor is None else KFactor(factor)
        case Method.SHOP_TABLE:
            choice = reader.attempt(_SHOP_TABLE, lambda: _shop(shop_table or "", metal, opening))
        case Method.TEST_STRIP:
            choice = _strip(reader, strip or "", (thick, inside, turned), reference)
        case _:
            choice = Din6935()
    reader.stop_if_any()
    assert choice is not None
    question = BenchQuestion(choice, thick, inside, turned, leg_lengths, reference)
    try:
        answer = answer_bench(question)
    except BendFault as error:
        stop([Fault(Place("bend"), error.what, error.cure)])
    say(bench_lines(question, answer, thickness, opening))


# The options one by one.


def _thickness(reader: OptionReader, typed: str, metal_typed: str | None) -> float:
    gauge = parse_gauge(typed)
    if gauge is None:
        return reader.length(typed)
    if metal_typed is None:
        raise QuantityFault(f"{typed!r} is another thickness in every metal", "name it with --metal, such as S235")
    return gauge_mm(gauge, metal_row(metal_typed).gauge_series).thickness_mm


def _turn(reader: OptionReader, turn: str | None, between: str | None) -> float | None:
    if turn is not None and between is not None:
        reader.fault("--turn", "--turn and --between both say how far it turns", "give one of them")
        return None
    if between is not None:
        found = reader.attempt("--between", lambda: parse_angle(between).number)
        return None if found is None else 180.0 - found
    return reader.attempt("--turn", lambda: parse_angle("90" if turn is None else turn).number)


_K: Final = "--k"
_SHOP_TABLE: Final = "--shop-table"
_STRIP: Final = "--strip"
#: Methods that need an option, which means nothing for any other.
_NEEDS: Final = {_K: Method.K_FACTOR, _SHOP_TABLE: Method.SHOP_TABLE, _STRIP: Method.TEST_STRIP}
#: Other ways in which people write the methods.
_METHODS: Final = {re.sub(r"[^a-z0-9]", "", method.value.lower()): method for method in Method} | {
    "k": Method.K_FACTOR,
    "din": Method.DIN_6935,
    "shop": Method.SHOP_TABLE,
    "table": Method.SHOP_TABLE,
    "strip": Method.TEST_STRIP,
}


def _method(reader: OptionReader, typed: str, given: Mapping[str, str | None]) -> Method | None:
    """The method, with the option that it needs (`given` by name) and without what belongs to another."""
    known = re.sub(r"[^a-z0-9]", "", typed.lower())
    method = _METHODS.get(known)
    if method is None:
        near = nearest_word(known, _METHODS)
        cure = f"did you mean {_METHODS[near]}? " if near else ""
        reader.fault("--method", f"{typed!r} is not known here", f"{cure}there are: {', '.join(Method)}")
        return None
    for option, owner in _NEEDS.items():
        if owner is method and given[option] is None:
            reader.fault("--method", f"{method} needs {option}", f"add {option}")
        if owner is not method and given[option] is not None:
            reader.fault(option, f"it means nothing for {method}", f'write --method "{owner}"')
    return method


def _shop(file: str, metal_typed: str | None, opening: Die | None) -> ShopTable:
    if metal_typed is None:
        raise QuantityFault("the shop's table holds several metals", "name one with --metal, as the table does")
    table = parse_deduction_table(read_text(file, "table"), file)
    return ShopTable(table, metal_typed, opening.opening_mm if opening else None)


def _strip(
    reader: OptionReader, typed: str, bend: tuple[float, float, float], reference: SizeReference
) -> FromStrip | None:
    lengths = reader.lengths(_STRIP, typed)
    if reader.faults:
        return None
    if len(lengths) != 3:
        reader.fault(_STRIP, f"it has {len(lengths)} lengths", "give the blank and both legs: 150mm,82mm,72mm")
        return None
    return FromStrip(MeasuredStrip(*lengths, *bend, reference))


# The answer of the bench in words: figures of the bend, flat of the strip, where its lines go.


def bench_lines(q: BenchQuestion, answer: BenchAnswer, thickness_typed: str, die: Die | None) -> list[str]:
    """Everything that the bench wants to know, in mm and inch."""
    return [
        *_head(q, thickness_typed, die),
        *_figures(q, answer),
        *_flat(q, answer),
        *_bend_places(answer),
        *wrapped("Bend a strip of this sheet with this tool first: the radius that comes out rules every figure."),
    ]


def _head(q: BenchQuestion, thickness_typed: str, die: Die | None) -> list[str]:
    typed = thickness_typed.strip()
    shown = format_mm(q.thickness_mm)
    echo = "" if typed in (shown, shown.removesuffix(" mm")) else f" (typed {typed})"
    said = (
        f"{shown}{echo}, inside radius {format_mm(q.inside_radius_mm)}, turn {q.turn_deg:g} deg "
        f"(between {180.0 - q.turn_deg:g} deg), {q.method.method}"
    )
    lines = wrapped(said, f"{toned('bend', Tone.STRONG)}  ")
    if die is not None:
        lines += wrapped(
            f"a V of {format_mm(die.opening_mm)} leaves about {format_mm(die.natural_radius_mm)} in mild "
            f"steel turned 90 deg and holds outside legs from {format_mm(die.minimum_flange_mm)} up",
            "die   ",
        )
    return lines


#: What setback, deduction and flat are reckoned to, up to square and above it.
_SQUARE_BASIS: Final = {
    SizeReference.OUTSIDE: "outside sizes, to the sharp outer corner",
    SizeReference.MOULD: "mould line (FAA), the sharp outer corner: setback (R + t) tan(turn / 2)",
    SizeReference.INSIDE: "inside sizes, to the sharp inner corner",
    SizeReference.TANGENT: "tangent lines, nothing set back",
}
_SHARP_BASIS: Final = _SQUARE_BASIS | {
    SizeReference.OUTSIDE: "outside sizes to the outermost reach of the arc (DIN 6935 above 90 deg): setback R + t",
    SizeReference.INSIDE: "inside sizes, to the depth of the inner arc: setback R",
}


def _figures(q: BenchQuestion, answer: BenchAnswer) -> list[str]:
    bend = answer.bend
    basis = (_SHARP_BASIS if q.turn_deg > SQUARE_DEG else _SQUARE_BASIS)[q.reference]
    # The formula's own setback is that of outside sizes.
    other = "setback" in bend.formula and abs(bend.setback_mm - answer.setback_mm) > SAME_POINT_MM
    own = f" (in it the setback of outside sizes, {bend.setback_mm:.3f} mm)" if other else ""
    rows = [
        ["  allowance", *_both(bend.allowance_mm)],
        ["  deduction", *_both(answer.deduction_mm)],
        ["  setback", *_both(answer.setback_mm)],
        ["  K factor", f"{bend.k_factor:.3f}", ""],
    ]
    lines = [
        *aligned(["", "mm", "in"], rows),
        *wrapped(f"{basis}; deduction, setback and flat alike", "  basis: "),
        *wrapped(bend.formula + own, "  formula: "),
        *wrapped(bend.source, "  source: "),
    ]
    return [*lines, ""]


def _flat(q: BenchQuestion, answer: BenchAnswer) -> list[str]:
    if answer.flat_mm is None:
        return []
    rows = [
        [f"  leg {n}", f"{leg:.3f}", f"{straight:.3f}", f"{straight / INCH_MM:.3f}"]
        for n, (leg, straight) in enumerate(zip(q.legs_mm, answer.straights_mm, strict=True), start=1)
    ]
    flat = f"{answer.flat_mm:.3f} mm ({answer.flat_mm / INCH_MM:.3f} in)"
    return [
        *aligned(["", f"{q.reference}_mm", "straight_mm", "straight_in"], rows),
        f"  {toned(f'flat {flat}', Tone.STRONG)}",
        "",
    ]


def _bend_places(answer: BenchAnswer) -> list[str]:
    if not answer.lines:
        return []
    rows = [
        [
            f"  bend {n}",
            f"{line.first_tangent_mm:.2f}",
            f"{line.centre_mm:.2f}",
            f"{line.second_tangent_mm:.2f}",
            f"{line.sight_first_side_clamped_mm:.2f}",
            f"{line.sight_second_side_clamped_mm:.2f}",
        ]
        for n, line in enumerate(answer.lines, start=1)
    ]
    heads = ["", "tangent_line", "centre_line", "tangent_line", "sight_first_clamped", "sight_second_clamped"]
    said = (
        "Lines in mm from the first edge of the flat. The sight line stands right below the nose of a leaf brake; "
        "first or second clamped: which side of the bend is held."
    )
    return [*aligned(heads, rows), *wrapped(said, "  "), ""]


def _both(mm: float) -> tuple[str, str]:
    return f"{mm:.3f}", f"{mm / INCH_MM:.3f}"
