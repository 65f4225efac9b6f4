"""The report beside each cut file: JSON with sorted keys, no clock, no paths but file names."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from bracketgen import __version__
from bracketgen.bending.flat import Flat, FlatHole, Strip
from bracketgen.bending.fold import Folded, folded_line
from bracketgen.drawing.cut_sheet import BULGE_DECIMALS, LENGTH_DECIMALS, Round, canonical, cut_sheet
from bracketgen.findings import Finding
from bracketgen.part.hole import Isolator
from bracketgen.part.part import Part, Stock, Weld
from bracketgen.shop.hardware import BoltSet, Mate, bolt_sets, hardware_lines, tightening
from bracketgen.standards.refused import refused_kinds

#: Decimals of bolts, welds and rubbers, mm.
_HARDWARE_DECIMALS: Final = 6
#: A quarter round: a circle is told as four of them.
_QUARTER_BULGE = 0.41421356237309503


def json_bytes(value: dict[str, Any]) -> bytes:
    """A report as UTF-8 JSON with sorted keys."""
    return (json.dumps(value, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def report_bytes(
    flat: Flat,
    folded: Folded,
    findings: Iterable[Finding],
    files: Iterable[str],
    parameters: Sequence[tuple[str, str]] = (),
    site: dict[str, Any] | None = None,
    mates: Mapping[str, Mate] | None = None,
    values: Mapping[str, str] | None = None,
) -> bytes:
    """The report as UTF-8 JSON.

    `site` is the block of a part that was looked at in its place, `mates` says by hole id what it is bolted to
    there, `values` is what the description gives, by its keys.
    """
    value = report(flat, folded, findings, files, parameters) | ({} if site is None else {"site": site})
    value["hardware"] = hardware_block(flat.part, mates or {})
    value["values"] = dict(values or {})
    return json_bytes(value)


def report(
    flat: Flat,
    folded: Folded,
    findings: Iterable[Finding],
    files: Iterable[str],
    parameters: Sequence[tuple[str, str]] = (),
) -> dict[str, Any]:
    """The report as plain values; lengths in mm rounded to a nanometre's thousandth, angles in degrees."""
    part = flat.part
    stock = part.stock
    return {
        "part": part.name,
        "title": part.title,
        "mark": part.mark,
        "tool": f"bracketgen {__version__}",
        "units": "mm",
        "stock": {
            "metal": stock.metal.id,
            "temper": stock.metal.temper,
            "thickness_mm": mm(stock.thickness_mm),
            "thickness_typed": stock.thickness_typed,
            "density_kg_m3": stock.metal.density_kg_m3,
            "process": stock.process.id,
            "grain_deg": stock.grain_deg,
            "coating": stock.coating,
            "coating_mm": mm(stock.coating_mm),
        },
        "parameters": dict(parameters),
        "flat": _flat(flat),
        "holes": [_hole(h, folded) for h in flat.holes],
        "bends": [_bend(s, folded) for s in flat.strips],
        "panels": [{"id": p.id, "frame": matrix(folded.frames[p.id].matrix())} for p in part.panels],
        "findings": [_finding(f) for f in findings],
        "waivers": [{"rule": w.rule, "subject": w.subject, "reason": w.reason} for w in part.waivers],
        "means": part.means,
        "refused_kinds": list(refused_kinds()),
        "cautions": list(part.cautions),
        "files": sorted(files),
    }


def mm(value: float | None, decimals: int = LENGTH_DECIMALS) -> float | None:
    """A figure as a report tells it: rounded, never a negative zero; None stays None."""
    return None if value is None else round(value, decimals) + 0.0


def row(values: Iterable[float], decimals: int = LENGTH_DECIMALS) -> list[float]:
    """A point or a row of figures as a report tells them."""
    return [round(v, decimals) + 0.0 for v in values]


def matrix(rows: Iterable[Iterable[float]]) -> list[list[float]]:
    """A frame as a report tells it."""
    return [row(values, BULGE_DECIMALS) for values in rows]


def _flat(flat: Flat) -> dict[str, Any]:
    return {
        "area_mm2": flat.area_mm2,
        "cut_length_mm": flat.cut_length_mm,
        "pierces": flat.pierces,
        "bounds_mm": row(flat.bounds_mm),
        "mass_kg": flat.mass_kg,
        "contours": _contours(flat),
    }


def _contours(flat: Flat) -> list[list[list[float]]]:
    """Every cut of the file, the outline first; a circle as four quarter arcs."""
    sheet = canonical(cut_sheet(flat))
    outline = sheet.outline
    chains = sorted((c for c in sheet.chains if c is not outline), key=lambda c: c.points)
    told = [[[*row((x, y)), *row((b,), BULGE_DECIMALS)] for x, y, b in c.points] for c in chains]
    first = [] if isinstance(outline, Round) else [[[*row((x, y)), b] for x, y, b in outline.points]]
    return [*first, *told, *(_quarters(r) for r in sheet.rounds)]


