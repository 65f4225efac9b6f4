"""Bends: flats, folded places, reliefs and joggles, against figures worked out by hand."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from described import WORKING, angle, plate
from whole_way import WholeWay, whole_way

from bracketgen.errors import InputFaults
from bracketgen.geometry.contour import holds
from bracketgen.geometry.plane import Point
from bracketgen.pipeline import Made, Outputs, files_of, work_out

K90 = math.pi / 2 * (3 + 0.4 * 2)  # allowance of a square bend, R = 3, t = 2, K = 0.4


def height(text: str, folder: str = ".") -> float:
    x0, y0, x1, y1 = whole_way(text, folder).flat.bounds_mm
    assert x1 - x0 == pytest.approx(80)
    return y1 - y0


# -- flat lengths: 50 and 30, inside radius 3, 2 mm thick, K = 0.4


@pytest.mark.parametrize(
    ("sizes", "turn", "off"),
    [
        # What both sizes hold beyond the tangent lines: R + t, or R, each x tan(turn / 2) up to square.
        ("outside", 90, 2 * 5),
        ("mould", 90, 2 * 5),
        ("inside", 90, 2 * 3),
        ("tangent", 90, 0),
        ("outside", 60, 2 * 5 / math.sqrt(3)),
        ("mould", 60, 2 * 5 / math.sqrt(3)),
        ("inside", 60, 2 * 3 / math.sqrt(3)),
        ("tangent", 60, 0),
        # Beyond square a calliper touches the arc itself, but the mould line runs on to where the faces would meet.
        ("outside", 120, 2 * 5),
        ("mould", 120, 2 * 5 * math.sqrt(3)),
        ("inside", 120, 2 * 3),
        ("tangent", 120, 0),
    ],
)
@pytest.mark.parametrize("way", ["up", "down"])
def test_length_of_the_flat(sizes: str, turn: float, off: float, way: str) -> None:
    text = angle(f'turn = {turn}, sizes = "{sizes}"', way=way)
    assert height(text) == pytest.approx(80 - off + math.radians(turn) * 3.8, abs=1e-9)


@pytest.mark.parametrize(
    ("table", "deduction"),
    [
        ('inside_radius = 3\nallowance = "K factor"\nk_factor = 0.5', 10 - math.pi / 2 * 4),
        # v = 2 (r + s) - pi / 2 (r + k s / 2), k = 0.65 + 0.5 log 3/2
        ("inside_radius = 3", 10 - math.pi / 2 * (3 + 0.65 + 0.5 * math.log10(1.5))),
        ('inside_radius = 3\nallowance = "DIN 6935"', 10 - math.pi / 2 * (3 + 0.65 + 0.5 * math.log10(1.5))),
        ('inside_radius = 3\nallowance = "FAA"', 10 - 90 * (0.01743 * 3 + 0.0078 * 2)),
        ('inside_radius = 3\nallowance = "handbook"\nhandbook_metal = "soft"', 10 - (0.55 * 2 + 1.57 * 3)),
        ('inside_radius = 3\nallowance = "handbook"\nhandbook_metal = "medium"', 10 - (0.64 * 2 + 1.57 * 3)),
        ('inside_radius = 3\nallowance = "handbook"\nhandbook_metal = "hard"', 10 - (0.71 * 2 + 1.57 * 3)),
        ('punch_radius = 3\nallowance = "K factor"\nk_factor = 0.4', 10 - K90),
        ('nose_radius = 3\nallowance = "K factor"\nk_factor = 0.4', 10 - K90),
        # A die of 16 leaves a radius of 2.6 by itself.
        ('die = 16\nallowance = "K factor"\nk_factor = 0.4', 2 * 4.6 - math.pi / 2 * 3.4),
        # A strip of 100 bent by the same K: both legs outside are (100 - allowance + 2 x 5) / 2.
        (
            'inside_radius = 3\nallowance = "test strip"\ntest_strip = { blank = 100, legs = '
            f'["{(110 - K90) / 2:.9f} mm", "{(110 - K90) / 2:.9f} mm"] }}',
            10 - K90,
        ),
    ],
)
def test_every_way_of_finding_the_allowance(table: str, deduction: float) -> None:
    assert height(angle(table=f'{table}\nsizes = "outside"')) == pytest.approx(80 - deduction, abs=1e-6)


def test_the_deduction_of_the_shop_is_taken_as_it_is(tmp_path: Path) -> None:
    rows = "metal,thickness_mm,die_mm,inside_radius_mm,turn_deg,deduction_mm\nmild steel,2,16,3,90,3.65\n"
    (tmp_path / "brake.csv").write_text(rows, encoding="utf-8")
    table = 'inside_radius = 3\nallowance = "shop table"\ntable = "brake.csv"\ntable_metal = "mild steel"'
    assert height(angle(table=f'{table}\nsizes = "outside"'), str(tmp_path)) == pytest.approx(80 - 3.65)


def test_a_faulty_shop_table_is_told_with_its_own_lines(tmp_path: Path) -> None:
    head = "metal,thickness_mm,inside_radius_mm,turn_deg,deduction_mm\n"
    rows = f"{head}S235,2,3,90,3.65\nS235,2,3,90,many\nS235,2,3,200,1\n"
    (tmp_path / "brake.csv").write_text(rows, encoding="utf-8")
    table = 'inside_radius = 3\nallowance = "shop table"\ntable = "brake.csv"\nsizes = "outside"'
    with pytest.raises(InputFaults) as told:
        whole_way(
            angle("turn = 90", "[[panels.leg.holes]]\ndiameter = 3\nslot = { length = 2 }", table=table), str(tmp_path)
        )
    assert [str(f.place) for f in told.value.faults] == ["brake.csv:3:13", "brake.csv:4:10", "part.toml:16:19"]


def test_turn_and_between_say_the_same() -> None:
    made = [work_out(angle(said), "part.toml", "part") for said in ("turn = 60", "between = 120")]
    first, second = (_as_made(m) for m in made)
    assert first == second


def _as_made(made: Made) -> tuple[bytes, dict[str, object]]:
    """Cut file and report, without the values as the description words them."""
    files = files_of(made, Outputs.DXF | Outputs.JSON)
    report = json.loads(files["part.json"])
    return files["part.dxf"], {key: value for key, value in report.items() if key != "values"}


# -- where holes end up


def hole_on_the_leg(bend: str, way: str = "up", **more: str) -> WholeWay:
    return whole_way(angle(bend, "[[panels.leg.holes]]\ndiameter = 6\nat = [20, 18]", way=way, **more))


def test_a_hole_across_the_bend_in_the_flat() -> None:
    (hole,) = hole_on_the_leg("turn = 90").flat.holes
    # 45 to the tangent line, the allowance, and 18 - 5 beyond it.
    assert hole.centre == pytest.approx((20, 45 + K90 + 13))


@pytest.mark.parametrize(
    ("bend", "way", "place"),
    [
        # Outside sizes: the leg's outer face stands 50 from the foot of the base. Bent up its described face is the
        # inner one, 2 mm nearer; the hole is 18 from the base's outer face, which lies 2 below the described one.
        ("turn = 90", "up", (20, 48, 16)),
        # Bent down the described face is the outer one all the way.
        ("turn = 90", "down", (20, 50, -18)),
        ('turn = 90, sizes = "inside"', "up", (20, 50, 18)),
        ('turn = 90, sizes = "inside"', "down", (20, 52, -20)),
    ],
)
def test_a_hole_across_the_bend_in_space(bend: str, way: str, place: tuple[float, float, float]) -> None:
    made = hole_on_the_leg(bend, way)
    assert made.folded.point("leg", Point(20, 18)) == pytest.approx(place, abs=1e-9)


def test_a_leg_bent_half_way_lies_on_the_mould_lines() -> None:
    # Turned by 45 down, described faces outside: both run through the mould line at y = 50.
    made = hole_on_the_leg("turn = 45", "down")
    s = 18 * math.sqrt(0.5)
    assert made.folded.point("leg", Point(20, 18)) == pytest.approx((20, 50 + s, -s), abs=1e-9)


@pytest.mark.parametrize(
    ("edge", "place"),
    [
        ("top", (20, 50, -18)),
        ("right", (80, 30, -18)),
        ("bottom", (60, 0, -18)),
        ("left", (0, 20, -18)),
    ],
)
def test_seen_from_the_leg_the_base_lies_below(edge: str, place: tuple[float, float, float]) -> None:
    text = plate(
        '[panels.leg]\noutline = { shape = "rectangle", height = 30 }',
        f'bend = {{ from = "base", edge = "{edge}", way = "down", turn = 90 }}',
        '[bend]\ninside_radius = 3\nallowance = "K factor"\nk_factor = 0.4\nsizes = "outside"',
        outline='shape = "rectangle", width = 80, height = 50',
    )
    assert whole_way(text).folded.point("leg", Point(20, 18)) == pytest.approx(place, abs=1e-9)


@pytest.mark.parametrize(("origin", "x"), [("left", 20), ("middle", 60), ("right", 100)])
def test_x_of_a_bent_panel_counts_from_its_origin(origin: str, x: float) -> None:
    text = angle("turn = 90, shift = 5", way="down").replace("[panels.leg]", f'[panels.leg]\norigin = "{origin}"')
    assert whole_way(text).folded.point("leg", Point(20, 18))[0] == pytest.approx(x + 5)


# -- joggles


@pytest.mark.parametrize(
    ("said", "way", "z"),
    [
        ("offset = 12", "up", 12),
        ("offset = 12", "down", -12),
        ("offset = 6, turn = 30", "up", 6),
        ('offset = "1/2 in", between = 105', "down", -12.7),
    ],
)
def test_a_joggle_stands_off_by_exactly_its_offset(said: str, way: str, z: float) -> None:
    text = angle().replace('bend = { from = "base", edge = "top", way = "up", turn = 90 }', (
        f'joggle = {{ from = "base", edge = "top", way = "{way}", {said} }}'
    ))  # fmt: skip
    made = whole_way(text)
    for p in (Point(0, 10), Point(70, 25)):
        assert made.folded.point("leg", p)[2] == pytest.approx(z, abs=1e-9)
    assert made.folded.normal("leg") == pytest.approx((0, 0, 1), abs=1e-12)
    first, second = made.job.part.bends
    assert (first.way, first.turn_deg) != (second.way, second.turn_deg)
    assert first.turn_deg == second.turn_deg


def test_the_flat_of_a_joggle() -> None:
    # Offset 12 at 45 degrees: arcs take (2 R + t)(1 - cos 45) = 8 x 0.29289 of it, the slope makes the rest.
    text = angle().replace('bend = { from = "base", edge = "top", way = "up", turn = 90 }', (
        'joggle = { from = "base", edge = "top", way = "up", offset = 12, sizes = "tangent" }'
    ))  # fmt: skip
    slope = (12 - 8 * (1 - math.sqrt(0.5))) / math.sqrt(0.5)
    assert height(text) == pytest.approx(80 + slope + 2 * math.pi / 4 * 3.8)


# -- partial width, reliefs, corners

# 2 mm sheet is over 0.064 in: FAA-H-8083-31 drills 3/16 in = 4.7625, here to the next tenth; 1/16 in beyond the
# tangent line to the round's start.
RELIEF_WIDTH = 4.8
RELIEF_DEPTH = 25.4 / 16 + 2.4


def test_a_bend_over_a_part_of_an_edge_gets_a_relief_at_both_ends() -> None:
    made = whole_way(angle(leg='shape = "rectangle", width = 30, left = 25, height = 30'))
    (strip,) = made.flat.strips
    assert strip.bend.width_mm == pytest.approx(30)
    # Each relief: from the edge at 50 down to 5 + 1/16 in, then half a round.
    relief = RELIEF_WIDTH * (5 + 25.4 / 16) + math.pi * 2.4**2 / 2
    expected = 80 * 50 - 30 * 5 - 2 * relief + 30 * (K90 + 25)
    assert made.flat.area_mm2 == pytest.approx(expected, abs=1e-9)


def test_a_relief_is_as_told() -> None:
    leg = 'shape = "rectangle", width = 30, left = 25, height = 30'
    made = whole_way(angle('turn = 90, relief = { shape = "square", width = 3, depth = 2 }', leg=leg))
    assert made.flat.area_mm2 == pytest.approx(80 * 50 - 30 * 5 - 2 * 3 * 7 + 30 * (K90 + 25), abs=1e-9)


def test_two_bends_that_meet_in_a_corner_leave_a_round() -> None:
    text = angle("turn = 90", '[panels.side]\noutline = { shape = "rectangle", height = 30 }').replace(
        "[bend]", 'bend = { from = "base", edge = "right", way = "up", turn = 90 }\n[bend]'
    )
    made = whole_way(text)
    top, right = made.flat.strips
    # The tangent lines meet at (75, 45); both bends give way to the round by its radius.
    r = max(3.0, RELIEF_WIDTH / 2)
    assert (top.bend.width_mm, right.bend.width_mm) == pytest.approx((75 - r, 45 - r))


def beside(made: WholeWay) -> list[tuple[str, Point]]:
    """Points just beyond both ends of every strip: on both tangent lines and half way across."""
    found = []
    for s in made.flat.strips:
        for u in (-0.05, s.bend.width_mm + 0.05):
            for share in (0.0, 0.5, 1.0):
                found.append((s.bend.id, s.placement.point(Point(u, share * s.metal.allowance_mm))))
    return found


SHAPES = sorted((Path(__file__).parents[2] / "shapes").glob("*.toml"))


@pytest.mark.parametrize("text", [*WORKING.values(), *(p.read_text(encoding="utf-8") for p in SHAPES)])
def test_no_bend_ends_within_the_metal(text: str) -> None:
    made = whole_way(text, str(SHAPES[0].parent))
    held = [(bend, p) for bend, p in beside(made) if holds(made.flat.outline, p)]
    in_openings = [(b, p) for b, p in held if any(holds(o, p) for o in made.flat.openings)]
    assert held == in_openings


# -- strips


def test_a_strip_is_the_same_part_as_its_panels() -> None:
    head = 'title = "Hat"\nunits = "mm"\n[stock]\nmetal = "S235"\nthickness = 2\n[corners]\nouter = 0\n'
    bend = '[bend]\ninside_radius = 3\nsizes = "outside"\n'
    strip = (
        "[strip]\nwidth = 40\n"
        'legs = [{ length = 30, name = "a", holes = [{ bolt = "M6", at = [20, 12] }] }, { length = 45, name = "b" }, '
        '{ length = 30, name = "c", corner_radius = 6 }]\n'
        'bends = [{ turn = 90, way = "up" }, { between = 60, way = "down" }]\n'
    )
    panels = (
        '[panels.a]\noutline = { shape = "rectangle", width = 40, height = 30 }\n'
        '[[panels.a.holes]]\nbolt = "M6"\nat = [20, 12]\n'
        '[panels.b]\noutline = { shape = "rectangle", height = 45 }\n'
        'bend = { from = "a", edge = "top", turn = 90, way = "up" }\n'
        '[panels.c]\noutline = { shape = "rectangle", height = 30, corner_radius = 6 }\n'
        'bend = { from = "b", edge = "top", turn = 120, way = "down" }\n'
    )
    made = [work_out(head + bend + rest, "part.toml", "part") for rest in (strip, panels)]
    first, second = (_as_made(m) for m in made)
    assert first == second


def test_the_flat_of_a_strip() -> None:
    # Outside 30, 45, 30 with two square bends of K = 0.4: 105 less two deductions of 10 - allowance.
    text = (
        'title = "Channel"\nunits = "mm"\n[stock]\nmetal = "S235"\nthickness = 2\n'
        '[bend]\ninside_radius = 3\nallowance = "K factor"\nk_factor = 0.4\nsizes = "outside"\n'
        "[strip]\nwidth = 80\nlegs = [{ length = 30 }, { length = 45 }, { length = 30 }]\n"
        'bends = [{ turn = 90, way = "up" }, { turn = 90, way = "up" }]\n'
    )
    assert height(text) == pytest.approx(105 - 20 + 2 * K90)
