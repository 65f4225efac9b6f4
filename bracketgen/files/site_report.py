"""The part in its place as plain values, for the report."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, Final

from bracketgen import __version__
from bracketgen.drawing.cut_sheet import BULGE_DECIMALS
from bracketgen.files.report import json_bytes, matrix, mm, row
from bracketgen.geometry.space import length, unit
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
        "mark": place.mark,
        "frame": matrix(placed.frame.matrix()),
        "carried_frame": None if placed.carried is None else matrix(placed.carried.matrix()),
        "bodies": list(place.scene.bodies),
        "bolts": [_bolt(m) for m in place.misfits],
        "steps": [_step(s) for s in place.steps],
        "joints": [_joint(m) for m in place.joints],
        "pairs": [_pair(p) for p in place.pairs],
        "growth": [_growth(t) for t in place.scene.things if t.growth is not None],
        "drips": [
            {"joint": d.joint.title, "hot": d.hot.title, "beyond_cone_mm": mm(d.beyond_mm), "at_mm": row(d.at)}
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
        "free_mm": mm(hose.free_mm),
        "shift_mm": row(hose.shift),
        **{key: mm(value) for key, value in lengths.items()},
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


def _bolt(one: BoltMisfit) -> dict[str, Any]:
    bolt = one.bolt
    return {
        "hole": bolt.part_hole,
        "mate": bolt.mate,
        "size": bolt.size,
        "touching": bolt.touching.value,
        "at_mm": row(bolt.at),
        "wanted_mm": row(bolt.wanted),
        "axis": row(bolt.axis, BULGE_DECIMALS),
        "off_mm": mm(one.off_mm),
        "lift_mm": mm(one.lift_mm),
        "tilt_deg": mm(one.tilt_deg),
        "play_mm": mm(bolt.play_mm),
        "slot_play_mm": mm(bolt.slot_play_mm),
    }


def _step(step: HoleStep) -> dict[str, Any]:
    return {
        "hole": step.bolt.part_hole,
        "mate": step.bolt.mate,
        "step_mm": mm(step.step_mm),
        "free_mm": mm(step.free_mm),
        "free_mpa": mm(step.free_mpa),
        "square_mpa": mm(step.square_mpa),
    }


def _joint(one: Meeting) -> dict[str, Any]:
    """What gives between two joints of the part, and what it has to take up."""
    known = one.growth.unknown is None
    return {
        "between": [{"at": j.name, "body": j.body, "gives": j.flexible is not None} for j in (one.a, one.b)],
        "travel_mm": row(one.travel.mm),
        "growth_mm": row(one.growth.mm) if known else None,
        "axis": None if one.axis is None else "xyz"[one.axis],
        "gives_mm": mm(one.given_mm),
        "has_to_give_mm": mm(one.asked_mm) if known else None,
    }


def _removal(one: Blocked) -> dict[str, Any]:
    """How far a thing gets on the leg of its way out on which it is stopped: mm, or degrees of a tilt."""
    told = {"thing": one.thing.title, "stopped_by": one.stopped_by, "leg": one.leg + 1, "legs": len(one.thing.legs)}
    return told | {f"free_{one.unit}": mm(one.free), f"way_{one.unit}": mm(one.way)}


def _pair(pair: PairCheck) -> dict[str, Any]:
    gap, move = pair.least.gap, pair.move
    return {
        "a": pair.a,
        "b": pair.b,
        "gap_mm": mm(gap.mm),
        "here_mm": row(gap.here),
        "there_mm": row(gap.there),
        "piece": pair.least.mine,
        "state": pair.least.state,
        "moved_mm": row(pair.least.shift),
        "travel_mm": row(pair.travel.mm),
        "required": _needed(pair.needed),
        "heat": None if pair.heat is None else _needed(pair.heat),
        "move_mm": None if move is None else mm(length(move)),
        "move_way": None if move is None or not any(move) else row(unit(move), BULGE_DECIMALS),
    }


def _needed(needed: Needed) -> dict[str, Any]:
    endless = needed.mm is not None and math.isinf(needed.mm)
    return {
        "mm": None if needed.mm is None or endless else mm(needed.mm),
        "no_distance_is_enough": endless,
        "source": needed.source,
        "why": needed.why,
    }


def _growth(thing: Standing) -> dict[str, Any]:
    growth = thing.growth
    assert growth is not None
    return {
        "thing": thing.title,
        "held_at_mm": row(growth.fixed),
        "far_end_mm": row(growth.end),
        "length_mm": mm(growth.end_mm),
        "metal": growth.expansion.metal,
        "expansion_per_k": growth.expansion.per_k,
    }


# The report of located holes: JSON with sorted keys, no clock, no paths but file names.


#: Lengths are rounded to a millionth of a millimetre, directions likewise.
_DECIMALS: Final = 6


def locate_report_bytes(located: Located, name: str, title: str, files: Iterable[str]) -> bytes:
    """The report as UTF-8 JSON."""
    return json_bytes(locate_report(located, name, title, files))


def locate_report(located: Located, name: str, title: str, files: Iterable[str]) -> dict[str, Any]:
    """The report as plain values; lengths in mm, angles in degrees, variances in mm2, all in the site's frame."""
    return {
        "site": name,
        "title": title,
        "tool": f"bracketgen {__version__}",
        "units": "mm",
        "holes": [_hole(located, hole) for hole in located.holes],
        "covariance_mm2": [row(r, _DECIMALS) for r in located.covariance.tolist()],
        "faces": {face: [row(r, _DECIMALS) for r in frame.matrix()] for face, frame in located.faces.items()},
        "readings": [_reading(r, located) for r in located.residuals],
        "variance_factor": mm(located.variance_factor, _DECIMALS),
        "variance_factor_95": row(located.chi_square_bounds, _DECIMALS),
        "covariance_widened_by": mm(located.widened, _DECIMALS),
        "freedom": located.freedom,
        "suspect": located.suspect,
        "suspect_error": mm(located.suspect_error, _DECIMALS),
        "suspect_alike": list(located.suspect_alike),
        "mirror": list(located.mirror),
        "mirror_words": list(located.mirror_words),
        "loose": list(located.loose),
        "advice": list(located.advice),
        "files": sorted(files),
    }


def _hole(located: Located, hole: LocatedHole) -> dict[str, Any]:
    spread = error_ellipsoid(located.covariance_of(hole.id))
    return {
        "id": hole.id,
        "face": hole.face,
        "body": hole.body,
        "at_mm": row(hole.centre, _DECIMALS),
        "normal": row(hole.normal, _DECIMALS),
        "diameter_mm": mm(hole.diameter_mm, _DECIMALS),
        "thread": hole.thread,
        "sigma_mm": row(spread.sigma_mm, _DECIMALS),
        "axes_mm": row(spread.axes_mm, _DECIMALS),
        "axes_95_mm": row(spread.axes_95_mm, _DECIMALS),
        "axis_directions": [row(d, _DECIMALS) for d in spread.directions],
    }


def _reading(residual: Residual, located: Located) -> dict[str, Any]:
    return {
        "text": residual.text,
        "kind": residual.kind,
        "joins": list(residual.ends),
        "unit": residual.unit,
        "measured": mm(residual.measured, _DECIMALS),
        "residual": mm(residual.residual, _DECIMALS),
        "sigma": mm(residual.sigma, _DECIMALS),
        "redundancy": mm(residual.redundancy, _DECIMALS),
        "w": mm(residual.w, _DECIMALS),
        "suspect": residual.reading == located.suspect,
    }
