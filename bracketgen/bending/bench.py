"""The sums a fabricator does at the bench: one bend's figures, the flat of a strip, and where its lines go."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from bracketgen.bending.allowance import AllowanceChoice, BendMetal, bend_metal
from bracketgen.bending.setback import BendFault, SizeReference, distance_to_tangent_mm
from bracketgen.tolerances import SAME_POINT_MM


@dataclass(frozen=True, slots=True)
class BenchQuestion:
    """Sheet and bend, and if a flat is wanted the legs of the strip in order; mm, degrees from flat.

    Every bend of the strip has the same turn and inside radius; each may go up or down. All legs are measured
    to `reference` at each of their bends, from the free edge at the ends.
    """

    method: AllowanceChoice
    thickness_mm: float
    inside_radius_mm: float
    turn_deg: float
    legs_mm: tuple[float, ...] = ()
    reference: SizeReference = SizeReference.OUTSIDE


@dataclass(frozen=True, slots=True)
class BendLines:
    """Lines of one bend on the flat, mm from the strip's first edge.

    The sight line stands right below the nose of a leaf brake: one inside radius from the tangent line that goes
    under the nose, towards the bend. Which tangent line that is depends on the side that is clamped. In bends
    turned little it can lie beyond the other tangent line. Source: FAA-H-8083-31, chapter 4 (from memory).
    """

    first_tangent_mm: float
    centre_mm: float
    second_tangent_mm: float
    sight_first_side_clamped_mm: float
    sight_second_side_clamped_mm: float


@dataclass(frozen=True, slots=True)
class BenchAnswer:
    """Figures of the bend; with legs also the straight length of each, the flat, and every bend's lines.

    `setback_mm`, `deduction_mm` = 2 x setback - allowance, and the flat go by the question's reference, all three.
    """

    bend: BendMetal
    setback_mm: float
    deduction_mm: float
    straights_mm: tuple[float, ...]
    flat_mm: float | None
    lines: tuple[BendLines, ...]


def answer_bench(question: BenchQuestion) -> BenchAnswer:
    """Work out a bench question.

    flat = straights + allowance x bends, where a straight is a leg less the distance from its reference to the
    tangent line, once for each of its bends. Raises BendFault for what the method refuses, for a single leg, and
    for a leg that has no straight metal left.
    Source: FAA-H-8083-31 volume 1, chapter 4 (flat = size - setback; total = flats + allowances).
    """
    q = question
    bend = bend_metal(q.method, q.inside_radius_mm, q.thickness_mm, q.turn_deg)
    setback = distance_to_tangent_mm(q.reference, q.inside_radius_mm, q.thickness_mm, q.turn_deg)
    deduction = 2.0 * setback - bend.allowance_mm
    if not q.legs_mm:
        return BenchAnswer(bend, setback, deduction, (), None, ())
    straights = _straights_mm(q, setback)
    flat = sum(straights) + bend.allowance_mm * (len(straights) - 1)
    lines = _lines(straights, bend.allowance_mm, q.inside_radius_mm)
    return BenchAnswer(bend, setback, deduction, straights, flat, lines)


def _straights_mm(question: BenchQuestion, off: float) -> tuple[float, ...]:
    q = question
    if len(q.legs_mm) < 2:
        raise BendFault("a single leg has no bend", "give the legs in order, two or more")
    last = len(q.legs_mm) - 1
    straights = tuple(leg - off * (1 if number in (0, last) else 2) for number, leg in enumerate(q.legs_mm))
    for number, (leg, straight) in enumerate(zip(q.legs_mm, straights, strict=True), start=1):
        if not (isfinite(straight) and straight > SAME_POINT_MM):
            raise BendFault(
                f"leg {number} ({leg:g} mm {q.reference}) has no straight metal left: {straight:.2f} mm "
                f"after {leg - straight:.2f} mm for its bends",
                "make the leg longer or the inside radius smaller",
            )
    return straights


def _lines(straights: tuple[float, ...], allowance_mm: float, inside_radius_mm: float) -> tuple[BendLines, ...]:
    lines = []
    edge = 0.0
    for straight in straights[:-1]:
        first = edge + straight
        edge = first + allowance_mm
        lines.append(
            BendLines(
                first_tangent_mm=first,
                centre_mm=first + allowance_mm / 2.0,
                second_tangent_mm=edge,
                sight_first_side_clamped_mm=first + inside_radius_mm,
                sight_second_side_clamped_mm=edge - inside_radius_mm,
            )
        )
    return tuple(lines)
