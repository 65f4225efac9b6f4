"""The way of a part into a press brake: straight from the front, while what stands up passes under the punch."""

from __future__ import annotations

from dataclasses import replace

import pytest
from preview_parts import strip_part, worked

from bracketgen.part.part import Way
from bracketgen.shop.brake.brakes import usual_press
from bracketgen.shop.brake.metal import Wing
from bracketgen.shop.brake.plan import plan_brake
from bracketgen.shop.brake.press import PressSetup, Through, way_in

SQUARE_UP = (90.0, Way.UP, 1.0)


@pytest.mark.parametrize("open_mm", [33.9, 34.1, 200.0])
def test_a_flange_behind_the_punch_must_pass_under_it(open_mm: float) -> None:
    """t 1, R 1, flange 30 straight: 32 high. Twice the 1 mm clearance above the die, its top is 34 up."""
    flat, _ = worked(strip_part("channel", 200.0, (30.0, 100.0, 30.0), (SQUARE_UP, SQUARE_UP), thickness=1.0))
    second = plan_brake(flat, usual_press()).steps[1]
    setup = second.setup
    assert isinstance(setup, PressSetup) and setup.brake.clearance_mm == 1.0
    setup = replace(setup, brake=replace(setup.brake, open_height_mm=open_mm))
    # The bent flange stands on the web's far side: behind the tools, or before them, where it passes nothing.
    web = Wing.PARENT if second.bend.parent == "leg 1" else Wing.CHILD
    other = Wing.CHILD if web is Wing.PARENT else Wing.PARENT
    behind = Through.FRONT if open_mm > 34.0 else Through.END
    assert (way_in(second.around, web, setup), way_in(second.around, other, setup)) == (behind, Through.FRONT)
