"""Values of a description: plain quantities, parameters, and arithmetic on both, read without running any code."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from bracketgen.description.terms import FUNCTIONS, OPERATIONS, PI, Term
from bracketgen.units import (
    ANGLE_UNITS,
    DECIMAL,
    FOOT_MARK,
    FRACTION,
    INCH_MARK,
    LENGTH_UNITS,
    ONE_SIGN,
    SPACED_MIXED,
    Kind,
    LengthUnit,
    Quantity,
    QuantityFault,
    amount,
    checked,
    nearest_word,
    parse_angle,
    parse_count,
    parse_length,
    parse_number,
    plain_signs,
    unit_advice,
)

#: Bounds that no honest description meets.
LONGEST_TEXT: Final = 400
DEEPEST: Final = 40

#: What a description may hold where a quantity is wanted.
Raw = str | int | float
#: Parameters by name; None for one that is itself wrong.
Names = Mapping[str, Quantity | None]

NAME: Final = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")


class UnresolvedName(QuantityFault):
    """A value leans on a parameter that is itself wrong: the parameter's own fault is the one to show."""


# -- words of the text

UNIT_WORDS: Final = tuple(word for word in (*LENGTH_UNITS, *ANGLE_UNITS) if word.isalpha())
_UNIT: Final = rf"(?:(?:{'|'.join(sorted(UNIT_WORDS, key=len, reverse=True))})(?![A-Za-z0-9_])|''|[\"'°])"
_SIZE: Final = rf"(?:{SPACED_MIXED}|{FRACTION}|{DECIMAL})"
_WORD: Final = re.compile(
    rf"(?P<measure>[0-9]+ *{FOOT_MARK} *{_SIZE} *{INCH_MARK}(?![A-Za-z0-9_'\"])|{_SIZE} *{_UNIT})"
    rf"|(?P<number>(?:[0-9]+ *)?{ONE_SIGN}|{DECIMAL})"
    rf"|(?P<name>{NAME.pattern})"
    r"|(?P<sign>\*\*|//|[-+*/%(),])"
)
_BARE_FRACTION: Final = re.compile(rf"{FRACTION}(?! *[0-9])")
_OTHER_SIGNS: Final = {"^": "write ** for a power", "×": "write *", "·": "write *", "÷": "write /", "=": "leave it out"}


@dataclass(frozen=True, slots=True)
class _Word:
    """A piece of the text: measure, number, name or sign; columns count from 1, `end` is the column after it."""

    sort: str
    text: str
    column: int
    end: int


def _words(text: str) -> Iterator[_Word]:
    plain, at = plain_signs(text), 0
    while at < len(plain):
        if plain[at].isspace():
            at += 1
            continue
        found = _WORD.match(plain, at)
        if found is None:
            cure = _OTHER_SIGNS.get(plain[at], "use + - * / // % ** and round brackets")
            raise QuantityFault(f"{plain[at]!r} has no meaning here", cure, at + 1)
        yield _Word(found.lastgroup or "", found[0], at + 1, found.end() + 1)
        at = found.end()


# -- reading

_LEFT_BINDING: Final = {"+": 10, "-": 10, "*": 20, "/": 20, "//": 20, "%": 20, "**": 40}
_SIGN_BINDING: Final = 30
_DIVIDING: Final = ("/", "//", "%", "**")


