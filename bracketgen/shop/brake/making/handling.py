"""How the part gets in and out of a press brake: straight from the front, or along the tools from their end."""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from bracketgen.shop.brake.making.around import Around
from bracketgen.shop.brake.making.convex import Floats, Shape, apart_mm, hull, packed
from bracketgen.shop.brake.making.metal import Wing
from bracketgen.shop.brake.making.press import PressSetup, on_press, press_pose


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
