"""How the part gets in and out of a leaf brake: from the front under the lifted clamp, or from the end of the noses."""

from __future__ import annotations

from typing import Final

import numpy as np

from bracketgen.shop.brake.making.around import Around
from bracketgen.shop.brake.making.convex import Shape, hull
from bracketgen.shop.brake.making.handling import Through, clear_of, swept
from bracketgen.shop.brake.making.leaf import LeafSetup, leaf_pose, on_leaf_brake
from bracketgen.shop.brake.making.metal import Wing

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
