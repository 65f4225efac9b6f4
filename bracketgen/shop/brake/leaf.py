"""One bend on a leaf brake: one wing is clamped under the nose, the leaf swings the other one up by the whole turn.

Across the machine: x into the machine from the sight line, which lies under the nose's front where the nose has the
bend's radius, y up from the bed. A sharper nose stands back by the difference. The leaf is taken to turn about the
bend's own axis, so that it stays against the sheet; a real leaf's hinge is set to come near that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.plane import Point
from bracketgen.shop.brake.brakes import LeafBrake, Nose, Ring
from bracketgen.shop.brake.convex import Shape, hull, packed
from bracketgen.shop.brake.metal import (
    LEVEL_MM,
    TOUCH_MM,
    Around,
    Obstacle,
    Packed,
    Profile,
    Wing,
    first_obstacle,
)
from bracketgen.shop.brake.press import Through, clear_of, raised, swept

_MOST_STEPS = 800
_ROUND_STEPS = 10


@dataclass(frozen=True, slots=True, eq=False)
class LeafSetup:
    """A nose with the length put together, and the outlines as convex pieces."""

    brake: LeafBrake
    nose: Nose
    nose_mm: float
    nose_shapes: Floats
    bed_shapes: Floats
    leaf_shapes: Floats

    @property
    def name(self) -> str:
        """The nose, for a person."""
        return self.nose.name


def leaf_setup(brake: LeafBrake, nose: Nose, nose_mm: float) -> LeafSetup:
    """The tools ready for checks, each in its own frame."""
    shapes = (packed(raised(ring, 0.0)) for ring in (rounded_nose(nose), brake.bed, brake.leaf))
    return LeafSetup(brake, nose, nose_mm, *shapes)


def rounded_nose(nose: Nose) -> Ring:
    """The nose's outline with its lower front corner, the origin, rounded by the nose's radius.

    The round touches the sheet and the upright through the origin, so that the front of the nose stays where it is.
    """
    r, ring = nose.radius_mm, nose.outline
    at = min(range(len(ring)), key=lambda i: ring[i].length())
    before, after = ring[at - 1], ring[(at + 1) % len(ring)]
    front = before if before.y > after.y else after
    lean = math.atan2(front.y, front.x)
    # From the lowest point of the round to where the front leaves it.
    turns = [math.radians(270.0) - k * (math.pi - lean) / _ROUND_STEPS for k in range(_ROUND_STEPS + 1)]
    arc = [Point(r + r * math.cos(a), r + r * math.sin(a)) for a in turns]
    return (*ring[:at], *(arc if front is after else arc[::-1]), *ring[at + 1 :])


@dataclass(frozen=True, slots=True, eq=False)
class LeafPose:
    """The sheet at each step: turn, inside radius, how much of the strip is still straight."""

    turn_deg: Floats
    radius_mm: Floats
    rest_mm: Floats


def leaf_pose(around: Around, nose: Nose, turn_deg: Floats) -> LeafPose:
    """The bend while it closes; bent over, it gets no tighter than the nose."""
    radius = np.maximum(around.radius_mm(turn_deg), nose.radius_mm)
    neutral = around.strip.metal.allowance_mm / math.radians(around.bend.turn_deg) - around.bend.inside_radius_mm
    return LeafPose(turn_deg, radius, around.strip.metal.allowance_mm - (radius + neutral) * np.radians(turn_deg))


def on_leaf_brake(around: Around, of: Packed, pose: LeafPose, clamped: Wing) -> Floats:
    """The pieces' corners in the machine at each step: (step, piece, corner, 2), anticlockwise."""
    held = (of.is_child == 1) == (clamped is Wing.CHILD)
    corners = np.where(held[:, None, None], of.corners, of.corners[:, ::-1])
    half = around.strip.metal.allowance_mm / 2
    x, y = corners[None, :, :, 0] - half, corners[None, :, :, 1]
    radius, rest = (a[:, None, None] for a in (pose.radius_mm, pose.rest_mm))
    turn = np.radians(pose.turn_deg)[:, None, None]
    s, c = np.sin(turn), np.cos(turn)
    outer, out = radius + around.thickness_mm, x + rest
    swung = np.stack([radius - outer * s - out * c + y * s, outer - outer * c + out * s + y * c], axis=-1)
    still = np.stack(np.broadcast_arrays(radius + x, y + 0.0 * radius), axis=-1)
    return np.where(held[None, :, None, None], still, swung)


