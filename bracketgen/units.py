"""Quantities as people write them: an exact value, what kind it is, and the words that were typed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

#: One inch, exact: NIST SP 811 (2008), appendix B.8, "inch".
MM_PER_INCH: Final = Fraction(254, 10)
#: The same for figures that need not be exact.
INCH_MM: Final = float(MM_PER_INCH)
#: One pound in kg, exact: NIST SP 811 (2008), appendix B.8, "pound (avoirdupois)".
KG_PER_LB: Final = 0.45359237

#: Limits of sense (common practice, no source): a bracket is never near them, a slip often is.
LONGEST_MM: Final = 100_000
WIDEST_DEG: Final = 3_600
LARGEST_NUMBER: Final = 10**12
LARGEST_COUNT: Final = 100_000
LONGEST_TEXT: Final = 64

#: A decimal inch this near to a 64th is shown with its fraction too (common practice, no source).
NEAR_FRACTION_MM: Final = 0.02


class Kind(StrEnum):
    """What a quantity measures."""

    LENGTH = "length"
    ANGLE = "angle"
    NUMBER = "number"
    COUNT = "count"


class LengthUnit(StrEnum):
    """The unit of the bare numbers of a file."""

    MM = "mm"
    IN = "in"

    @property
    def in_mm(self) -> Fraction:
        """Exact length of the unit in mm."""
        return MM_PER_INCH if self is LengthUnit.IN else Fraction(1)


class QuantityFault(ValueError):
    """A text that can't be read as a quantity: `what` is wrong, the `cure`, the `column` (0 unknown)."""

    def __init__(self, what: str, cure: str = "", column: int = 0) -> None:
        self.what = what
        self.cure = cure
        self.column = column
        super().__init__(f"{what}; {cure}" if cure else what)


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact value: mm for a length, degrees for an angle; `typed` is what the person wrote."""

    value: Fraction
    kind: Kind
    typed: str

    @property
    def number(self) -> float:
        """The value as a float: mm, degrees, or plain."""
        return float(self.value)

    @property
    def echo(self) -> str:
        """The value as read, beside what was typed: `63.5 mm (typed 2 1/2 in)`."""
        said = {Kind.LENGTH: format_mm(self.number), Kind.ANGLE: f"{plain(self.number, 3)} deg"}
        shown = said.get(self.kind, plain(self.number, 3))
        return shown if shown == self.typed else f"{shown} (typed {self.typed})"


# -- grammar

#: One character for one character, so that columns stay right.
_SAME_AS: Final = str.maketrans(
    {"″": '"', "“": '"', "”": '"', "′": "'", "‘": "'", "’": "'", "⁄": "/", "\t": " ", "º": "°"}
    | dict.fromkeys("−‐‑–", "-")
    | dict.fromkeys("\u00a0\u2009\u202f", " ")
)

_SIGNS: Final = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3"}
_SIGNS.update({"⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"})
ONE_SIGN: Final = f"[{''.join(_SIGNS)}]"

#: Patterns of an amount; shared with arithmetic, where the hyphen of `2-1/2` is a minus instead.
DECIMAL: Final = r"(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
FRACTION: Final = rf"(?:[0-9]+/[0-9]+|{ONE_SIGN})"
SPACED_MIXED: Final = rf"(?:[0-9]+ +{FRACTION}|[0-9]+{ONE_SIGN})"
_AMOUNT: Final = rf"(?:{SPACED_MIXED}|[0-9]+-{FRACTION}|{FRACTION}|{DECIMAL})"
FOOT_MARK: Final = r"(?:ft|foot|feet|')"
INCH_MARK: Final = r"""(?:inches|inch|in|''|")"""

_FLAGS: Final = re.IGNORECASE | re.ASCII
#: Patterns as text: `re` keeps them once they are used, and a command that reads no quantity never pays for them.
_FEET_INCH: Final = rf"([0-9]+) *{FOOT_MARK}(?: *|-)({_AMOUNT}) *{INCH_MARK}"
_WITH_UNIT: Final = rf"({_AMOUNT})(?: *([^0-9 ].*))?"
_MIXED: Final = rf"(?:([0-9]+)(?: +|-|(?={ONE_SIGN})))?([0-9]+/[0-9]+)"
_GAUGE: Final = r"([0-9]{1,2}) *(?:ga\.?|gauge|gage)"

LENGTH_UNITS: Final[dict[str, Fraction]] = (
    {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000)}
    | dict.fromkeys(("in", "inch", "inches", '"', "''"), MM_PER_INCH)
    | dict.fromkeys(("ft", "foot", "feet", "'"), 12 * MM_PER_INCH)
    | {"thou": MM_PER_INCH / 1000}
)
ANGLE_UNITS: Final = ("deg", "degree", "degrees", "°")

