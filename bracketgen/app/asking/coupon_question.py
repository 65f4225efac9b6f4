"""From the words typed at `coupon` to the strip and its readings, with every fault in one run."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bracketgen.app.asking.option_reader import OptionReader
from bracketgen.bending.measured_strip import MeasuredStrip
from bracketgen.bending.setback import BendFault, check_stock, check_turn
from bracketgen.shop.coupon import Coupon, coupon
from bracketgen.standards.machines import Die, die
from bracketgen.standards.metals import Metal, gauge_mm, metal
from bracketgen.units import parse_angle, parse_gauge


@dataclass(frozen=True, slots=True)
class CouponTyped:
    """The options as they were typed."""

    metal: str
    thickness: str
    die: str | None
    radius: str | None
    turn: str
    measured: tuple[str, ...]
    measured_turn: str | None


@dataclass(frozen=True, slots=True)
class CouponAsked:
    """The strip, its bend (mm, degrees from flat) and, once some were bent, their readings."""

    metal: Metal
    thickness_mm: float
    die: Die | None
    radius_mm: float
    radius_measured: bool
    turn_deg: float
    strip: Coupon
    readings: tuple[MeasuredStrip, ...]


def coupon_question(typed: CouponTyped) -> CouponAsked:
    """Raises InputFaults with every fault of the options."""
    reader = OptionReader()
    kind = reader.attempt("--metal", lambda: metal(typed.metal))
    thickness = reader.attempt("--thickness", lambda: _thickness(typed, kind, reader))
    v = None if typed.die is None else reader.attempt("--die", lambda: die(reader.length(typed.die or "")))
    radius = _radius(typed, reader, v)
    turn = _turn(reader, "--turn", typed.turn)
    came = turn if typed.measured_turn is None else _turn(reader, "--measured-turn", typed.measured_turn)
    if typed.measured_turn is not None and not typed.measured:
        reader.fault("--measured-turn", "no legs were measured", "add --measured BLANK,LEG,LEG")
    lengths = [_three(reader, text) for text in typed.measured]
    reader.stop_if_any()
    assert kind is not None and thickness is not None and radius is not None and turn is not None and came is not None
    strip = _strip(reader, thickness, v)
    _check_radius(reader, radius, thickness, turn, strip)
    readings = tuple(MeasuredStrip(a, b, c, thickness, radius, came) for a, b, c in lengths)
    return CouponAsked(kind, thickness, v, radius, typed.radius is not None, turn, strip, readings)


def _check_radius(reader: OptionReader, radius: float, thickness: float, turn: float, strip: Coupon) -> None:
    """Raises InputFaults for a radius that no bend has, or that leaves nothing of the strip straight."""
    try:
        check_stock(radius, thickness)
    except BendFault as error:
        reader.fault("--radius", error.what, error.cure)
    # The longest that the neutral line can be, in the middle of the metal.
    arc = math.radians(turn) * (radius + thickness / 2.0)
    if arc >= strip.length_mm:
        what = f"round {radius:g} mm the bend alone takes {arc:.0f} mm, but the strip is {strip.length_mm:g} mm long"
        reader.fault("--radius", what, "give the inside radius of a bend, such as '5 mm'")
    reader.stop_if_any()


def _three(reader: OptionReader, text: str) -> tuple[float, ...]:
    """Length before bending and both legs."""
    had = len(reader.faults)
    lengths = reader.lengths("--measured", text)
    if len(reader.faults) == had and len(lengths) != 3:
        cure = "give the strip's length before bending and both legs over the outside: 150.1mm,77.9mm,77.8mm"
        reader.fault("--measured", f"it has {len(lengths)} lengths", cure)
    return lengths


def _strip(reader: OptionReader, thickness: float, v: Die | None) -> Coupon:
    try:
        return coupon(thickness, v.minimum_flange_mm if v else 0.0)
    except BendFault as error:
        reader.fault("--thickness", error.what, error.cure)
        reader.stop_if_any()
        raise


def _thickness(typed: CouponTyped, kind: Metal | None, reader: OptionReader) -> float:
    gauge = parse_gauge(typed.thickness)
    if gauge is None or kind is None:
        return reader.length(typed.thickness)
    return gauge_mm(gauge, kind.gauge_series).thickness_mm


def _radius(typed: CouponTyped, reader: OptionReader, v: Die | None) -> float | None:
    text = typed.radius
    if text is not None:
        return reader.attempt("--radius", lambda: reader.length(text))
    if typed.die is None:
        reader.fault("--radius", "nothing says the inside radius", "give --radius, or --die (its V opening)")
    return v.natural_radius_mm if v else None


def _turn(reader: OptionReader, option: str, text: str) -> float | None:
    turn = reader.attempt(option, lambda: parse_angle(text).number)
    try:
        if turn is not None:
            check_turn(turn)
    except BendFault as error:
        reader.fault(option, error.what, error.cure)
        return None
    return turn
