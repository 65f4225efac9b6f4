"""How much metal a bend takes from the flat, one function a formula.

The allowance is the length in the flat between a bend's two tangent lines. Every formula is the same in any
unit; here all lengths are mm, all turns degrees from flat. `bend_metal` answers for any of the methods.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import ceil, log10, pow, radians, tan
from typing import ClassVar, Final

from bracketgen.bending.measured_strip import KVerdict, MeasuredStrip, read_strip
from bracketgen.bending.setback import (
    LEAST_K,
    MOST_K,
    SQUARE_DEG,
    BendFault,
    allowance_bounds_mm,
    check_k,
    check_stock,
    check_turn,
    k_of_allowance,
    outside_setback_mm,
)
from bracketgen.bending.shop_table import SAME_THICKNESS_MM, SAME_TOOL_MM, DeductionTable

_HALF_TURN_DEG: Final = 180.0
_FULL_TURN_DEG: Final = 360.0


class Method(StrEnum):
    """The ways of finding an allowance, in the words a person writes."""

    K_FACTOR = "K factor"
    DIN_6935 = "DIN 6935"
    FAA = "FAA"
    HANDBOOK = "handbook"
    SHOP_TABLE = "shop table"
    TEST_STRIP = "test strip"


class HandbookRow(StrEnum):
    """The three rows of the handbook, by metal."""

    SOFT = "soft brass, soft copper"
    MEDIUM = "soft steel, aluminium, half-hard copper and brass"
    HARD = "cold-rolled steel, spring steel, bronze, hard copper"


@dataclass(frozen=True, slots=True)
class KFactor:
    """Allowance by a K factor, 0.25 to 0.50: neutral line from the inside face, divided by the thickness."""

    method: ClassVar[Method] = Method.K_FACTOR
    k: float


@dataclass(frozen=True, slots=True)
class Din6935:
    """Allowance by DIN 6935, steel."""

    method: ClassVar[Method] = Method.DIN_6935


@dataclass(frozen=True, slots=True)
class Faa:
    """Allowance by the formula of the FAA handbooks, aluminium alloy aircraft sheet."""

    method: ClassVar[Method] = Method.FAA


@dataclass(frozen=True, slots=True)
class Handbook:
    """Allowance by Machinery's Handbook, by row of metals."""

    method: ClassVar[Method] = Method.HANDBOOK
    row: HandbookRow


@dataclass(frozen=True, slots=True)
class ShopTable:
    """Allowance from the shop's own deductions: the table's word for the metal, and the die if it matters."""

    method: ClassVar[Method] = Method.SHOP_TABLE
    table: DeductionTable
    metal: str
    die_mm: float | None = None


@dataclass(frozen=True, slots=True)
class FromStrip:
    """Allowance by the K factor of a strip bent from the same sheet with the same tool."""

    method: ClassVar[Method] = Method.TEST_STRIP
    strip: MeasuredStrip


AllowanceChoice = KFactor | Din6935 | Faa | Handbook | ShopTable | FromStrip


@dataclass(frozen=True, slots=True)
class BendMetal:
    """What one bend takes, mm, and on whose word.

    `allowance_mm` lies in the flat between the tangent lines; it is the value that flats are built from.
    `setback_mm` is the outside setback: (R + t) tan(turn / 2) up to 90 deg, R + t above.
    `deduction_mm` = 2 x setback - allowance comes off the sum of two outside sizes. Up to 90 deg those sizes
    run to the sharp outer corner; above 90 deg to the outermost reach of the arc, as in DIN 6935, where the
    deduction can fall below 0. `k_factor` is the K factor that would give the same allowance; methods not built
    on one (DIN 6935 in very open bends, a shop table) may show a value outside 0.25 to 0.50.
    """

    allowance_mm: float
    deduction_mm: float
    setback_mm: float
    k_factor: float
    formula: str
    source: str