class _Reader:
    """Reads one text from left to right, each operator taking as much as Python's precedence gives it."""

    def __init__(self, text: str, names: Names) -> None:
        self.text = text
        self.names = names
        self.words = list(_words(text))
        self.at = 0
        self.depth = 0

    def whole(self) -> Term:
        """The value of the whole text."""
        term = self._expression(0)
        word = self._word()
        if word is not None:
            raise self._stray(word)
        return term

    def _word(self) -> _Word | None:
        return self.words[self.at] if self.at < len(self.words) else None

    def _take(self) -> _Word:
        word = self._word()
        if word is None:
            raise QuantityFault("the arithmetic breaks off", "finish it, or close the bracket", len(self.text) + 1)
        self.at += 1
        return word

    def _sees(self, sign: str) -> bool:
        word = self._word()
        return word is not None and word.sort == "sign" and word.text == sign

    def _expression(self, floor: int) -> Term:
        left = self._operand()
        while (word := self._word()) and word.sort == "sign" and _LEFT_BINDING.get(word.text, 0) > floor:
            self.at += 1
            self._refuse_unclear(word)
            binding = _LEFT_BINDING[word.text]
            right = self._deeper(binding - 1) if word.text == "**" else self._expression(binding)
            left = self._spanning(OPERATIONS[word.text](left, right), left.column, left.pure and right.pure)
        return left

    def _deeper(self, floor: int) -> Term:
        """An expression one level down; every nesting comes through here."""
        self.depth += 1
        if self.depth > DEEPEST:
            raise QuantityFault("the arithmetic is nested too deeply", f"at most {DEEPEST} levels", self._column())
        term = self._expression(floor)
        self.depth -= 1
        return term

    def _column(self) -> int:
        word = self._word()
        return word.column if word else len(self.text) + 1

    def _spanning(self, term: Term, column: int, pure: bool) -> Term:
        end = self.words[self.at - 1].end
        return replace(term, text=self.text[column - 1 : end - 1], column=column, pure=pure)

    def _refuse_unclear(self, operator: _Word) -> None:
        """`w / 3/8 in` reads as by three eighths, or by 3 and by 8 inches; `2-1/2 in` as 2.5 in, or as 2 less."""
        before, word = self.words[self.at - 2], self._word()
        if word is None or word.sort != "measure" or not _BARE_FRACTION.match(word.text):
            return
        if operator.text in _DIVIDING:
            raise QuantityFault(f"'{operator.text} {word.text}' is unclear", f"write ({word.text})", word.column)
        glued = before.end == operator.column and operator.end == word.column
        if operator.text == "-" and glued and before.sort == "number" and before.text.isdecimal():
            cure = f"write {before.text} {word.text}, or gaps beside the minus"
            raise QuantityFault(f"'{before.text}-{word.text}' is unclear in arithmetic", cure, before.column)

    def _operand(self) -> Term:
        word = self._take()
        if word.sort == "measure":
            return self._measure(word)
        if word.sort == "number":
            return Term(amount(word.text), 0, 0, word.text, word.column, True)
        if word.sort == "name":
            return self._call(word) if self._sees("(") else self._named(word)
        if word.text == "(":
            inner = self._deeper(0)
            self._close(word)
            return self._spanning(inner, word.column, inner.pure)
        if word.text in "+-":
            term = self._deeper(_SIGN_BINDING)
            value = -term.value if word.text == "-" else term.value
            return self._spanning(term.becomes(value, *term.dimension), word.column, term.pure)
        raise QuantityFault(f"a value is missing before {word.text!r}", _comma_cure(word), word.column)

    def _measure(self, word: _Word) -> Term:
        try:
            if word.text.endswith(ANGLE_UNITS):
                return Term(parse_angle(word.text).value, 0, 1, word.text, word.column, False)
            return Term(parse_length(word.text).value, 1, 0, word.text, word.column, False)
        except QuantityFault as fault:
            raise QuantityFault(fault.what, fault.cure, word.column) from None

    def _named(self, word: _Word) -> Term:
        if word.text == "pi":
            return Term(PI, 0, 0, word.text, word.column, True)
        if word.text not in self.names:
            raise self._unknown(word)
        quantity = self.names[word.text]
        if quantity is None:
            raise UnresolvedName(f"parameter {word.text!r} is itself wrong", "put that right first", word.column)
        length, angle = int(quantity.kind is Kind.LENGTH), int(quantity.kind is Kind.ANGLE)
        return Term(quantity.value, length, angle, word.text, word.column, False)

    def _unknown(self, word: _Word) -> QuantityFault:
        if word.text in UNIT_WORDS:
            return QuantityFault(f"{word.text!r} stands alone", f"a unit follows a number: 1 {word.text}", word.column)
        return QuantityFault(f"there is no parameter {word.text!r}", _known(word.text, self.names), word.column)

    def _call(self, word: _Word) -> Term:
        function = FUNCTIONS.get(word.text)
        if function is None:
            near = nearest_word(word.text, FUNCTIONS)
            cure = f"write {near}" if near else f"known are {', '.join(FUNCTIONS)}"
            raise QuantityFault(f"there is no function {word.text!r}", cure, word.column)
        opening = self._take()
        given = [] if self._sees(")") else [self._deeper(0)]
        while self._sees(","):
            self.at += 1
            given.append(self._deeper(0))
        self._close(opening)
        if not function.least <= len(given) <= function.most:
            wanted = str(function.least) if function.least == function.most else "one or more"
            raise QuantityFault(f"{word.text}() got {len(given)} values", f"it takes {wanted}", word.column)
        return self._spanning(function.work(*given), word.column, all(term.pure for term in given))

    def _close(self, opening: _Word) -> None:
        word = self._word()
        if word is None:
            raise QuantityFault("a bracket is not closed", "add ) at the end", opening.column)
        if not self._sees(")"):
            raise self._stray(word)
        self.at += 1

    def _stray(self, word: _Word) -> QuantityFault:
        """What stands where an operator should."""
        before = self.words[self.at - 1]
        if word.sort == "name" and before.sort == "number" and before.end <= word.column:
            if re.fullmatch(r"[eE][0-9]*", word.text):
                return QuantityFault(f"{before.text + word.text!r} has an exponent", "write all digits", before.column)
            return QuantityFault(f"{word.text!r} is no unit", unit_advice(word.text), word.column)
        if word.sort == "sign":
            return QuantityFault(f"{word.text!r} is out of place", _comma_cure(word), word.column)
        cure = f"put an operator between, such as {before.text} * {word.text}"
        return QuantityFault(f"{before.text!r} and {word.text!r} stand side by side", cure, word.column)


