"""Values on the way through arithmetic: exact, with their dimension, and the operations that respect it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from bracketgen.units import DECIMAL, Kind, QuantityFault

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


def _sum(a: Term, b: Term) -> Term:
    _same_sort(a, b, "+")
    return a.becomes(a.value + b.value, *a.dimension)


def _difference(a: Term, b: Term) -> Term:
    _same_sort(a, b, "-")
    return a.becomes(a.value - b.value, *a.dimension)


def _product(a: Term, b: Term) -> Term:
    return a.becomes(a.value * b.value, a.length + b.length, a.angle + b.angle)


def _quotient(a: Term, b: Term) -> Term:
    return a.becomes(a.value / _not_zero(b), a.length - b.length, a.angle - b.angle)


def _whole_quotient(a: Term, b: Term) -> Term:
    _same_sort(a, b, "//")
    return a.becomes(Fraction(a.value // _not_zero(b)))


def _remainder(a: Term, b: Term) -> Term:
    _same_sort(a, b, "%")
    return a.becomes(a.value % _not_zero(b), *a.dimension)


def _power(a: Term, b: Term) -> Term:
    if b.kind is not Kind.NUMBER or b.value.denominator != 1 or abs(b.value) > LARGEST_EXPONENT:
        limits = f"a whole number from -{LARGEST_EXPONENT} to {LARGEST_EXPONENT}"
        raise QuantityFault(f"{b.text!r} can't be an exponent", f"write {limits}, or sqrt() for a root", b.column)
    exponent = int(b.value)
    if exponent < 0:
        _not_zero(a)
    return a.becomes(a.value**exponent, a.length * exponent, a.angle * exponent)


Operation = Callable[[Term, Term], Term]

#: Operators as in Python: `//` rounds down, `%` has the sign of what divides.
OPERATIONS: Final[Mapping[str, Operation]] = MappingProxyType(
    {
        "+": _sum,
        "-": _difference,
        "*": _product,
        "/": _quotient,
        "//": _whole_quotient,
        "%": _remainder,
        "**": _power,
    }
)


# -- functions


def _least(*terms: Term) -> Term:
    for other in terms[1:]:
        _same_sort(terms[0], other, "min()")
    return min(terms, key=lambda term: term.value)


def _most(*terms: Term) -> Term:
    for other in terms[1:]:
        _same_sort(terms[0], other, "max()")
    return max(terms, key=lambda term: term.value)


def _size(a: Term) -> Term:
    return a.becomes(abs(a.value), *a.dimension)


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


def _sine(a: Term) -> Term:
    return a.becomes(_sine_of(_degrees_of(a)))


def _cosine(a: Term) -> Term:
    return a.becomes(_sine_of((_degrees_of(a) + 90) % 360))


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


def _arc_sine(a: Term) -> Term:
    return a.becomes(_arc_of_sine(_ratio(a, 1)), angle=1)


def _arc_cosine(a: Term) -> Term:
    return a.becomes(90 - _arc_of_sine(_ratio(a, 1)), angle=1)


def _arc_tangent(a: Term) -> Term:
    ratio = _ratio(a, None)
    exact = {-1: -45, 0: 0, 1: 45}.get(int(ratio)) if ratio.denominator == 1 else None
    return a.becomes(_fifteen_digits(math.degrees(math.atan(ratio))) if exact is None else Fraction(exact), angle=1)


@dataclass(frozen=True, slots=True)
class Function:
    """A function by name: how many values it takes, and what it makes of them."""

    least: int
    most: int
    work: Callable[..., Term]


#: Everything that can be called. `round` goes to the even neighbour from the middle, as in Python.
FUNCTIONS: Final[Mapping[str, Function]] = MappingProxyType(
    {
        "min": Function(1, 20, _least),
        "max": Function(1, 20, _most),
        "abs": Function(1, 1, _size),
        "round": Function(1, 1, _rounding(round, "round")),
        "floor": Function(1, 1, _rounding(math.floor, "floor")),
        "ceil": Function(1, 1, _rounding(math.ceil, "ceil")),
        "sqrt": Function(1, 1, _root),
        "hypot": Function(2, 2, _long_side),
        "sin": Function(1, 1, _sine),
        "cos": Function(1, 1, _cosine),
        "tan": Function(1, 1, _tangent),
        "asin": Function(1, 1, _arc_sine),
        "acos": Function(1, 1, _arc_cosine),
        "atan": Function(1, 1, _arc_tangent),
    }
)
