"""The part around one of its bends while some other bends are made: pieces of metal seen along that bend.

A piece is a panel or a slice of a bend, as the convex hull of what it shows along the bend line: that is exact for
panels whose bends are parallel, and holds more than the metal for all others.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from bracketgen.bending.flat import Flat, Strip
from bracketgen.bending.fold import turned_frame
from bracketgen.geometry.frame import Frame
from bracketgen.geometry.line import Line
from bracketgen.geometry.placement import Placement
from bracketgen.geometry.point import Point
from bracketgen.geometry.scratch import Side, scratch_points
from bracketgen.part.bend import Bend, Way
from bracketgen.part.panel import Panel
from bracketgen.shop.brake.making.convex import Floats, Shape, hull

#: How far a piece may stand out of a rounded outline, mm.
_CHORD_ERROR_MM = 0.05
#: A bend that is made stands in slices of at most this much.
_SLICE_DEG = 30.0
#: Metal this near to the plane of the sheet lies in it, mm.
LEVEL_MM = 0.05


class Wing(StrEnum):
    """One side of a bend: that of its parent or that of its child."""

    PARENT = "parent"
    CHILD = "child"

    @property
    def other(self) -> Wing:
        """The opposite side."""
        return Wing.CHILD if self is Wing.PARENT else Wing.PARENT


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A convex body of the part: corners (n, 3), x along the bend from its middle, y across it, z out of the face."""

    id: str
    is_panel: bool
    wing: Wing
    corners: Floats


@dataclass(frozen=True, slots=True)
class Piece:
    """What a solid shows along the bend.

    `shape` is anticlockwise: outward from the bend's middle, and up from the face that lies down while it is bent.
    `along_mm` is how far it reaches along the bend, from the bend's middle.
    """

    id: str
    is_panel: bool
    wing: Wing
    shape: tuple[tuple[float, float], ...]
    along_mm: tuple[float, float]

    @property
    def low_mm(self) -> float:
        """Lowest point above the face that lies down."""
        return min(p[1] for p in self.shape)

    @property
    def high_mm(self) -> float:
        """Highest point above the face that lies down."""
        return max(p[1] for p in self.shape)

    @property
    def reach_mm(self) -> tuple[float, float]:
        """Nearest and farthest from the bend's middle, outward."""
        across = [p[0] for p in self.shape]
        return min(across), max(across)

    def is_level(self, thickness_mm: float) -> bool:
        """Whether it lies in the plane of the sheet at the bend."""
        return self.low_mm > -LEVEL_MM and self.high_mm < thickness_mm + LEVEL_MM


class Metal:
    """A flat with its bends as moves from panel to panel."""

    def __init__(self, flat: Flat) -> None:
        self.flat = flat
        self.thickness_mm = flat.part.stock.thickness_mm
        self.strips = {s.bend.id: s for s in flat.strips}
        self._panels = {p.id: _panel_corners(p, self.thickness_mm) for p in flat.part.panels}
        self._joints = {s.bend.id: _Joint(s, self.thickness_mm) for s in flat.strips}

    def around(self, bend_id: str, done: frozenset[str]) -> list[Solid]:
        """All metal but the strip of that bend itself, which is still flat; `done` bends have their full turn."""
        joint = self._joints[bend_id]
        bend = joint.strip.bend
        found: list[Solid] = []
        self._walk(bend.parent, joint.middle @ _inverse(joint.parent), bend_id, Wing.PARENT, done, found)
        self._walk(bend.child, joint.middle @ joint.flat_child, bend_id, Wing.CHILD, done, found)
        return found

    def _walk(
        self, panel: str, frame: Floats, came_by: str, wing: Wing, done: frozenset[str], found: list[Solid]
    ) -> None:
        """The panel and everything beyond it, seen from the bend that it was reached by."""
        found.append(Solid(panel, True, wing, _moved(self._panels[panel], frame)))
        for bend_id, joint in self._joints.items():
            bend = joint.strip.bend
            if bend_id == came_by or panel not in (bend.parent, bend.child):
                continue
            made = bend_id in done
            to_child = joint.parent @ (joint.made_child if made else joint.flat_child)
            ahead = panel == bend.parent
            beyond = frame @ (to_child if ahead else _inverse(to_child))
            strip = (frame if ahead else beyond) @ joint.parent
            found += [Solid(bend_id, False, wing, _moved(c, strip)) for c in (joint.made if made else joint.flat)]
            self._walk(bend.child if ahead else bend.parent, beyond, bend_id, wing, done, found)