def _comma_cure(word: _Word) -> str:
    return "write decimals with a point: 12.7" if word.text == "," else "look at the brackets and operators"


def _known(word: str, names: Names) -> str:
    near = nearest_word(word, names)
    if near is not None:
        return f"write {near}"
    listed = sorted(names)[:10]
    return f"known are {', '.join(listed)}{', ...' if len(names) > 10 else ''}" if listed else "none are given"


# -- the doors


def is_arithmetic(text: str, names: Names) -> bool:
    """Whether `text` is meant as arithmetic: it begins with a round bracket, or is the name of a parameter."""
    clean = text.strip()
    return clean.startswith("(") or clean in names


def evaluate(text: str, names: Names, kind: Kind | None, bare_unit: LengthUnit | None = None) -> Quantity:
    """The exact value of arithmetic such as `(spacing / 2 + 5 mm)`, in mm or degrees.

    `kind` is what is wanted, None for whatever comes out. Arithmetic on bare numbers alone is a bare number: a length
    in `bare_unit`, or degrees. Raises QuantityFault with the column in `text`.
    """
    if len(text) > LONGEST_TEXT:
        raise QuantityFault("the arithmetic is too long", f"at most {LONGEST_TEXT} characters; use parameters")
    reader = _Reader(text, names)
    _refuse_early_close(reader.words)
    return _wanted(reader.whole(), kind, bare_unit, text.strip())


def _refuse_early_close(words: list[_Word]) -> None:
    """`(a) + (b)` begins and ends with a bracket, but not with the same."""
    depth = 0
    for word in words[:-1]:
        depth += {"(": 1, ")": -1}.get(word.text, 0)
        if depth == 0 and words[0].text == "(":
            cure = "put the whole in round brackets"
            raise QuantityFault("the first bracket closes before the end", cure, word.column)


