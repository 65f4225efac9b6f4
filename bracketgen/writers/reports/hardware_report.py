"""The hardware block of the report: what to buy, how tight, what to weld, for one part."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bracketgen.part.isolator import Isolator
from bracketgen.part.part import Part
from bracketgen.part.stock import Stock
from bracketgen.part.weld import Weld
from bracketgen.shop.hardware import BoltSet, Mate, bolt_sets, hardware_lines, tightening


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
        "least_mm": _mm(one.least_mm),
        "length_mm": _mm(one.length_mm),
        "washers": one.washers,
        "washer_series": one.joint.washers.name.lower(),
        "nuts": one.nuts,
        "behind_mm": _mm(one.joint.mate.thickness_mm),
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
        "height_mm": _mm(rubber.height_mm),
        "hole_mm": _mm(rubber.hole_mm),
        "sleeve_mm": _mm(rubber.sleeve_mm),
        "stud_mm": _mm(rubber.stud_mm),
        "depth_mm": _mm(rubber.depth_mm),
    }


def _weld(weld: Weld) -> dict[str, Any]:
    return {
        "id": weld.id,
        "where": weld.where,
        "to": weld.to,
        "throat_mm": _mm(weld.throat_mm),
        "leg_mm": _mm(weld.leg_mm),
        "sides": weld.sides.value,
        "lengths_mm": [_mm(run.length_mm) for run in weld.runs],
        "total_mm": _mm(weld.total_mm),
    }


def _mm(value: float | None) -> float | None:
    return None if value is None else round(value, 6) + 0.0
