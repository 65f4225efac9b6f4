"""Ways of cutting a flat, how small a thing each can cut, and the V dies of the press brake."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from bracketgen.standards.table import LookupFault, row_named, rows

# -- cutting


@dataclass(frozen=True, slots=True)
class Process:
    """One way of cutting.

    `thermal`: the edge is hot cut. Kerf in mm is information only; nothing is compensated for it. `tolerance_table` and
    `tolerance_class` name the tolerances its cut sizes keep.
    """

    id: str
    title: str
    thermal: bool
    minimum_hole_per_t: float
    least_hole_mm: float = field(metadata={"column": "minimum_hole_mm"})
    minimum_slot_per_t: float
    least_slot_mm: float = field(metadata={"column": "minimum_slot_mm"})
    minimum_web_per_t: float
    least_web_mm: float = field(metadata={"column": "minimum_web_mm"})
    thickness_from_mm: float | None
    thickness_to_mm: float | None
    kerf_low_mm: float | None
    kerf_high_mm: float | None
    kerf_source: str
    kerf_how: str
    tolerance_table: str
    tolerance_class: str
    sheet_length_mm: float
    sheet_width_mm: float
    source: str
    how: str

    def minimum_hole_mm(self, thickness_mm: float) -> float:
        """Least hole diameter in mm."""
        return max(self.minimum_hole_per_t * thickness_mm, self.least_hole_mm)

    def minimum_slot_mm(self, thickness_mm: float) -> float:
        """Least slot width in mm."""
        return max(self.minimum_slot_per_t * thickness_mm, self.least_slot_mm)

    def minimum_web_mm(self, thickness_mm: float) -> float:
        """Least metal in mm to leave between two cuts, or between a cut and the edge."""
        return max(self.minimum_web_per_t * thickness_mm, self.least_web_mm)

    @property
    def thickness_mm(self) -> tuple[float, float] | None:
        """The scope of its standard, from and to, or None."""
        low, high = self.thickness_from_mm, self.thickness_to_mm
        return None if low is None or high is None else (low, high)

    @property
    def sheet_mm(self) -> tuple[float, float]:
        """The usual sheet, length and width."""
        return (self.sheet_length_mm, self.sheet_width_mm)


@cache
def process_ids() -> tuple[str, ...]:
    """Ids of all processes, in the order of the table."""
    return tuple(one.id for one in rows("processes", Process))


@cache
def process(process_id: str) -> Process:
    """The process of that id, in any case. Source: the processes table. Raises LookupFault."""
    return row_named("process", process_id, rows("processes", Process), "id")


# -- V dies for air bending


@dataclass(frozen=True, slots=True)
class Die:
    """One V opening: shortest outside leg and natural inside radius, in mm, for mild steel at 90 degrees."""

    opening_mm: float
    minimum_flange_mm: float
    natural_radius_mm: float
    source: str
    how: str


@dataclass(frozen=True, slots=True)
class _DieRule:
    thickness_over_mm: float
    thickness_to_mm: float
    opening_per_t: float


def dies() -> tuple[Die, ...]:
    """All V openings of the chart, smallest first."""
    return rows("dies", Die)


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
    rules = rows("die_rule", _DieRule)
    per_t = [r.opening_per_t for r in rules if r.thickness_over_mm < thickness_mm <= r.thickness_to_mm]
    if not per_t:
        reason = "the rule of the V opening holds above 0 and to 14 mm"
        raise LookupFault("thickness", f"{thickness_mm:g} mm", reason=reason)
    wanted_mm = per_t[0] * thickness_mm
    for one in dies():
        if one.opening_mm >= wanted_mm - 1e-9:
            return one
    reason = f"asks for a V of {wanted_mm:.0f} mm, the chart ends at {dies()[-1].opening_mm:g} mm"
    raise LookupFault("thickness", f"{thickness_mm:g} mm", reason=reason)
