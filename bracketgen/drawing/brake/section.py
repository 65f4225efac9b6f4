"""A bend in section, small: the metal between its tools before and after."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from bracketgen.drawing.sheet import HAIR, INK, OTHER_FACE, PAPER, WAY_LINE, Fill, Mark, Stroke, mixed
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point, polar
from bracketgen.part.part import Way
from bracketgen.shop.brake.convex import packed
from bracketgen.shop.brake.leaf import LeafPose, LeafSetup, leaf_pose, on_leaf_brake, rounded_nose
from bracketgen.shop.brake.metal import Packed, Wing
from bracketgen.shop.brake.plan import BrakeStep
from bracketgen.shop.brake.press import PressPose, PressSetup, on_press, press_pose

Ring = tuple[Point, ...]

_TOOL_FILL: Final = mixed(PAPER, HAIR, 0.45)
#: How much of the tools is shown around the bend, mm of the part.
_AROUND_MM: Final = 30.0
_ARC_STEPS: Final = 12
_THIN_MM: Final = 0.18


@dataclass(frozen=True, slots=True)
class Section:
    """What a picture shows, in the machine's mm: metal, its described face, tools, and the gauge's stop."""

    metal: tuple[Ring, ...]
    face: tuple[tuple[Point, Point], ...]
    tools: tuple[Ring, ...]
    stop: tuple[Point, Point] | None = None

    @property
    def bounds(self) -> Box:
        """Around the metal and some of the tools."""
        points = [p for ring in self.metal for p in ring]
        xs, ys = [p.x for p in points], [p.y for p in points]
        return (
            min(-_AROUND_MM, *xs), min(-_AROUND_MM * 0.8, *ys), max(_AROUND_MM, *xs), max(_AROUND_MM * 1.2, *ys)
        )  # fmt: skip


def section(made: BrakeStep, turn_deg: float) -> Section:
    """The section of a step at a turn of its bend."""
    if isinstance(made.setup, LeafSetup):
        return _on_leaf(made, made.setup, turn_deg)
    return _on_press(made, made.setup, turn_deg)


def _on_press(made: BrakeStep, setup: PressSetup, turn_deg: float) -> Section:
    around, held = made.around, made.held
    pose = press_pose(around, setup.die, np.array([turn_deg]))
    metal = [*_rings(on_press(around, around.all, pose, held)[0]), *_press_strip(made, pose)]
    tip = float(pose.tip_mm[0])
    tools = (
        _up(setup.punch.outline, tip),
        _up(setup.brake.ram, tip + setup.punch.height_mm),
        setup.die.outline,
        _up(setup.brake.bed, -setup.die.height_mm),
    )
    faces = on_press(around, _faces(made), pose, held)[0]
    return Section(tuple(metal), _ends(faces), tools, _stop(made, setup) if turn_deg == 0.0 else None)


def _stop(made: BrakeStep, setup: PressSetup) -> tuple[Point, Point] | None:
    if made.gauging is None or made.gauging.distance_mm is None:
        return None
    gauge, x = setup.brake.gauge, made.gauging.distance_mm
    return Point(x, -gauge.below_mm), Point(x, gauge.above_mm)


def _on_leaf(made: BrakeStep, setup: LeafSetup, turn_deg: float) -> Section:
    around, held, t = made.around, made.held, made.around.thickness_mm
    pose = leaf_pose(around, setup.nose, np.array([turn_deg]))
    radius = float(pose.radius_mm[0])
    outer, turn = radius + t, math.radians(turn_deg)
    metal = [*_rings(on_leaf_brake(around, around.all, pose, held)[0]), *_leaf_strip(pose, t)]
    edge = Point(radius - outer * math.sin(turn), outer - outer * math.cos(turn))
    out, up = Point(-math.cos(turn), math.sin(turn)), Point(math.sin(turn), math.cos(turn))
    back = radius - setup.nose.radius_mm
    tools = (
        tuple(p.plus(Point(back, t)) for p in rounded_nose(setup.nose)),
        tuple(p.plus(Point(radius, 0.0)) for p in setup.brake.bed),
        tuple(edge.plus(out, p.x).plus(up, p.y) for p in setup.brake.leaf),
    )
    return Section(tuple(metal), _ends(on_leaf_brake(around, _faces(made), pose, held)[0]), tools)


def _faces(made: BrakeStep) -> Packed:
    """The described faces of the panels that stand edge on, as flat two-cornered pieces."""
    around = made.around
    up = made.bend.way is Way.UP
    found, child = [], []
    for solid in around.solids:
        if not solid.is_panel:
            continue
        corners = solid.corners[: len(solid.corners) // 2]
        sign = 1.0 if solid.wing is Wing.CHILD else -1.0
        flat = np.column_stack((sign * corners[:, 1], corners[:, 2] + around.thickness_mm if up else -corners[:, 2]))
        ends = _two_ends(flat)
        if ends is not None:
            found.append(ends)
            child.append(int(solid.wing is Wing.CHILD))
    return Packed((), packed(found), np.array(child, dtype=np.intp))


def _two_ends(points: Floats) -> list[tuple[float, float]] | None:
    """The ends of points that lie on one line; None when they don't."""
    far = points[np.argmax(np.hypot(*(points - points[0]).T))]
    end = points[np.argmax(np.hypot(*(points - far).T))]
    along = far - end
    off = np.abs(along[0] * (points[:, 1] - end[1]) - along[1] * (points[:, 0] - end[0])) / np.hypot(*along)
    return [(float(end[0]), float(end[1])), (float(far[0]), float(far[1]))] if off.max() < 0.05 else None


