"""The best place in the room: against corridors, corners and pipes whose best place is known in closed form."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from bracketgen.geometry.arrays import Floats
from bracketgen.vehicle.placing.best_place import Heights, Placing, best_place, highest
from bracketgen.vehicle.placing.margins import Reason
from bracketgen.vehicle.site import FlexibleTable, SiteDocument, read_site

EXACT_MM = 0.05


def site(
    neighbours: dict[str, Any],
    room: tuple[float, float, float] = (20.0, 20.0, 0.0),
    turn_room: float = 0.0,
    things: dict[str, Any] | None = None,
    bodies: dict[str, Any] | None = None,
) -> SiteDocument:
    """A can of 40 mm diameter that hangs 200 mm below its mounting face; its bolts are out of everything's way."""
    can = {"can": {"shape": "cylinder", "at": [0, 0, -300], "to": [0, 0, -400], "diameter": 40}}
    carried = {
        "mass": 1.0, "centre": [0, 0, -250], "at": [0, 0, 0], "normal": [0, 0, 1], "x": [1, 0, 0], "room": list(room),
        "turn_room": turn_room, "holes": [{"name": "top", "bolt": "M8"}], "things": things or can,
    }  # fmt: skip
    document = {
        "title": "test",
        "units": "mm",
        "faces": {"tab": {"holes": {"A": {"thread": "M8"}}}},
        "neighbours": neighbours,
        "bodies": bodies or {},
        "carried": carried,
    }
    text = "\n".join(f"{key} = {inline(value)}" for key, value in document.items())
    return read_site(text, "test.site.toml", "test").document


