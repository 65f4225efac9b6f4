"""Quantities as people write them: exact values, refusals with advice, and a second parser as referee."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bracketgen.units import (
    Kind,
    LengthUnit,
    Quantity,
    QuantityFault,
    format_inch,
    format_mm,
    nearest_word,
    parse_angle,
    parse_count,
    parse_gauge,
    parse_length,
    parse_number,
)

# Worked by hand from 1 in = 25.4 mm exactly (NIST SP 811, appendix B.8), 1 ft = 12 in, 1 thou = 1/1000 in.
LENGTHS = [
    ("12.7 mm", Fraction(127, 10)),
    ("12.7mm", Fraction(127, 10)),
    ("  12.7  mm ", Fraction(127, 10)),
    ("0 mm", Fraction(0)),
    ("007 mm", Fraction(7)),
    ("3 MM", Fraction(3)),
    (".5 mm", Fraction(1, 2)),
    ("0.05 mm", Fraction(1, 20)),
    ("1.5 cm", Fraction(15)),
    ("12cm", Fraction(120)),
    ("0.5 m", Fraction(500)),
    ("1 m", Fraction(1000)),
    ("3/8 mm", Fraction(3, 8)),
    ("2 1/2 mm", Fraction(5, 2)),
    ("1 in", Fraction(254, 10)),
    ("1 IN", Fraction(254, 10)),
    ("1 inch", Fraction(254, 10)),
    ("10 inches", Fraction(254)),
    ('1"', Fraction(254, 10)),
    ("1''", Fraction(254, 10)),
    ("1″", Fraction(254, 10)),
    ("1”", Fraction(254, 10)),
    ("0.5 in", Fraction(127, 10)),
    ("1/2 in", Fraction(127, 10)),
    ("1/2in", Fraction(127, 10)),
    ('1/2"', Fraction(127, 10)),
    ("½ in", Fraction(127, 10)),
    ('½"', Fraction(127, 10)),
    ("1⁄2 in", Fraction(127, 10)),
    ("1/4 in", Fraction(127, 20)),
    ("¼ in", Fraction(127, 20)),
    ("¾ in", Fraction(381, 20)),
    ('3/8"', Fraction(381, 40)),
    ("3/8in", Fraction(381, 40)),
    ("⅜ in", Fraction(381, 40)),
    ("5/8 in", Fraction(127, 8)),
    ("⅝ in", Fraction(127, 8)),
    ("⅞ in", Fraction(889, 40)),
    ('.125"', Fraction(127, 40)),
    ("⅛ in", Fraction(127, 40)),
    ("1/64 in", Fraction(127, 320)),
    ("1/3 in", Fraction(127, 15)),
    ("⅓ in", Fraction(127, 15)),
    ("⅔ in", Fraction(254, 15)),
    ("2 1/2 in", Fraction(127, 2)),
    ("2   1/2 in", Fraction(127, 2)),
    ('2-1/2"', Fraction(127, 2)),
    ("2-1/2 in", Fraction(127, 2)),
    ("2–1/2 in", Fraction(127, 2)),
    ("2½ in", Fraction(127, 2)),
    ("2 ½ in", Fraction(127, 2)),
    ("2-½ in", Fraction(127, 2)),
    ("5/2 in", Fraction(127, 2)),
    ("2.5 in", Fraction(127, 2)),
    ("2\u00a01/2\u00a0in", Fraction(127, 2)),
    ("1 ft", Fraction(3048, 10)),
    ("1'", Fraction(3048, 10)),
    ("1′", Fraction(3048, 10)),
    ("2 feet", Fraction(6096, 10)),
    ("1.5 ft", Fraction(4572, 10)),
    ("1 1/2 ft", Fraction(4572, 10)),
    ("1 ft 2 in", Fraction(3556, 10)),
    ("1ft 2in", Fraction(3556, 10)),
    ("1 foot 2 inches", Fraction(3556, 10)),
    ("1'2\"", Fraction(3556, 10)),
    ("1' 2\"", Fraction(3556, 10)),
    ("1'-2\"", Fraction(3556, 10)),
    ("1′2″", Fraction(3556, 10)),
    ("1' 2-1/2\"", Fraction(3683, 10)),
    ("1' 2 1/2\"", Fraction(3683, 10)),
    ("1'-2½\"", Fraction(3683, 10)),
    ("0' 6\"", Fraction(1524, 10)),
    ("40 thou", Fraction(1016, 1000)),
    ("1 thou", Fraction(254, 10_000)),
    ("+3 mm", Fraction(3)),
    ("-3 mm", Fraction(-3)),
    ("−3 mm", Fraction(-3)),
    ("-2-1/2 in", Fraction(-127, 2)),
    ("-1' 2\"", Fraction(-3556, 10)),
    ("100 m", Fraction(100_000)),
]


@pytest.mark.parametrize(("text", "mm"), LENGTHS)
def test_lengths_are_exact(text: str, mm: Fraction) -> None:
    assert parse_length(text) == Quantity(mm, Kind.LENGTH, text.strip())


REFUSED = [
    ("12,7 mm", "comma", "write 12.7 mm"),
    (",5 in", "comma", "write .5 in"),
    ("1,200 mm", "comma", "write 1200 mm or 1.200 mm"),
    ("1 200 mm", "gap", "without"),
    ("1_000 mm", "underscore", "without"),
    ("1e3 mm", "exponent", "all the digits"),
    ("1.5e-3 mm", "exponent", "all the digits"),
    ("0x10 mm", "decimal", "12.7"),
    ("nan mm", "not a number", "number"),
    ("inf mm", "not a number", "number"),
    ("2. mm", "point", "write 2 mm"),
    ("3/0 in", "zero", "3/8"),
    ("2 1/0 in", "zero", "3/8"),
    ("2 4/4 in", "not below one", "2 1/2"),
    ("2 - 1/2 in", "unclear", "2 1/2 in"),
    ("3 / 8 in", "stroke", "write 3/8 in"),
    ("2.5 1/2 in", "decimal with a fraction", "one of the two"),
    ("1.5' 2\"", "feet", "1 ft"),
    ("1' 2", "feet", "1 ft"),
    ("1 ft 12 in", "foot or more", "below 12"),
    ("5 mn", "'mn'", "write mm"),
    ("5 imch", "'imch'", "write inch"),
    ("5 ni", "'ni'", "write in"),
    ("5 milimeters", "'milimeters'", "write mm"),
    ("5 mil", "'mil'", "thou (1/1000 inch) or mm"),
    ("5 M", "'M'", "write m"),
    ("5 zz", "'zz'", "mm, cm, m, in, ft or thou"),
    ("90 deg", "angle", "12.7 mm"),
    ("11 ga", "gauge", "mm or in"),
    ("12.7", "no unit", "write 12.7 mm or 12.7 in"),
    ("--3 mm", "second sign", "one minus"),
    ("3+4 mm", "arithmetic", "(3+4 mm)"),
    ("", "empty", "12.7 mm"),
    ("mm", "can't be read", "12.7 mm"),
    ("M8", "can't be read", "12.7 mm"),
    ("100.001 m", "proportion", "100000 mm"),
    ("1" * 65 + " mm", "too long", "12.7 mm"),
    ("٣ mm", "can't be read", "12.7 mm"),
    ("1 in\n2 mm", "can't be read", "mm"),
]


@pytest.mark.parametrize(("text", "what", "cure"), REFUSED)
def test_refusals_say_what_and_how(text: str, what: str, cure: str) -> None:
    with pytest.raises(QuantityFault) as fault:
        parse_length(text)
    assert what in fault.value.what
    assert cure in fault.value.cure


def test_a_bare_number_takes_the_unit_of_the_file() -> None:
    assert parse_length("2 1/2", LengthUnit.IN).value == Fraction(127, 2)
    assert parse_length("2 1/2", LengthUnit.MM).value == Fraction(5, 2)
    assert parse_length("2 mm", LengthUnit.IN).value == 2


@pytest.mark.parametrize(
    ("text", "deg"),
    [
        ("90", Fraction(90)),
        ("90 deg", Fraction(90)),
        ("90°", Fraction(90)),
        ("90º", Fraction(90)),
        ("-22.5 degrees", Fraction(-45, 2)),
        ("22 1/2", Fraction(45, 2)),
    ],
)
def test_angles(text: str, deg: Fraction) -> None:
    assert parse_angle(text) == Quantity(deg, Kind.ANGLE, text)


@pytest.mark.parametrize("text", ["90 mm", "1 rad", "1,5", "", "nan", "4000", "90 deg 2", "1/0"])
def test_angles_refused(text: str) -> None:
    with pytest.raises(QuantityFault):
        parse_angle(text)


def test_numbers_and_counts() -> None:
    assert parse_number("1/3").value == Fraction(1, 3)
    assert parse_number("-0.44").value == Fraction(-11, 25)
    assert parse_count("4").value == 4
    for text in ("4.5", "-1", "4 mm", "four", "100001"):
        with pytest.raises(QuantityFault):
            parse_count(text)
    with pytest.raises(QuantityFault, match="unit"):
        parse_number("4 mm")


@pytest.mark.parametrize("text", ["11 ga", "11ga", "11 gauge", "11 GA", " 11 gage "])
def test_gauges(text: str) -> None:
    assert parse_gauge(text) == 11


@pytest.mark.parametrize("text", ["11", "11 mm", "ga", "11.5 ga", "-11 ga", "111 ga", ""])
def test_no_gauge(text: str) -> None:
    assert parse_gauge(text) is None


# -- a second parser, built another way: a walk over tokens instead of patterns

_SIGNS = {"½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4), "⅜": Fraction(3, 8)}
_UNITS = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "thou": Fraction(254, 10_000)}
_INCH = Fraction(254, 10)


class _NoError(Exception):
    pass


def _tokens(text: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for char in text:
        sort = "n" if char in "0123456789" else "w" if char.isalpha() and char not in _SIGNS else char
        if found and found[-1][0] == sort and sort in ("n", "w", " "):
            found[-1] = (sort, found[-1][1] + char)
        else:
            found.append((sort, char))
    return found


class _Walk:
    def __init__(self, text: str) -> None:
        self.tokens = _tokens(text)

    def sort(self, ahead: int = 0) -> str:
        return self.tokens[ahead][0] if ahead < len(self.tokens) else ""

    def take(self) -> str:
        return self.tokens.pop(0)[1]

    def gap(self) -> None:
        if self.sort() == " ":
            self.take()

    def part(self, whole: bool) -> Fraction:
        """`3/8` or a sign for it."""
        if self.sort() in _SIGNS:
            return _SIGNS[self.take()]
        top = int(self.take())
        self.take()
        bottom = int(self.take())
        if bottom == 0 or (whole and top >= bottom):
            raise _NoError
        return Fraction(top, bottom)

    def is_part(self, ahead: int) -> bool:
        return self.sort(ahead) in _SIGNS or [self.sort(ahead + i) for i in range(3)] == ["n", "/", "n"]

    def amount(self) -> tuple[Fraction, bool]:
        """The value, and whether it is a bare run of digits."""
        if self.is_part(0):
            return self.part(False), False
        if self.sort() == "." and self.sort(1) == "n":
            self.take()
            digits = self.take()
            return Fraction(int(digits), 10 ** len(digits)), False
        if self.sort() != "n":
            raise _NoError
        whole = Fraction(int(self.take()))
        if self.sort() == "." and self.sort(1) == "n":
            self.take()
            digits = self.take()
            return whole + Fraction(int(digits), 10 ** len(digits)), False
        if self.sort() in _SIGNS:
            return whole + self.part(True), False
        if self.sort() in (" ", "-") and self.is_part(1):
            self.take()
            return whole + self.part(True), False
        return whole, True

    def mark(self) -> str:
        """`mm`, `cm`, `m`, `thou`, `inch` or `foot`."""
        if self.sort() == "'" and self.sort(1) == "'":
            self.take()
            self.take()
            return "inch"
        if self.sort() in ("'", '"'):
            return "foot" if self.take() == "'" else "inch"
        if self.sort() != "w":
            raise _NoError
        word = self.take()
        if word == "M":
            raise _NoError
        low = word.lower()
        if low in ("in", "inch", "inches"):
            return "inch"
        return "foot" if low in ("ft", "foot", "feet") else low

    def length(self) -> Fraction:
        first, whole = self.amount()
        self.gap()
        mark = self.mark()
        if mark == "foot" and whole and self.tokens:
            if self.sort() == "-":
                self.take()
            else:
                self.gap()
            inches, _ = self.amount()
            self.gap()
            if self.mark() != "inch" or self.tokens or inches >= 12:
                raise _NoError
            return (12 * first + inches) * _INCH
        factor = {"inch": _INCH, "foot": 12 * _INCH}.get(mark) or _UNITS.get(mark)
        if factor is None or self.tokens:
            raise _NoError
        return first * factor


def second_parser(text: str) -> Fraction | None:
    text = text.strip()
    sign = -1 if text[:1] == "-" else 1
    try:
        value = _Walk(text[1:] if text[:1] in ("-", "+") else text).length()
    except _NoError:
        return None
    return sign * value if value <= 100_000 else None


def first_parser(text: str) -> Fraction | None:
    try:
        return parse_length(text).value
    except QuantityFault:
        return None


@pytest.mark.parametrize("text", [text for text, _ in LENGTHS if not set(text) & set("″”′–−⁄⅛⅓⅔⅝⅞\u00a0")])
def test_the_second_parser_knows_the_table_too(text: str) -> None:
    assert second_parser(text) == dict(LENGTHS)[text]


_DIGITS = st.integers(0, 130).map(str)
_PART = st.builds("{}/{}".format, st.integers(0, 9), st.integers(0, 16)) | st.sampled_from(sorted(_SIGNS))
_AMOUNT = st.one_of(
    _DIGITS,
    _PART,
    st.builds("{}.{}".format, _DIGITS, _DIGITS),
    st.builds(".{}".format, _DIGITS),
    st.builds("{}{}{}".format, _DIGITS, st.sampled_from([" ", "-", "", "  ", " - "]), _PART),
)
_MARK = st.sampled_from(
    ["mm", "cm", "m", "in", "inch", "inches", '"', "''", "'", "ft", "foot", "feet", "thou", "IN", "M", "mn", ""]
)
_GAP = st.sampled_from(["", " ", "  ", "-"])
_WRITTEN = st.builds("{}{}{}{}".format, st.sampled_from(["", "-", "+", " "]), _AMOUNT, _GAP, _MARK)
_FEET = st.builds(
    "{}{}{}{}{}".format, _AMOUNT, st.sampled_from(["'", " ft", "ft "]), _GAP, _AMOUNT, st.sampled_from(['"', " in", ""])
)


@settings(max_examples=600, deadline=None)
@given(st.one_of(_WRITTEN, _FEET, st.text("0123456789 /-.'\"inmcft½⅜,", max_size=14)))
def test_both_parsers_agree_or_both_refuse(text: str) -> None:
    assert first_parser(text) == second_parser(text)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=80))
def test_any_text_is_a_quantity_or_a_fault(text: str) -> None:
    for read in (parse_length, parse_angle, parse_number, parse_count):
        try:
            assert isinstance(read(text), Quantity)
        except QuantityFault as fault:
            assert fault.what
            assert fault.cure


# -- writing


@settings(max_examples=300, deadline=None)
@given(st.integers(-99_999_999, 99_999_999))
def test_millimetres_print_and_parse_back(thousandths: int) -> None:
    text = format_mm(thousandths / 1000)
    assert parse_length(text).value == Fraction(thousandths, 1000)


@given(st.integers(-64 * 40, 64 * 40))
def test_sixty_fourths_print_and_parse_back(sixty_fourths: int) -> None:
    shown = format_inch(sixty_fourths * 25.4 / 64)
    decimal, _, fraction = shown.partition(" in")
    assert abs(float(decimal) - sixty_fourths / 64) <= 0.0005 + 1e-12
    exact = f"{fraction.strip(' ()')} in" if fraction else f"{float(decimal):.0f} in"
    assert parse_length(exact).value == Fraction(sixty_fourths, 64) * Fraction(254, 10)


# Fractions and millimetres as in any published table of decimal equivalents; worked by hand.
@pytest.mark.parametrize(
    ("mm", "shown"),
    [
        (12.7, "0.500 in (1/2)"),
        (63.5, "2.500 in (2 1/2)"),
        (-9.525, "-0.375 in (-3/8)"),
        (25.4, "1.000 in"),
        (0.0, "0.000 in"),
        (-0.0, "0.000 in"),
        (3.0, "0.118 in"),
        (10.3, "0.406 in (about 13/32)"),  # 13/32 in = 10.31875 mm, 0.019 mm away
        (10.29, "0.405 in"),  # 0.029 mm away
        (25.41, "1.000 in (about 1)"),
    ],
)
def test_inches_show_a_fraction_only_when_near(mm: float, shown: str) -> None:
    assert format_inch(mm) == shown


def test_millimetres_have_no_idle_zeros() -> None:
    assert [format_mm(value) for value in (12.7, 12.0, 100.0, -0.0001, 0.0005001)] == [
        "12.7 mm",
        "12 mm",
        "100 mm",
        "0 mm",
        "0.001 mm",
    ]


def test_echo_shows_what_was_read_and_typed() -> None:
    assert parse_length("2 1/2 in").echo == "63.5 mm (typed 2 1/2 in)"
    assert parse_length("12.7 mm").echo == "12.7 mm"
    assert parse_angle("90").echo == "90 deg (typed 90)"
    assert parse_count("4").echo == "4"


# -- nearest word


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("thicknes", "thickness"),
        ("tihckness", "thickness"),
        ("radus", "radius"),
        ("thickness", "thickness"),
        ("zzz", None),
    ],
)
def test_nearest_word(word: str, near: str | None) -> None:
    assert nearest_word(word, ["radius", "thickness", "width"]) == near


def test_nearest_word_of_nothing() -> None:
    assert nearest_word("mm", []) is None