def in_leaf(around: Around, placed: Floats, pose: LeafPose) -> Floats:
    """Corners in the machine as the leaf sees them: x out along it from its edge, y up from its face."""
    turn = np.radians(pose.turn_deg)[:, None, None]
    s, c = np.sin(turn), np.cos(turn)
    radius = pose.radius_mm[:, None, None]
    outer = radius + around.thickness_mm
    x, y = placed[..., 0] - (radius - outer * s), placed[..., 1] - (outer - outer * c)
    # The leaf's x axis points to the machine's -x: a mirror, so the corners run the other way round.
    return np.stack([-x * c + y * s, x * s + y * c], axis=-1)[:, :, ::-1]


def leaf_obstacle(around: Around, clamped: Wing, setup: LeafSetup, to_deg: float) -> Obstacle | None:
    """What is in the way of folding the bend so, closing to `to_deg`; None when it can be made."""
    ends = _clash(around, clamped, setup, np.array([0.0, to_deg]))
    if ends is not None:
        return ends
    count = math.ceil(around.farthest_mm * math.radians(to_deg) / (2 * setup.brake.clearance_mm)) + 1
    return _clash(around, clamped, setup, np.linspace(0.0, to_deg, min(max(count, 3), _MOST_STEPS)))


def _clash(around: Around, clamped: Wing, setup: LeafSetup, turn_deg: Floats) -> Obstacle | None:
    """The obstacle met first as the bend closes; tools before the part itself."""
    pose, clearance, t = leaf_pose(around, setup.nose, turn_deg), setup.brake.clearance_mm, around.thickness_mm
    by_nose = around.beside(setup.nose_mm, clearance)
    whole = on_leaf_brake(around, around.all, pose, clamped)
    back = pose.radius_mm - setup.nose.radius_mm
    on_sheet = np.stack([back, np.full_like(back, t)], axis=-1)[:, None, None, :]
    edge = np.stack([pose.radius_mm, np.zeros_like(pose.radius_mm)], axis=-1)[:, None, None, :]
    checks = (
        (f"nose {setup.nose.name}", by_nose, on_leaf_brake(around, by_nose, pose, clamped) - on_sheet,
         setup.nose_shapes, _under),
        ("bed", around.all, whole - edge, setup.bed_shapes, _over),
        ("leaf", around.all, in_leaf(around, whole, pose), setup.leaf_shapes, _over),
    )  # fmt: skip
    return first_obstacle(around, checks, whole, turn_deg, clearance)


def _under(piece: Profile, thickness_mm: float, clearance_mm: float) -> float:
    """Metal that does not stand above the sheet may lie under the nose and against its front."""
    return -TOUCH_MM if piece.high_mm < thickness_mm + LEVEL_MM else clearance_mm


def _over(piece: Profile, _thickness_mm: float, clearance_mm: float) -> float:
    """Metal that does not hang below the sheet may lie on bed and leaf."""
    return -TOUCH_MM if piece.low_mm > -LEVEL_MM else clearance_mm


# -- how the part gets in and out of a leaf brake: from the front under the lifted clamp, or from the end of the noses

#: Heights of the lifted clamp that are tried, evenly up to its lift: it needs to go no farther than serves.
_HEIGHTS: Final = 24


def leaf_way(around: Around, clamped: Wing, setup: LeafSetup, turn_deg: float) -> Through:
    """Whether the part, bent by so much (0 to put it in), passes straight between bed and leaf and the lifted clamp.

    The clamp goes straight up as far as serves, at most by its lift, without meeting the part; the leaf is back down.
    """
    pose = leaf_pose(around, setup.nose, np.array([turn_deg]))
    radius, clearance = float(pose.radius_mm[0]), setup.brake.clearance_mm
    placed = on_leaf_brake(around, around.all, pose, clamped)[0] + np.array([0.0, clearance / 2])
    drawn = swept(placed, (-(2 * around.farthest_mm + 500.0), 0.0))
    low = [
        *(_at(s, radius, 0.0) for s in setup.bed_shapes.tolist()),
        *(_mirrored(s, radius) for s in setup.leaf_shapes.tolist()),
    ]
    if not clear_of(drawn, low):
        return Through.END
    nose = setup.nose_shapes + np.array([radius - setup.nose.radius_mm, around.thickness_mm + clearance])
    stays = swept(placed, (0.0, 0.0))
    for height in np.linspace(0.0, max(setup.brake.lift_mm - clearance, 0.0), _HEIGHTS).tolist():
        if not clear_of(stays, swept(nose, (0.0, height))):
            return Through.END
        if clear_of(drawn, [_at(s, 0.0, height) for s in nose.tolist()]):
            return Through.FRONT
    return Through.END


def _at(shape: list[tuple[float, float]], x_mm: float, y_mm: float) -> Shape:
    return hull([(x + x_mm, y + y_mm) for x, y in shape])


def _mirrored(shape: list[tuple[float, float]], x_mm: float) -> Shape:
    """The leaf lies before the bed and counts its x outward."""
    return hull([(x_mm - x, y) for x, y in shape])
