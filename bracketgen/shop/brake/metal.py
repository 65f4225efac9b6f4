"""The part around one of its bends while some other bends are made: pieces of metal seen along that bend.

A piece is a panel or a slice of a bend, as the convex hull of what it shows along the bend line: that is exact for
panels whose bends are parallel, and holds more than the metal for all others.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np

from bracketgen.bending.flat import Flat, Strip
from bracketgen.bending.fold import turned_frame
from bracketgen.bending.setback import outside_setback_mm
from bracketgen.geometry.arrays import Floats, Indices
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Placement, Point
from bracketgen.geometry.scratch import ChordSide, scratch_points
from bracketgen.geometry.space import Frame
from bracketgen.part.part import Bend, Panel, Way
from bracketgen.shop.brake.convex import Shape, clashes, hull, packed

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
class Profile:
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


class BentMetal:
    """A flat with its bends as moves from panel to panel."""

    def __init__(self, flat: Flat) -> None:
        self.flat = flat
        self.thickness_mm = flat.part.stock.thickness_mm
        self.strips = {s.bend.id: s for s in flat.strips}
        self._panels = {p.id: _panel_corners(p, self.thickness_mm) for p in flat.part.panels}
        self._joints = {s.bend.id: _StripMoves(s, self.thickness_mm) for s in flat.strips}

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


class _StripMoves:
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


def pieces(solids: Sequence[Solid], way: Way, thickness_mm: float, half_mm: float | None = None) -> list[Profile]:
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
        made.append(Profile(solid.id, solid.is_panel, solid.wing, tuple(shape), along))
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
    ring = scratch_points(panel.outline.anticlockwise(), chord_error_mm=_CHORD_ERROR_MM, side=ChordSide.OUTSIDE)
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


# -- the pieces around one bend, packed for quick checks, with the figures of its strip while it closes

#: Metal may seem this deep in a tool that it lies on. Rounding only: the contacts are exact.
TOUCH_MM = 0.01
#: Wider gaps than this between pieces of a leg are no leg, mm.
_JOINED_MM = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Packed:
    """Pieces as arrays: corners (piece, corner, 2) as Profile.shape, and which of them belong to the child's wing."""

    pieces: tuple[Profile, ...]
    corners: Floats
    is_child: Indices

    @staticmethod
    def of(found: Sequence[Profile]) -> Packed:
        """The pieces packed."""
        child = np.array([p.wing is Wing.CHILD for p in found], dtype=np.intp)
        return Packed(tuple(found), packed([list(p.shape) for p in found]), child)


@dataclass(frozen=True, slots=True)
class Hit:
    """Two things nearer than they may be: which step of the move, piece, number of the other shape, gap in mm."""

    step: int
    piece: Profile
    other: int
    gap_mm: float


def first_hit(moving: Floats, of: Sequence[Profile], fixed: Floats, margin: Floats) -> Hit | None:
    """The first step at which a piece comes too near, the deepest pair of it; arguments as for convex.clashes."""
    s, i, j, gap = clashes(moving, fixed, margin)
    if len(s) == 0:
        return None
    first = np.flatnonzero(s == s.min())
    k = first[np.argmin(gap[first])]
    return Hit(int(s[k]), of[int(i[k])], int(j[k]), float(gap[k]))


class Around:
    """One bend about to be made, with the bends that are `done`."""

    def __init__(self, metal: BentMetal, bend_id: str, done: frozenset[str]) -> None:
        self.flat = metal.flat
        self.strip: Strip = metal.strips[bend_id]
        self.bend = self.strip.bend
        self.thickness_mm = metal.thickness_mm
        self.solids = metal.around(bend_id, done)
        self._clipped: dict[float, Packed] = {}

    @cached_property
    def all(self) -> Packed:
        """All metal."""
        return Packed.of(pieces(self.solids, self.bend.way, self.thickness_mm))

    def beside(self, tool_mm: float, clearance_mm: float) -> Packed:
        """The metal that a tool of that length, set to the bend's middle, may meet."""
        half = tool_mm / 2 + clearance_mm
        if half not in self._clipped:
            reach = max(max(-p.along_mm[0], p.along_mm[1]) for p in self.all.pieces)
            whole = half >= reach
            found = self.all if whole else Packed.of(pieces(self.solids, self.bend.way, self.thickness_mm, half))
            self._clipped[half] = found
        return self._clipped[half]

    @cached_property
    def farthest_mm(self) -> float:
        """From the bend's middle to the farthest metal, across the bend."""
        return max(math.hypot(*c) for p in self.all.pieces for c in p.shape)

    def radius_mm(self, turn_deg: Floats) -> Floats:
        """Inside radius while the bend closes: its own, and tighter when it is bent over, the metal being the same."""
        allowance, full = self.strip.metal.allowance_mm, math.radians(self.bend.turn_deg)
        neutral = allowance / full - self.bend.inside_radius_mm
        turn = np.maximum(np.radians(turn_deg), full)
        radius: Floats = np.maximum(allowance / turn - neutral, 0.0)
        return radius

    def rest_mm(self, turn_deg: Floats) -> Floats:
        """How much of the strip is still straight."""
        allowance, full = self.strip.metal.allowance_mm, math.radians(self.bend.turn_deg)
        rest: Floats = allowance * np.maximum(1.0 - np.radians(turn_deg) / full, 0.0)
        return rest

    def leg_mm(self, wing: Wing) -> float:
        """Level metal beside the bend up to the next made bend or the edge, over the outside of the bend."""
        bend, half = self.bend, self.strip.metal.allowance_mm / 2
        level = [p for p in self.beside(bend.width_mm, 0.0).pieces if p.wing is wing and p.is_level(self.thickness_mm)]
        end = half
        for low, high in sorted(p.reach_mm for p in level):
            if low <= end + _JOINED_MM:
                end = max(end, high)
        return end - half + outside_setback_mm(bend.inside_radius_mm, self.thickness_mm, bend.turn_deg)

    def own_hit(self, placed: Floats) -> tuple[int, Profile, Profile] | None:
        """The first step at which the part meets itself: the step and the two pieces; `placed` as Packed.corners."""
        parent, child, margin = self._own_pairs
        hit = first_hit(placed[:, parent], [self.all.pieces[i] for i in parent], placed[:, child], margin)
        return None if hit is None else (hit.step, hit.piece, self.all.pieces[int(child[hit.other])])

    @cached_property
    def _own_pairs(self) -> tuple[Indices, Indices, Floats]:
        """Numbers of the pieces on either wing, and how near each may come to each."""
        parent, child = np.flatnonzero(self.all.is_child == 0), np.flatnonzero(self.all.is_child == 1)
        found = self.all.pieces
        margin = np.array([[self._own_margin(found[i], found[j]) for j in child] for i in parent])
        return parent, child, margin.reshape(len(parent), len(child))

    def _own_margin(self, a: Profile, b: Profile) -> float:
        """Pieces that pass each other along the bend are not asked for, nor the two panels of the bend itself."""
        side_by_side = min(a.along_mm[1], b.along_mm[1]) - max(a.along_mm[0], b.along_mm[0]) < LEVEL_MM
        own = {a.id, b.id} == {self.bend.parent, self.bend.child}
        return -np.inf if side_by_side or own else -2 * LEVEL_MM