def _ends(faces: Floats) -> tuple[tuple[Point, Point], ...]:
    """First and farthest corner of each two-cornered piece."""
    ends = []
    for face in faces:
        far = face[np.argmax(np.hypot(*(face - face[0]).T))]
        ends.append((Point(float(face[0][0]), float(face[0][1])), Point(float(far[0]), float(far[1]))))
    return tuple(ends)


def _rings(placed: Floats) -> list[Ring]:
    return [tuple(Point(float(x), float(y)) for x, y in piece) for piece in placed]


def _up(ring: Sequence[Point], by_mm: float) -> Ring:
    return tuple(Point(p.x, p.y + by_mm) for p in ring)


def _press_strip(made: BrakeStep, pose: PressPose) -> list[Ring]:
    """The metal of the bend itself: the arc, and what is still straight at either side of it."""
    t, half = made.around.thickness_mm, math.radians(float(pose.turn_deg[0])) / 2
    radius, rest = float(pose.radius_mm[0]), float(pose.rest_mm[0])
    centre = Point(0.0, float(pose.centre_mm[0]))
    rings = [_arc(centre, radius, t, -math.pi / 2 - half, -math.pi / 2 + half)] if half > 0 else []
    for side in (1.0, -1.0):
        n = Point(side * math.sin(half), -math.cos(half))
        e = Point(side * math.cos(half), math.sin(half))
        inner, outer = centre.plus(n, radius), centre.plus(n, radius + t)
        rings.append((inner, outer, outer.plus(e, rest), inner.plus(e, rest)))
    return rings


def _leaf_strip(pose: LeafPose, t: float) -> list[Ring]:
    radius, rest = float(pose.radius_mm[0]), float(pose.rest_mm[0])
    turn = math.radians(float(pose.turn_deg[0]))
    centre = Point(radius, radius + t)
    n, e = Point(-math.sin(turn), -math.cos(turn)), Point(-math.cos(turn), math.sin(turn))
    inner, outer = centre.plus(n, radius), centre.plus(n, radius + t)
    rings: list[Ring] = [(inner, outer, outer.plus(e, rest), inner.plus(e, rest))] if rest > 0 else []
    return [*rings, _arc(centre, radius, t, -math.pi / 2 - turn, -math.pi / 2)] if turn > 0 else rings


def _arc(centre: Point, radius: float, t: float, start: float, end: float) -> Ring:
    turns = [start + (end - start) * k / _ARC_STEPS for k in range(_ARC_STEPS + 1)]
    outer = [centre.plus(polar(radius + t, a)) for a in turns]
    return (*outer, *(centre.plus(polar(radius, a)) for a in reversed(turns)))


@dataclass(frozen=True, slots=True)
class View:
    """From the machine's mm to the paper, cut at a box."""

    scale: float
    centre: Point
    box: Box

    @staticmethod
    def over(bounds: Box, box: Box) -> View:
        """Both axes alike, the bounds in the middle of the box."""
        scale = min((box[2] - box[0]) / (bounds[2] - bounds[0]), (box[3] - box[1]) / (bounds[3] - bounds[1]))
        return View(scale, Point((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2), box)

    def point(self, p: Point) -> Point:
        """On the paper."""
        middle = Point((self.box[0] + self.box[2]) / 2, (self.box[1] + self.box[3]) / 2)
        return middle.plus(p.minus(self.centre), self.scale)


def draw(shown: Section, view: View, name: str) -> list[Mark]:
    """The picture's marks; `name` is what they show, such as 'step 1 before'."""
    marks: list[Mark] = []
    for ring in shown.tools:
        cut = _cut([view.point(p) for p in ring], view.box)
        if len(cut) > 2:
            marks += [Fill((tuple(cut),), _TOOL_FILL, f"{name} tool"), Stroke((*cut, cut[0]), 0.12, HAIR)]
    for ring in shown.metal:
        paper = tuple(view.point(p) for p in ring)
        marks += [Fill((paper,), OTHER_FACE, f"{name} metal"), Stroke((*paper, paper[0]), _THIN_MM, OTHER_FACE)]
    marks += [
        Stroke(tuple(view.point(p) for p in face), 0.35, WAY_LINE[Way.UP], (), f"{name} face") for face in shown.face
    ]
    if shown.stop is not None:
        marks += _stop_marks(tuple(view.point(p) for p in shown.stop), view.box, name)
    return marks


def _stop_marks(stop: Sequence[Point], box: Box, name: str) -> list[Mark]:
    """A black bar beyond the metal with a thin arrow's place for the gauge; cut at the box."""
    low, high = stop
    x, y0, y1 = min(low.x, box[2]), max(low.y, box[1]), min(high.y, box[3])
    return [Fill(((Point(x, y0), Point(x + 1.0, y0), Point(x + 1.0, y1), Point(x, y1)),), INK, f"{name} gauge")]


def _cut(ring: Sequence[Point], box: Box) -> list[Point]:
    """A ring cut at the sides of a box (Sutherland and Hodgman); pieces hang together along the sides."""
    x0, y0, x1, y1 = box
    sides = ((Point(1, 0), x0), (Point(-1, 0), -x1), (Point(0, 1), y0), (Point(0, -1), -y1))
    for n, level in sides:
        kept: list[Point] = []
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
            da, db = n.dot(a) - level, n.dot(b) - level
            if da >= 0:
                kept.append(a)
            if (da > 0 > db) or (da < 0 < db):
                kept.append(a.plus(b.minus(a), da / (da - db)))
        ring = kept
        if not ring:
            return []
    return list(ring)
