"""Arithmetic in descriptions: held against Python's own operators and precedence on exact fractions."""

from __future__ import annotations

import math
import random
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bracketgen.description.arithmetic import UnresolvedName, evaluate, is_arithmetic, read_quantity
from bracketgen.description.parameters import Definition, resolve
from bracketgen.units import Kind, LengthUnit, Quantity, QuantityFault

NAMES = {
    "spacing": Quantity(Fraction(62), Kind.LENGTH, "62 mm"),
    "holes": Quantity(Fraction(4), Kind.COUNT, "4"),
    "tilt": Quantity(Fraction(30), Kind.ANGLE, "30 deg"),
    "ratio": Quantity(Fraction(1, 3), Kind.NUMBER, "1/3"),
    "broken": None,
}


def length(text: str, bare: LengthUnit | None = None) -> Fraction:
    return evaluate(text, NAMES, Kind.LENGTH, bare).value


# Worked by hand.
@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("spacing", Fraction(62)),
        (" spacing ", Fraction(62)),
        ("(spacing)", Fraction(62)),
        ("(spacing / 2 + 5 mm)", Fraction(36)),
        ("(spacing/2+5mm)", Fraction(36)),
        ("(3/8 in)", Fraction(381, 40)),
        ("(2 1/2 in)", Fraction(127, 2)),
        ('(2½ in - ½")', Fraction(508, 10)),
        ("(1 ft 2 in)", Fraction(3556, 10)),
        ("(1' 2 1/2\")", Fraction(3683, 10)),
        ("(1' + 2\")", Fraction(3556, 10)),
        ("(40 thou)", Fraction(1016, 1000)),
        ("(holes * 3/8 in)", Fraction(381, 10)),
        ("(spacing - 2 - 1/2 in * 2 + 2 mm / 1)", None),
        ("(spacing * ratio)", Fraction(62, 3)),
        ("(-spacing)", Fraction(-62)),
        ("(- - 3 mm)", Fraction(3)),
        ("(+3 mm)", Fraction(3)),
        ("(2 ** 3 * 1 mm)", Fraction(8)),
        ("(2 ** 3 ** 1 * 1 mm)", Fraction(8)),
        ("(-2 ** 2 * 1 mm)", Fraction(-4)),
        ("(2 ** -1 * 1 mm)", Fraction(1, 2)),
        ("(7 mm // 2 mm * 1 mm)", Fraction(3)),
        ("(-7 mm // 2 mm * 1 mm)", Fraction(-4)),
        ("(spacing % 10 mm)", Fraction(2)),
        ("(-spacing % 10 mm)", Fraction(8)),
        ("(sqrt(spacing * spacing))", Fraction(62)),
        ("(sqrt(spacing ** 4) / 1 mm)", Fraction(3844)),
        ("(hypot(3 mm, 4 mm))", Fraction(5)),
        ("(sin(tilt) * spacing)", Fraction(31)),
        ("(cos(60 deg) * spacing)", Fraction(31)),
        ("(tan(45) * spacing)", Fraction(62)),
        ("(min(spacing, 5 mm, 1 in))", Fraction(5)),
        ("(max(spacing, 5 mm, 1 in))", Fraction(62)),
        ("(abs(5 mm - spacing))", Fraction(57)),
        ("(floor(spacing / 20 mm) * 20 mm)", Fraction(60)),
        ("(ceil(spacing / 20 mm) * 20 mm)", Fraction(80)),
        ("(round(2.5) * 1 mm)", Fraction(2)),
        ("((spacing))", Fraction(62)),
        ("(1 m - 1 cm - 1 mm)", Fraction(989)),
    ],
)
def test_lengths(text: str, mm: Fraction | None) -> None:
    if mm is None:
        with pytest.raises(QuantityFault):
            length(text)
    else:
        assert length(text) == mm


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("(360 deg / holes)", Kind.ANGLE, Fraction(90)),
        ("(90 - 30)", Kind.ANGLE, Fraction(60)),
        ("tilt", Kind.ANGLE, Fraction(30)),
        ("(2 * 15°)", Kind.ANGLE, Fraction(30)),
        ("(asin(1/2))", Kind.ANGLE, Fraction(30)),
        ("(acos(1/2))", Kind.ANGLE, Fraction(60)),
        ("(atan(1))", Kind.ANGLE, Fraction(45)),
        ("(atan(spacing / spacing))", Kind.ANGLE, Fraction(45)),
        ("(spacing // 10 mm)", Kind.COUNT, Fraction(6)),
        ("(holes + 1)", Kind.COUNT, Fraction(5)),
        ("holes", Kind.NUMBER, Fraction(4)),
        ("(spacing / 2 mm)", Kind.NUMBER, Fraction(31)),
        ("(1/3 + ratio)", Kind.NUMBER, Fraction(2, 3)),
    ],
)
def test_other_kinds(text: str, kind: Kind, value: Fraction) -> None:
    read = evaluate(text, NAMES, kind)
    assert (read.value, read.kind, read.typed) == (value, kind, text)