def _wanted(term: Term, kind: Kind | None, bare_unit: LengthUnit | None, typed: str) -> Quantity:
    have = term.kind
    if have is None:
        raise QuantityFault(f"{typed!r} is {term.sort}, which no value can be", "look at the products and quotients")
    if kind is None or kind is have or (kind is Kind.COUNT and have is Kind.NUMBER):
        return checked(term.value, kind or have, typed)
    bare = term.pure and have is Kind.NUMBER
    if bare and kind is Kind.ANGLE:
        return checked(term.value, kind, typed)
    if bare and kind is Kind.LENGTH and bare_unit is not None:
        return checked(term.value * bare_unit.in_mm, kind, typed)
    raise QuantityFault(f"{typed!r} is {term.sort}, but here a {kind} is wanted", _kind_cure(have, kind, typed))


def _kind_cure(have: Kind, kind: Kind, typed: str) -> str:
    if have is Kind.NUMBER:
        unit = "mm" if kind is Kind.LENGTH else "deg"
        return f"give the parameter a unit, or write ({typed} * 1 {unit})"
    return f"divide by a {have}" if kind in (Kind.NUMBER, Kind.COUNT) else f"use a {kind}"


def read_quantity(value: object, kind: Kind | None, names: Names, bare_unit: LengthUnit | None = None) -> Quantity:
    """The quantity that a value of a description means: a number, a plain text, or arithmetic.

    A TOML number is bare: a length in `bare_unit`, degrees, a plain number or a count. With `kind` None the value
    itself says its kind, and a bare number stays a number. Raises QuantityFault.
    """
    if isinstance(value, str):
        if is_arithmetic(value, names):
            return evaluate(value, names, kind, bare_unit)
        return _plain(value, kind, names, bare_unit)
    if isinstance(value, bool) or not isinstance(value, int | float):
        shown = str(value).lower() if isinstance(value, bool) else f"a {type(value).__name__}"
        raise QuantityFault(f"{shown} is no {kind or 'quantity'}", "write a number, or a text such as '12.7 mm'")
    return _bare(value, kind, bare_unit)


def _bare(value: int | float, kind: Kind | None, bare_unit: LengthUnit | None) -> Quantity:
    if not math.isfinite(value) if isinstance(value, float) else abs(value) > 10**30:
        raise QuantityFault(f"{value if isinstance(value, float) else 'this'} is no size", "write a plain number")
    exact, typed = Fraction(repr(value)), repr(value)
    if kind is not Kind.LENGTH:
        return checked(exact, kind or Kind.NUMBER, typed)
    if bare_unit is None:
        raise QuantityFault(f"{typed} has no unit", f"write '{typed} mm' or '{typed} in'")
    return checked(exact * bare_unit.in_mm, kind, typed)


def _plain(text: str, kind: Kind | None, names: Names, bare_unit: LengthUnit | None) -> Quantity:
    try:
        return _plain_of_kind(text, kind or _kind_shown(text), bare_unit)
    except QuantityFault as fault:
        raise _maybe_a_name(text, kind, names) or fault from None


def _kind_shown(text: str) -> Kind:
    """The kind that a text shows by its unit."""
    clean = plain_signs(text).strip().lower()
    if clean.endswith(ANGLE_UNITS):
        return Kind.ANGLE
    return Kind.NUMBER if clean[-1:].isdigit() or clean[-1:] in ONE_SIGN else Kind.LENGTH


def _plain_of_kind(text: str, kind: Kind, bare_unit: LengthUnit | None) -> Quantity:
    if kind is Kind.LENGTH:
        return parse_length(text, bare_unit)
    return {Kind.ANGLE: parse_angle, Kind.NUMBER: parse_number, Kind.COUNT: parse_count}[kind](text)


def _maybe_a_name(text: str, kind: Kind | None, names: Names) -> QuantityFault | None:
    """A better fault for a misspelt parameter, or arithmetic that lacks its brackets."""
    clean = text.strip()
    if NAME.fullmatch(clean):
        what = f"{clean!r} is neither a {kind or 'quantity'} nor a parameter"
        return QuantityFault(what, _known(clean, names)) if names else None
    if any(word in names for word in NAME.findall(clean)):
        return QuantityFault(f"{clean!r} looks like arithmetic", f"put it in round brackets: ({clean})")
    return None
