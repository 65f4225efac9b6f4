"""One bend on a press brake: the sheet lies on the die, the punch comes down, both wings rise by half the turn.

Across the machine: x to the back gauge from the middle of the V, y up from the die's top. The wings rest on the die
wherever they touch it first, so the sheet sinks into the V as far as the outlines and the turn say.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.plane import Point
from bracketgen.shop.brake.brakes import BrakeDie, PressBrake, Punch, Ring
from bracketgen.shop.brake.convex import Shape, apart_mm, convex_pieces, hull, packed
from bracketgen.shop.brake.metal import (
    LEVEL_MM,
    TOUCH_MM,
    Around,
    Obstacle,
    Packed,
    Profile,
    Wing,
    first_obstacle,
    short_leg,
)

_MOST_STEPS = 400


@dataclass(frozen=True, slots=True, eq=False)
class PressSetup:
    """A punch and a die with the lengths put together, and the outlines as convex pieces in the machine."""

    brake: PressBrake
    punch: Punch
    die: BrakeDie
    punch_mm: float
    die_mm: float
    punch_shapes: Floats
    die_shapes: Floats
    ram_shapes: Floats
    bed_shapes: Floats

    @property
    def name(self) -> str:
        """Both tools, for a person."""
        return f"{self.punch.name} / {self.die.name}"


def raised(outline: Ring, by_mm: float) -> list[Shape]:
    """Convex pieces of an outline, moved up."""
    return convex_pieces([Point(p.x, p.y + by_mm) for p in outline])


def press_setup(brake: PressBrake, punch: Punch, die: BrakeDie, punch_mm: float, die_mm: float) -> PressSetup:
    """The tools ready for checks."""
    return PressSetup(
        *(brake, punch, die, punch_mm, die_mm),
        packed(raised(punch.outline, 0.0)),
        packed(raised(die.outline, 0.0)),
        packed(raised(brake.ram, punch.height_mm)),
        packed(raised(brake.bed, -die.height_mm)),
    )


@dataclass(frozen=True, slots=True, eq=False)
class PressPose:
    """The sheet at each step: turn, radius, straight rest at either side, height of the bend's centre above the die."""

    turn_deg: Floats
    radius_mm: Floats
    rest_mm: Floats
    centre_mm: Floats

    @property
    def tip_mm(self) -> Floats:
        """Height of the punch's tip above the die."""
        tip: Floats = self.centre_mm - self.radius_mm
        return tip


def press_pose(around: Around, die: BrakeDie, turn_deg: Floats) -> PressPose:
    """Where the sheet lies on a die at each turn."""
    radius, half = around.radius_mm(turn_deg), np.radians(turn_deg) / 2
    outer = radius + around.thickness_mm
    shoulders = [(abs(p.x), p.y) for p in die.outline if abs(p.x) >= die.opening_mm / 2 - LEVEL_MM]
    rests = [(outer - np.sin(half) * x) / np.cos(half) + y for x, y in shoulders]
    return PressPose(turn_deg, radius, around.rest_mm(turn_deg) / 2, np.max(rests, axis=0))


def on_press(around: Around, of: Packed, pose: PressPose, at_back: Wing) -> Floats:
    """The pieces' corners in the machine at each step: (step, piece, corner, 2), anticlockwise."""
    back = (of.is_child == 1) == (at_back is Wing.CHILD)
    corners = np.where(back[:, None, None], of.corners, of.corners[:, ::-1])
    out = corners[None, :, :, 0] + (pose.rest_mm - around.strip.metal.allowance_mm / 2)[:, None, None]
    up = corners[None, :, :, 1]
    half = np.radians(pose.turn_deg)[:, None, None] / 2
    outer = (pose.radius_mm + around.thickness_mm)[:, None, None]
    s, c = np.sin(half), np.cos(half)
    x = outer * s + out * c - up * s
    y = pose.centre_mm[:, None, None] - outer * c + out * s + up * c
    return np.stack([np.where(back[None, :, None], x, -x), y], axis=-1)


def press_obstacle(around: Around, at_back: Wing, setup: PressSetup, to_deg: float) -> Obstacle | None:
    """What is in the way of making the bend so, closing to `to_deg`; None when it can be made.

    Between two steps no metal moves more than twice the clearance, so nothing that is asked to keep clear can pass
    through a tool between them.
    """
    bend = around.bend
    for wing, panel in ((Wing.PARENT, bend.parent), (Wing.CHILD, bend.child)):
        leg = around.leg_mm(wing)
        if leg < setup.die.minimum_leg_mm - TOUCH_MM:
            return short_leg(panel, f"die {setup.die.name}", leg, setup.die.minimum_leg_mm)
    ends = _clash(around, at_back, setup, np.array([0.0, to_deg]))
    return ends if ends is not None else _clash(around, at_back, setup, _steps(around, setup, to_deg))