#: Words that are not units here, and what to write instead.
_OTHER_UNITS: Final = (
    dict.fromkeys(("millimetre", "millimeter", "millimetres", "millimeters", "mms"), "mm")
    | dict.fromkeys(("centimetre", "centimeter", "centimetres", "centimeters"), "cm")
    | dict.fromkeys(("metre", "meter", "metres", "meters"), "m")
    | {"ins": "in", "in.": "in", "ft.": "ft", "thous": "thou"}
    | dict.fromkeys(("mil", "mils"), "thou (1/1000 inch) or mm")
)


def plain_signs(text: str) -> str:
    """`text` with typographic quotes, primes, hyphens and spaces as plain ones, character for character."""
    return text.translate(_SAME_AS)


def amount(text: str) -> Fraction:
    """Exact value of `12.7`, `3/8`, `2 1/2`, `2-1/2` or `2½`, which the caller has matched already.

    Raises QuantityFault for a zero under the line, or a mixed fraction that is not below one.
    """
    spelt = "".join(_SIGNS.get(sign, sign) for sign in _apart(text))
    mixed = re.fullmatch(_MIXED, spelt)
    if mixed is None:
        return Fraction(spelt)
    top, bottom = (int(part) for part in mixed[2].split("/"))
    if bottom == 0:
        raise QuantityFault(f"{mixed[2]} has a zero under the line", "write a fraction such as 3/8")
    if mixed[1] and top >= bottom:
        raise QuantityFault(f"the fraction in {text!r} is not below one", "write one such as 2 1/2")
    return int(mixed[1] or 0) + Fraction(top, bottom)


def _apart(text: str) -> str:
    """`2½` as `2 ½`, so that the digits don't run together."""
    return re.sub(rf"(?<=[0-9])(?={ONE_SIGN})", " ", text)


# -- reading


def parse_length(text: str, bare_unit: LengthUnit | None = None) -> Quantity:
    """A length from `12.7 mm`, `2 1/2 in`, `2-1/2"`, `3/8in`, `1' 2-1/2"`, `40 thou`, ..., exact in mm.

    A number without unit is read in `bare_unit`, and refused when that is None. At most 100 m.
    Raises QuantityFault.
    """
    sign, body = _body(text, Kind.LENGTH)
    both = re.fullmatch(_FEET_INCH, body, _FLAGS)
    value = _feet_and_inches(both[1], both[2]) if both else _one_length(body, bare_unit)
    return checked(sign * value, Kind.LENGTH, text.strip())


def _feet_and_inches(feet: str, inches: str) -> Fraction:
    rest = amount(inches)
    if rest >= 12:
        raise QuantityFault(f"{inches} inches after the feet make a foot or more", "write inches below 12")
    return (12 * int(feet) + rest) * MM_PER_INCH


def _one_length(body: str, bare_unit: LengthUnit | None) -> Fraction:
    found = re.fullmatch(_WITH_UNIT, body)
    if found is None:
        raise _refusal(body, Kind.LENGTH)
    if found[2]:
        return _length_unit(found[2], body) * amount(found[1])
    if bare_unit is None:
        raise QuantityFault(f"{body!r} has no unit", f"write {body} mm or {body} in")
    return amount(found[1]) * bare_unit.in_mm


def _length_unit(word: str, body: str) -> Fraction:
    factor = LENGTH_UNITS.get(word.lower() if len(word) > 1 else word)
    if factor is not None:
        return factor
    special = _special_refusal(body)
    if special:
        raise special
    if word.lower() in ANGLE_UNITS:
        raise QuantityFault(f"{body!r} is an angle, here a length is wanted", "write it as 12.7 mm")
    raise QuantityFault(f"{word!r} in {body!r} is no unit of length", unit_advice(word))


def unit_advice(word: str) -> str:
    """What to write instead of `word` where a unit of length should stand."""
    near = nearest_word(word.lower(), (*LENGTH_UNITS, *_OTHER_UNITS))
    if near is None:
        return "write mm, cm, m, in, ft or thou"
    return f"write {_OTHER_UNITS.get(near, near)}"


def parse_angle(text: str) -> Quantity:
    """An angle in degrees from `90`, `90 deg`, `22 1/2 deg`, `90°`; at most 3600. Raises QuantityFault."""
    sign, body = _body(text, Kind.ANGLE)
    found = re.fullmatch(_WITH_UNIT, body)
    if found is None:
        raise _refusal(body, Kind.ANGLE)
    if found[2] and found[2].lower() not in ANGLE_UNITS:
        special = _special_refusal(body)
        raise special or QuantityFault(f"{found[2]!r} in {body!r} is no unit of angle", "write deg, or no unit")
    return checked(sign * amount(found[1]), Kind.ANGLE, text.strip())