def test_a_kind_left_open_comes_from_the_value() -> None:
    kinds = {text: evaluate(text, NAMES, None).kind for text in ("(2 * 3)", "(2 * 3 mm)", "(2 * tilt)")}
    assert list(kinds.values()) == [Kind.NUMBER, Kind.LENGTH, Kind.ANGLE]


@pytest.mark.parametrize(
    ("text", "column", "what", "cure"),
    [
        ("(spacing + 5)", 12, "one kind", "write 5 mm"),
        ("(5 - spacing)", 6, "one kind", "write 5 mm"),
        ("(tilt + 5)", 9, "one kind", "write 5 deg"),
        ("(spacing + tilt)", 12, "one kind", "same kind"),
        ("(spacing % 3)", 12, "one kind", "write 3 mm"),
        ("(spacing // 3)", 13, "one kind", "write 3 mm"),
        ("(min(spacing, 3))", 15, "one kind", "write 3 mm"),
        ("(spacng * 2)", 2, "'spacng'", "write spacing"),
        ("(2 * sqr(4))", 6, "'sqr'", "write sqrt"),
        ("(mm * 2)", 2, "stands alone", "1 mm"),
        ("(5 mn)", 4, "'mn'", "write mm"),
        ("(1e3 mm)", 2, "exponent", "digits"),
        ("(spacing / 3/8 in)", 12, "unclear", "(3/8 in)"),
        ("(spacing * 2-1/2 in)", 12, "unclear", "2 1/2 in"),
        ("(1 mm / (2 - 2))", 9, "zero", ""),
        ("(1 mm // 0 mm)", 10, "zero", ""),
        ("(1 mm % 0 mm)", 9, "zero", ""),
        ("(0 ** -1 * 1 mm)", 2, "zero", ""),
        ("(2 ** 9 * 1 mm)", 7, "exponent", "-8 to 8"),
        ("(2 ** 0.5 * 1 mm)", 7, "exponent", "sqrt"),
        ("(2 ** 1 mm)", 7, "exponent", "sqrt"),
        ("(3/0 in)", 2, "zero", "3/8"),
        ("(5 mm 3)", 7, "side by side", "operator"),
        ("(12,7 mm)", 4, "','", "12.7"),
        ("(5 mm", 1, "not closed", ")"),
        ("(5 mm))", 6, "closes before the end", "whole"),
        ("(5 mm) + (6 mm)", 6, "closes before the end", "whole"),
        ("(5 mm *)", 8, "missing", ""),
        ("()", 2, "missing", ""),
        ("(* 5 mm)", 2, "missing", ""),
        ("(2 ^ 3)", 4, "'^'", "**"),
        ("(spacing; 3)", 9, "';'", ""),
        ("(round(spacing))", 8, "takes a number", "round(spacing / 1 mm) * 1 mm"),
        ("(sqrt(spacing))", 7, "no root", ""),
        ("(sqrt(1 - 2))", 7, "below 0", ""),
        ("(asin(2))", 7, "between -1 and 1", ""),
        ("(asin(spacing))", 7, "ratio", ""),
        ("(tan(90))", 6, "without end", ""),
        ("(sin(spacing))", 6, "angle", ""),
        ("(hypot(spacing))", 2, "1 values", "takes 2"),
        ("(min())", 2, "0 values", "one or more"),
        ("(spacing * spacing)", 0, "an area", ""),
        ("(spacing / spacing)", 0, "a number", "1 mm"),
        ("(3 + 4)", 0, "a number", "1 mm"),
        ("tilt", 0, "an angle", ""),
        ("(broken + 5 mm)", 2, "itself wrong", "first"),
        ("(" * 60 + "1 mm" + ")" * 60, 42, "too deeply", "40"),
        ("(" + "-" * 60 + "1 mm)", 42, "too deeply", "40"),
        ("(" + "2 **" * 60 + "1)", None, "too deeply", "40"),
        ("(" + " " * 400 + "1 mm)", 0, "too long", "400"),
        ("(" + "9 ** 8 * " * 42 + "1 mm)", None, "digits", ""),
    ],
)
def test_faults_point_and_advise(text: str, column: int | None, what: str, cure: str) -> None:
    with pytest.raises(QuantityFault) as fault:
        length(text)
    assert what in fault.value.what
    assert cure in fault.value.cure
    assert column is None or fault.value.column == column