def _quarters(item: Round) -> list[list[float]]:
    """Clockwise, as every inner contour."""
    x, y, r = item.x_mm, item.y_mm, item.radius_mm
    corners = ((x - r, y), (x, y + r), (x + r, y), (x, y - r))
    return [[*row(corner), -_QUARTER_BULGE] for corner in corners]


def _hole(placed: FlatHole, folded: Folded) -> dict[str, Any]:
    hole = placed.hole
    shape = hole.shape.told(placed.placement.angle_deg)
    told: dict[str, Any] = {
        "id": hole.id,
        "panel": placed.panel,
        "purpose": hole.purpose.value,
        "fastener": hole.fastener,
        **{key: mm(value) if isinstance(value, float) else value for key, value in shape.items()},
        "pilot_mm": mm(2 * hole.pilot.radius) if hole.pilot else None,
        "panel_mm": row(hole.centre),
        "flat_mm": row(placed.centre),
        "folded_mm": row(folded.point(placed.panel, hole.centre)),
        "folded_axis": row(folded.normal(placed.panel), BULGE_DECIMALS),
    }
    return told


def _bend(strip: Strip, folded: Folded) -> dict[str, Any]:
    bend, metal, line = strip.bend, strip.metal, strip.centre_line
    start, end = folded_line(bend, folded)
    return {
        "id": bend.id,
        "parent": bend.parent,
        "child": bend.child,
        "flat_line_mm": [row(line.start), row(line.end)],
        "turn_deg": mm(bend.turn_deg),
        "between_deg": mm(180.0 - bend.turn_deg),
        "way": bend.way.value,
        "inside_radius_mm": mm(bend.inside_radius_mm),
        "k_factor": mm(metal.k_factor),
        "allowance_mm": mm(metal.allowance_mm),
        "deduction_mm": mm(metal.deduction_mm),
        "setback_mm": mm(metal.setback_mm),
        "formula": metal.formula,
        "source": metal.source,
        "folded_line_mm": [row(start), row(end)],
    }


def _finding(f: Finding) -> dict[str, Any]:
    return {
        "rule": f.rule,
        "level": f.level.value,
        "subject": f.subject,
        "measured": mm(f.measured),
        "required": mm(f.required),
        "unit": f.unit,
        "at_mm": None if f.at_mm is None else row(f.at_mm),
        "remedy": f.remedy,
        "source": f.source,
        "waived": f.waived,
    }


# The hardware block of the report: what to buy, how tight, what to weld, for one part.


def hardware_block(part: Part, mates: Mapping[str, Mate]) -> dict[str, Any]:
    """The list as values and, with all its cautions, in words; lengths in mm, torques in N m."""
    return {
        "bolts": [_set(one, part.stock) for one in bolt_sets(part, mates)],
        "welds": [_weld(weld) for weld in part.welds],
        "words": list(hardware_lines(part, 1, mates)),
    }


def _set(one: BoltSet, stock: Stock) -> dict[str, Any]:
    pull = tightening(one.joint, stock)
    return {
        "size": one.size,
        "holder": one.joint.holder.value,
        "bolts": one.bolts,
        "least_mm": mm(one.least_mm, _HARDWARE_DECIMALS),
        "length_mm": mm(one.length_mm, _HARDWARE_DECIMALS),
        "washers": one.washers,
        "washer_series": one.joint.washers.name.lower(),
        "nuts": one.nuts,
        "behind_mm": mm(one.joint.mate.thickness_mm, _HARDWARE_DECIMALS),
        "torque_nm": pull.nm,
        "torque_words": pull.words,
        "torque_source": pull.table.source if pull.table else None,
        "isolator": _isolator(one.joint.isolator),
    }


def _isolator(rubber: Isolator | None) -> dict[str, Any] | None:
    if rubber is None:
        return None
    return {
        "kind": rubber.kind.value,
        "height_mm": mm(rubber.height_mm, _HARDWARE_DECIMALS),
        "hole_mm": mm(rubber.hole_mm, _HARDWARE_DECIMALS),
        "sleeve_mm": mm(rubber.sleeve_mm, _HARDWARE_DECIMALS),
        "stud_mm": mm(rubber.stud_mm, _HARDWARE_DECIMALS),
        "depth_mm": mm(rubber.depth_mm, _HARDWARE_DECIMALS),
    }


def _weld(weld: Weld) -> dict[str, Any]:
    return {
        "id": weld.id,
        "where": weld.where,
        "to": weld.to,
        "throat_mm": mm(weld.throat_mm, _HARDWARE_DECIMALS),
        "leg_mm": mm(weld.leg_mm, _HARDWARE_DECIMALS),
        "sides": weld.sides.value,
        "lengths_mm": [mm(run.length_mm, _HARDWARE_DECIMALS) for run in weld.runs],
        "total_mm": mm(weld.total_mm, _HARDWARE_DECIMALS),
    }
