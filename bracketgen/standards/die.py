"""V dies for air bending: the shortest flange they hold and the radius they leave."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bracketgen.standards.table import LookupFault, Row, load_table, number


@dataclass(frozen=True, slots=True)
class Die:
    """One V opening: shortest outside leg and natural inside radius, in mm, for mild steel at 90 degrees."""

    opening_mm: float
    minimum_flange_mm: float
    natural_radius_mm: float
    source: str
    how: str


@cache
def dies() -> tuple[Die, ...]:
    """All V openings of the chart, smallest first."""
    return tuple(_die(row) for row in load_table("dies").rows)


@cache
def die(opening_mm: float) -> Die:
    """The die with that V opening in mm. Raises LookupFault for an opening the chart does not hold."""
    for one in dies():
        if one.opening_mm == opening_mm:
            return one
    known = tuple(f"{one.opening_mm:g}" for one in dies())
    nearest = min(dies(), key=lambda one: abs(one.opening_mm - opening_mm))
    raise LookupFault("V opening", f"{opening_mm:g}", known, nearest=f"{nearest.opening_mm:g}")


@cache
def usual_die(thickness_mm: float) -> Die:
    """The usual die for a thickness: 6 to 12 times the thickness, rounded up to the next die of the chart.

    Thickness above 0 to 13.33 mm (where 12 t meets the largest die, 160 mm). Raises LookupFault beyond.
    """
    wanted_mm = _opening_per_t(thickness_mm) * thickness_mm
    for one in dies():
        if one.opening_mm >= wanted_mm - 1e-9:
            return one
    reason = f"asks for a V of {wanted_mm:.0f} mm, the chart ends at {dies()[-1].opening_mm:g} mm"
    raise LookupFault("thickness", f"{thickness_mm:g} mm", reason=reason)


def _opening_per_t(thickness_mm: float) -> float:
    for row in load_table("die_rule").rows:
        if number(row, "thickness_over_mm") < thickness_mm <= number(row, "thickness_to_mm"):
            return number(row, "opening_per_t")
    reason = "the rule of the V opening holds above 0 and to 14 mm"
    raise LookupFault("thickness", f"{thickness_mm:g} mm", reason=reason)


def _die(row: Row) -> Die:
    return Die(
        opening_mm=number(row, "opening_mm"),
        minimum_flange_mm=number(row, "minimum_flange_mm"),
        natural_radius_mm=number(row, "natural_radius_mm"),
        source=row["source"],
        how=row["how"],
    )