def test_bare_arithmetic_takes_the_unit_of_the_file_but_ratios_never_do() -> None:
    assert length("(3 + 4)", LengthUnit.MM) == 7
    assert length("(3 + 4)", LengthUnit.IN) == 7 * Fraction(254, 10)
    for text in ("(spacing / 2 mm)", "(holes * 2)", "(2 mm / 1 mm)", "(asin(1/2))", "holes"):
        with pytest.raises(QuantityFault):
            length(text, LengthUnit.MM)


def test_when_a_text_is_arithmetic() -> None:
    assert is_arithmetic("(5 mm)", {})
    assert is_arithmetic(" spacing", NAMES)
    assert not is_arithmetic("spacing", {})
    assert not is_arithmetic("5 mm", NAMES)
    assert not is_arithmetic("spacing / 2", NAMES)


# -- the door


def test_toml_numbers_are_exact_and_bare() -> None:
    assert read_quantity(12.7, Kind.LENGTH, {}, LengthUnit.MM).value == Fraction(127, 10)
    assert read_quantity(0.1, Kind.LENGTH, {}, LengthUnit.IN).value == Fraction(254, 100)
    assert read_quantity(3, Kind.LENGTH, {}, LengthUnit.MM) == Quantity(Fraction(3), Kind.LENGTH, "3")
    assert read_quantity(90, Kind.ANGLE, {}).value == 90
    assert read_quantity(1e-7, Kind.NUMBER, {}).value == Fraction(1, 10**7)
    assert read_quantity(4, Kind.COUNT, {}).kind is Kind.COUNT
    assert read_quantity(4, None, {}).kind is Kind.NUMBER


def test_texts_of_open_kind_say_their_kind() -> None:
    read = {text: read_quantity(text, None, NAMES).kind for text in ("3 mm", "3 deg", "3°", "3", "½", "tilt", '3"')}
    expected = [Kind.LENGTH, Kind.ANGLE, Kind.ANGLE, Kind.NUMBER, Kind.NUMBER, Kind.ANGLE, Kind.LENGTH]
    assert list(read.values()) == expected


