"""How far a cut size, an untoleranced size, a bend or a reading may be off."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache

from bracketgen.standards.table import LookupFault, load_table, row_named, rows

# -- tolerances


@dataclass(frozen=True, slots=True)
class Deviation:
    """Plus or minus, in mm (lengths) or degrees (angles)."""

    plus_minus: float
    source: str
    how: str


@dataclass(frozen=True, slots=True)
class _ToleranceRow:
    """One row: `to` holds the deviation of sizes up to a number of mm, None where the standard prints a dash."""

    tolerance_class: str = field(metadata={"column": "class"})
    to: Mapping[float, float | None]
    source: str
    how: str

    def deviation(self, table: str, size_mm: float, within: list[float], dash: str) -> Deviation:
        """The deviation of a size that lies within these limits. Raises LookupFault for none, or at a dash."""
        if not within:
            reason = f"the table {load_table(table).title!r} ends at {max(self.to):g} mm"
            raise LookupFault("size", f"{size_mm:g} mm", reason=reason)
        value = self.to[within[0]]
        if value is None:
            raise LookupFault("size", f"{size_mm:g} mm", reason=dash)
        return Deviation(value, self.source, self.how)


@dataclass(frozen=True, slots=True)
class _CutRow(_ToleranceRow):
    thickness_over_mm: float
    thickness_to_mm: float


@dataclass(frozen=True, slots=True)
class _AngleRow(_ToleranceRow):
    over_400_deg: float


@cache
def cut_classes() -> tuple[str, ...]:
    """The tolerance classes held: '1', '2'."""
    return tuple(dict.fromkeys(row.tolerance_class for row in rows("cut_tolerance", _CutRow)))


@cache
def cut_tolerance(size_mm: float, thickness_mm: float, tolerance_class: str) -> Deviation:
    """ISO 9013 deviation, in mm, of a cut size in a thickness.

    Sizes above 0 and below 1000 mm; class 1 to 15 mm thick, class 2 to 10 mm; a size on a limit belongs to the
    range above it. Raises LookupFault outside, or where the standard prints a dash.
    """
    if tolerance_class not in cut_classes():
        raise LookupFault("ISO 9013 class", tolerance_class, cut_classes())
    if size_mm <= 0:
        raise LookupFault("size", f"{size_mm:g} mm", reason="a size is more than 0")
    held = [row for row in rows("cut_tolerance", _CutRow) if row.tolerance_class == tolerance_class]
    fitting = [row for row in held if row.thickness_over_mm < thickness_mm <= row.thickness_to_mm]
    if not fitting:
        reason = f"class {tolerance_class} is held above 0 and to {held[-1].thickness_to_mm:g} mm"
        raise LookupFault("thickness", f"{thickness_mm:g} mm", reason=reason)
    within = [end for end in fitting[0].to if size_mm < end]
    dash = f"ISO 9013 gives no deviation for this size in {thickness_mm:g} mm"
    return fitting[0].deviation("cut_tolerance", size_mm, within, dash)


@cache
def general_classes() -> tuple[str, ...]:
    """The tolerance classes of ISO 2768-1: 'f', 'm', 'c', 'v'."""
    return tuple(row.tolerance_class for row in rows("general_tolerance", _ToleranceRow))


@cache
def general_tolerance(size_mm: float, tolerance_class: str) -> Deviation:
    """ISO 2768-1 deviation, in mm, of a length from 0.5 to 4000 mm. Raises LookupFault outside or at a dash."""
    held = rows("general_tolerance", _ToleranceRow)
    row = row_named("ISO 2768-1 class", tolerance_class, held, "tolerance_class")
    if size_mm < 0.5:
        reason = "ISO 2768-1 begins at 0.5 mm; smaller sizes carry their own tolerance"
        raise LookupFault("size", f"{size_mm:g} mm", reason=reason)
    within = [end for end in row.to if size_mm <= end]
    dash = f"ISO 2768-1 gives no deviation in class {tolerance_class}"
    return row.deviation("general_tolerance", size_mm, within, dash)


@cache
def angle_tolerance(shorter_leg_mm: float, tolerance_class: str) -> Deviation:
    """ISO 2768-1 table 3 deviation, in degrees, of an angle with that shorter leg in mm. Raises LookupFault."""
    row = row_named("ISO 2768-1 class", tolerance_class, rows("angle_tolerance", _AngleRow), "tolerance_class")
    if shorter_leg_mm <= 0:
        raise LookupFault("leg", f"{shorter_leg_mm:g} mm", reason="a leg is more than 0")
    if shorter_leg_mm > max(row.to):
        return Deviation(row.over_400_deg, row.source, row.how)
    within = [end for end in row.to if shorter_leg_mm <= end]
    return row.deviation("angle_tolerance", shorter_leg_mm, within, "ISO 2768-1 gives no deviation for this leg")


# -- bending and fitting


@dataclass(frozen=True, slots=True)
class UsualScatter:
    """One figure of the table, plus or minus, in `unit` ('deg', 'mm' or '1' for a ratio)."""

    id: str
    title: str
    plus_minus: float
    unit: str
    source: str
    how: str


@cache
def usual_scatter_of(scatter_id: str) -> UsualScatter:
    """The usual figure of that id: 'turn', 'k_factor', 'bend_line' ... Raises LookupFault."""
    return row_named("scatter", scatter_id, rows("bend_scatter", UsualScatter), "id")


# -- readings with a tape, a calliper, a straight edge ...


class Gives(StrEnum):
    """What a tool's scale shows."""

    MM = "mm"
    DEG = "deg"


@dataclass(frozen=True, slots=True)
class ReadingError:
    """One standard deviation of a reading, in the unit that the tool gives (mm or degrees)."""

    sigma: float
    unit: Gives
    source: str
    how: str


@dataclass(frozen=True, slots=True)
class _MeasuringTool:
    tool: str
    gives: Gives
    setting_mm: float | None
    setting_deg: float | None
    limit_mm: float | None
    limit_per_m_mm: float | None
    length_step_m: float | None
    source: str
    how: str


@cache
def measuring_tools() -> tuple[str, ...]:
    """All tools that the table holds."""
    return tuple(row.tool for row in rows("reading_errors", _MeasuringTool))


def tool_gives(tool: str) -> Gives:
    """What a tool's scale shows. Raises LookupFault for an unknown tool."""
    return row_named("measuring tool", tool, rows("reading_errors", _MeasuringTool), "tool").gives


def reading_error(tool: str, length_mm: float = 0.0) -> ReadingError:
    """One standard deviation of a reading of `length_mm` (0 and more; nothing to angles) with a tool.

    sigma^2 = setting^2 + limit^2 / 3, the limit growing with the length. Source: the reading_errors table.
    Raises LookupFault for an unknown tool.
    """
    row = row_named("measuring tool", tool, rows("reading_errors", _MeasuringTool), "tool")
    setting = (row.setting_mm if row.gives is Gives.MM else row.setting_deg) or 0.0
    metres = length_mm / 1000.0
    counted = math.ceil(metres / row.length_step_m) * row.length_step_m if row.length_step_m else metres
    limit = (row.limit_mm or 0.0) + (row.limit_per_m_mm or 0.0) * counted
    return ReadingError(math.sqrt(setting**2 + limit**2 / 3.0), row.gives, row.source, row.how)
