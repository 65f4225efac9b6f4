"""Find the shop's own K factor and deduction with a test strip.

First without --measured: the strip's cut file, and what to do. Then with --measured: what the strip says.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from bracketgen.bending.measured_strip import CALLIPER_MM, PROTRACTOR_DEG, RADIUS_GAUGE_MM, THICKNESS_MM, MeasuredStrip
from bracketgen.bending.setback import BendFault, check_stock, check_turn
from bracketgen.bending.shop_table import DeductionRow
from bracketgen.drawing.cut_sheet import coupon_sheet
from bracketgen.errors import Fault, InputFaults, Place
from bracketgen.files.disk import write_whole
from bracketgen.shop.coupon import Coupon, CouponAnswer, Scatter, read_coupons, with_row
from bracketgen.shop.coupon import coupon as strip_for
from bracketgen.standards.machines import Die
from bracketgen.standards.metals import Metal, gauge_mm
from bracketgen.standards.metals import metal as metal_row
from bracketgen.terminal.exits import stop
from bracketgen.terminal.named_files import folder_faults, read_text, write_files
from bracketgen.terminal.options import OptionReader
from bracketgen.terminal.screen import Tone, say, toned, wrapped
from bracketgen.units import format_inch, format_mm, parse_angle, parse_gauge

MetalWord = Annotated[str, typer.Option("--metal", help="As `bracketgen show metals` lists it.")]
Thickness = Annotated[str, typer.Option("--thickness", "-t", metavar="LENGTH", help="Measured: '3.95 mm', '11 ga'.")]
DieWord = Annotated[str | None, typer.Option("--die", metavar="LENGTH", help="V opening of the die it is bent over.")]
Radius = Annotated[str | None, typer.Option("--radius", "-r", metavar="LENGTH", help="Inside radius, measured.")]
Turn = Annotated[str, typer.Option("--turn", metavar="DEG", help="Turned from flat: 90 square.")]
Measured = Annotated[
    list[str] | None,
    typer.Option(
        "--measured",
        metavar="LENGTH,LEG,LEG",
        help="Before bending, then both legs outside, with units. Once for each strip: their mean is taken.",
    ),
]
MeasuredTurn = Annotated[
    str | None, typer.Option("--measured-turn", metavar="DEG", help="What the bend came out at.  [default: --turn]")
]
ShopTable = Annotated[Path | None, typer.Option("--shop-table", metavar="CSV", help="Where the answer is kept.")]
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the cut file goes.")]


def coupon(
    metal: MetalWord,
    thickness: Thickness,
    die: DieWord = None,
    radius: Radius = None,
    turn: Turn = "90",
    measured: Measured = None,
    measured_turn: MeasuredTurn = None,
    shop_table: ShopTable = None,
    out: Out = Path("out"),
) -> None:
    try:
        asked = _coupon_question(metal, thickness, die, radius, turn, measured or [], measured_turn)
        if not asked.readings:
            if shop_table is not None:
                raise InputFaults([Fault(Place("--shop-table"), "there is no answer to keep yet", "add --measured")])
            _write_strip(asked, out)
            return
        answer = read_coupons(asked.readings, asked.turn_deg)
        say(answer_lines(asked, answer))
        if shop_table is not None:
            _keep(asked, answer, shop_table)
            say(f'  kept in {shop_table}: name it in a description with allowance = "shop table"')
    except BendFault as error:
        stop([Fault(Place("--measured"), error.what, error.cure)])


def _write_strip(asked: CouponAsked, out: Path) -> None:
    """Raises InputFaults."""
    # What is measured on a strip is worked out without the library of cut files.
    from bracketgen.files.dxf import verified_dxf

    name = f"strip-{asked.metal.id}-{asked.thickness_mm:g}mm".replace("/", "-")
    (file,) = write_files({f"{name}.dxf": verified_dxf(coupon_sheet(asked.strip, name))}, out)
    say([*coupon_lines(asked), f"  cut file: {file}"])


def _keep(asked: CouponAsked, answer: CouponAnswer, table: Path) -> None:
    """Raises InputFaults."""
    if not answer.believable:
        what = f"K = {answer.k_factor:.3f} is no value of bent sheet"
        raise InputFaults([Fault(Place("--shop-table"), f"not kept: {what}", "measure again")])
    row = DeductionRow(
        asked.metal.id,
        asked.thickness_mm,
        asked.radius_mm,
        asked.die.opening_mm if asked.die else None,
        asked.turn_deg,
        answer.deduction_mm,
    )
    strips = "test strip" if len(asked.readings) == 1 else f"{len(asked.readings)} test strips"
    remark = f"{strips}: K {answer.k_factor:.3f} +/- {answer.k_bar:.3f}; +/- {answer.deduction_bar_mm:.2f} mm (95 %)"
    text = read_text(str(table), "table") if table.exists() else ""
    with folder_faults(table.parent):
        write_whole(table, with_row(text, str(table), row, remark).encode())


# From the words typed at `coupon` to the strip and its readings, with every fault in one run.


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


def _coupon_question(
    metal: str,
    thickness: str,
    die: str | None,
    radius: str | None,
    turn: str,
    measured: Sequence[str],
    measured_turn: str | None,
) -> CouponAsked:
    """Raises InputFaults with every fault of the options."""
    reader = OptionReader()
    kind = reader.attempt("--metal", lambda: metal_row(metal))
    # A gauge means a thickness once its metal is known; the wrong metal is told alone.
    gauge = parse_gauge(thickness) if kind is not None else None
    if kind is not None and gauge is not None:
        series = kind.gauge_series
        thick = reader.attempt("--thickness", lambda: gauge_mm(gauge, series).thickness_mm)
    else:
        thick = reader.attempt("--thickness", lambda: reader.length(thickness))
    inside, opening = reader.inside_radius(radius, die)
    turned = _turn(reader, "--turn", turn)
    came = turned if measured_turn is None else _turn(reader, "--measured-turn", measured_turn)
    if measured_turn is not None and not measured:
        reader.fault("--measured-turn", "no legs were measured", "add --measured BLANK,LEG,LEG")
    lengths = [_three(reader, text) for text in measured]
    reader.stop_if_any()
    assert kind is not None and thick is not None and inside is not None and turned is not None and came is not None
    try:
        strip = strip_for(thick, opening.minimum_flange_mm if opening else 0.0)
    except BendFault as error:
        raise InputFaults([Fault(Place("--thickness"), error.what, error.cure)]) from None
    _check_radius(reader, inside, thick, turned, strip)
    readings = tuple(MeasuredStrip(a, b, c, thick, inside, came) for a, b, c in lengths)
    return CouponAsked(kind, thick, opening, inside, radius is not None, turned, strip, readings)


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


def _turn(reader: OptionReader, option: str, text: str) -> float | None:
    turn = reader.attempt(option, lambda: parse_angle(text).number)
    try:
        if turn is not None:
            check_turn(turn)
    except BendFault as error:
        reader.fault(option, error.what, error.cure)
        return None
    return turn


# What to do with a test strip, and what it said.


def coupon_lines(asked: CouponAsked) -> list[str]:
    """The bench sheet: cut, measure, bend, measure again."""
    s = asked.strip
    steps = (
        f"Cut the strip, {format_mm(s.length_mm)} x {format_mm(s.width_mm)} ({format_inch(s.length_mm)} x "
        f"{format_inch(s.width_mm)}), from the sheet that the parts come from, turned to the grain as they lie. "
        "With its long side level and the cut corner at the upper right, its described face is up. Deburr it.",
        f"Measure its length on the long edge without the cut corner, and its thickness: here {format_mm(s.length_mm)} "
        f"and {format_mm(asked.thickness_mm)} are nominal. Write down what the calliper shows, to 0.1 mm and 0.02 mm.",
        f"Scribe a line across, {format_mm(s.bend_line_mm)} from an end, and bend on it, turn {asked.turn_deg:g} deg "
        f"({180 - asked.turn_deg:g} deg between the legs), with {_tool(asked)}.",
        "Measure the turn with a protractor, the inside radius with a radius gauge, and both legs over the outside: "
        "from the free end to the outer face of the other leg" + _beyond(asked.turn_deg) + ".",
        "Bend three strips; one that stands out from the others by more than 0.3 mm was misread.",
        "Then the same command again with --measured LENGTH,LEG,LEG once for each strip, and --shop-table FILE.csv to "
        "keep the answer.",
    )
    lines = [f"Test strip: {asked.metal.id}, {format_mm(asked.thickness_mm)}, turn {asked.turn_deg:g} deg"]
    for number, text in enumerate(steps, start=1):
        lines += wrapped(text, f"  {number}. ")
    return lines + wrapped("Cut edges are sharp: deburr. Keep fingers out of the brake.", "  Caution: ")


def _tool(asked: CouponAsked) -> str:
    radius = f"inside radius {format_mm(asked.radius_mm)}"
    return radius if asked.die is None else f"the {asked.die.opening_mm:g} mm V ({radius})"


def _beyond(turn_deg: float) -> str:
    if turn_deg == 90.0:
        return ""
    if turn_deg < 90.0:
        return ", both outer faces run on to the sharp corner where straight edges laid on them meet"
    return ", to the outermost reach of the arc"


def answer_lines(asked: CouponAsked, answer: CouponAnswer) -> list[str]:
    """K factor and deduction with their bars."""
    lines = [
        f"Test strip: {asked.metal.id}, {format_mm(asked.thickness_mm)}, {_tool(asked)}, turn {answer.turn_deg:g} deg",
        f"  K factor   {answer.k_factor:.3f} +/- {answer.k_bar:.3f}",
        f"  deduction  {answer.deduction_mm:.2f} mm +/- {answer.deduction_bar_mm:.2f} mm  "
        f"({format_inch(answer.deduction_mm)})",
    ]
    lines += wrapped(
        f"The bars hold 95 times of 100 where readings scatter with standard deviations of {CALLIPER_MM} mm (lengths), "
        f"{THICKNESS_MM} mm (thickness), {RADIUS_GAUGE_MM} mm (radius) and {PROTRACTOR_DEG} deg (turn)."
        + _strips(answer),
        "  ",
    )
    if not asked.radius_measured:
        lines += wrapped("The inside radius is the die chart's, not measured: K is no better than it.", "  ")
    if not answer.believable:
        lines += wrapped(f"K is {answer.strip.verdict.value}", f"  {toned('DOUBT', Tone.WARN)}: ")
    return lines


def _strips(answer: CouponAnswer) -> str:
    """What the single strips say of each other."""
    each = sorted(answer.deductions_mm)
    if len(each) < 2:
        return " One strip says nothing of how the sheets differ: bend three."
    said = f" {len(each)} strips: deductions as they came out from {each[0]:.2f} to {each[-1]:.2f} mm, "
    if answer.scatter is Scatter.AS_READ:
        return said + "which is no more than readings scatter."
    return said + (
        "more than readings usually scatter: the bars come from how the strips differ (Student's t). One that stands "
        "out by more than 0.3 mm was misread or cut from another sheet."
    )