# -- why a bend can't be made as tried: what stands in the way of what


class Why(StrEnum):
    """The kind of obstacle."""

    MEETS_TOOL = "meets a tool"
    MEETS_ITSELF = "meets itself"
    SHORT_LEG = "short leg"
    NO_TOOL = "no tool"
    TOO_HEAVY = "too heavy"


@dataclass(frozen=True, slots=True)
class Obstacle:
    """`metal` and `other` are the two that are in each other's way, at `turn_deg` of the bend's turn.

    For a short leg or missing tools `words` says everything and the turn is 0.
    """

    why: Why
    metal: str
    other: str
    turn_deg: float
    words: str


def piece_name(piece: Profile) -> str:
    """Such as "panel 'foot'" or 'bend 2'."""
    return f"panel {piece.id!r}" if piece.is_panel else bend_name(piece.id)


def bend_name(bend_id: str) -> str:
    """A bend's name with the word, which most names hold already."""
    return bend_id if bend_id.startswith("bend") else f"bend {bend_id!r}"


def meets_tool(piece: Profile, tool: str, turn_deg: float) -> Obstacle:
    """Metal comes too near to a tool."""
    name = piece_name(piece)
    when = "before it is bent" if turn_deg < 0.5 else f"when turned {turn_deg:.0f}°"
    return Obstacle(Why.MEETS_TOOL, name, tool, turn_deg, f"{name} meets the {tool} {when}")


def meets_itself(a: Profile, b: Profile, turn_deg: float) -> Obstacle:
    """Two pieces of the part come into each other."""
    first, second = piece_name(a), piece_name(b)
    return Obstacle(Why.MEETS_ITSELF, first, second, turn_deg, f"{first} meets {second} when turned {turn_deg:.0f}°")


def short_leg(panel: str, tool: str, leg_mm: float, least_mm: float) -> Obstacle:
    """Too little flat metal beside the bend."""
    words = f"panel {panel!r} has {leg_mm:.1f} mm of leg left at the bend, {tool} needs {least_mm:.1f} mm"
    return Obstacle(Why.SHORT_LEG, f"panel {panel!r}", tool, 0.0, words)


def no_tool(words: str, why: Why = Why.NO_TOOL) -> Obstacle:
    """No tool of the shop does for the bend."""
    return Obstacle(why, "", "", 0.0, words)


#: A tool's name, the metal it may meet, that metal's corners at each step, the tool's shapes, how near each may come.
ToolCheck = tuple[str, Packed, Floats, Floats, Callable[[Profile, float, float], float]]


def first_obstacle(
    around: Around, checks: Iterable[ToolCheck], whole: Floats, turn_deg: Floats, clearance_mm: float
) -> Obstacle | None:
    """The obstacle met first as the bend closes, tools before the part itself; `whole` is all metal at each turn."""
    met: list[Obstacle] = []
    for name, metal, placed, shapes, rule in checks:
        least = np.array([rule(p, around.thickness_mm, clearance_mm) for p in metal.pieces])
        margin = np.broadcast_to(least[:, None], (len(least), len(shapes)))
        hit = first_hit(placed, metal.pieces, shapes[None], margin)
        if hit is not None:
            met.append(meets_tool(hit.piece, name, float(turn_deg[hit.step])))
            if hit.step == 0:
                return met[-1]
    own = around.own_hit(whole)
    if own is not None:
        met.append(meets_itself(own[1], own[2], float(turn_deg[own[0]])))
    return min(met, key=lambda o: o.turn_deg, default=None)
