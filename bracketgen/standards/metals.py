"""Sheet metals: what they are, how thick a gauge is, how tightly they bend cold, how strong and springy they are."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Final

from bracketgen.standards.table import LookupFault, row_named, rows


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
    aliases: tuple[str, ...]
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
    return tuple(one.id for one in rows("metals", Metal))


@cache
def metal(metal_id: str) -> Metal:
    """The metal of that id or of one of its other names ('1.4301'), in any case. Raises LookupFault."""
    return row_named("metal", metal_id, rows("metals", Metal), "id", "aliases")


# -- gauges: a number that means another thickness in every metal

GAUGE_SERIES: Final = ("steel", "stainless", "aluminium", "galvanized")


@dataclass(frozen=True, slots=True)
class GaugeThickness:
    """Nominal thickness of a gauge in mm, and in inches as printed ('0.1196')."""

    thickness_mm: float
    printed_in: str
    source: str
    how: str


@dataclass(frozen=True, slots=True)
class _Gauge:
    gauge: str
    steel_in: str
    steel_mm: float | None
    stainless_in: str
    stainless_mm: float | None
    aluminium_in: str
    aluminium_mm: float | None
    galvanized_in: str
    galvanized_mm: float | None
    source: str
    how: str
    from_memory: tuple[str, ...]


@cache
def gauge_mm(gauge: int, family: str) -> GaugeThickness:
    """Thickness of a gauge number in a series: steel, stainless, aluminium or galvanized (`Metal.gauge_series`).

    Gauges 7 to 24; galvanized 9 to 24. Source: the gauges table. Raises LookupFault.
    """
    if family not in GAUGE_SERIES:
        raise LookupFault("gauge series", family, GAUGE_SERIES)
    held = {row.gauge: row for row in rows("gauges", _Gauge) if getattr(row, f"{family}_in")}
    if str(gauge) not in held:
        reason = f"the gauge table holds {family} from {next(iter(held))} to {next(reversed(held))}"
        raise LookupFault("gauge", str(gauge), tuple(held), reason=reason)
    row = held[str(gauge)]
    source, how = ("from-memory", "memory") if family in row.from_memory else (row.source, row.how)
    return GaugeThickness(getattr(row, f"{family}_mm"), getattr(row, f"{family}_in"), source, how)


# -- the least inside radius

#: Bands are met by nominal sheets cut to inch sizes: 0.064 in is printed where 1.6256 mm is stored.
_SLACK_MM: Final = 1e-3


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


@dataclass(frozen=True, slots=True)
class _RadiusBand:
    bend_group: str
    thickness_over_mm: float
    thickness_to_mm: float
    across_per_t: float | None
    across_mm: float | None
    along_per_t: float | None
    along_mm: float | None
    across_turn_to_deg: float
    along_turn_to_deg: float
    source: str
    how: str
    source_along: str
    how_along: str

    def least_mm(self, thickness_mm: float, grain: Grain) -> float:
        """The least radius; every row has a multiple of the thickness or a length."""
        along = grain is Grain.ALONG
        per_t, plain = (self.along_per_t, self.along_mm) if along else (self.across_per_t, self.across_mm)
        return per_t * thickness_mm if per_t is not None else (plain or 0.0)

    def turn_to_deg(self, grain: Grain) -> float:
        """The largest turn that the row is printed for."""
        return self.along_turn_to_deg if grain is Grain.ALONG else self.across_turn_to_deg


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
    bands = [band for band in rows("bend_radius", _RadiusBand) if band.bend_group == chosen.bend_group]
    place = _band(bands, chosen, thickness_mm)
    band, note, beyond = bands[place], "", turn_deg > bands[place].turn_to_deg(grain)
    if beyond:
        printed = f"{band.turn_to_deg(grain):g} degrees"
        if place + 1 == len(bands):
            reason = f"no thicker band to take for a turn over {printed} in {chosen.id}"
            raise LookupFault("turn", f"{turn_deg:g} degrees", reason=reason)
        band, note = bands[place + 1], f"turn over {printed}, next thicker band taken"
    source, how = (band.source_along, band.how_along) if grain is Grain.ALONG else (band.source, band.how)
    if chosen.bend_group_how != "read" and chosen.bend_group != chosen.id:
        how = chosen.bend_group_how
        note = _joined(note, f"rows of {chosen.bend_group} taken for {chosen.id}")
    if beyond and source != "din-6935":
        how = "common practice"
    return BendRadiusLimit(band.least_mm(thickness_mm, grain), source, how, note)


def _band(bands: list[_RadiusBand], chosen: Metal, thickness_mm: float) -> int:
    for place, band in enumerate(bands):
        over, to = band.thickness_over_mm, band.thickness_to_mm
        if over + _SLACK_MM * (over > 0) < thickness_mm <= to + _SLACK_MM:
            return place
    low, high = bands[0].thickness_over_mm, bands[-1].thickness_to_mm
    reason = f"the bend radius table holds {chosen.id} over {low:g} mm and to {high:g} mm only"
    raise LookupFault("thickness", f"{thickness_mm:g} mm", reason=reason)


def _joined(*notes: str) -> str:
    return "; ".join(note for note in notes if note)


# -- on the brake


@dataclass(frozen=True, slots=True)
class BrakeMetal:
    """Greatest tensile strength in MPa that may be delivered, and the row of the springback table ('' for none)."""

    metal: str
    most_ultimate_mpa: float
    springback_row: str
    springback_how: str
    source: str
    how: str


@dataclass(frozen=True, slots=True)
class _Springback:
    id: str
    radius_per_t: Mapping[float, float | None]


@cache
def brake_metal(metal_id: str) -> BrakeMetal:
    """The figures of a metal by its id or other name. Raises LookupFault."""
    return row_named("metal of the brake table", metal(metal_id).id, rows("brake_metals", BrakeMetal), "metal")


@cache
def springback_ratio(row_id: str, radius_per_t: float) -> float:
    """Turn after release over turn on the tool, for an inside radius given in thicknesses.

    The row is one of the springback table ('DC01'); radius above 0 and up to the row's last figure.
    Raises LookupFault. Source: see the table.
    """
    row = row_named("springback row", row_id, rows("springback", _Springback), "id")
    points = [(radius, ratio) for radius, ratio in row.radius_per_t.items() if ratio is not None]
    if not 0 < radius_per_t <= points[-1][0]:
        reason = f"the springback table holds {row_id} to {points[-1][0]:g} thicknesses"
        raise LookupFault("inside radius", f"{radius_per_t:g} thicknesses", reason=reason)
    low = max((p for p in points if p[0] <= radius_per_t), default=points[0])
    high = min((p for p in points if p[0] >= radius_per_t), default=low)
    if high[0] <= low[0]:
        return low[1]
    share = math.log(radius_per_t / low[0]) / math.log(high[0] / low[0])
    return low[1] + max(share, 0.0) * (high[1] - low[1])
