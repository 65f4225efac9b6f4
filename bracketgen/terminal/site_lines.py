"""The part in its place in words: its bolts, and how near everything comes."""

from __future__ import annotations

import math

from bracketgen.terminal.screen import aligned, wrapped
from bracketgen.vehicle.access.access import EndAccess
from bracketgen.vehicle.hoses import HoseCheck
from bracketgen.vehicle.in_place import InPlace
from bracketgen.vehicle.near.clearance import PairCheck
from bracketgen.vehicle.near.joints import Meeting
from bracketgen.vehicle.odds.odds import Odds


def site_lines(place: InPlace) -> list[str]:
    """Where the part goes, and a line for every bolt and every pair."""
    bodies = " and ".join(place.scene.bodies)
    lines = wrapped(f"{place.site.document.title}; bolted to: {bodies}", "  in place    ")
    rows = [
        [m.bolt.part_hole, m.bolt.mate, m.bolt.size, f"{m.off_mm:.2f}", f"{m.lift_mm:.2f}", f"{m.bolt.play_mm:.2f}"]
        for m in place.misfits
    ]
    lines += _table(["bolt", "meets", "size", "off mm", "lifted mm", "play mm"], rows)
    if place.joints:
        lines += _table(
            ["held at", "and", "moves mm", "grows mm", "gives mm", "asked mm"], [_joint(m) for m in place.joints]
        )
    if place.pairs:
        lines += _table(["between", "and", "gap mm", "needed mm", "when"], [_pair(p) for p in place.pairs])
    if place.access:
        rows = [_tool(end) for bolt in place.access for end in bolt.ends]
        lines += _table(["hexagon", "turned by", "swings"], rows)
    if place.hoses:
        lines += _table(["hose", "free mm", "needs mm", "spare mm"], [_hose(h) for h in place.hoses])
    if place.odds is not None:
        lines += _odds(place.odds)
    return lines


def _hose(hose: HoseCheck) -> list[str]:
    least = hose.least_mm
    figures = ["no way", ""] if least is None else [f"{least:.1f}", f"{hose.free_mm - least:+.1f}"]
    return [hose.name, f"{hose.free_mm:.1f}", *figures]


def _joint(one: Meeting) -> list[str]:
    """Two joints of the part with something between that gives: what it takes up, and how far it can."""
    unknown = one.growth.unknown is not None
    way = "any way" if one.axis is None else f"along {'xyz'[one.axis]}"
    asked = "?" if unknown else f"{one.asked_mm:.1f} {way}"
    grows = "?" if unknown else _by_axes(one.growth.mm)
    return [one.a.name, one.b.name, _by_axes(one.travel.mm), grows, f"{one.given_mm:.1f}", asked]


def _by_axes(mm: tuple[float, float, float]) -> str:
    return ", ".join(f"{round(c, 1) + 0.0:g}" for c in mm)


def _tool(end: EndAccess) -> list[str]:
    """The first tool that turns a hexagon (else one that holds it) and its widest swing."""
    tried = end.turned_by or end.held_by
    if tried is None:
        return [end.end.title, "no tool", ""]
    held = "" if tried.turns else " (holds only)"
    swing = f"{tried.widest.wide_deg:.0f} deg" if tried.widest else ""
    return [end.end.title, f"{tried.shape.name}{held}", swing]


def _odds(odds: Odds) -> list[str]:
    """How many builds bolt up, what costs the most, what helps."""
    share = odds.share
    told = f"{100 * share.value:.1f} of 100 builds bolt up ({100 * share.low:.1f} to {100 * share.high:.1f})"
    if odds.decides is not None:
        told += f"; {odds.decides} decides"
        if odds.causes:
            told += f"; most is lost to the {odds.causes[0].cause.value}"
    lines = wrapped(told, "    odds of fit  ")
    for line in odds.advice_lines:
        lines += wrapped(line, "      ")
    return lines


def _table(head: list[str], rows: list[list[str]]) -> list[str]:
    return [f"    {line}".rstrip() for line in aligned(head, rows)]


def _pair(pair: PairCheck) -> list[str]:
    asked = [n.mm for n in (pair.needed, pair.heat) if n is not None and n.mm is not None]
    needed = "?" if pair.needed.mm is None else "shield" if math.isinf(max(asked)) else f"{max(asked):.1f}"
    when = [pair.least.state] if pair.least.state not in ("", "as measured") else []
    if any(pair.least.shift):
        when.append("moved " + ", ".join(f"{c + 0.0:.0f}" for c in pair.least.shift))
    return [pair.a, pair.b, f"{pair.gap_mm:.1f}", needed, "; ".join(when)]