def inline(value: Any) -> str:
    """A value as TOML on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f'"{k}" = {inline(v)}' for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(inline(v) for v in value) + "]"
    return f'"{value}"' if isinstance(value, str) else repr(value)


def low_box(x: float, y: float = 0.0, size: tuple[float, float, float] = (20.0, 400.0, 80.0), gap: float = 5) -> Any:
    """A box beside the can, far below the bolts."""
    return {"shape": "box", "at": [x, y, -350], "size": list(size), "gap": gap}


def leaning_box(middle: tuple[float, float], looks: tuple[float, float], off: float) -> Any:
    """A long box far below the bolts whose side stands `off` mm from the middle and looks toward it."""
    at = [middle[0] - (off + 10.0) * looks[0], middle[1] - (off + 10.0) * looks[1], -350.0]
    return {"shape": "box", "at": at, "size": [20, 600, 80], "x": [*looks, 0.0], "gap": 5}


def shift(placing: Placing) -> tuple[float, float, float]:
    return placing.best.pose.shift


def test_a_corridor_has_its_best_place_in_the_middle() -> None:
    # Walls at x = -47 and x = 33 leave 80 mm: middle at -7, 20 mm to each side, of which 5 mm are needed.
    placing = best_place(site({"left": low_box(-57.0), "right": low_box(43.0)}))
    assert shift(placing) == pytest.approx((-7.0, 0.0, 0.0), abs=EXACT_MM)
    assert placing.best.least_mm == pytest.approx(20.0 - 5.0, abs=EXACT_MM)
    assert placing.today.least_mm == pytest.approx(13.0 - 5.0, abs=1e-6)
    assert placing.gain_mm == pytest.approx(7.0, abs=EXACT_MM)
    assert {m.b for m in placing.best.margins[:2]} == {"left", "right"}


def test_needed_gaps_shift_the_middle() -> None:
    # 80 mm less 40 of the can, less 5 and 15 that are needed: 10 to spare on each side.
    placing = best_place(site({"left": low_box(-50.0, gap=5), "right": low_box(50.0, gap=15)}))
    assert shift(placing)[0] == pytest.approx(-5.0, abs=EXACT_MM)
    assert placing.best.least_mm == pytest.approx(10.0, abs=EXACT_MM)


def test_a_corner_of_two_walls_is_left_along_its_bisector_as_far_as_the_room_goes() -> None:
    walls = {
        "back": {"shape": "wall", "at": [-30, 0, 0], "normal": [1, 0, 0], "gap": 5},
        "side": {"shape": "wall", "at": [0, -30, 0], "normal": [0, 1, 0], "gap": 5},
    }
    placing = best_place(site(walls, room=(12.0, 12.0, 0.0)))
    assert shift(placing)[:2] == pytest.approx((12.0, 12.0), abs=EXACT_MM)
    assert placing.best.least_mm == pytest.approx(30.0 + 12.0 - 20.0 - 5.0, abs=EXACT_MM)


@pytest.mark.parametrize("lean_deg", [0.0, 20.0, 37.0])
def test_a_triangle_of_walls_has_its_best_place_in_the_middle_of_its_inscribed_circle(lean_deg: float) -> None:
    # Three sides 60 mm from (4, -6), looking at it, turned by any angle: the inscribed circle is 60 mm in radius.
    walls = {}
    for k, name in enumerate(("one", "two", "three")):
        a = math.radians(lean_deg + 120.0 * k)
        n = (math.cos(a), math.sin(a))
        walls[name] = leaning_box((4.0, -6.0), n, 60.0)
    placing = best_place(site(walls))
    assert shift(placing)[:2] == pytest.approx((4.0, -6.0), abs=EXACT_MM)
    assert placing.best.margins[0].mm == pytest.approx(60.0 - 20.0 - 5.0, abs=EXACT_MM)


def test_between_a_pipe_and_a_wall_the_gaps_become_equal() -> None:
    # Wall at x = 60; pipe of 30 mm diameter along y, its middle at x = -90, 20 mm above the can's upper end.
    pipe = {"shape": "pipe", "points": [[-90, -200, -280], [-90, 200, -280]], "diameter": 30, "gap": 5}
    wall = {"shape": "wall", "at": [60, 0, 0], "normal": [-1, 0, 0], "gap": 5}
    placing = best_place(site({"pipe": pipe, "wall": wall}, room=(40.0, 0.0, 0.0)))
    # The can's upper rim is nearest to the pipe: hypot(x - 20 + 90, 20) - 15 = 60 - x - 20 for its middle x.
    low, high = -40.0, 40.0
    for _ in range(80):
        x = (low + high) / 2
        low, high = (x, high) if math.hypot(x + 70.0, 20.0) - 15.0 < 40.0 - x else (low, x)
    assert shift(placing)[0] == pytest.approx(x, abs=EXACT_MM)
    assert placing.best.least_mm == pytest.approx(40.0 - x - 5.0, abs=EXACT_MM)


def test_turning_is_used_where_turning_is_what_helps() -> None:
    # A long box between two blocks that stand at its opposite corners: turned by 10 degrees it lies along the gap.
    lean = math.radians(10.0)
    c, s = math.cos(lean), math.sin(lean)
    bar = {"bar": {"shape": "box", "at": [0, 0, -350], "size": [200, 20, 60]}}
    walls = {
        "upper": leaning_box((0.0, 0.0), (s, -c), 40.0),
        "lower": leaning_box((0.0, 0.0), (-s, c), 40.0),
    }
    placing = best_place(site(walls, room=(0.0, 0.0, 0.0), turn_room=25.0, things=bar))
    assert placing.best.pose.turn_deg == pytest.approx(10.0, abs=0.03)
    assert placing.best.least_mm == pytest.approx(40.0 - 10.0 - 5.0, abs=EXACT_MM)
    straight = 40.0 - (100.0 * s + 10.0 * c) - 5.0
    assert placing.today.least_mm == pytest.approx(straight, abs=1e-6)
    assert best_place(site(walls, room=(0.0, 0.0, 0.0), things=bar)).gain_mm == 0.0


def test_travel_of_a_body_moves_the_middle() -> None:
    # The engine comes 8 mm nearer: its box then counts 8 mm more, so the can goes 4 mm away from it.
    walls = {"frame": low_box(-50.0), "engine box": {**low_box(50.0), "body": "engine"}}
    placing = best_place(site(walls, bodies={"engine": {"travel": [8, 0, 0]}}))
    assert shift(placing)[0] == pytest.approx(-4.0, abs=EXACT_MM)
    assert placing.best.least_mm == pytest.approx(20.0 - 4.0 - 5.0, abs=EXACT_MM)


@pytest.mark.sweep
def test_the_way_out_of_the_can_counts() -> None:
    # Free where it hangs; the beam below stands in its way down (45 mm) and takes 6 mm of the can on the left.
    beam = {"shape": "box", "at": [-64, 0, -480], "size": [100, 400, 80], "gap": 0}
    post = low_box(48.0, gap=3)
    can = {
        "can": {
            "shape": "cylinder", "at": [0, 0, -300], "to": [0, 0, -400], "diameter": 40, "removal": [0, 0, -45],
        }
    }  # fmt: skip
    placing = best_place(site({"beam": beam, "post": post}, things=can))
    assert placing.today.margins[0].reason is Reason.REMOVAL
    assert placing.today.least_mm < 0.0
    # Beam's edge at x = -14, post's at x = 38, 3 mm off it: the can of 40 mm has 4.5 mm to each side at x = 10.5.
    assert shift(placing)[0] == pytest.approx(10.5, abs=EXACT_MM)
    assert placing.best.least_mm == pytest.approx(4.5, abs=EXACT_MM)


@pytest.mark.sweep
def test_a_tilt_on_the_way_out_counts() -> None:
    # Drawn 45 mm, then tilted by 90 degrees about its upper end toward +x: its rim goes out to hypot(20, 100) = 101.98.
    def side(x: float) -> Any:
        return {"shape": "box", "at": [x, 0, -400], "size": [20, 400, 300], "gap": 5}

    tilt = {"tilt": 90, "toward": [1, 0, 0], "pivot": [0, 0, -300]}
    can = {"shape": "cylinder", "at": [0, 0, -300], "to": [0, 0, -400], "diameter": 40, "removal": [0, 0, -45]}
    walls, room = {"left": side(-70.0), "right": side(100.0)}, (30.0, 0.0, 0.0)
    placing = best_place(site(walls, room, things={"can": can | {"removal_then": [tilt]}}))
    reach = math.hypot(20.0, 100.0)
    assert placing.today.margins[0].reason is Reason.REMOVAL and placing.today.margins[0].b == "right"
    assert placing.today.least_mm < 0.0
    # 90 - s - 101.98 to the right is as much as 60 + s - 20 - 5 to the left.
    assert shift(placing)[0] == pytest.approx((90.0 - reach - 35.0) / 2, abs=0.1)
    assert placing.best.least_mm == pytest.approx((90.0 - reach + 35.0) / 2, abs=0.1)
    straight = best_place(site(walls, room, things={"can": can}))
    assert straight.today.least_mm == pytest.approx(35.0, abs=1e-6)


def test_a_neighbour_that_tilts_out_counts() -> None:
    # The neighbour's rim comes 101.98 mm toward the can, whose side stands 20 mm from its middle.
    tank = {
        "shape": "cylinder", "at": [200, 0, -300], "to": [200, 0, -400], "diameter": 40, "gap": 0,
        "removal": [0, 0, -45], "removal_then": [{"tilt": 90, "toward": [-1, 0, 0], "pivot": [200, 0, -300]}],
    }  # fmt: skip
    placing = best_place(site({"tank": tank}, room=(0.0, 0.0, 0.0)))
    (margin,) = [m for m in placing.today.margins if m.reason is Reason.REMOVAL and m.mm < 100.0]
    # The rim is farthest out at z = -345 - 100 cos 78.7 + 20 sin 78.7 = -345: level with the can.
    assert margin.mm == pytest.approx(200.0 - 20.0 - math.hypot(20.0, 100.0), abs=0.06)


def test_room_for_the_hand_counts() -> None:
    # Beside the can's 20 mm a hand wants 25 mm: 60 + s - 45 to the left is as much as 50 - s - 45 to the right.
    can = {
        "can": {
            "shape": "cylinder", "at": [0, 0, -300], "to": [0, 0, -400], "diameter": 40, "removal": [0, 0, -45],
            "grip": "hand",
        }
    }  # fmt: skip
    placing = best_place(site({"left": low_box(-70.0), "right": low_box(60.0)}, things=can))
    assert placing.today.margins[0].reason is Reason.HAND
    assert placing.today.least_mm == pytest.approx(5.0, abs=1e-6)
    assert shift(placing)[0] == pytest.approx(-5.0, abs=EXACT_MM)
    assert placing.best.least_mm == pytest.approx(10.0, abs=EXACT_MM)


def test_what_hangs_on_rubber_moves_with_the_bracket() -> None:
    # Held to the engine by rubber only: the engine's 8 mm then count toward the engine's box, not toward the frame's.
    walls = {"frame": low_box(-50.0), "engine box": {**low_box(50.0), "body": "engine"}}
    found = site(walls, bodies={"engine": {"travel": [8, 0, 0]}})
    hung = found.carried
    assert hung is not None
    rubber = FlexibleTable.model_validate({"stroke": ["8 mm", "0 mm", "0 mm"]})
    on_engine = found.model_copy(update={"carried": hung.model_copy(update={"body": "engine"})})
    assert shift(best_place(on_engine))[0] == pytest.approx(4.0, abs=EXACT_MM)
    on_rubber = found.model_copy(update={"carried": hung.model_copy(update={"body": "engine", "flexible": rubber})})
    assert shift(best_place(on_rubber))[0] == pytest.approx(-4.0, abs=EXACT_MM)


def test_room_for_tools_counts() -> None:
    # Only the bolt's head is near anything: a duct above it, 60 mm over the mounting face. No socket and no swing fits
    # below; 20 mm to the right the head is clear of it.
    duct = {"shape": "box", "at": [-95, 0, 60], "size": [200, 400, 99], "gap": 0}
    placing = best_place(site({"duct": duct}, room=(60.0, 0.0, 0.0)))
    assert placing.today.margins[0].reason is Reason.TOOL
    assert placing.today.least_mm < 0.0 < placing.best.least_mm
    assert shift(placing)[0] > 5.0 + 10.0


def test_the_same_question_has_the_same_answer_and_no_room_changes_nothing() -> None:
    pipe = {"shape": "pipe", "points": [[-70, -200, -250], [-60, 200, -420]], "diameter": 30, "gap": 5}
    found = site({"pipe": pipe, "wall": low_box(60.0)}, room=(15.0, 0.0, 15.0), turn_room=10.0)
    assert best_place(found) == best_place(found)
    still = best_place(site({"pipe": pipe}, room=(0.0, 0.0, 0.0)))
    assert still.best == still.today and still.gain_mm == 0.0
    assert "wished place" in still.lines()[0]


@pytest.mark.parametrize(("least", "told"), [(0.9, 1.0), (1.7, 2.0), (2.5, 3.0), (3.9, 4.0)])
def test_of_places_that_are_as_high_the_one_nearer_to_today_s_is_taken(least: float, told: float) -> None:
    """A plain from `least` to 6.1 within 8 to either side: it is met at 4, and left for the nearest quarter of that."""

    def survey(places: Floats) -> list[Heights]:
        return [Heights(np.array([0.0 if least <= x <= 6.1 else -1.0]), np.zeros((1, 1))) for (x,) in places]

    assert highest(survey, lambda _place, height: height, np.array([8.0])) == pytest.approx([told])


def test_the_best_place_is_as_good_as_a_fine_grid_says() -> None:
    # Gaps of a can to two pipes and a wall by plain distance formulas, on a grid of 0.5 mm.
    walls = {
        "one": {"shape": "pipe", "points": [[-60, -400, -350], [-60, 400, -350]], "diameter": 20, "gap": 4},
        "two": {"shape": "pipe", "points": [[20, 70, -900], [20, 70, 100]], "diameter": 30, "gap": 10},
        "wall": {"shape": "wall", "at": [55, 0, 0], "normal": [-1, 0, 0], "gap": 2},
    }
    placing = best_place(site(walls))
    best = max(
        min(
            x + 60.0 - 20.0 - 10.0 - 4.0,
            math.hypot(x - 20.0, y - 70.0) - 20.0 - 15.0 - 10.0,
            55.0 - x - 20.0 - 2.0,
        )
        for x in (i / 2 for i in range(-40, 41))
        for y in (i / 2 for i in range(-40, 41))
    )
    assert placing.best.least_mm == pytest.approx(best, abs=0.3)
    assert placing.best.least_mm >= best - EXACT_MM
