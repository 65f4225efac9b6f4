"""Ways of cutting a flat, and how small a thing each can cut."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bracketgen.standards.table import LookupFault, Row, load_table, number, number_or_none


@dataclass(frozen=True, slots=True)
class LeastSize:
    """A least size: the larger of a multiple of thickness and a length in mm."""

    per_t: float
    at_least_mm: float

    def at(self, thickness_mm: float) -> float:
        """The least size in mm for a thickness in mm."""
        return max(self.per_t * thickness_mm, self.at_least_mm)


@dataclass(frozen=True, slots=True)
class Process:
    """One way of cutting.

    `thermal`: the edge is hot cut. Kerf in mm is information only; nothing is compensated for it.
    `thickness_mm` is the scope of its standard, from and to, or None. `tolerance_table` and
    `tolerance_class` name the tolerances its cut sizes keep. `sheet_mm` is the usual sheet, length and width.
    """

    id: str
    title: str
    thermal: bool
    hole: LeastSize
    slot: LeastSize
    web: LeastSize
    thickness_mm: tuple[float, float] | None
    kerf_mm: tuple[float, float] | None
    kerf_source: str
    kerf_how: str
    tolerance_table: str
    tolerance_class: str
    sheet_mm: tuple[float, float]
    source: str
    how: str

    def minimum_hole_mm(self, thickness_mm: float) -> float:
        """Least hole diameter in mm."""
        return self.hole.at(thickness_mm)

    def minimum_slot_mm(self, thickness_mm: float) -> float:
        """Least slot width in mm."""
        return self.slot.at(thickness_mm)

    def minimum_web_mm(self, thickness_mm: float) -> float:
        """Least metal in mm to leave between two cuts, or between a cut and the edge."""
        return self.web.at(thickness_mm)


@cache
def process_ids() -> tuple[str, ...]:
    """Ids of all processes, in the order of the table."""
    return tuple(row["id"] for row in load_table("processes").rows)


@cache
def process(process_id: str) -> Process:
    """The process of that id, in any case. Source: the processes table. Raises LookupFault."""
    for row in load_table("processes").rows:
        if row["id"] == process_id.strip().casefold():
            return _process(row)
    raise LookupFault("process", process_id, process_ids())


def _process(row: Row) -> Process:
    return Process(
        id=row["id"],
        title=row["title"],
        thermal=row["thermal"] == "yes",
        hole=_least(row, "hole"),
        slot=_least(row, "slot"),
        web=_least(row, "web"),
        thickness_mm=_range(row, "thickness_from_mm", "thickness_to_mm"),
        kerf_mm=_range(row, "kerf_low_mm", "kerf_high_mm"),
        kerf_source=row["kerf_source"],
        kerf_how=row["kerf_how"],
        tolerance_table=row["tolerance_table"],
        tolerance_class=row["tolerance_class"],
        sheet_mm=(number(row, "sheet_length_mm"), number(row, "sheet_width_mm")),
        source=row["source"],
        how=row["how"],
    )


def _least(row: Row, feature: str) -> LeastSize:
    return LeastSize(number(row, f"minimum_{feature}_per_t"), number(row, f"minimum_{feature}_mm"))


def _range(row: Row, low: str, high: str) -> tuple[float, float] | None:
    ends = number_or_none(row, low), number_or_none(row, high)
    return None if ends[0] is None or ends[1] is None else (ends[0], ends[1])