@pytest.mark.parametrize(
    ("value", "kind", "what", "cure"),
    [
        (True, Kind.LENGTH, "true is no length", "12.7 mm"),
        (False, Kind.COUNT, "false is no count", "number"),
        (3, Kind.LENGTH, "no unit", "'3 mm'"),
        (math.inf, Kind.LENGTH, "no size", "plain"),
        (math.nan, Kind.NUMBER, "no size", "plain"),
        (10**31, Kind.LENGTH, "no size", "plain"),
        ([1], Kind.LENGTH, "a list is no length", "number"),
        (None, None, "no quantity", "number"),
        (4.5, Kind.COUNT, "whole", "4"),
        ("spacng", Kind.LENGTH, "neither a length nor a parameter", "write spacing"),
        ("spacing / 2", Kind.LENGTH, "looks like arithmetic", "(spacing / 2)"),
        ("holes", Kind.LENGTH, "a number", "unit"),
        ("12,7 mm", Kind.LENGTH, "comma", "12.7 mm"),
    ],
)
def test_the_door_refuses(value: object, kind: Kind | None, what: str, cure: str) -> None:
    with pytest.raises(QuantityFault) as fault:
        read_quantity(value, kind, NAMES)
    assert what in fault.value.what
    assert cure in fault.value.cure


def test_an_endless_integer_is_refused() -> None:
    with pytest.raises(QuantityFault, match="no size"):
        read_quantity(10**5000, Kind.NUMBER, {})


def test_leaning_on_a_wrong_parameter_is_its_own_fault() -> None:
    with pytest.raises(UnresolvedName):
        read_quantity("broken", Kind.LENGTH, NAMES)


# -- against Python: the same text, read by Python's own parser, with values that carry a dimension


class MismatchError(Exception):
    pass