def _steps(around: Around, setup: PressSetup, to_deg: float) -> Floats:
    half = math.radians(to_deg) / 2
    farthest = around.farthest_mm + setup.die.opening_mm / 2 / math.cos(half) ** 2
    count = math.ceil(farthest * half / (2 * setup.brake.clearance_mm)) + 1
    return np.linspace(0.0, to_deg, min(max(count, 3), _MOST_STEPS))


def _clash(around: Around, at_back: Wing, setup: PressSetup, turn_deg: Floats) -> Obstacle | None:
    """The obstacle met first as the bend closes; tools before the part itself."""
    pose, clearance = press_pose(around, setup.die, turn_deg), setup.brake.clearance_mm
    by_punch = around.beside(setup.punch_mm, clearance)
    by_die = around.beside(setup.die_mm, clearance)
    whole = on_press(around, around.all, pose, at_back)
    tip = np.stack([np.zeros_like(pose.tip_mm), pose.tip_mm], axis=-1)[:, None, None, :]
    checks = (
        (f"punch {setup.punch.name}", by_punch, setup.punch_shapes, tip, _flush),
        ("ram", around.all, setup.ram_shapes, tip, _keeps_off),
        (f"die {setup.die.name}", by_die, setup.die_shapes, 0.0, _lies_on),
        ("bed", around.all, setup.bed_shapes, 0.0, _keeps_off),
    )
    placed = (
        (name, metal, (whole if metal is around.all else on_press(around, metal, pose, at_back)) - off, shapes, rule)
        for name, metal, shapes, off, rule in checks
    )
    return first_obstacle(around, placed, whole, turn_deg, clearance)


def _flush(piece: Profile, thickness_mm: float, clearance_mm: float) -> float:
    """Metal in the plane of the sheet may lie along the punch's flank."""
    return -TOUCH_MM if piece.is_level(thickness_mm) else clearance_mm


def _lies_on(piece: Profile, _thickness_mm: float, clearance_mm: float) -> float:
    """Metal that does not hang below the sheet may lie on the die."""
    return -TOUCH_MM if piece.low_mm > -LEVEL_MM else clearance_mm


def _keeps_off(_piece: Profile, _thickness_mm: float, clearance_mm: float) -> float:
    return clearance_mm


# -- how the part gets in and out of a press brake: straight from the front, or along the tools from their end


class Through(StrEnum):
    """The way a part takes."""

    FRONT = "from the front"
    END = "from the end of the tools"


def way_in(around: Around, at_back: Wing, setup: PressSetup) -> Through:
    """Whether the part can be pushed straight in from the front between open tools."""
    flat = np.array([0.0])
    # Lifted off the die, and moved in from so far out that all of it lies before the tools.
    lift = 2 * setup.brake.clearance_mm
    placed = on_press(around, around.all, press_pose(around, setup.die, flat), at_back)[0] + np.array([0.0, lift])
    far = 2 * around.farthest_mm + 500.0
    passed = swept(placed, (-far, 0.0))
    up = setup.brake.open_height_mm
    tools = [
        *_all(setup.die_shapes),
        *_all(setup.bed_shapes),
        *_all(setup.punch_shapes, up),
        *_all(setup.ram_shapes, up),
    ]
    return Through.FRONT if clear_of(passed, tools) else Through.END


def way_out(around: Around, at_back: Wing, setup: PressSetup, turn_deg: float) -> Through:
    """Whether the punch can rise straight out of the bent part."""
    pose = press_pose(around, setup.die, np.array([turn_deg]))
    placed = on_press(around, around.beside(setup.punch_mm, setup.brake.clearance_mm), pose, at_back)[0]
    metal = [[(x, y) for x, y in piece.tolist()] for piece in placed]
    tip = float(pose.tip_mm[0]) + setup.brake.clearance_mm
    punch = np.array([[(x, y + tip) for x, y in shape] for shape in setup.punch_shapes.tolist()])
    risen = swept(punch, (0.0, setup.brake.open_height_mm))
    return Through.FRONT if clear_of(risen, [hull(m) for m in metal]) else Through.END


def _all(shapes: Floats, up_mm: float = 0.0) -> list[Shape]:
    return [hull([(x, y + up_mm) for x, y in shape]) for shape in shapes.tolist()]


def swept(shapes: Floats, by: tuple[float, float]) -> list[Shape]:
    """What each shape passes over when it moves straight."""
    return [hull([*((x, y) for x, y in s), *((x + by[0], y + by[1]) for x, y in s)]) for s in shapes.tolist()]


def clear_of(a: list[Shape], b: list[Shape]) -> bool:
    """Whether none of the one meets any of the other."""
    first, second = packed(a), packed(b)
    i, j = np.meshgrid(np.arange(len(a)), np.arange(len(b)), indexing="ij")
    gap = apart_mm(first[i.ravel()], second[j.ravel()])
    return bool((gap >= 0.0).all())
