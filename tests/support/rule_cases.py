"""Parts for tests of rules: what a rule says about a part, and parts with one bend in odd places."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from parts import stock

from bracketgen.bending.allowance import KFactor, bend_metal
from bracketgen.bending.flat import Flat, unfold
from bracketgen.bending.fold import Folded, fold
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Contour, Edge, box_contour, closed_chain
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point
from bracketgen.part.hole import Hole, Opening, Purpose, Slot
from bracketgen.part.part import Bend, Panel, Part, Stock, Way
from bracketgen.rules.engine import run_rules


def flattened(part: Part) -> tuple[Flat, Folded]:
    k, t = KFactor(0.44), part.stock.thickness_mm
    metals = {b.id: bend_metal(k, b.inside_radius_mm, t, b.turn_deg) for b in part.bends}
    return unfold(part, metals), fold(part)


def said(part: Part, rule: str) -> list[Finding]:
    """What one rule finds about a part."""
    return [f for f in run_rules(*flattened(part)) if f.rule == rule]


def levels(part: Part, rule: str) -> list[Level]:
    return [f.level for f in said(part, rule)]


def slot(
    id_: str, x: float, y: float, width: float, length: float, direction: float = 0.0, fastener: str | None = None
) -> Hole:
    return Hole(id_, Slot(Point(x, y), width, length, direction), Purpose.CLEARANCE, fastener)


def opening(id_: str, chain: Contour) -> Hole:
    return Hole(id_, Opening(chain), Purpose.OPENING)


def sampled(edges: Sequence[Edge], step: float) -> list[Point]:
    """Points along edges, no farther apart than `step`."""
    found: list[Point] = []
    for e in edges:
        n = max(1, math.ceil(e.length / step))
        for k in range(n):
            share = k / n
            found.append(e.at(share))
    return found


def bend_on(
    parent_outline: Contour,
    start: Point,
    end: Point,
    child_outline: Contour | None = None,
    leg: float = 30.0,
    of: Stock | None = None,
    radius: float = 3.0,
) -> Part:
    """One square bend up on the line from start to end, the child on its left; the child's x axis lies on it."""
    width = start.distance(end)
    bend = Bend("bend 1", "base", "leg", Line(start, end), Line(Point(0, 0), Point(width, 0)), 90.0, Way.UP, radius)
    child = child_outline or box_contour(0.0, 0.0, width, leg)
    panels = (Panel("base", parent_outline), Panel("leg", child))
    return Part("one-bend", "One bend", of or stock(), panels, (bend,), "EN 1993-1-8", 1.0)


def notched_base(width: float, base: float, start: float, end: float, relief: float, depth: float) -> Contour:
    """A rectangle whose upper edge has a square notch `relief` wide and `depth` deep beside start and end."""
    corners = [(0, 0), (width, 0), (width, base)]
    corners += [(end + relief, base), (end + relief, base - depth), (end, base - depth), (end, base)]
    corners += [(start, base), (start, base - depth), (start - relief, base - depth), (start - relief, base)]
    return closed_chain([Point(x, y) for x, y in [*corners, (0, base)]])


def with_leg_limit(part: Part, minimum_leg_mm: float) -> Part:
    return replace(part, bends=tuple(replace(b, minimum_leg_mm=minimum_leg_mm) for b in part.bends))
