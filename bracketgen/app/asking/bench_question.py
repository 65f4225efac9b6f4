"""From the words typed at `bend` to the question of the bench, with every fault in one run."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from bracketgen.app.asking.option_reader import OptionReader
from bracketgen.app.asking.text_file import read_text
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
from bracketgen.bending.bench import BenchQuestion
from bracketgen.bending.deductions import parse_deduction_table
from bracketgen.bending.measured_strip import MeasuredStrip
from bracketgen.bending.setback import SizeReference
from bracketgen.standards.machines import Die, die
from bracketgen.standards.metals import gauge_mm, metal
from bracketgen.units import LengthUnit, QuantityFault, nearest_word, parse_angle, parse_gauge, parse_number

#: Other ways in which people write the methods.
_METHODS: Final = {re.sub(r"[^a-z0-9]", "", method.value.lower()): method for method in Method} | {
    "k": Method.K_FACTOR,
    "din": Method.DIN_6935,
    "shop": Method.SHOP_TABLE,
    "table": Method.SHOP_TABLE,
    "strip": Method.TEST_STRIP,
}
_ROWS: Final = {row.name.lower(): row for row in HandbookRow}


@dataclass(frozen=True, slots=True)
class Typed:
    """The options as they were typed."""

    thickness: str
    radius: str | None
    die: str | None
    turn: str | None
    between: str | None
    method: str
    k: str | None
    metal: str | None
    handbook_metal: str
    shop_table: str | None
    strip: str | None
    legs: str | None
    sizes: str
    unit: str


@dataclass(frozen=True, slots=True)
class Asked:
    """The question, what was typed for the thickness, and the die when one was named."""

    question: BenchQuestion
    thickness_typed: str
    die: Die | None


def bench_question(typed: Typed) -> Asked:
    """The question that the options ask. Raises InputFaults with every fault of them."""
    reader = OptionReader()
    reader.unit = reader.word("--unit", typed.unit, {u.value: u for u in LengthUnit}) or LengthUnit.MM
    thickness = reader.attempt("--thickness", lambda: _thickness(typed, reader))
    opening = _die(typed, reader)
    radius = _radius(typed, reader, opening)
    turn = _turn(typed, reader)
    reference = reader.word("--sizes", typed.sizes, {r.value: r for r in SizeReference}) or SizeReference.OUTSIDE
    legs = reader.lengths("--legs", typed.legs) if typed.legs is not None else ()
    method = _method(typed, reader)
    reader.stop_if_any()
    assert thickness is not None and radius is not None and turn is not None and method is not None
    if method is Method.TEST_STRIP:
        choice: AllowanceChoice | None = _strip(typed, reader, (thickness, radius, turn), reference)
    else:
        choice = _choice(typed, reader, method, opening)
    reader.stop_if_any()
    assert choice is not None
    return Asked(BenchQuestion(choice, thickness, radius, turn, legs, reference), typed.thickness, opening)


def _thickness(typed: Typed, reader: OptionReader) -> float:
    gauge = parse_gauge(typed.thickness)
    if gauge is None:
        return reader.length(typed.thickness)
    if typed.metal is None:
        raise QuantityFault(
            f"{typed.thickness!r} is another thickness in every metal", "name it with --metal, such as S235"
        )
    return gauge_mm(gauge, metal(typed.metal).gauge_series).thickness_mm


def _die(typed: Typed, reader: OptionReader) -> Die | None:
    text = typed.die
    return None if text is None else reader.attempt("--die", lambda: die(reader.length(text)))


def _radius(typed: Typed, reader: OptionReader, opening: Die | None) -> float | None:
    text = typed.radius
    if text is not None:
        return reader.attempt("--radius", lambda: reader.length(text))
    if typed.die is None:
        reader.fault("--radius", "nothing says the inside radius", "give --radius, or --die (its V opening)")
    return opening.natural_radius_mm if opening else None


def _turn(typed: Typed, reader: OptionReader) -> float | None:
    turn, between = typed.turn, typed.between
    if turn is not None and between is not None:
        reader.fault("--turn", "--turn and --between both say how far it turns", "give one of them")
        return None
    if between is not None:
        found = reader.attempt("--between", lambda: parse_angle(between).number)
        return None if found is None else 180.0 - found
    return reader.attempt("--turn", lambda: parse_angle("90" if turn is None else turn).number)


def _method(typed: Typed, reader: OptionReader) -> Method | None:
    """The method, with what it needs and without what belongs to another."""
    known = re.sub(r"[^a-z0-9]", "", typed.method.lower())
    method = _METHODS.get(known)
    if method is None:
        near = nearest_word(known, _METHODS)
        cure = f"did you mean {_METHODS[near]}? " if near else ""
        reader.fault("--method", f"{typed.method!r} is not known here", f"{cure}there are: {', '.join(Method)}")
        return None
    needs = {
        Method.K_FACTOR: ("--k", typed.k),
        Method.SHOP_TABLE: ("--shop-table", typed.shop_table),
        Method.TEST_STRIP: ("--strip", typed.strip),
    }
    for owner, (option, value) in needs.items():
        if owner is method and value is None:
            reader.fault("--method", f"{method} needs {option}", f"add {option}")
        if owner is not method and value is not None:
            reader.fault(option, f"it means nothing for {method}", f'write --method "{owner}"')
    return method


def _choice(typed: Typed, reader: OptionReader, method: Method, opening: Die | None) -> AllowanceChoice | None:
    match method:
        case Method.FAA:
            return Faa()
        case Method.HANDBOOK:
            row = reader.word("--handbook-metal", typed.handbook_metal, _ROWS)
            return None if row is None else Handbook(row)
        case Method.K_FACTOR:
            k = reader.attempt("--k", lambda: parse_number(typed.k or "").number)
            return None if k is None else KFactor(k)
        case Method.SHOP_TABLE:
            return reader.attempt("--shop-table", lambda: _shop(typed, opening))
        case _:
            return Din6935()


def _shop(typed: Typed, opening: Die | None) -> ShopTable:
    name = typed.shop_table or ""
    if typed.metal is None:
        raise QuantityFault("the shop's table holds several metals", "name one with --metal, as the table does")
    table = parse_deduction_table(read_text(name, "table"), name)
    return ShopTable(table, typed.metal, opening.opening_mm if opening else None)


def _strip(
    typed: Typed, reader: OptionReader, bend: tuple[float, float, float], reference: SizeReference
) -> FromStrip | None:
    lengths = reader.lengths("--strip", typed.strip or "")
    if reader.faults:
        return None
    if len(lengths) != 3:
        reader.fault("--strip", f"it has {len(lengths)} lengths", "give the blank and both legs: 150mm,82mm,72mm")
        return None
    return FromStrip(MeasuredStrip(*lengths, *bend, reference))
