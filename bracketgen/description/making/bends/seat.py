"""A bend's place on one of its two panels, and how that panel is trimmed there.

Along the bend, `u` counts from the left end of the parent's edge, with the child on the left of the line. In a
seat's own frame x is u and y points to the child; the parent's metal lies below its line, the child's above.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import combine, one_body
from bracketgen.geometry.contour import Contour, box_contour, holds
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Placement, Point

#: How far the trimming box reaches over the described edge; nothing of the panel lies there.
_OVER_MM = 1.0
_ON_LINE_MM = 1e-6


class Side(Enum):
    """Which of the two panels; the value is the sign of y on which the panel's own metal does NOT lie."""

    PARENT = 1
    CHILD = -1


class Cover(Enum):
    """Whether the bend takes the whole described edge, or only a part of it."""

    WHOLE = "whole edge"
    PART = "part of the edge"


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of u, mm."""

    start: float
    end: float

    @property
    def length(self) -> float:
        """Length, mm; negative when there is nothing."""
        return self.end - self.start

    def both(self, other: Span) -> Span:
        """What lies in both."""
        return Span(max(self.start, other.start), min(self.end, other.end))

    def shrunk(self, at_start: float, at_end: float) -> Span:
        """Shorter by these amounts."""
        return Span(self.start + at_start, self.end - at_end)


@dataclass(frozen=True, slots=True)
class Seat:
    """One side of a bend: the described edge in the panel's frame, and how far back the tangent line lies."""

    bend: str
    side: Side
    line: Line
    setback_mm: float

    @property
    def frame(self) -> Placement:
        """x along u, y to the child."""
        return Placement.along(self.line.start, self.line.end)

    @property
    def tangent_y(self) -> float:
        """Where the tangent line lies in the seat's frame."""
        return -self.setback_mm * self.side.value

    def point(self, u: float, beyond_mm: float) -> Point:
        """A point at u, `beyond_mm` past the tangent line as seen from the panel's metal (negative: in the metal)."""
        return self.frame.point(Point(u, self.tangent_y + beyond_mm * self.side.value))

    def box(self, span: Span, low_mm: float, high_mm: float) -> Contour:
        """A box over a span of u, from `low` to `high` past the tangent line."""
        ys = sorted((self.tangent_y + low_mm * self.side.value, self.tangent_y + high_mm * self.side.value))
        return box_contour(span.start, ys[0], span.end, ys[1]).moved(self.frame)

    def tangent(self, span: Span) -> Line:
        """The stretch of the tangent line in the panel's frame."""
        return Line(self.point(span.start, 0.0), self.point(span.end, 0.0))


def trimming_box(seat: Seat, outline: Contour, span: Span, cover: Cover) -> Contour | None:
    """What is cut off between the described edge and the tangent line; None where they are the same."""
    if seat.setback_mm <= _ON_LINE_MM:
        return None
    if cover is Cover.WHOLE:
        span = Span(span.start - _flare(seat, outline, span.start, -1), span.end + _flare(seat, outline, span.end, 1))
    return seat.box(span, 0.0, seat.setback_mm + _OVER_MM)


def _flare(seat: Seat, outline: Contour, u: float, outward: int) -> float:
    """How far beyond the end of the edge the panel spreads before the tangent line is reached."""
    widest = 0.0
    for share in (0.25, 0.5, 0.75, 0.999):
        low, high = 0.0, 4 * seat.setback_mm
        depth = seat.setback_mm * (1 - share)
        if not holds(outline, seat.point(u + outward * 1e-4, depth)):
            continue
        while high - low > 0.01:
            middle = (low + high) / 2
            inside = holds(outline, seat.point(u + outward * middle, depth))
            low, high = (middle, high) if inside else (low, middle)
        widest = max(widest, high)
    return widest + 0.05


_TRIMMED = "a panel goes on beyond the tangent lines of its bends, which lie inside the described edges"


def trim(outline: Contour, boxes: Sequence[Contour], what: str) -> Contour:
    """The outline less the boxes; holes that open by it are refused."""
    if not boxes:
        return outline
    left = combine([outline], boxes)
    if not left:
        raise GeometryFault(f"{what} is too small for its bends: nothing is left", None, _TRIMMED)
    body = one_body(left, what)
    if body.inner:
        raise GeometryFault(f"{what}: a bend or notch cuts a hole into it", body.inner[0].edges[0].start)
    return body.outer


