"""Where a bend is: back gauge, scribe line, sight line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat, Strip
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point
from bracketgen.geometry.scratch import ChordSide, scratch_points
from bracketgen.shop.brake.brakes import Gauge
from bracketgen.shop.brake.metal import LEVEL_MM, Around, Profile, Wing

SIGHT_LINE_SOURCE: Final = (
    "FAA-H-8083-31 ch. 4, from memory: the sight line lies one inside radius from the tangent line under the nose"
)
#: A finger needs a straight stretch this long, along the bend. Common practice, no source.
_STRETCH_MM: Final = 10.0
_CHORD_MM: Final = 0.01


@dataclass(frozen=True, slots=True)
class Gauging:
    """What the back gauge touches and how far that is from the bend's middle, mm; None and why where it can't.

    The distance is measured over the part as it is just before the bend: developed where bends beyond are not yet
    made, over the outer face of a flange that stands.
    """

    touches: str
    distance_mm: float | None
    why_not: str = ""


def gauging(around: Around, at_back: Wing, gauge: Gauge) -> Gauging:
    """The gauge against the metal that reaches farthest back within the fingers' height."""
    reach: list[tuple[float, bool, Profile]] = []
    for piece in around.all.pieces:
        if piece.wing is at_back:
            far = _reach_within(piece.shape, -gauge.below_mm, gauge.above_mm)
            if far is not None:
                reach.append((far, piece.is_panel, piece))
    if not reach:
        return Gauging("", None, "no metal at the height of the gauge")
    far = max(r[0] for r in reach)
    touched = max((r for r in reach if r[0] > far - _CHORD_MM), key=lambda r: (r[1], _length(r[2])))[2]
    level = touched.is_level(around.thickness_mm)
    name = f"{'edge' if level else 'outer face'} of '{touched.id}'" if touched.is_panel else f"round of '{touched.id}'"
    if not touched.is_panel:
        return Gauging(name, None, "the gauge would touch a bend's round")
    if level and not _has_straight_edge(around, touched):
        return Gauging(name, None, f"'{touched.id}' has no straight edge along the bend")
    if not gauge.least_mm <= far <= gauge.most_mm:
        return Gauging(name, None, f"{far:.1f} mm is out of the gauge's reach")
    return Gauging(name, far)


def _length(piece: Profile) -> float:
    return piece.along_mm[1] - piece.along_mm[0]


def _reach_within(shape: tuple[tuple[float, float], ...], low: float, high: float) -> float | None:
    """The farthest point outward of a convex shape between two heights."""
    inside = [x for x, y in shape if low <= y <= high]
    for (ax, ay), (bx, by) in zip(shape, (*shape[1:], shape[0]), strict=True):
        inside += [ax + (bx - ax) * (h - ay) / (by - ay) for h in (low, high) if min(ay, by) < h < max(ay, by)]
    return max(inside, default=None)


def _has_straight_edge(around: Around, piece: Profile) -> bool:
    """Whether the level panel ends in a straight stretch along the bend, as far out as it reaches."""
    flat, strip = around.flat, around.strip
    outline = flat.part.panel(piece.id).outline.moved(flat.placements[piece.id])
    far = piece.reach_mm[1]
    for edge in outline.edges:
        if isinstance(edge, Line) and edge.length >= _STRETCH_MM:
            ends = [abs(across_mm(strip, p)) for p in (edge.start, edge.end)]
            if min(ends) > far - LEVEL_MM:
                return True
    return False


def across_mm(strip: Strip, p: Point) -> float:
    """How far a point of the flat lies from the bend's centre line, the child's side positive."""
    line = strip.centre_line
    return line.direction_at(p).cross(p.minus(line.start))


@dataclass(frozen=True, slots=True)
class Scribe:
    """Lines to scribe on the flat, from the edge of the blank on the named wing's side, mm.

    `edge_mm` is from that edge to the bend's centre line, `tangent_mm` to the tangent line on that side, `sight_mm` to
    the sight line of a leaf brake that clamps that side: under the front of its nose.
    """

    wing: Wing
    edge_mm: float
    tangent_mm: float
    sight_mm: float


def scribe(flat: Flat, strip: Strip, wing: Wing, nose_radius_mm: float) -> Scribe:
    """The lines of a bend, counted from the blank's farthest edge on one side. Source: SIGHT_LINE_SOURCE.

    A nose sharper than the bend goes nearer to the tangent line: its own radius is what lies before that line.
    """
    ring = scratch_points(flat.outline.anticlockwise(), chord_error_mm=_CHORD_MM, side=ChordSide.INSIDE)
    sign = 1.0 if wing is Wing.CHILD else -1.0
    edge = max(sign * across_mm(strip, p) for p in ring)
    half = strip.metal.allowance_mm / 2
    return Scribe(wing, edge, edge - half, edge - half + nose_radius_mm)