class Sized:
    """A fraction with a power of length, for Python's operators."""

    def __init__(self, value: Fraction, power: int) -> None:
        if max(value.numerator.bit_length(), value.denominator.bit_length()) > 900:
            raise OverflowError
        self.value = value
        self.power = power

    def _same(self, other: Sized) -> None:
        if self.power != other.power:
            raise MismatchError

    def __add__(self, other: Sized) -> Sized:
        self._same(other)
        return Sized(self.value + other.value, self.power)

    def __sub__(self, other: Sized) -> Sized:
        self._same(other)
        return Sized(self.value - other.value, self.power)

    def __mul__(self, other: Sized) -> Sized:
        return Sized(self.value * other.value, self.power + other.power)

    def __truediv__(self, other: Sized) -> Sized:
        return Sized(self.value / other.value, self.power - other.power)

    def __floordiv__(self, other: Sized) -> Sized:
        self._same(other)
        return Sized(Fraction(self.value // other.value), 0)

    def __mod__(self, other: Sized) -> Sized:
        self._same(other)
        return Sized(self.value % other.value, self.power)

    def __pow__(self, other: Sized) -> Sized:
        if other.power or other.value.denominator != 1 or abs(other.value) > 8:
            raise MismatchError
        return Sized(self.value ** int(other.value), self.power * int(other.value))

    def __neg__(self) -> Sized:
        return Sized(-self.value, self.power)


_OPERATORS = ("+", "-", "*", "/", "//", "%", "**")
#: As written in a description, and as (value in mm, power of length).
_ATOMS = (
    ("2", Fraction(2), 0),
    ("3", Fraction(3), 0),
    ("0.5", Fraction(1, 2), 0),
    ("ratio", Fraction(1, 3), 0),
    ("holes", Fraction(4), 0),
    ("5 mm", Fraction(5), 1),
    ("0.25 in", Fraction(635, 100), 1),
    ("2 1/2 in", Fraction(635, 10), 1),
    ("spacing", Fraction(62), 1),
)


def _written(rng: random.Random, deep: int) -> tuple[str, str]:
    """A random expression twice: for a description, and for Python."""
    choice = rng.random()
    if deep == 0 or choice < 0.2:
        text, value, power = rng.choice(_ATOMS)
        return text, f"S(Fraction({value.numerator}, {value.denominator}), {power})"
    if choice < 0.3:
        text, python = _written(rng, deep - 1)
        return f"-{text}", f"-{python}"
    if choice < 0.5:
        text, python = _written(rng, deep - 1)
        return f"({text})", f"({python})"
    left, right = _written(rng, deep - 1), _written(rng, deep - 1)
    sign = rng.choice(_OPERATORS)
    gap = rng.choice(("", " "))
    return f"{left[0]} {sign}{gap}{right[0]}", f"{left[1]} {sign} {right[1]}"


@settings(max_examples=1500, deadline=None)
@given(st.integers(0, 2**32))
def test_value_and_dimension_agree_with_python(seed: int) -> None:
    rng = random.Random(seed)
    text, python = _written(rng, rng.randint(1, 4))
    assume(len(text) < 380)
    try:
        expected: Sized | None = eval(python, {"S": Sized, "Fraction": Fraction})
    except OverflowError:
        assume(False)
        return
    except (MismatchError, ZeroDivisionError):
        expected = None
    kind = {0: Kind.NUMBER, 1: Kind.LENGTH}.get(expected.power) if expected else None
    if expected is None or kind is None or abs(expected.value) > (100_000 if kind is Kind.LENGTH else 10**12):
        with pytest.raises(QuantityFault):
            evaluate(f"({text})", NAMES, None)
    else:
        read = evaluate(f"({text})", NAMES, None)
        assert (read.value, read.kind) == (expected.value, kind)


def test_the_comparison_with_python_compares_something() -> None:
    """Of the random expressions a fair part must have a value; else the test above would only see faults."""
    good = 0
    for seed in range(400):
        rng = random.Random(seed)
        _, python = _written(rng, rng.randint(1, 4))
        try:
            eval(python, {"S": Sized, "Fraction": Fraction})
            good += 1
        except (MismatchError, ZeroDivisionError, OverflowError):
            pass
    assert good > 100


@settings(max_examples=200, deadline=None)
@given(st.fractions(-2000, 2000, max_denominator=1000))
def test_circular_functions_agree_with_math(degrees: Fraction) -> None:
    names = {"a": Quantity(degrees, Kind.NUMBER, "")}
    radians = math.radians(float(degrees))
    assert abs(evaluate("(sin(a))", names, Kind.NUMBER).number - math.sin(radians)) < 1e-13
    assert abs(evaluate("(cos(a))", names, Kind.NUMBER).number - math.cos(radians)) < 1e-13
    if abs(math.cos(radians)) > 1e-3:
        tangent = math.tan(radians)
        assert abs(evaluate("(tan(a))", names, Kind.NUMBER).number - tangent) < 1e-11 * (1 + tangent**2)


@settings(max_examples=200, deadline=None)
@given(st.fractions(-1, 1, max_denominator=1000))
def test_arcs_agree_with_math(ratio: Fraction) -> None:
    names = {"r": Quantity(ratio, Kind.NUMBER, "")}
    for name, oracle in (("asin", math.asin), ("acos", math.acos), ("atan", math.atan)):
        assert abs(evaluate(f"({name}(r))", names, Kind.ANGLE).number - math.degrees(oracle(ratio))) < 1e-11


def test_every_thirty_degrees_is_exact() -> None:
    half = Fraction(1, 2)
    sines = [evaluate(f"(sin({30 * i}))", {}, Kind.NUMBER) for i in (0, 1, 3, 5, 6, 7, 9, 11, 12, -1)]
    assert [sine.value for sine in sines] == [0, half, 1, half, 0, -half, -1, -half, 0, -half]
    assert evaluate("(cos(-60) + cos(90) + cos(180) + cos(300))", {}, Kind.NUMBER).value == 0
    assert evaluate("(tan(135) + tan(-135) + tan(180))", {}, Kind.NUMBER).value == 0


def test_pi() -> None:
    assert evaluate("(pi)", {}, Kind.NUMBER).number == math.pi


@settings(max_examples=200, deadline=None)
@given(st.fractions(0, 10**6, max_denominator=10**6))
def test_roots_are_exact_or_good_to_thirty_places(value: Fraction) -> None:
    root = evaluate("(sqrt(x))", {"x": Quantity(value, Kind.NUMBER, "")}, Kind.NUMBER).value
    assert root * root <= value < (root + Fraction(1, 10**30)) ** 2
    square = evaluate("(sqrt(x ** 2))", {"x": Quantity(value, Kind.NUMBER, "")}, Kind.NUMBER).value
    assert square == value


@settings(max_examples=400, deadline=None)
@given(st.text("0123456789 .,+-*/%()'\"½mindegsqrtpacox_e^;[]", max_size=60))
def test_any_text_gives_a_quantity_or_a_fault(text: str) -> None:
    for candidate in (f"({text})", text):
        try:
            assert isinstance(read_quantity(candidate, None, NAMES, LengthUnit.MM), Quantity)
        except QuantityFault as fault:
            assert 0 <= fault.column <= len(candidate) + 1


# -- parameters that lean on each other


def test_parameters_resolve_in_any_order() -> None:
    found = resolve(
        {
            "total": Definition("(2 * edge + spacing)"),
            "edge": Definition("(1.5 * hole)"),
            "spacing": Definition("62 mm", least="10 mm", most="(4 * spacing)"),
            "hole": Definition(9, Kind.LENGTH),
            "count": Definition(4, Kind.COUNT, least=2, most=8),
        },
        LengthUnit.MM,
    )
    assert not found.faults
    assert list(found.values) == ["total", "edge", "spacing", "hole", "count"]
    assert found.values["total"] is not None
    assert found.values["total"].value == 89


def test_a_ring_is_one_fault_that_names_it() -> None:
    found = resolve(
        {
            "x": Definition("(c + 1 mm)"),
            "a": Definition("(b * 2)"),
            "b": Definition("c"),
            "c": Definition("(a + 1 mm)"),
            "self": Definition("(self + 1 mm)"),
            "free": Definition("1 mm"),
        }
    )
    assert {name: fault.what for name, fault in found.faults.items()} == {
        "a": "'a' needs 'b' needs 'c' needs 'a': a ring",
        "self": "'self' needs 'self': a ring",
    }
    assert [name for name, value in found.values.items() if value] == ["free"]


@pytest.mark.parametrize(
    ("definition", "what"),
    [
        (Definition("5 mm", least="6 mm"), "below its least"),
        (Definition("5 mm", most="4 mm"), "above its most"),
        (Definition("5 mm", most=4), "most of 'p': 4 has no unit"),
        (Definition("5 mm", most=True), "most of 'p': true is no length"),
        (Definition("(5 mm + 3)"), "one kind"),
        (Definition("(q)"), "no parameter 'q'"),
        (Definition(True), "true is no quantity"),
    ],
)
def test_faults_of_one_parameter(definition: Definition, what: str) -> None:
    assert what in resolve({"p": definition}).faults["p"].what


@pytest.mark.parametrize(
    ("name", "cure"), [("hole-gap", "hole_gap"), ("m", "longer"), ("sin", "longer"), ("½", "letters")]
)
def test_names_that_arithmetic_cannot_use(name: str, cure: str) -> None:
    assert cure in resolve({name: Definition("5 mm")}).faults[name].cure


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sets(st.integers(0, 7), max_size=2), min_size=8, max_size=8))
def test_values_exist_exactly_where_no_ring_is_reached(needs: list[set[int]]) -> None:
    definitions = {
        f"p{i}": Definition("(" + " + ".join(["1 mm", *(f"p{j}" for j in sorted(need))]) + ")")
        for i, need in enumerate(needs)
    }
    found = resolve(definitions)

    def value(i: int, path: tuple[int, ...] = ()) -> int | None:
        """By plain descent: None when a parameter is met again on the way down."""
        if i in path:
            return None
        parts = [value(j, (*path, i)) for j in needs[i]]
        return None if None in parts else 1 + sum(part for part in parts if part is not None)

    for i in range(8):
        quantity = found.values[f"p{i}"]
        assert (quantity.value if quantity else None) == value(i)
    assert bool(found.faults) == any(quantity is None for quantity in found.values.values())