def tangent_span(seat: Seat, outline: Contour, wanted: Span) -> Span:
    """The stretch of the tangent line that is the panel's edge, inside `wanted`.

    Raises GeometryFault when there is none, or when it is interrupted.
    """
    back = seat.frame.inverse()
    found: list[Span] = []
    for edge in outline.edges:
        a, b = back.point(edge.start), back.point(edge.end)
        on_line = abs(a.y - seat.tangent_y) < _ON_LINE_MM and abs(b.y - seat.tangent_y) < _ON_LINE_MM
        if isinstance(edge, Line) and on_line:
            span = Span(min(a.x, b.x), max(a.x, b.x)).both(wanted)
            if span.length > _ON_LINE_MM:
                found.append(span)
    middle = seat.point((wanted.start + wanted.end) / 2, 0.0)
    if not found:
        raise GeometryFault(
            f"the panel has no straight edge on the tangent line of {seat.bend}",
            middle,
            f"the tangent line lies {seat.setback_mm:.2f} mm inside the described edge",
        )
    if len(found) > 1:
        raise GeometryFault(f"a cut-out or notch interrupts {seat.bend}", middle, "make two panels, or move the notch")
    return found[0]


class ReliefEnd(Enum):
    """How the cut ends inside the panel."""

    ROUND = "round"
    SQUARE = "square"


@dataclass(frozen=True, slots=True)
class Relief:
    """The cut beside a bend's end: its width along the bend, its depth beyond the tangent line, how it ends."""

    end: ReliefEnd
    width_mm: float
    depth_mm: float


def needs_relief(seat: Seat, outline: Contour, u: float, outward: int) -> bool:
    """Whether the panel's metal goes on beside the end of the strip, along the tangent line or past it."""
    beside = u + outward * 0.05
    return any(holds(outline, seat.point(beside, beyond)) for beyond in (-0.01, 0.01))


def relief_cut(seat: Seat, outline: Contour, u: float, outward: int, relief: Relief) -> list[Contour]:
    """Slot beside the end of the strip, from `depth` inside the panel out through the metal beside the strip."""
    span = Span(u, u + relief.width_mm) if outward > 0 else Span(u - relief.width_mm, u)
    out = _metal_beside(seat, outline, u, outward) + _OVER_MM
    if relief.end is ReliefEnd.SQUARE:
        return [seat.box(span, -relief.depth_mm, out)]
    r = relief.width_mm / 2
    bottom = max(relief.depth_mm - r, 0.0)
    return [_round_ended(seat, span, bottom, out)]


def _round_ended(seat: Seat, span: Span, bottom: float, out: float) -> Contour:
    """A slot open at the top with a half round at the bottom, anticlockwise."""
    r = span.length / 2
    middle = (span.start + span.end) / 2
    a, b = seat.point(span.start, -bottom), seat.point(span.end, -bottom)
    c, d = seat.point(span.end, out), seat.point(span.start, out)
    centre, tip = seat.point(middle, -bottom), seat.point(middle, -bottom - r)
    turning = float(seat.side.value)
    arcs = (Arc.make(a, tip, centre, r, turning), Arc.make(tip, b, centre, r, turning))
    return Contour((*arcs, Line(b, c), Line(c, d), Line(d, a))).anticlockwise()


def _metal_beside(seat: Seat, outline: Contour, u: float, outward: int) -> float:
    """How far the panel's metal reaches past the tangent line beside the strip, without a break."""
    x = u + outward * 0.05
    if not holds(outline, seat.point(x, 0.01)):
        return 0.0
    back = seat.frame.inverse()
    ys = []
    for edge in outline.edges:
        a, b = back.point(edge.start), back.point(edge.end)
        if (a.x - x) * (b.x - x) < 0:
            share = (x - a.x) / (b.x - a.x)
            ys.append(((a.y + share * (b.y - a.y)) - seat.tangent_y) * seat.side.value)
    ahead = [y for y in ys if y > 0]
    return min(ahead) if ahead else 0.0


def usual_relief(
    thickness_mm: float, least_slot_mm: float, end: ReliefEnd, width: float | None, depth: float | None
) -> Relief:
    """The relief where the description gives no sizes of its own.

    Width: the FAA's relief hole, 1/8 in up to 0.064 in sheet, 3/16 in up to 0.128 in (FAA-H-8083-31 ch. 4);
    thicker sheet at least its thickness (common practice, no source); never under what the process can cut.
    Depth: 1/16 in beyond the tangent line, the upper end of the FAA's 1/32 to 1/16 in.
    """
    faa = 3.175 if thickness_mm <= 0.064 * 25.4 else 4.7625
    usual = math.ceil(max(faa, thickness_mm, least_slot_mm) * 10) / 10
    own_width = width if width is not None else usual
    own_depth = depth if depth is not None else 25.4 / 16
    if end is ReliefEnd.ROUND and depth is None:
        own_depth += own_width / 2
    return Relief(end, own_width, own_depth)
