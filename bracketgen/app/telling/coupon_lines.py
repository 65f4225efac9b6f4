"""What to do with a test strip, and what it said."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bracketgen.app.telling.speech import Tone, toned, wrapped
from bracketgen.bending.measured_strip import CALLIPER_MM, PROTRACTOR_DEG, RADIUS_GAUGE_MM, THICKNESS_MM
from bracketgen.units import format_inch, format_mm

if TYPE_CHECKING:
    from bracketgen.app.asking.coupon_question import CouponAsked
    from bracketgen.shop.coupon import CouponAnswer


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
    from bracketgen.shop.coupon import Scatter

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