def k_factor_allowance_mm(k: float, inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> float:
    """Arc of the neutral line, mm: pi / 180 x turn x (R + K t).

    Valid for 0.25 <= K <= 0.50, 0 < turn <= 360; raises BendFault outside.
    Source: definition of the neutral line; printed so in M. P. Groover, Fundamentals of Modern Manufacturing,
    sheet-metal chapter (from memory).
    """
    check_k(k)
    check_stock(inside_radius_mm, thickness_mm)
    check_turn(turn_deg, _FULL_TURN_DEG)
    return radians(turn_deg) * (inside_radius_mm + k * thickness_mm)


def faa_allowance_mm(inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> float:
    """Empirical allowance, mm: (0.01743 R + 0.0078 t) x turn.

    0.01743 stands for pi / 180 = 0.017453 as printed; 0.0078 amounts to K = 0.447. Valid for 0 < turn <= 180
    (printed for 1 to 180 deg); raises BendFault outside.
    Source: FAA AC 43.13-1B, chapter 4; FAA-H-8083-31 volume 1, chapter 4.
    """
    check_stock(inside_radius_mm, thickness_mm)
    check_turn(turn_deg, _HALF_TURN_DEG)
    return (0.01743 * inside_radius_mm + 0.0078 * thickness_mm) * turn_deg


#: Share of the thickness in a 90 deg bend. Source: Machinery's Handbook, 31st ed., p. 1421, formulas 32-34.
_HANDBOOK_SHARE: Final = {HandbookRow.SOFT: 0.55, HandbookRow.MEDIUM: 0.64, HandbookRow.HARD: 0.71}


def handbook_allowance_mm(row: HandbookRow, inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> float:
    """(c t + 1.57 R) x turn / 90, mm, with c = 0.55, 0.64 or 0.71 by metal.

    For parts bent with simple tools or on the bench, says the source. Valid for 0 < turn <= 180 (its own
    example bends 180 deg); raises BendFault outside.
    Source: Machinery's Handbook, 31st ed., p. 1421, formulas 32 to 34 and the paragraph on other angles.
    """
    check_stock(inside_radius_mm, thickness_mm)
    check_turn(turn_deg, _HALF_TURN_DEG)
    return (_HANDBOOK_SHARE[row] * thickness_mm + 1.57 * inside_radius_mm) * turn_deg / 90.0


def din_6935_correction(inside_radius_mm: float, thickness_mm: float) -> float:
    """Correction factor k = 0.65 + 0.5 log10(r / s), at most 1; the neutral line lies at r + k s / 2.

    Refused (BendFault) where k falls below 0.5, that is for r below 0.501 s: the logarithm runs to minus
    infinity there, K would leave 0.25 to 0.50, and the smallest radii that the standard permits are about s.
    Source: DIN 6935, as reproduced in Tabellenbuch Metall (Europa).
    """
    check_stock(inside_radius_mm, thickness_mm)
    ratio = inside_radius_mm / thickness_mm
    k = 0.65 + 0.5 * log10(ratio) if ratio > 0.0 else float("-inf")
    if k / 2.0 < LEAST_K:
        raise BendFault(
            f"DIN 6935 has no answer for inside radius {inside_radius_mm:g} mm in {thickness_mm:g} mm metal",
            f"its correction holds from {_din_least_radius_mm(thickness_mm):.2f} mm up; give a K factor, "
            "or bend a test strip",
        )
    return min(k, 1.0)


def _din_least_radius_mm(thickness_mm: float) -> float:
    """Where the correction reaches K = 0.25, rounded up to a hundredth of a mm so that it is accepted."""
    return ceil(100.0 * thickness_mm * pow(10.0, (2.0 * LEAST_K - 0.65) / 0.5)) / 100.0


#: Bends less turned than this (faces more than 165 deg apart) have v = 0 in DIN 6935.
_DIN_NEGLECTED_TURN_DEG: Final = 15.0


def din_6935_deduction_mm(inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> float:
    """Compensation value v, mm, to be taken off the sum of two outside sizes.

    Faces 0 to 90 deg apart (turn 90 and more): v = 2 (r + s) - turn (r + k s / 2), sizes to the outermost
    reach.
    Over 90 to 165 deg apart: v = 2 (r + s) tan(turn / 2) - turn (r + k s / 2), sizes to the sharp corner.
    Over 165 deg apart (turn below 15): v = 0, which the standard calls negligible; by the formula before it
    would be about 0.18 s at r = s just below a turn of 15 deg. `turn` in the formulas is in radians.
    Valid for r >= 0.501 s, 0 < turn <= 180; raises BendFault outside. Source: as din_6935_correction.
    """
    k = din_6935_correction(inside_radius_mm, thickness_mm)
    check_turn(turn_deg, _HALF_TURN_DEG)
    if turn_deg < _DIN_NEGLECTED_TURN_DEG:
        return 0.0
    turn = radians(turn_deg)
    arc = turn * (inside_radius_mm + k * thickness_mm / 2.0)
    corner = tan(turn / 2.0) if turn_deg < SQUARE_DEG else 1.0
    return 2.0 * (inside_radius_mm + thickness_mm) * corner - arc


def din_6935_allowance_mm(inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> float:
    """Allowance that belongs to v, mm: 2 x outside setback - v. As din_6935_deduction_mm, turn below 180."""
    deduction = din_6935_deduction_mm(inside_radius_mm, thickness_mm, turn_deg)
    return 2.0 * outside_setback_mm(inside_radius_mm, thickness_mm, turn_deg) - deduction


def shop_table_allowance_mm(choice: ShopTable, inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> float:
    """Allowance that belongs to the shop's deduction, mm: 2 x outside setback - deduction.

    Raises BendFault when the table does not hold the bend (see DeductionTable.look_up).
    """
    deduction = choice.table.look_up(choice.metal, thickness_mm, inside_radius_mm, turn_deg, choice.die_mm)
    return 2.0 * outside_setback_mm(inside_radius_mm, thickness_mm, turn_deg) - deduction


def strip_k(strip: MeasuredStrip, inside_radius_mm: float, thickness_mm: float) -> float:
    """The strip's K factor, for a bend of the same sheet (0.05 mm) and the same tool (0.1 mm in radius).

    Raises BendFault for another sheet or tool, or when K lies outside 0.25 to 0.50 by more than its error
    bar; inside the error bar it is used as measured, never moved into the range.
    """
    if (
        abs(strip.thickness_mm - thickness_mm) > SAME_THICKNESS_MM
        or abs(strip.inside_radius_mm - inside_radius_mm) > SAME_TOOL_MM
    ):
        raise BendFault(
            f"the test strip was {strip.thickness_mm:g} mm thick, inside radius {strip.inside_radius_mm:g} "
            f"mm; this bend is {thickness_mm:g} mm, inside radius {inside_radius_mm:g} mm",
            "bend a strip of this sheet with this tool",
        )
    answer = read_strip(strip)
    if answer.verdict is KVerdict.OUT_OF_RANGE:
        raise BendFault(
            f"the test strip gives K = {answer.k_factor:.3f} +- {answer.k_error:.3f}, outside "
            f"{LEAST_K:.2f} to {MOST_K:.2f}",
            "measure blank, legs and inside radius again, and what the legs were measured to",
        )
    return answer.k_factor


def bend_metal(method: AllowanceChoice, inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> BendMetal:
    """Allowance, deduction, setback and K of one bend by the chosen method, with formula and source.

    Valid for thickness > 0, inside radius >= 0, 0 < turn <= 135, and the method's own range; raises BendFault
    outside, and where the neutral line would lie outside the metal. Nothing is ever moved into range.
    """
    check_stock(inside_radius_mm, thickness_mm)
    check_turn(turn_deg)
    bend = (inside_radius_mm, thickness_mm, turn_deg)
    match method:
        case KFactor(k):
            formula = f"allowance = π/180 × turn × (R + K t), K = {k:g}"
            return _metal(k_factor_allowance_mm(k, *bend), bend, formula, "K factor as given")
        case Din6935():
            return _metal(din_6935_allowance_mm(*bend), bend, _din_formula(*bend), _DIN_SOURCE)
        case Faa():
            return _metal(faa_allowance_mm(*bend), bend, "allowance = (0.01743 R + 0.0078 t) × turn", _FAA_SOURCE)
        case Handbook(row):
            formula = f"allowance = ({_HANDBOOK_SHARE[row]:g} t + 1.57 R) × turn / 90 ({row})"
            return _metal(handbook_allowance_mm(row, *bend), bend, formula, _HANDBOOK_SOURCE)
        case ShopTable(table, metal):
            formula = f"deduction from the shop table for {metal}; allowance = 2 × setback - deduction"
            return _metal(shop_table_allowance_mm(method, *bend), bend, formula, f"shop table {table.name}")
        case FromStrip(strip):
            k = strip_k(strip, inside_radius_mm, thickness_mm)
            formula = f"allowance = π/180 × turn × (R + K t), K = {k:.4f} from the test strip"
            allowance = radians(turn_deg) * (inside_radius_mm + k * thickness_mm)
            return _metal(allowance, bend, formula, "test strip, own measurement")


_DIN_SOURCE: Final = "DIN 6935, as reproduced in Tabellenbuch Metall (Europa)"
_FAA_SOURCE: Final = "FAA AC 43.13-1B, chapter 4; FAA-H-8083-31 volume 1, chapter 4"
_HANDBOOK_SOURCE: Final = "Machinery's Handbook, 31st ed., p. 1421, formulas 32 to 34"


def _din_formula(inside_radius_mm: float, thickness_mm: float, turn_deg: float) -> str:
    """The range of DIN 6935 that this bend falls into, in words of turn."""
    if turn_deg < _DIN_NEGLECTED_TURN_DEG:
        return "v = 0 (DIN 6935 neglects bends turned less than 15 deg); allowance = 2 × setback"
    k = din_6935_correction(inside_radius_mm, thickness_mm)
    corner = " tan(turn / 2)" if turn_deg < SQUARE_DEG else ""
    # The standard's k counts in halves of the thickness: twice the K of the tables, which must not be mixed up.
    return (
        f"v = 2 (R + t){corner} - π/180 × turn × (R + k t/2), where the standard's k = {k:.3f} is 2 K; "
        "allowance = 2 × setback - v"
    )


def _metal(allowance_mm: float, bend: tuple[float, float, float], formula: str, source: str) -> BendMetal:
    """The answer around an allowance; refused when the neutral line would lie outside the metal."""
    least, most = allowance_bounds_mm(*bend)
    if not least <= allowance_mm <= most:
        raise BendFault(
            f"an allowance of {allowance_mm:.3f} mm would put the neutral line outside the metal "
            f"({least:.3f} to {most:.3f} mm), from: {source}",
            "check the inside radius, or choose a K factor or a test strip",
        )
    setback = outside_setback_mm(*bend)
    k = k_of_allowance(allowance_mm, *bend)
    return BendMetal(allowance_mm, 2.0 * setback - allowance_mm, setback, k, formula, source)
