"""The part in its place as plain values, for the report."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from typing import Any, Final

from bracketgen import __version__
from bracketgen.drawing.to_cut.cut_sheet import BULGE_DECIMALS, LENGTH_DECIMALS
from bracketgen.geometry.space import Frame, length, unit
from bracketgen.vehicle.access.access import ToolTry
from bracketgen.vehicle.hoses import HoseCheck
from bracketgen.vehicle.in_place import InPlace
from bracketgen.vehicle.locate.locate import Located, LocatedHole, Residual, error_ellipsoid
from bracketgen.vehicle.near.clearance import PairCheck
from bracketgen.vehicle.near.joints import Meeting
from bracketgen.vehicle.near.removal import Blocked
from bracketgen.vehicle.near.required import Needed
from bracketgen.vehicle.near.scene import Standing
from bracketgen.vehicle.odds.odds import Odds
from bracketgen.vehicle.seating.misfit import BoltMisfit, HoleStep


def site_block(place: InPlace) -> dict[str, Any]:
    """The report's 'site': where the part stands, every bolt, every pair with its least gap; mm, site's frame."""
    placed = place.placed
    return {
        "title": place.site.document.title,
        "frame": _frame(placed.frame),
        "carried_frame": None if placed.carried is None else _frame(placed.carried),
        "bodies": list(place.scene.bodies),
        "bolts": [_bolt(m) for m in place.misfits],
        "steps": [_step(s) for s in place.steps],
        "joints": [_joint(m) for m in place.joints],
        "pairs": [_pair(p) for p in place.pairs],
        "growth": [_growth(t) for t in place.scene.things if t.growth is not None],
        "drips": [
            {"joint": d.joint.title, "hot": d.hot.title, "beyond_cone_mm": _mm(d.beyond_mm), "at_mm": _row(d.at)}
            for d in place.drips
        ],
        "removals": [_removal(b) for b in place.blocked],
        "tools": [
            {"hole": b.hole, "ends": [{"at": e.end.title, "turned_by": _tool(e.turned_by)} for e in b.ends]}
            for b in place.access
        ],
        "hoses": [_hose(h) for h in place.hoses],
        "odds": None if place.odds is None else _odds(place.odds),
    }


def _hose(hose: HoseCheck) -> dict[str, Any]:
    lengths = {"rest_mm": hose.rest_mm, "moved_mm": hose.moved_mm, "least_mm": hose.least_mm}
    return {
        "hose": hose.name,
        "free_mm": _mm(hose.free_mm),
        "shift_mm": _row(hose.shift),
        **{key: None if value is None else _mm(value) for key, value in lengths.items()},
    }


def _tool(tried: ToolTry | None) -> str | None:
    return None if tried is None else tried.shape.name


def _odds(odds: Odds) -> dict[str, Any]:
    share = odds.share
    return {
        "share": round(share.value, 4),
        "low": round(share.low, 4),
        "high": round(share.high, 4),
        "builds": share.builds,
        "decides": odds.decides,
        "causes": [{"cause": c.cause.value, "share_without": round(c.share_without, 4)} for c in odds.causes],
    }


def _mm(value: float) -> float:
    return round(value, LENGTH_DECIMALS) + 0.0


def _row(values: Iterable[float]) -> list[float]:
    return [_mm(v) for v in values]


def _frame(frame: Frame) -> list[list[float]]:
    return [[round(v, BULGE_DECIMALS) + 0.0 for v in row] for row in frame.matrix()]


def _bolt(one: BoltMisfit) -> dict[str, Any]:
    bolt = one.bolt
    return {
        "hole": bolt.part_hole,
        "mate": bolt.mate,
        "size": bolt.size,
        "touching": bolt.touching.value,
        "at_mm": _row(bolt.at),
        "wanted_mm": _row(bolt.wanted),
        "axis": [round(v, BULGE_DECIMALS) + 0.0 for v in bolt.axis],
        "off_mm": _mm(one.off_mm),
        "lift_mm": _mm(one.lift_mm),
        "tilt_deg": _mm(one.tilt_deg),
        "play_mm": _mm(bolt.play_mm),
        "slot_play_mm": _mm(bolt.slot_play_mm),
    }


def _step(step: HoleStep) -> dict[str, Any]:
    return {
        "hole": step.bolt.part_hole,
        "mate": step.bolt.mate,
        "step_mm": _mm(step.step_mm),
        "free_mm": None if step.free_mm is None else _mm(step.free_mm),
        "free_mpa": None if step.free_mpa is None else _mm(step.free_mpa),
        "square_mpa": None if step.square_mpa is None else _mm(step.square_mpa),
    }


def _joint(one: Meeting) -> dict[str, Any]:
    """What gives between two joints of the part, and what it has to take up."""
    known = one.growth.unknown is None
    return {
        "between": [{"at": j.name, "body": j.body, "gives": j.flexible is not None} for j in (one.a, one.b)],
        "travel_mm": _row(one.travel.mm),
        "growth_mm": _row(one.growth.mm) if known else None,
        "axis": None if one.axis is None else "xyz"[one.axis],
        "gives_mm": _mm(one.given_mm),
        "has_to_give_mm": _mm(one.asked_mm) if known else None,
    }


def _removal(one: Blocked) -> dict[str, Any]:
    """How far a thing gets on the leg of its way out on which it is stopped: mm, or degrees of a tilt."""
    told = {"thing": one.thing.title, "stopped_by": one.stopped_by, "leg": one.leg + 1, "legs": len(one.thing.legs)}
    return told | {f"free_{one.unit}": _mm(one.free), f"way_{one.unit}": _mm(one.way)}


def _pair(pair: PairCheck) -> dict[str, Any]:
    gap, move = pair.least.gap, pair.move
    return {
        "a": pair.a,
        "b": pair.b,
        "gap_mm": _mm(gap.mm),
        "here_mm": _row(gap.here),
        "there_mm": _row(gap.there),
        "piece": pair.least.mine,
        "state": pair.least.state,
        "moved_mm": _row(pair.least.shift),
        "travel_mm": _row(pair.travel.mm),
        "required": _needed(pair.needed),
        "heat": None if pair.heat is None else _needed(pair.heat),
        "move_mm": None if move is None else _mm(length(move)),
        "move_way": None if move is None or not any(move) else [round(v, BULGE_DECIMALS) + 0.0 for v in unit(move)],
    }


def _needed(needed: Needed) -> dict[str, Any]:
    endless = needed.mm is not None and math.isinf(needed.mm)
    return {
        "mm": None if needed.mm is None or endless else _mm(needed.mm),
        "no_distance_is_enough": endless,
        "source": needed.source,
        "why": needed.why,
    }


def _growth(thing: Standing) -> dict[str, Any]:
    growth = thing.growth
    assert growth is not None
    return {
        "thing": thing.title,
        "held_at_mm": _row(growth.fixed),
        "far_end_mm": _row(growth.end),
        "length_mm": _mm(growth.end_mm),
        "metal": growth.expansion.metal,
        "expansion_per_k": growth.expansion.per_k,
    }


# The report of located holes: JSON with sorted keys, no clock, no paths but file names.


#: Lengths are rounded to a millionth of a millimetre, directions likewise.
_DECIMALS: Final = 6


def locate_report_bytes(located: Located, name: str, title: str, files: Iterable[str]) -> bytes:
    """The report as UTF-8 JSON."""
    value = locate_report(located, name, title, files)
    return (json.dumps(value, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def locate_report(located: Located, name: str, title: str, files: Iterable[str]) -> dict[str, Any]:
    """The report as plain values; lengths in mm, angles in degrees, variances in mm2, all in the site's frame."""
    return {
        "site": name,
        "title": title,
        "tool": f"bracketgen {__version__}",
        "units": "mm",
        "holes": [_hole(located, hole) for hole in located.holes],
        "covariance_mm2": [_reading_row(row) for row in located.covariance.tolist()],
        "faces": {face: [_reading_row(row) for row in frame.matrix()] for face, frame in located.faces.items()},
        "readings": [_reading(r, located) for r in located.residuals],
        "variance_factor": _number(located.variance_factor),
        "variance_factor_95": _reading_row(located.chi_square_bounds),
        "covariance_widened_by": _number(located.widened),
        "freedom": located.freedom,
        "suspect": located.suspect,
        "suspect_error": None if located.suspect_error is None else _number(located.suspect_error),
        "suspect_alike": list(located.suspect_alike),
        "mirror": list(located.mirror),
        "mirror_words": list(located.mirror_words),
        "loose": list(located.loose),
        "advice": list(located.advice),
        "files": sorted(files),
    }