def parse_number(text: str) -> Quantity:
    """A number without unit from `0.44`, `1/3`, `2 1/2`. Raises QuantityFault."""
    return _bare(text, Kind.NUMBER)


def parse_count(text: str) -> Quantity:
    """A whole number, zero or more, from `4`. Raises QuantityFault. At most 100 000."""
    return _bare(text, Kind.COUNT)


def _bare(text: str, kind: Kind) -> Quantity:
    sign, body = _body(text, kind)
    found = re.fullmatch(_WITH_UNIT, body)
    if found is None:
        raise _refusal(body, kind)
    if found[2]:
        unit = QuantityFault(f"{body!r} has a unit, here a {kind} is wanted", "leave the unit out")
        raise _special_refusal(body) or unit
    return checked(sign * amount(found[1]), kind, text.strip())


def parse_gauge(text: str) -> int | None:
    """The gauge number in `11 ga`, `11ga`, `11 gauge`; None when the text names no gauge.

    What it is in mm depends on the metal (see the gauge tables).
    """
    found = re.fullmatch(_GAUGE, plain_signs(text).strip(), _FLAGS)
    return int(found[1]) if found else None


def checked(value: Fraction, kind: Kind, typed: str) -> Quantity:
    """A quantity within the limits of sense; raises QuantityFault outside them and for a count not whole."""
    if kind is Kind.COUNT and (value.denominator != 1 or value < 0):
        raise QuantityFault(f"{typed!r} is not a whole number of zero or more", "write a count such as 4")
    most, unit = {
        Kind.LENGTH: (LONGEST_MM, " mm"),
        Kind.ANGLE: (WIDEST_DEG, " deg"),
        Kind.NUMBER: (LARGEST_NUMBER, ""),
        Kind.COUNT: (LARGEST_COUNT, ""),
    }[kind]
    if abs(value) > most:
        raise QuantityFault(f"{_short(typed)} is out of all proportion", f"at most {most}{unit}")
    return Quantity(value, kind, typed)


# -- refusals


def _body(text: str, kind: Kind) -> tuple[int, str]:
    """Sign and the rest, in plain signs; refuses what is empty or endless."""
    clean = plain_signs(text).strip()
    if not clean:
        raise QuantityFault(f"an empty text is no {kind}", _example(kind))
    if len(clean) > LONGEST_TEXT:
        raise QuantityFault(f"{_short(clean)} is too long for a {kind}", _example(kind))
    if clean[0] in "+-":
        return (-1 if clean[0] == "-" else 1), clean[1:]
    return 1, clean


_MINUS_CURE: Final = "write {1} {2} for a mixed fraction; to subtract, use round brackets and a unit on both"

#: Pattern of what people write, what is wrong with it, what to write; `{0}` is the text, `{1}` group 1.
_SLIPS: Final = (
    (r"([0-9]+),([0-9]{3})\b(.*)", "{0} has a comma", "write {1}{2}{3} or {1}.{2}{3}"),
    (r"([0-9]*),([0-9]+)(.*)", "{0} has a comma", "write {1}.{2}{3}"),
    (r"([0-9.]+)_.*", "{0} has an underscore", "write the digits without it"),
    (r"0x.*", "{0} is not a decimal number", "write it as 12.7"),
    (r"[0-9.]+e[+-]?[0-9]+.*", "{0} has an exponent", "write all the digits, such as 0.001"),
    (r"(nan|inf|infinity)\b.*", "{0} is not a number", "write a number"),
    (r"([0-9]+)\.( .*|[^0-9].*)?", "{0} has a point and no digit after it", "write {1}{2} or {1}.0{2}"),
    (r"([0-9]+) +[0-9]{3}\b.*", "{0} has a gap within a number", "write the digits without it"),
    (r"(.*[0-9]) *(?: /|/ ) *([0-9].*)", "{0} has a gap beside the stroke", "write {1}/{2}"),
    (r"(.*[0-9].*?) *(?: -|- ) *([0-9].*)", "{0} is unclear", _MINUS_CURE),
    (r"[0-9]+ *(ga\.?|gauge|gage)", "{0} is a gauge, which is no length by itself", "write mm or in"),
    (r".*[0-9]\.[0-9]+[ -]+[0-9]+/.*", "{0} mixes a decimal with a fraction", "write one of the two"),
    (r"[0-9.]+ *(ft|foot|feet|') *[0-9].*", "{0} is not feet and inches", "write it as 1 ft 2 1/2 in"),
    (r".*[0-9].*[*+].*", "{0} looks like arithmetic", "put the whole in round brackets: ({0})"),
    (r"[+-].*", "{0} has a second sign", "write one minus, or none"),
)


