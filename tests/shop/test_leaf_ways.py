"""The way of a part in and out of a leaf brake, under the clamp as far as it lifts."""

from __future__ import annotations

from dataclasses import replace

import pytest
from preview_parts import strip_part, worked

from bracketgen.part.part import Way
from bracketgen.shop.brake.brakes import usual_leaf
from bracketgen.shop.brake.plan import plan_brake
from bracketgen.shop.brake.press import Through

SQUARE_UP = (90.0, Way.UP, 1.0)


@pytest.mark.parametrize(("lift_mm", "way"), [(31.4, Through.END), (31.6, Through.FRONT), (50.0, Through.FRONT)])
def test_a_flange_behind_the_noses_must_pass_under_the_clamp(lift_mm: float, way: Through) -> None:
    """t 1, R 1, flange 30 straight: 32 high, far behind the noses when the other bend is made. Drawn out half of the
    1 mm clearance above the bed, its top is 32.5 up; the noses are up by the sheet and the lift, 1 + lift."""
    flat, _ = worked(strip_part("channel", 200.0, (30.0, 200.0, 300.0), (SQUARE_UP, SQUARE_UP), thickness=1.0))
    first, second = plan_brake(flat, replace(usual_leaf(), lift_mm=lift_mm)).steps
    assert (first.way_in, first.way_out) == (Through.FRONT, Through.FRONT)
    assert second.held_panel == "leg 1"
    assert (second.way_in, second.way_out) == (way, way)


@pytest.mark.parametrize("lift_mm", [2.0, 50.0])
def test_the_clamp_need_not_go_all_the_way_up(lift_mm: float) -> None:
    """A channel round the noses comes out from the front however far the clamp could go."""
    flat, _ = worked(strip_part("channel", 200.0, (26.0, 60.0, 26.0), (SQUARE_UP, SQUARE_UP), thickness=1.0))
    plan = plan_brake(flat, replace(usual_leaf(), lift_mm=lift_mm))
    assert plan.works
    assert {m.way_out for m in plan.steps} == {Through.FRONT}
