"""Sheet metals, and how tightly each can be bent cold."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Final

from bracketgen.standards.table import LookupFault, Row, load_table, number, number_or_none

#: Bands are met by nominal sheets cut to inch sizes: 0.064 in is printed where 1.6256 mm is stored.
_SLACK_MM: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Metal:
    """One metal in one temper.

    Density in kg/m3, modulus in GPa, least yield and tensile strength in MPa near 20 degrees C (None where the
    standard gives none), mean expansion per kelvin near 20 degrees C. `family` is steel, stainless or
    aluminium; `gauge_series` the gauge its thickness is sold by; `bend_group` its rows in the bend radius
    table and `bend_group_how` how it came to them. `from_memory` names the fields not read in a source.
    """

    id: str
    title: str
    family: str
    temper: str
    gauge_series: str
    density_kg_m3: float
    elastic_modulus_gpa: float
    yield_mpa: float | None
    ultimate_mpa: float
    expansion_per_k: float
    bend_group: str
    bend_group_how: str
    source: str
    how: str
    from_memory: tuple[str, ...]


@cache
def metal_ids() -> tuple[str, ...]:
    """Ids of all metals, in the order of the table."""
    return tuple(row["id"] for row in load_table("metals").rows)


@cache
def metal(metal_id: str) -> Metal:
    """The metal of that id or of one of its other names ('1.4301'), in any case. Raises LookupFault."""
    row = _row(metal_id)
    return Metal(
        id=row["id"],
        title=row["title"],
        family=row["family"],
        temper=row["temper"],
        gauge_series=row["gauge_series"],
        density_kg_m3=number(row, "density_kg_m3"),
        elastic_modulus_gpa=number(row, "elastic_modulus_gpa"),
        yield_mpa=number_or_none(row, "yield_mpa"),
        ultimate_mpa=number(row, "ultimate_mpa"),
        expansion_per_k=number(row, "expansion_per_k"),
        bend_group=row["bend_group"],
        bend_group_how=row["bend_group_how"],
        source=row["source"],
        how=row["how"],
        from_memory=tuple(row["from_memory"].split()),
    )


def _row(metal_id: str) -> Row:
    wanted = metal_id.strip().casefold().replace(" ", "-")
    for row in load_table("metals").rows:
        if wanted in (word.casefold() for word in (row["id"], *row["aliases"].split())):
            return row
    raise LookupFault("metal", metal_id, metal_ids())


class Grain(StrEnum):
    """How the bend line lies to the rolling direction; unknown takes the worse of the two."""

    ACROSS = "across"
    ALONG = "along"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class BendRadiusLimit:
    """The least inside radius in mm, on whose word, how it was had, and what to know about it."""

    radius_mm: float
    source: str
    how: str
    note: str


@cache
def minimum_bend_radius(
    metal_id: str, thickness_mm: float, grain: Grain = Grain.UNKNOWN, turn_deg: float = 90.0
) -> BendRadiusLimit:
    """The least inside radius for a cold bend of `turn_deg` (degrees from flat) in that metal and thickness.

    Thickness in mm, above 0 and inside the bands of the bend radius table; turn above 0 to 180. A turn beyond
    the one the row is printed for takes the next thicker band (the rule of DIN 6935 for turns over 120).
    Raises LookupFault for an unknown metal, a thickness outside the table, or a turn it can't answer.
    """
    chosen = metal(metal_id)
    if not 0 < turn_deg <= 180:
        raise LookupFault("turn", f"{turn_deg:g} degrees", reason="a turn is more than 0 and at most 180")
    if grain is not Grain.UNKNOWN:
        return _limit(chosen, thickness_mm, grain, turn_deg)
    both = [_limit(chosen, thickness_mm, way, turn_deg) for way in (Grain.ACROSS, Grain.ALONG)]
    worst = max(both, key=lambda limit: limit.radius_mm)
    note = "rolling direction unknown, the worse way is taken"
    return BendRadiusLimit(worst.radius_mm, worst.source, worst.how, _joined(note, worst.note))


def _limit(chosen: Metal, thickness_mm: float, grain: Grain, turn_deg: float) -> BendRadiusLimit:
    rows = [row for row in load_table("bend_radius").rows if row["bend_group"] == chosen.bend_group]
    place = _band(rows, chosen, thickness_mm)
    printed_turn = number(rows[place], f"{grain.value}_turn_to_deg")
    if turn_deg <= printed_turn:
        return _read_row(rows[place], chosen, thickness_mm, grain, "")
    if place + 1 == len(rows):
        reason = f"no thicker band to take for a turn over {printed_turn:g} degrees in {chosen.id}"
        raise LookupFault("turn", f"{turn_deg:g} degrees", reason=reason)
    note = f"turn over {printed_turn:g} degrees, next thicker band taken"
    return _read_row(rows[place + 1], chosen, thickness_mm, grain, note)


def _band(rows: list[Row], chosen: Metal, thickness_mm: float) -> int:
    for place, row in enumerate(rows):
        over, to = number(row, "thickness_over_mm"), number(row, "thickness_to_mm")
        if over + _SLACK_MM * (over > 0) < thickness_mm <= to + _SLACK_MM:
            return place
    low, high = number(rows[0], "thickness_over_mm"), number(rows[-1], "thickness_to_mm")
    reason = f"the bend radius table holds {chosen.id} over {low:g} mm and to {high:g} mm only"
    raise LookupFault("thickness", f"{thickness_mm:g} mm", reason=reason)


def _read_row(row: Row, chosen: Metal, thickness_mm: float, grain: Grain, note: str) -> BendRadiusLimit:
    per_t = number_or_none(row, f"{grain.value}_per_t")
    radius = per_t * thickness_mm if per_t is not None else number(row, f"{grain.value}_mm")
    along = grain is Grain.ALONG
    source, how = (row["source_along"], row["how_along"]) if along else (row["source"], row["how"])
    if chosen.bend_group_how != "read" and chosen.bend_group != chosen.id:
        how = chosen.bend_group_how
        note = _joined(note, f"rows of {chosen.bend_group} taken for {chosen.id}")
    beyond_rule = note.startswith("turn over") and source != "din-6935"
    return BendRadiusLimit(radius, source, "common practice" if beyond_rule else how, note)


def _joined(*notes: str) -> str:
    return "; ".join(note for note in notes if note)
