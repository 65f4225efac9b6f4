"""What is told about a part on the brake: the order with its figures, or what is in the way."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from bracketgen.app.telling.speech import wrapped

if TYPE_CHECKING:
    from bracketgen.shop.brake.plan import BrakePlan, BrakeStep

_INDENT: Final = "  "
_UNDER: Final = " " * 10


def brake_lines(plan: BrakePlan) -> list[str]:
    """The brake, then every step in order; for a plan that does not work the best beginning and what stopped it."""
    from bracketgen.drawing.brake.words import remarks

    lines = wrapped(plan.brake.title, f"{_INDENT}brake   ")
    if not plan.flat.strips:
        return [*lines, f"{_INDENT}this part has no bends"]
    if not plan.works:
        lines += wrapped(_best(plan), f"{_INDENT}order   ")
    for place, made in enumerate(plan.steps, 1):
        lines += _step(place, made)
    for remark in remarks(plan):
        lines += wrapped(remark, f"{_INDENT}note    ")
    return [*lines, *(line for said in plan.cautions for line in wrapped(f"{said}.", f"{_INDENT}caution "))]


def _best(plan: BrakePlan) -> str:
    what = "the search gave up after many tries" if plan.gave_up else "no order can be made with these tools"
    made = f"; as far as it goes: {len(plan.steps)} of {len(plan.flat.strips)} bends" if plan.steps else ""
    return what + made


def _step(place: int, made: BrakeStep) -> list[str]:
    """How the part lies, then the figures."""
    from bracketgen.drawing.brake.words import over_words, tool_words
    from bracketgen.drawing.marks.plain_numbers import plain

    bend, gauging = made.bend, made.gauging
    lies = f"{bend.id}: {plain(bend.turn_deg)}° {bend.way}, {made.face_up} up, {made.held_panel!r}"
    if gauging is None:
        where = f"under the clamp, sight line {plain(made.scribe.sight_mm, 1)} mm from its edge"
    elif gauging.distance_mm is None:
        where = f"to the back, by the scribed line {plain(made.scribe.edge_mm, 1)} mm from its edge"
    else:
        where = f"to the back gauge at {plain(gauging.distance_mm, 1)} mm"
    figures = [f"bend over to {over_words(made)}"]
    if made.force is not None:
        figures.append(f"about {plain(made.force.kn, 0)} kN ({plain(made.force.kn_per_m, 0)} kN/m)")
    figures.append(tool_words(made))
    return [*wrapped(f"{lies} {where}", f"{_INDENT}step {place:<3}"), *wrapped("; ".join(figures), _UNDER)]
