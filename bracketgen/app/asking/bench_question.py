"""From the words typed at `bend` to the question of the bench, with every fault in one run."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Final, TypeVar

from bracketgen.app.asking.text_file import read_text
from bracketgen.bending.allowance import (
    AllowanceChoice,
    Din6935,
    Faa,
    FromStrip,
    Handbook,
    HandbookRow,
    KFactor,
    MeasuredStrip,
    Method,
    ShopTable,
)
from bracketgen.bending.bench import BenchQuestion
from bracketgen.bending.deduction_csv import parse_deduction_table
from bracketgen.bending.setback import SizeReference
from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.standards.die import Die, die
from bracketgen.standards.gauge import gauge_mm
from bracketgen.standards.metal import metal
from bracketgen.standards.table import LookupFault
from bracketgen.units import (
    LengthUnit,
    QuantityFault,
    nearest_word,
    parse_angle,
    parse_gauge,
    parse_length,
    parse_number,
)

T = TypeVar("T")

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
    return _Asking(typed).asked()


@dataclass(slots=True)
class _Asking:
    typed: Typed
    faults: list[Fault] = field(default_factory=list)
    unit: LengthUnit = LengthUnit.MM

    def asked(self) -> Asked:
        typed = self.typed
        self.unit = self._word("--unit", typed.unit, {u.value: u for u in LengthUnit}) or LengthUnit.MM
        thickness = self._try("--thickness", lambda: self._thickness(typed.thickness))
        opening = self._die()
        radius = self._radius(opening)
        turn = self._turn()
        reference = self._word("--sizes", typed.sizes, {r.value: r for r in SizeReference}) or SizeReference.OUTSIDE
        legs = self._lengths("--legs", typed.legs) if typed.legs is not None else ()
        self._stop()
        assert thickness is not None and radius is not None and turn is not None
        choice = self._choice(thickness, radius, turn, reference, opening)
        self._stop()
        assert choice is not None
        question = BenchQuestion(choice, thickness, radius, turn, tuple(legs), reference)
        return Asked(question, typed.thickness, opening)

    def _stop(self) -> None:
        if self.faults:
            raise InputFaults(self.faults)

    def _fault(self, option: str, what: str, cure: str = "") -> None:
        self.faults.append(Fault(Place(option), what, cure))

    def _try(self, option: str, read: Callable[[], T]) -> T | None:
        try:
            return read()
        except QuantityFault as error:
            self._fault(option, error.what, error.cure)
        except LookupFault as error:
            self._fault(option, str(error))
        except InputFaults as error:
            self.faults += error.faults
        return None

    def _word(self, option: str, word: str, known: dict[str, T]) -> T | None:
        if word.strip().lower() in known:
            return known[word.strip().lower()]
        near = nearest_word(word, known)
        cure = (f"did you mean {near}? " if near else "") + f"there are: {', '.join(known)}"
        self._fault(option, f"{word!r} is not known here", cure)
        return None

    def _length(self, text: str) -> float:
        return parse_length(text, self.unit).number

    def _thickness(self, text: str) -> float:
        gauge = parse_gauge(text)
        if gauge is None:
            return self._length(text)
        if self.typed.metal is None:
            raise QuantityFault(f"{text!r} is another thickness in every metal", "name it with --metal, such as S235")
        return gauge_mm(gauge, metal(self.typed.metal).gauge_series).thickness_mm

    def _die(self) -> Die | None:
        text = self.typed.die
        return None if text is None else self._try("--die", lambda: die(self._length(text)))

    def _radius(self, opening: Die | None) -> float | None:
        text = self.typed.radius
        if text is not None:
            return self._try("--radius", lambda: self._length(text))
        if self.typed.die is None:
            self._fault("--radius", "nothing says the inside radius", "give --radius, or --die (its V opening)")
        return opening.natural_radius_mm if opening else None

    def _turn(self) -> float | None:
        turn, between = self.typed.turn, self.typed.between
        if turn is not None and between is not None:
            self._fault("--turn", "--turn and --between both say how far it turns", "give one of them")
            return None
        if between is not None:
            found = self._try("--between", lambda: parse_angle(between).number)
            return None if found is None else 180.0 - found
        return self._try("--turn", lambda: parse_angle(turn or "90").number)

    def _lengths(self, option: str, text: str) -> tuple[float, ...]:
        """Lengths with commas between. Each needs its unit, since 40,5 may be one length or two."""
        found = [self._try(option, lambda p=piece: parse_length(p).number) for piece in text.split(",")]  # type: ignore[misc]
        return tuple(length for length in found if length is not None)

    def _choice(
        self, thickness: float, radius: float, turn: float, reference: SizeReference, opening: Die | None
    ) -> AllowanceChoice | None:
        typed = self.typed
        known = re.sub(r"[^a-z0-9]", "", typed.method.lower())
        method = _METHODS.get(known)
        if method is None:
            near = nearest_word(known, _METHODS)
            cure = f"did you mean {_METHODS[near]}? " if near else ""
            self._fault("--method", f"{typed.method!r} is not known here", f"{cure}there are: {_listed(Method)}")
            return None
        self._check_extras(method)
        match method:
            case Method.DIN_6935:
                return Din6935()
            case Method.FAA:
                return Faa()
            case Method.HANDBOOK:
                row = self._word("--handbook-metal", typed.handbook_metal, _ROWS)
                return None if row is None else Handbook(row)
            case Method.K_FACTOR if typed.k is not None:
                k = self._try("--k", lambda: parse_number(typed.k or "").number)
                return None if k is None else KFactor(k)
            case Method.SHOP_TABLE if typed.shop_table is not None:
                return self._try("--shop-table", lambda: self._shop(opening))
            case Method.TEST_STRIP if typed.strip is not None:
                return self._strip(thickness, radius, turn, reference)
            case _:
                return None

    def _check_extras(self, method: Method) -> None:
        """An option that belongs to another method is a slip, and a missing one too."""
        needs = {
            Method.K_FACTOR: ("--k", self.typed.k),
            Method.SHOP_TABLE: ("--shop-table", self.typed.shop_table),
            Method.TEST_STRIP: ("--strip", self.typed.strip),
        }
        for owner, (option, value) in needs.items():
            if owner is method and value is None:
                self._fault("--method", f"{method} needs {option}", f"add {option}")
            if owner is not method and value is not None:
                self._fault(option, f"it means nothing for {method}", f'write --method "{owner}"')

    def _shop(self, opening: Die | None) -> ShopTable:
        name = self.typed.shop_table or ""
        if self.typed.metal is None:
            raise QuantityFault("the shop's table holds several metals", "name one with --metal, as the table does")
        table = parse_deduction_table(read_text(name, "table"), name)
        return ShopTable(table, self.typed.metal, opening.opening_mm if opening else None)

    def _strip(self, thickness: float, radius: float, turn: float, reference: SizeReference) -> FromStrip | None:
        lengths = self._lengths("--strip", self.typed.strip or "")
        if self.faults:
            return None
        if len(lengths) != 3:
            self._fault("--strip", f"it has {len(lengths)} lengths", "give the blank and both legs: 150mm,82mm,72mm")
            return None
        return FromStrip(MeasuredStrip(*lengths, thickness, radius, turn, reference))


def _listed(words: Iterable[Method]) -> str:
    return ", ".join(word.value for word in words)