class _Joint:
    """A bend's strip: moves between its frame and the panels, and its metal flat and made.

    The strip's frame has x along the bend and y toward the child, its origin on the parent's tangent line.
    """

    def __init__(self, strip: Strip, thickness_mm: float) -> None:
        bend, allowance = strip.bend, strip.metal.allowance_mm
        self.strip = strip
        self.parent = _on(bend.parent_line)
        own = _inverse(_on(bend.child_line))
        self.flat_child = _matrix(Frame((0.0, allowance, 0.0))) @ own
        self.made_child = _matrix(turned_frame(bend, thickness_mm, bend.turn_deg)) @ own
        self.middle = _matrix(Frame((-bend.width_mm / 2, -allowance / 2, 0.0)))
        box = [(0.0, -thickness_mm), (allowance, -thickness_mm), (allowance, 0.0), (0.0, 0.0)]
        self.flat = [_prism(box, bend.width_mm)]
        self.made = [_prism(s, bend.width_mm) for s in _slices(bend, thickness_mm)]


def pieces(solids: Sequence[Solid], way: Way, thickness_mm: float, half_mm: float | None = None) -> list[Piece]:
    """What the solids show along the bend, with the face that is inside the bend up.

    With `half_mm` only what lies within that distance of the bend's middle, along the bend.
    """
    made = []
    for solid in solids:
        corners = solid.corners if half_mm is None else _within(solid.corners, half_mm)
        if len(corners) < 3:
            continue
        outward = corners[:, 1] * (1.0 if solid.wing is Wing.CHILD else -1.0)
        up = corners[:, 2] + thickness_mm if way is Way.UP else -corners[:, 2]
        shape = hull(list(zip(outward.tolist(), up.tolist(), strict=True)))
        if len(shape) < 3:
            continue
        along = (float(corners[:, 0].min()), float(corners[:, 0].max()))
        made.append(Piece(solid.id, solid.is_panel, solid.wing, tuple(shape), along))
    return made


def _within(corners: Floats, half_mm: float) -> Floats:
    """The corners of the convex body that is left between two cuts square to the bend.

    Every two corners are joined: joints inside the body change nothing, since only its hull is looked at.
    """
    x = corners[:, 0]
    if x.min() >= -half_mm and x.max() <= half_mm:
        return corners
    kept = [corners[(x >= -half_mm) & (x <= half_mm)]]
    for cut in (-half_mm, half_mm):
        a, b = corners[x < cut], corners[x > cut]
        if len(a) and len(b):
            share = (cut - a[:, None, 0]) / (b[None, :, 0] - a[:, None, 0])
            crossing = a[:, None, :] + share[:, :, None] * (b[None, :, :] - a[:, None, :])
            kept.append(crossing.reshape(-1, 3))
    return np.concatenate(kept)


def _panel_corners(panel: Panel, thickness_mm: float) -> Floats:
    """Both faces of the plate around the outline; hollow outlines are filled."""
    ring = scratch_points(panel.outline.anticlockwise(), chord_error_mm=_CHORD_ERROR_MM, side=Side.OUTSIDE)
    corners = hull([(p.x, p.y) for p in ring])
    return np.array([(x, y, z) for z in (0.0, -thickness_mm) for x, y in corners])


def _slices(bend: Bend, thickness_mm: float) -> list[Shape]:
    """The bend's section in the strip's y and z, in four-cornered slices that hold all of its metal.

    The outer chain touches the true arc at both ends, so that nothing stands out of the panels' outer faces.
    """
    count = math.ceil(bend.turn_deg / _SLICE_DEG - 1e-9)
    step = math.radians(bend.turn_deg) / count
    turns = [0.0, *((n + 0.5) * step for n in range(count)), math.radians(bend.turn_deg)]
    inner, outer = bend.inside_radius_mm, bend.inside_radius_mm + thickness_mm
    outwards = [outer, *[outer / math.cos(step / 2)] * count, outer]
    up = bend.way is Way.UP

    def at(radius: float, turn: float) -> tuple[float, float]:
        drop = radius * math.cos(turn)
        return radius * math.sin(turn), inner - drop if up else drop - outer

    return [
        [at(inner, a), at(inner, b), at(out_b, b), at(out_a, a)]
        for a, b, out_a, out_b in zip(turns, turns[1:], outwards, outwards[1:], strict=False)
    ]


def _prism(section: Shape, width_mm: float) -> Floats:
    return np.array([(x, y, z) for x in (0.0, width_mm) for y, z in section])


def _on(line: Line) -> Floats:
    """The frame on a tangent line, x along it."""
    return _matrix(Frame.in_plane(Placement.along(Point(*line.start), Point(*line.end))))


def _matrix(frame: Frame) -> Floats:
    return np.array(frame.matrix(), dtype=np.float64)


def _inverse(rigid: Floats) -> Floats:
    made = np.eye(4)
    made[:3, :3] = rigid[:3, :3].T
    made[:3, 3] = -rigid[:3, :3].T @ rigid[:3, 3]
    return made


def _moved(corners: Floats, frame: Floats) -> Floats:
    moved: Floats = corners @ frame[:3, :3].T + frame[:3, 3]
    return moved
