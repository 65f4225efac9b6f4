"""Random solids in space for tests, and an inclusion test of them that shares nothing with the gaps under test."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt
import shapely

from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.contour import Circle, Contour, Cut, Edge
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Frame, Vector
from bracketgen.vehicle.near.solids import Block, Bow, Capsule, Drum, Plate, Solid, Wall

KINDS = ("Capsule", "Drum", "Block", "Wall", "Plate", "Bow")
#: Chords in place of arcs stand off by at most this, mm.
CHORD_MM = 4e-6
#: Half of the space that random solids stand in.
_SPREAD_MM = 60.0


def vector(v: npt.ArrayLike) -> Vector:
    """Three numbers as a tuple."""
    x, y, z = np.asarray(v, dtype=np.float64).tolist()
    return (x, y, z)


def random_turn(rng: np.random.Generator) -> Floats:
    """A rotation matrix, all equally likely (from a unit quaternion)."""
    q = rng.normal(size=4)
    w, x, y, z = q / np.linalg.norm(q)
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )


def random_frame(rng: np.random.Generator, spread_mm: float = _SPREAD_MM) -> Frame:
    """Any place within the spread, turned any way."""
    turn = random_turn(rng)
    return Frame(vector(rng.uniform(-spread_mm, spread_mm, 3)), *(vector(turn[:, k]) for k in range(3)))


def random_solid(kind: str, rng: np.random.Generator) -> Solid:
    """A solid of the kind, anywhere."""
    frame = random_frame(rng)
    match kind:
        case "Capsule" | "Drum":
            half = rng.uniform(0.5, 50.0)
            a, b = frame.point((0.0, 0.0, -half)), frame.point((0.0, 0.0, half))
            return (Capsule if kind == "Capsule" else Drum)(a, b, rng.uniform(1.0, 20.0))
        case "Block":
            return Block(frame, vector(rng.uniform(1.0, 40.0, 3)))
        case "Wall":
            return Wall(frame.point((0.0, 0.0, -80.0)), frame.z)
        case "Plate":
            return replace(PLATES[rng.integers(len(PLATES))], frame=frame)
        case "Bow":
            return replace(BOWS[rng.integers(len(BOWS))], frame=frame)
    raise AssertionError(kind)


def moved(solid: Solid, by: Frame) -> Solid:
    """The solid after a rigid move."""
    match solid:
        case Capsule(a, b, radius) | Drum(a, b, radius):
            return type(solid)(by.point(a), by.point(b), radius)
        case Wall(point, normal):
            return Wall(by.point(point), by.direction(normal))
    return replace(solid, frame=solid.frame.within(by))


# -- flat metal


def rounded(width: float, height: float, radius: float) -> Contour:
    """A rectangle about the origin with round corners."""
    x, y, r = width / 2, height / 2, radius
    corners = ((x - r, -y + r), (x - r, y - r), (-x + r, y - r), (-x + r, -y + r))
    edges: list[Edge] = []
    for k, (cx, cy) in enumerate(corners):
        start = ((cx, cy - r), (cx + r, cy), (cx, cy + r), (cx - r, cy))[k]
        end = ((cx + r, cy), (cx, cy + r), (cx - r, cy), (cx, cy - r))[k]
        edges.append(Arc.make(Point(*start), Point(*end), Point(cx, cy), r, 1.0))
        after = corners[(k + 1) % 4]
        begin = ((after[0] + r, after[1]), (after[0], after[1] + r), (after[0] - r, after[1]), (after[0], after[1] - r))
        edges.append(Line(Point(*end), Point(*begin[k])))
    return Contour(tuple(edges))


def bitten(width: float, height: float, bite: float) -> Contour:
    """A rectangle about the origin; a half round of radius `bite` is taken out of its top edge."""
    x, y = width / 2, height / 2
    p = [Point(-x, -y), Point(x, -y), Point(x, y), Point(bite, y), Point(-bite, y), Point(-x, y)]
    edges: list[Edge] = [Line(p[0], p[1]), Line(p[1], p[2]), Line(p[2], p[3])]
    quarter = Point(0.0, y - bite)
    edges += [Arc.make(p[3], quarter, Point(0.0, y), bite, -1.0), Arc.make(quarter, p[4], Point(0.0, y), bite, -1.0)]
    return Contour((*edges, Line(p[4], p[5]), Line(p[5], p[0])))


def slot(x: float, y: float, length: float, width: float) -> Contour:
    """A slot along x with round ends, its middle in x, y."""
    h, r = (length - width) / 2, width / 2
    p = [Point(x - h, y - r), Point(x + h, y - r), Point(x + h, y + r), Point(x - h, y + r)]
    right, left = Point(x + h, y), Point(x - h, y)
    return Contour(
        (Line(p[0], p[1]), Arc(p[1], p[2], right, r, math.pi), Line(p[2], p[3]), Arc(p[3], p[0], left, r, math.pi))
    )


def _plate(outline: Contour, *holes: Cut, thick: float) -> Plate:
    return Plate(Frame(), outline, holes, -thick, 0.0)


PLATES = (
    _plate(rounded(90, 60, 8), Circle(Point(-25, 5), 12), Circle(Point(25, -8), 4.5), thick=4),
    _plate(rounded(100, 30, 14.5), Circle(Point(-35, 0), 9), slot(20, 0, 40, 11), thick=3),
    _plate(bitten(80, 70, 22), Circle(Point(0, -18), 14), thick=6),
    _plate(bitten(60, 40, 10), thick=1.5),
    _plate(rounded(70, 70, 5), Circle(Point(0, 0), 31), thick=2),
)
BOWS = (
    Bow(Frame(), 40, 4.5, 7.5, 90),
    Bow(Frame(), 70, 20, 26, 150),
    Bow(Frame(), 25, 30, 34, 35),
    Bow(Frame(), 60, 0.5, 4.5, 180),
)


# -- the same by chords


def chords(chain: Contour | Circle, chord_mm: float = CHORD_MM) -> list[tuple[float, float]]:
    """Corners on the true chain, close enough that no chord stands off by more than `chord_mm`."""
    ring: list[tuple[float, float]] = []
    edges: tuple[Edge, ...] = chain.contour().edges if isinstance(chain, Circle) else chain.edges
    for edge in edges:
        if isinstance(edge, Line):
            ring.append((edge.start.x, edge.start.y))
            continue
        step = 2 * math.acos(1 - chord_mm / edge.radius)
        n = math.ceil(abs(edge.sweep_rad) / step)
        start = math.atan2(edge.start.y - edge.centre.y, edge.start.x - edge.centre.x)
        turn = start + edge.sweep_rad * np.arange(n) / n
        x, y = edge.centre.x + edge.radius * np.cos(turn), edge.centre.y + edge.radius * np.sin(turn)
        ring += zip(x.tolist(), y.tolist(), strict=True)
    return ring


def bow_profile(bow: Bow, chord_mm: float = CHORD_MM) -> list[tuple[float, float]]:
    """The bend's section in its frame's y-z plane, by chords."""
    turn = math.radians(bow.turn_deg)

    def arc(radius: float) -> list[tuple[float, float]]:
        n = math.ceil(turn / (2 * math.acos(1 - chord_mm / radius)))
        a = turn * np.arange(n + 1) / n
        return list(zip((radius * np.sin(a)).tolist(), (-radius * np.cos(a)).tolist(), strict=True))

    return [*arc(bow.outer), *reversed(arc(bow.inner))]


@cache
def section(solid: Plate | Bow) -> shapely.Polygon:
    """Flat metal seen along its thickness, a bend seen along its axis."""
    if isinstance(solid, Bow):
        return shapely.Polygon(bow_profile(solid))
    return shapely.Polygon(chords(solid.outline), [chords(h) for h in solid.holes])


def template(solid: Plate | Bow) -> Plate | Bow:
    """The same solid in its own frame."""
    return replace(solid, frame=Frame())


def outside_mm(solid: Solid, point: Vector) -> float:
    """How far the point is outside of the solid, mm (0 inside); for drums, blocks and metal along the axes at least."""
    p = np.array(point)
    match solid:
        case Capsule(a, b, radius):
            return max(0.0, float(np.linalg.norm(p - _foot(p, a, b))) - radius)
        case Drum(a, b, radius):
            along = np.subtract(b, a)
            height = float(np.linalg.norm(along))
            z = float((p - a) @ along) / height
            off = float(np.linalg.norm(p - a - along * z / height))
            return math.hypot(max(0.0, -z, z - height), max(0.0, off - radius))
        case Wall(at, normal):
            return max(0.0, float((p - at) @ np.array(normal)))
    x, y, z = (
        float((p - solid.frame.origin) @ np.array(axis)) for axis in (solid.frame.x, solid.frame.y, solid.frame.z)
    )
    if isinstance(solid, Block):
        return math.hypot(*(max(0.0, abs(c) - h) for c, h in zip((x, y, z), solid.half, strict=True)))
    flat, height, low, high = (
        ((x, y), z, solid.low, solid.high) if isinstance(solid, Plate) else ((y, z), x, 0.0, solid.width)
    )
    return math.hypot(section(template(solid)).distance(shapely.Point(flat)), max(0.0, low - height, height - high))


def _foot(p: Floats, a: Vector, b: Vector) -> Floats:
    along = np.subtract(b, a)
    return np.array(a) + along * np.clip(float((p - a) @ along) / float(along @ along), 0.0, 1.0)
