"""Where two edges of a file lie on each other or meet."""

from __future__ import annotations

from enum import StrEnum
from math import hypot, sqrt, tau

from bracketgen.files.readback.edges import Edge, Point

#: Lines and circles nearer than this are the same line to a cutting machine (common practice, no source).
SAME_LINE_MM = 1e-5


class EdgeOverlap(StrEnum):
    """How two edges lie on each other."""

    NONE = "none"
    PART = "part"
    WHOLE = "whole"


def overlap(one: Edge, two: Edge) -> EdgeOverlap:
    """Whether two edges share more than single points; the way they run does not matter."""
    if one.is_line != two.is_line:
        return EdgeOverlap.NONE
    return _line_overlap(one, two) if one.is_line else _arc_overlap(one, two)


def _line_overlap(one: Edge, two: Edge) -> EdgeOverlap:
    if one.length_mm < two.length_mm:
        one, two = two, one
    length = one.length_mm
    if length <= SAME_LINE_MM:
        return EdgeOverlap.NONE
    (x0, y0), (x1, y1) = one.start, one.end
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    places = []
    for x, y in (two.start, two.end):
        if abs(ux * (y - y0) - uy * (x - x0)) > SAME_LINE_MM:
            return EdgeOverlap.NONE
        places.append(ux * (x - x0) + uy * (y - y0))
    first, last = sorted(places)
    if min(last, length) - max(first, 0.0) <= SAME_LINE_MM:
        return EdgeOverlap.NONE
    whole = abs(first) <= SAME_LINE_MM and abs(last - length) <= SAME_LINE_MM
    return EdgeOverlap.WHOLE if whole else EdgeOverlap.PART


def _arc_overlap(one: Edge, two: Edge) -> EdgeOverlap:
    (x0, y0), (x1, y1) = one.centre, two.centre
    if hypot(x1 - x0, y1 - y0) > SAME_LINE_MM or abs(one.radius_mm - two.radius_mm) > SAME_LINE_MM:
        return EdgeOverlap.NONE
    if one.is_circle and two.is_circle:
        return EdgeOverlap.WHOLE
    slack = SAME_LINE_MM / one.radius_mm
    (start, sweep), (other_start, other_sweep) = _left_turning(one), _left_turning(two)
    ahead = (other_start - start) % tau
    if min(ahead, tau - ahead) <= slack and abs(sweep - other_sweep) <= slack:
        return EdgeOverlap.WHOLE
    shared = max(0.0, min(sweep, ahead + other_sweep) - ahead) + max(0.0, ahead + other_sweep - tau)
    return EdgeOverlap.PART if shared > slack else EdgeOverlap.NONE


def _left_turning(arc: Edge) -> tuple[float, float]:
    """Start and sweep of an arc run counter-clockwise."""
    if arc.sweep_rad >= 0.0:
        return arc.start_rad, arc.sweep_rad
    return arc.start_rad + arc.sweep_rad, -arc.sweep_rad


def meeting_points(one: Edge, two: Edge) -> list[Point]:
    """Every point that two edges share, touching ones included; none for edges on the same line or circle."""
    found = carrier_points(one, two)
    if one.is_line and two.is_line:
        # A line that ends just short on the other touches it all the same.
        pairs = [(p, other) for edge, other in ((one, two), (two, one)) for p in (edge.start, edge.end)]
        found = [p for p, other in pairs if other.distance_mm(p) <= SAME_LINE_MM] or found
    return [p for p in found if max(one.distance_mm(p), two.distance_mm(p)) <= SAME_LINE_MM]


def carrier_points(one: Edge, two: Edge) -> list[Point]:
    """Every point that the whole lines or circles of two edges share, wherever the edges end; none for parallels."""
    if one.is_line and two.is_line:
        return _line_line(one, two)
    if one.is_line or two.is_line:
        line, arc = (one, two) if one.is_line else (two, one)
        return _line_circle(line, arc)
    return _circle_circle(one, two)


def _line_line(one: Edge, two: Edge) -> list[Point]:
    (x0, y0), (x1, y1) = one.start, one.end
    (u0, v0), (u1, v1) = two.start, two.end
    ax, ay, bx, by = x1 - x0, y1 - y0, u1 - u0, v1 - v0
    cross = ax * by - ay * bx
    if abs(cross) <= 1e-12 * one.length_mm * two.length_mm:
        return []
    t = ((u0 - x0) * by - (v0 - y0) * bx) / cross
    return [(x0 + t * ax, y0 + t * ay)]


def _line_circle(line: Edge, arc: Edge) -> list[Point]:
    length = line.length_mm
    if length == 0.0:
        return []
    (x0, y0), (x1, y1), (cx, cy) = line.start, line.end, arc.centre
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    along = ux * (cx - x0) + uy * (cy - y0)
    foot = (x0 + along * ux, y0 + along * uy)
    aside = hypot(cx - foot[0], cy - foot[1])
    if aside > arc.radius_mm + SAME_LINE_MM:
        return []
    half = sqrt(max(0.0, arc.radius_mm**2 - aside**2))
    return [(foot[0] + k * ux, foot[1] + k * uy) for k in ((-half, half) if half else (0.0,))]


def _circle_circle(one: Edge, two: Edge) -> list[Point]:
    (x0, y0), (x1, y1) = one.centre, two.centre
    r0, r1 = one.radius_mm, two.radius_mm
    apart = hypot(x1 - x0, y1 - y0)
    if apart <= SAME_LINE_MM or apart > r0 + r1 + SAME_LINE_MM or apart < abs(r0 - r1) - SAME_LINE_MM:
        return []
    along = (apart**2 + r0**2 - r1**2) / (2.0 * apart)
    aside = sqrt(max(0.0, r0**2 - along**2))
    ux, uy = (x1 - x0) / apart, (y1 - y0) / apart
    foot = (x0 + along * ux, y0 + along * uy)
    return [(foot[0] - k * uy, foot[1] + k * ux) for k in ((-aside, aside) if aside else (0.0,))]
