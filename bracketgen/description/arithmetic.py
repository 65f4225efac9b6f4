"""Values of a description: plain quantities, parameters, and arithmetic on both, read without running any code.

Arithmetic is exact, and every value carries its dimension.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Final

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

#: Bounds that no honest description meets; they keep a hostile one from taking time or memory.
LARGEST_EXPONENT: Final = 8
LONGEST_INTEGER_BITS: Final = 1000  # below the largest double, so that every value has one

#: 20 places of pi (from memory; a test compares them with math.pi): far finer than a double.
PI: Final = Fraction("3.14159265358979323846")

#: Places kept of a root that is not exact.
_ROOT_PLACES: Final = 30

_DECIMAL: Final = re.compile(DECIMAL)
_SORTS: Final = {(0, 0): "a number", (1, 0): "a length", (2, 0): "an area", (3, 0): "a volume", (0, 1): "an angle"}
_KINDS: Final = {(0, 0): Kind.NUMBER, (1, 0): Kind.LENGTH, (0, 1): Kind.ANGLE}


@dataclass(frozen=True, slots=True)
class Term:
    """A value in mm**length * deg**angle, and the text it came from at a column counted from 1.

    `pure` is true when neither a unit nor a name went into it, so that it is a bare number.
    """

    value: Fraction
    length: int
    angle: int
    text: str
    column: int
    pure: bool

    @property
    def dimension(self) -> tuple[int, int]:
        return self.length, self.angle

    @property
    def sort(self) -> str:
        """The kind in words, for people."""
        return _SORTS.get(self.dimension, f"of kind mm^{self.length} deg^{self.angle}")

    @property
    def kind(self) -> Kind | None:
        """The kind of quantity this is, None for an area or anything else that no dimension of a part can be."""
        return _KINDS.get(self.dimension)

    def becomes(self, value: Fraction, length: int = 0, angle: int = 0) -> Term:
        """Another value at the same place; raises QuantityFault when its integers are too long to go on with."""
        if max(value.numerator.bit_length(), value.denominator.bit_length()) > LONGEST_INTEGER_BITS:
            raise QuantityFault(f"{self.text!r} leads to a number with too many digits", "simplify", self.column)
        return replace(self, value=value, length=length, angle=angle)


def _same_sort(a: Term, b: Term, doing: str) -> None:
    """Raises QuantityFault unless both are lengths, both numbers, and so on."""
    if a.dimension == b.dimension:
        return
    cure = "give both the same kind of unit"
    for number, other in ((a, b), (b, a)):
        if number.pure and other.kind and _DECIMAL.fullmatch(number.text):
            cure = f"write {number.text} {'deg' if other.angle else 'mm'}"
    what = f"{doing} needs two of one kind, but {a.text!r} is {a.sort} and {b.text!r} is {b.sort}"
    raise QuantityFault(what, cure, b.column)


def _not_zero(term: Term) -> Fraction:
    if term.value == 0:
        raise QuantityFault(f"division by zero: {term.text!r} is 0", "look at what goes into it", term.column)
    return term.value


# -- operators


def _operate(sign: str, a: Term, b: Term) -> Term:
    """What an operator makes of two values, as in Python: `//` rounds down, `%` has the sign of what divides."""
    if sign in ("+", "-", "//", "%"):
        _same_sort(a, b, sign)
    match sign:
        case "+":
            return a.becomes(a.value + b.value, *a.dimension)
        case "-":
            return a.becomes(a.value - b.value, *a.dimension)
        case "*":
            return a.becomes(a.value * b.value, a.length + b.length, a.angle + b.angle)
        case "/":
            return a.becomes(a.value / _not_zero(b), a.length - b.length, a.angle - b.angle)
        case "//":
            return a.becomes(Fraction(a.value // _not_zero(b)))
        case "%":
            return a.becomes(a.value % _not_zero(b), *a.dimension)
    if b.kind is not Kind.NUMBER or b.value.denominator != 1 or abs(b.value) > LARGEST_EXPONENT:
        limits = f"a whole number from -{LARGEST_EXPONENT} to {LARGEST_EXPONENT}"
        raise QuantityFault(f"{b.text!r} can't be an exponent", f"write {limits}, or sqrt() for a root", b.column)
    exponent = int(b.value)
    if exponent < 0:
        _not_zero(a)
    return a.becomes(a.value**exponent, a.length * exponent, a.angle * exponent)


# -- functions


def _extreme(pick: Callable[..., Term], word: str) -> Callable[..., Term]:
    def picked(*terms: Term) -> Term:
        for other in terms[1:]:
            _same_sort(terms[0], other, f"{word}()")
        return pick(terms, key=lambda term: term.value)

    return picked


def _rounding(way: Callable[[Fraction], int], word: str) -> Callable[[Term], Term]:
    def rounded(a: Term) -> Term:
        if a.kind is not Kind.NUMBER:
            step = "1 deg" if a.kind is Kind.ANGLE else "1 mm"
            cure = f"write {word}({a.text} / {step}) * {step}, so that the step is plain"
            raise QuantityFault(f"{word}() takes a number, but {a.text!r} is {a.sort}", cure, a.column)
        return a.becomes(Fraction(way(a.value)))

    return rounded


def _root(a: Term) -> Term:
    if a.value < 0:
        raise QuantityFault(f"{a.text!r} is below 0 and has no root", "look at what goes into it", a.column)
    if a.length % 2 or a.angle % 2:
        raise QuantityFault(f"{a.text!r} is {a.sort} and has no root", "take the root of a number or an area", a.column)
    return a.becomes(_root_of(a.value), a.length // 2, a.angle // 2)


def _root_of(value: Fraction) -> Fraction:
    """Square root: exact where it is rational, otherwise cut off after 30 places."""
    top, bottom = math.isqrt(value.numerator), math.isqrt(value.denominator)
    if top * top == value.numerator and bottom * bottom == value.denominator:
        return Fraction(top, bottom)
    scale = 10**_ROOT_PLACES
    return Fraction(math.isqrt(value.numerator * scale * scale // value.denominator), scale)


def _long_side(a: Term, b: Term) -> Term:
    _same_sort(a, b, "hypot()")
    return a.becomes(_root_of(a.value**2 + b.value**2), *a.dimension)


# -- circular functions, in degrees

_HALF: Final = Fraction(1, 2)
_EXACT_SINES: Final[Mapping[int, Fraction]] = MappingProxyType(
    dict.fromkeys((0, 180), Fraction(0))
    | dict.fromkeys((30, 150), _HALF)
    | dict.fromkeys((210, 330), -_HALF)
    | {90: Fraction(1), 270: Fraction(-1)}
)
_EXACT_ARCS: Final[Mapping[Fraction, Fraction]] = MappingProxyType(
    {Fraction(half, 2): Fraction(deg) for half, deg in ((-2, -90), (-1, -30), (0, 0), (1, 30), (2, 90))}
)


def _fifteen_digits(value: float) -> Fraction:
    """`value` to 15 digits: two machines may differ in the sixteenth, and must give the same part."""
    return Fraction(f"{value:.14e}")


def _degrees_of(a: Term) -> Fraction:
    """The angle in degrees, 0 <= a < 360; a plain number counts as degrees."""
    if a.kind not in (Kind.ANGLE, Kind.NUMBER):
        raise QuantityFault(f"{a.text!r} is {a.sort}, but here an angle is wanted", "write degrees", a.column)
    return a.value % 360


def _sine_of(degrees: Fraction) -> Fraction:
    exact = _EXACT_SINES.get(int(degrees)) if degrees.denominator == 1 else None
    return _fifteen_digits(math.sin(math.radians(degrees))) if exact is None else exact


def _tangent(a: Term) -> Term:
    degrees = _degrees_of(a) % 180
    if degrees == 90:
        raise QuantityFault(f"tan() of {a.text!r} is without end", "stay away from 90 degrees", a.column)
    exact = {0: 0, 45: 1, 135: -1}.get(int(degrees)) if degrees.denominator == 1 else None
    return a.becomes(_fifteen_digits(math.tan(math.radians(degrees))) if exact is None else Fraction(exact))


def _ratio(a: Term, most: int | None) -> Fraction:
    if a.kind is not Kind.NUMBER:
        raise QuantityFault(f"{a.text!r} is {a.sort}, but here a ratio is wanted", "divide by a length", a.column)
    if most is not None and abs(a.value) > most:
        raise QuantityFault(f"{a.text!r} is not between -1 and 1", "look at what goes into it", a.column)
    return a.value


def _arc_of_sine(value: Fraction) -> Fraction:
    exact = _EXACT_ARCS.get(value)
    return _fifteen_digits(math.degrees(math.asin(value))) if exact is None else exact


def _arc_tangent(a: Term) -> Term:
    ratio = _ratio(a, None)
    exact = {-1: -45, 0: 0, 1: 45}.get(int(ratio)) if ratio.denominator == 1 else None
    return a.becomes(_fifteen_digits(math.degrees(math.atan(ratio))) if exact is None else Fraction(exact), angle=1)


#: Everything that can be called: fewest and most values it takes, and what it makes of them.
#: `round` goes to the even neighbour from the middle, as in Python.
FUNCTIONS: Final[Mapping[str, tuple[int, int, Callable[..., Term]]]] = MappingProxyType(
    {
        "min": (1, 20, _extreme(min, "min")),
        "max": (1, 20, _extreme(max, "max")),
        "abs": (1, 1, lambda a: a.becomes(abs(a.value), *a.dimension)),
        "round": (1, 1, _rounding(round, "round")),
        "floor": (1, 1, _rounding(math.floor, "floor")),
        "ceil": (1, 1, _rounding(math.ceil, "ceil")),
        "sqrt": (1, 1, _root),
        "hypot": (2, 2, _long_side),
        "sin": (1, 1, lambda a: a.becomes(_sine_of(_degrees_of(a)))),
        "cos": (1, 1, lambda a: a.becomes(_sine_of((_degrees_of(a) + 90) % 360))),
        "tan": (1, 1, _tangent),
        "asin": (1, 1, lambda a: a.becomes(_arc_of_sine(_ratio(a, 1)), angle=1)),
        "acos": (1, 1, lambda a: a.becomes(90 - _arc_of_sine(_ratio(a, 1)), angle=1)),
        "atan": (1, 1, _arc_tangent),
    }
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


def _split(text: str) -> Iterator[_Word]:
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


class _Expression:
    """Reads one text from left to right, each operator taking as much as Python's precedence gives it."""

    def __init__(self, text: str, names: Names) -> None:
        self.text = text
        self.names = names
        self.words = list(_split(text))
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
            left = self._spanning(_operate(word.text, left, right), left.column, left.pure and right.pure)
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
        least, most, work = function
        if not least <= len(given) <= most:
            wanted = str(least) if least == most else "one or more"
            raise QuantityFault(f"{word.text}() got {len(given)} values", f"it takes {wanted}", word.column)
        return self._spanning(work(*given), word.column, all(term.pure for term in given))

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
    expression = _Expression(text, names)
    depth = 0
    for word in expression.words[:-1]:
        depth += {"(": 1, ")": -1}.get(word.text, 0)
        if depth == 0 and expression.words[0].text == "(":
            # `(a) + (b)` begins and ends with a bracket, but not with the same.
            cure = "put the whole in round brackets"
            raise QuantityFault("the first bracket closes before the end", cure, word.column)
    return _wanted(expression.whole(), kind, bare_unit, text.strip())


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
        match kind or _kind_shown(text):
            case Kind.LENGTH:
                return parse_length(text, bare_unit)
            case Kind.ANGLE:
                return parse_angle(text)
            case Kind.NUMBER:
                return parse_number(text)
            case Kind.COUNT:
                return parse_count(text)
    except QuantityFault as fault:
        raise _maybe_a_name(text, kind, names) or fault from None


def _kind_shown(text: str) -> Kind:
    """The kind that a text shows by its unit."""
    clean = plain_signs(text).strip().lower()
    if clean.endswith(ANGLE_UNITS):
        return Kind.ANGLE
    return Kind.NUMBER if clean[-1:].isdigit() or clean[-1:] in ONE_SIGN else Kind.LENGTH


def _maybe_a_name(text: str, kind: Kind | None, names: Names) -> QuantityFault | None:
    """A better fault for a misspelt parameter, or arithmetic that lacks its brackets."""
    clean = text.strip()
    if NAME.fullmatch(clean):
        what = f"{clean!r} is neither a {kind or 'quantity'} nor a parameter"
        return QuantityFault(what, _known(clean, names)) if names else None
    if any(word in names for word in NAME.findall(clean)):
        return QuantityFault(f"{clean!r} looks like arithmetic", f"put it in round brackets: ({clean})")
    return None
