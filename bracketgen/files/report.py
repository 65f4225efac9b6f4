"""The report beside each cut file: JSON with sorted keys, no clock, no paths but file names."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from bracketgen import __version__
from bracketgen.bending.flat import Flat, FlatHole, Strip
from bracketgen.bending.fold import Folded, folded_line
from bracketgen.drawing.to_cut.cut_sheet import BULGE_DECIMALS, LENGTH_DECIMALS, Round, canonical, cut_sheet
from bracketgen.findings import Finding
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Isolator
from bracketgen.part.part import Part, Stock, Weld
from bracketgen.shop.hardware import BoltSet, Mate, bolt_sets, hardware_lines, tightening

#: A quarter round: a circle is told as four of them.
_QUARTER_BULGE = 0.41421356237309503


def report_bytes(
    flat: Flat,
    folded: Folded,
    findings: Iterable[Finding],
    files: Iterable[str],
    parameters: Sequence[tuple[str, str]] = (),
    site: dict[str, Any] | None = None,
    mates: Mapping[str, Mate] | None = None,
) -> bytes:
    """The report as UTF-8 JSON.

    `site` is the block of a part that was looked at in its place, `mates` says by hole id what it is bolted to there.
    """
    value = report(flat, folded, findings, files, parameters) | ({} if site is None else {"site": site})
    value["hardware"] = hardware_block(flat.part, mates or {})
    return (json.dumps(value, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


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
        "tool": f"bracketgen {__version__}",
        "units": "mm",
        "stock": {
            "metal": stock.metal.id,
            "temper": stock.metal.temper,
            "thickness_mm": _mm(stock.thickness_mm),
            "thickness_typed": stock.thickness_typed,
            "density_kg_m3": stock.metal.density_kg_m3,
            "process": stock.process.id,
            "grain_deg": stock.grain_deg,
            "coating": stock.coating,
            "coating_mm": _mm(stock.coating_mm),
        },
        "parameters": dict(parameters),
        "flat": _flat(flat),
        "holes": [_hole(h, folded) for h in flat.holes],
        "bends": [_bend(s, folded) for s in flat.strips],
        "panels": [{"id": p.id, "frame": _matrix(folded.frames[p.id].matrix())} for p in part.panels],
        "findings": [_finding(f) for f in findings],
        "waivers": [{"rule": w.rule, "subject": w.subject, "reason": w.reason} for w in part.waivers],
        "cautions": list(part.cautions),
        "files": sorted(files),
    }


def _mm(value: float) -> float:
    return round(value, LENGTH_DECIMALS) + 0.0


def _row(values: Iterable[float]) -> list[float]:
    return [_mm(v) for v in values]


def _matrix(rows: Iterable[Iterable[float]]) -> list[list[float]]:
    return [[round(v, BULGE_DECIMALS) + 0.0 for v in row] for row in rows]


def _flat(flat: Flat) -> dict[str, Any]:
    return {
        "area_mm2": flat.area_mm2,
        "cut_length_mm": flat.cut_length_mm,
        "pierces": flat.pierces,
        "bounds_mm": _row(flat.bounds_mm),
        "mass_kg": flat.mass_kg,
        "contours": _contours(flat),
    }


def _contours(flat: Flat) -> list[list[list[float]]]:
    """Every cut of the file, the outline first; a circle as four quarter arcs."""
    sheet = canonical(cut_sheet(flat))
    outline = sheet.outline
    chains = sorted((c for c in sheet.chains if c is not outline), key=lambda c: c.points)
    told = [[[_mm(x), _mm(y), round(b, BULGE_DECIMALS) + 0.0] for x, y, b in c.points] for c in chains]
    first = [] if isinstance(outline, Round) else [[[_mm(x), _mm(y), b] for x, y, b in outline.points]]
    return [*first, *told, *(_quarters(r) for r in sheet.rounds)]


def _quarters(item: Round) -> list[list[float]]:
    """Clockwise, as every inner contour."""
    x, y, r = item.x_mm, item.y_mm, item.radius_mm
    corners = ((x - r, y), (x, y + r), (x + r, y), (x, y - r))
    return [[_mm(a), _mm(b), -_QUARTER_BULGE] for a, b in corners]


def _hole(placed: FlatHole, folded: Folded) -> dict[str, Any]:
    hole = placed.hole
    shape = hole.shape.told(placed.placement.angle_deg)
    told: dict[str, Any] = {
        "id": hole.id,
        "panel": placed.panel,
        "purpose": hole.purpose.value,
        "fastener": hole.fastener,
        **{key: _mm(value) if isinstance(value, float) else value for key, value in shape.items()},
        "pilot_mm": _mm(2 * hole.pilot.radius) if hole.pilot else None,
        "panel_mm": _row(hole.centre),
        "flat_mm": _row(placed.centre),
        "folded_mm": _row(folded.point(placed.panel, hole.centre)),
        "folded_axis": [round(v, BULGE_DECIMALS) + 0.0 for v in folded.normal(placed.panel)],
    }
    return told


def _bend(strip: Strip, folded: Folded) -> dict[str, Any]:
    bend, metal, line = strip.bend, strip.metal, strip.centre_line
    start, end = folded_line(bend, folded)
    return {
        "id": bend.id,
        "parent": bend.parent,
        "child": bend.child,
        "flat_line_mm": [_row(line.start), _row(line.end)],
        "turn_deg": _mm(bend.turn_deg),
        "between_deg": _mm(180.0 - bend.turn_deg),
        "way": bend.way.value,
        "inside_radius_mm": _mm(bend.inside_radius_mm),
        "k_factor": _mm(metal.k_factor),
        "allowance_mm": _mm(metal.allowance_mm),
        "deduction_mm": _mm(metal.deduction_mm),
        "setback_mm": _mm(metal.setback_mm),
        "formula": metal.formula,
        "source": metal.source,
        "folded_line_mm": [_row(start), _row(end)],
    }


def _finding(f: Finding) -> dict[str, Any]:
    at = None if f.at_mm is None else _row(Point(*f.at_mm))
    return {
        "rule": f.rule,
        "level": f.level.value,
        "subject": f.subject,
        "measured": None if f.measured is None else _mm(f.measured),
        "required": None if f.required is None else _mm(f.required),
        "unit": f.unit,
        "at_mm": at,
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
        "least_mm": _one_place(one.least_mm),
        "length_mm": _one_place(one.length_mm),
        "washers": one.washers,
        "washer_series": one.joint.washers.name.lower(),
        "nuts": one.nuts,
        "behind_mm": _one_place(one.joint.mate.thickness_mm),
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
        "height_mm": _one_place(rubber.height_mm),
        "hole_mm": _one_place(rubber.hole_mm),
        "sleeve_mm": _one_place(rubber.sleeve_mm),
        "stud_mm": _one_place(rubber.stud_mm),
        "depth_mm": _one_place(rubber.depth_mm),
    }


def _weld(weld: Weld) -> dict[str, Any]:
    return {
        "id": weld.id,
        "where": weld.where,
        "to": weld.to,
        "throat_mm": _one_place(weld.throat_mm),
        "leg_mm": _one_place(weld.leg_mm),
        "sides": weld.sides.value,
        "lengths_mm": [_one_place(run.length_mm) for run in weld.runs],
        "total_mm": _one_place(weld.total_mm),
    }


def _one_place(value: float | None) -> float | None:
    return None if value is None else round(value, 6) + 0.0
