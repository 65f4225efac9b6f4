"""Numbers as they stand on a drawing."""

from __future__ import annotations

from bracketgen.units import MM_PER_INCH


def plain(value: float, places: int = 2) -> str:
    """At most `places` decimals, no idle zeros, no minus zero."""
    digits = f"{value:.{places}f}"
    digits = digits.rstrip("0").rstrip(".") if "." in digits else digits
    return "0" if digits in ("-0", "") else digits


def inches(mm: float, places: int = 2) -> str:
    """A length in inch with fixed decimals, without the unit."""
    return f"{mm / float(MM_PER_INCH):.{places}f}"