def _special_refusal(body: str) -> QuantityFault | None:
    """The fault of a slip that people often make, or None."""
    for pattern, what, cure in _SLIPS:
        found = re.fullmatch(pattern, body, _FLAGS)
        if found:
            groups = [group or "" for group in found.groups()]
            return QuantityFault(what.format(repr(body), *groups), cure.format(body, *groups))
    return None


def _refusal(body: str, kind: Kind) -> QuantityFault:
    unread = QuantityFault(f"{_short(body)} can't be read as a {kind}", _example(kind))
    return _special_refusal(body) or unread


def _example(kind: Kind) -> str:
    return {
        Kind.LENGTH: "write a number and a unit, such as 12.7 mm, 2 1/2 in or 3/8 in",
        Kind.ANGLE: "write degrees, such as 90 or 90 deg",
        Kind.NUMBER: "write a number, such as 0.44",
        Kind.COUNT: "write a whole number, such as 4",
    }[kind]


def _short(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:37] + "...")


# -- nearest word


def nearest_word(word: str, choices: Iterable[str]) -> str | None:
    """The choice that needs the fewest slips (a letter lost, added, changed or swapped) to become `word`, in any case.

    None when every choice is farther than one slip, or a third of the word. First letters decide ties, then order:
    difflib counts letters in common, knows no swap and finds `m` for `mn` where `mm` stands first.
    """
    given = word.casefold()
    ranked = [(_slips(given, c.casefold()), c[:1].casefold() != given[:1], n, c) for n, c in enumerate(choices)]
    slips, _, _, best = min(ranked, default=(len(word) + 1, True, 0, ""))
    return best if slips <= max(1, len(word) // 3) and slips < max(len(word), len(best)) else None


def _slips(a: str, b: str) -> int:
    """Optimal string alignment distance (Levenshtein with swaps of neighbours)."""
    before: list[int] = []
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        before, last, row = row, before, [i]
        for j, y in enumerate(b, 1):
            best = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (x != y))
            if last and j > 1 and x == b[j - 2] and a[i - 2] == y:
                best = min(best, last[j - 2] + 1)
            row.append(best)
    return row[-1]


# -- writing


def plain(value: float, places: int = 2) -> str:
    """At most `places` decimals, no idle zeros, no minus zero, no exponent."""
    digits = f"{value:.{places}f}"
    digits = digits.rstrip("0").rstrip(".") if "." in digits else digits
    return "0" if digits == "-0" else digits


def inches(mm: float, places: int = 2) -> str:
    """A length in inch with fixed decimals, without the unit."""
    return f"{mm / INCH_MM:.{places}f}"


def format_mm(mm: float) -> str:
    """A length for people, in mm to 3 places without idle zeros: `12.7 mm`."""
    return f"{plain(mm, 3)} mm"


def format_inch(mm: float) -> str:
    """A length in decimal inch to 3 places, with the nearest 64th when within 0.02 mm of it.

    `0.500 in (1/2)`; a fraction that is near but not equal says so: `0.406 in (about 13/32)`.
    """
    inch = mm / INCH_MM
    decimal = f"{inch:.3f}"
    shown = f"{'0.000' if decimal == '-0.000' else decimal} in"
    sixty_fourths = round(abs(inch) * 64)
    gap_mm = abs(abs(mm) - sixty_fourths * INCH_MM / 64)
    if sixty_fourths == 0 or gap_mm > NEAR_FRACTION_MM or (sixty_fourths % 64 == 0 and gap_mm < 1e-9):
        return shown
    about = "about " if gap_mm >= 1e-9 else ""
    return f"{shown} ({about}{_spelt(sixty_fourths, '-' if mm < 0 else '')})"


def _spelt(sixty_fourths: int, sign: str) -> str:
    whole, rest = divmod(sixty_fourths, 64)
    return sign + " ".join(str(piece) for piece in (whole, Fraction(rest, 64)) if piece)


def meant(word: str, choices: Iterable[str], then: str = "", quote: str = "'") -> str:
    """A cure: whether the nearest of the choices was meant, where one is near; `then` follows."""
    near = nearest_word(word, choices)
    return f"did you mean {quote}{near}{quote}? {then}".rstrip() if near else then