def _number(value: float) -> float:
    return round(value, _DECIMALS) + 0.0


def _reading_row(values: Iterable[float]) -> list[float]:
    return [_number(v) for v in values]


def _hole(located: Located, hole: LocatedHole) -> dict[str, Any]:
    spread = error_ellipsoid(located.covariance_of(hole.id))
    return {
        "id": hole.id,
        "face": hole.face,
        "body": hole.body,
        "at_mm": _reading_row(hole.centre),
        "normal": _reading_row(hole.normal),
        "diameter_mm": None if hole.diameter_mm is None else _number(hole.diameter_mm),
        "thread": hole.thread,
        "sigma_mm": _reading_row(spread.sigma_mm),
        "axes_mm": _reading_row(spread.axes_mm),
        "axes_95_mm": _reading_row(spread.axes_95_mm),
        "axis_directions": [_reading_row(d) for d in spread.directions],
    }


def _reading(residual: Residual, located: Located) -> dict[str, Any]:
    return {
        "text": residual.text,
        "kind": residual.kind,
        "joins": list(residual.ends),
        "unit": residual.unit,
        "measured": _number(residual.measured),
        "residual": _number(residual.residual),
        "sigma": _number(residual.sigma),
        "redundancy": _number(residual.redundancy),
        "w": None if residual.w is None else _number(residual.w),
        "suspect": residual.reading == located.suspect,
    }
