"""Holes, patterns and cut-outs: where they stand and how large they are, against figures worked out by hand."""

from __future__ import annotations

import math

import pytest
from described import plate
from whole_way import whole_way

from bracketgen.description.making.build import Job
from bracketgen.geometry.contour import Circle
from bracketgen.part.hole import Hole, Purpose
from bracketgen.pipeline import work_out

HALF = math.sqrt(0.5)
TALL = math.sqrt(3.0) / 2


def job(text: str) -> Job:
    return whole_way(text).job


def holes(table: str, stock: str = "") -> tuple[Hole, ...]:
    return job(plate(f"[[panels.base.holes]]\n{table}", stock=stock)).part.panels[0].holes


def spots(pattern: str, at: str = "[50, 40]", more: str = "") -> list[tuple[float, float]]:
    made = holes(f"diameter = 3\nat = {at}\npattern = {{ {pattern} }}\n{more}")
    return [(h.centre.x, h.centre.y) for h in made]


def near(points: list[tuple[float, float]]) -> list[object]:
    return [pytest.approx(p, abs=1e-12) for p in points]


# -- where they stand


def test_one_hole_stands_where_it_is_told() -> None:
    (hole,) = holes('name = "tab"\ndiameter = 7\nat = [12.5, "1 in"]')
    assert hole.id == "base/tab"
    assert hole.centre == pytest.approx((12.5, 25.4))


@pytest.mark.parametrize(
    ("pattern", "points"),
    [
        ('kind = "row", count = 3, spacing = 10', [(50, 40), (60, 40), (70, 40)]),
        ('kind = "row", count = 2, spacing = 20, direction = 30', [(50, 40), (50 + 20 * TALL, 50)]),
        ('kind = "row", count = 2, spacing = 20, direction = -90', [(50, 40), (50, 20)]),
        (
            'kind = "grid", columns = 3, rows = 2, spacing = [10, 15]',
            [(50, 40), (60, 40), (70, 40), (50, 55), (60, 55), (70, 55)],
        ),
        ('kind = "corners", size = [40, 30]', [(30, 25), (70, 25), (70, 55), (30, 55)]),
        ('kind = "bolt circle", diameter = 40, count = 4', [(70, 40), (50, 60), (30, 40), (50, 20)]),
        (
            'kind = "bolt circle", diameter = 40, count = 2, start = 45',
            [(50 + 20 * HALF, 40 + 20 * HALF), (50 - 20 * HALF, 40 - 20 * HALF)],
        ),
        (
            'kind = "bolt circle", diameter = 40, count = 3, over = 90',
            [(70, 40), (50 + 20 * HALF, 40 + 20 * HALF), (50, 60)],
        ),
        ('kind = "bolt circle", diameter = 40, count = 2, over = -90', [(70, 40), (50, 20)]),
        ('kind = "points", points = [[0, 0], [-7, 3], ["1 in", 0]]', [(50, 40), (43, 43), (75.4, 40)]),
    ],
)
def test_patterns(pattern: str, points: list[tuple[float, float]]) -> None:
    assert spots(pattern) == near(points)


@pytest.mark.parametrize(
    ("more", "points"),
    [
        ("turned = 90", [(50, 50), (45, 50)]),
        ('mirrored = "left-right"', [(40, 40), (40, 45)]),
        ('mirrored = "up-down"', [(60, 40), (60, 35)]),
        ('mirrored = "left-right"\nturned = 90', [(50, 30), (45, 30)]),
    ],
)
def test_patterns_are_mirrored_then_turned_then_moved(more: str, points: list[tuple[float, float]]) -> None:
    assert spots('kind = "points", points = [[10, 0], [10, 5]]', more=more) == near(points)


def test_holes_of_a_pattern_are_numbered_in_order() -> None:
    made = holes('name = "row"\nbolt = "M5"\nat = [20, 20]\npattern = { kind = "row", count = 3, spacing = 20 }')
    assert [h.id for h in made] == ["base/row-1", "base/row-2", "base/row-3"]


# -- how large they are (ISO 273, ASME B18.2.8, ISO 2306)


@pytest.mark.parametrize(
    ("table", "diameter", "purpose", "fastener"),
    [
        ('bolt = "M8"', 9.0, Purpose.CLEARANCE, "M8"),
        ('bolt = "M8"\nfit = "close"', 8.4, Purpose.CLEARANCE, "M8"),
        ('bolt = "m8"\nfit = "coarse"', 10.0, Purpose.CLEARANCE, "M8"),
        ('bolt = "M12"\nfit = "medium"', 13.5, Purpose.CLEARANCE, "M12"),
        ('bolt = "3/8"', 25.4 * 13 / 32, Purpose.CLEARANCE, "3/8"),
        ('bolt = "3/8 in"\nfit = "loose"', 25.4 * 27 / 64, Purpose.CLEARANCE, "3/8"),
        ("diameter = 7.5", 7.5, Purpose.PLAIN, None),
        ('diameter = "13/32 in"', 25.4 * 13 / 32, Purpose.PLAIN, None),
        ('tap = "M8"', 6.8, Purpose.TAPPED, "M8"),
        ('rivet_nut = "M6"', 9.0, Purpose.RIVET_NUT, "M6"),
        ("dowel = 8", 8.0, Purpose.DOWEL, None),
    ],
)
def test_sizes_of_holes(table: str, diameter: float, purpose: Purpose, fastener: str | None) -> None:
    (hole,) = holes(f"{table}\nat = [50, 40]", 'process = "waterjet"')
    assert isinstance(hole.in_file, Circle)
    assert 2 * hole.in_file.radius == pytest.approx(diameter, abs=1e-12)
    assert (hole.shape.kind, hole.purpose, hole.fastener) == ("round", purpose, fastener)


def test_a_film_on_both_walls_makes_the_drawn_hole_larger() -> None:
    film = 'coating = { kind = "powder", film = "0.1 mm" }'
    (plain,) = holes("diameter = 8.5\nat = [50, 40]", film)
    (slot,) = holes("diameter = 8.5\nat = [50, 40]\nslot = { length = 20 }", film)
    (thread,) = holes('tap = "M8"\nat = [50, 40]', film)
    assert plain.shape.width_mm == pytest.approx(8.7)
    assert (slot.shape.width_mm, slot.shape.length_mm) == pytest.approx((8.7, 20.2))
    # Threads are masked, not coated.
    assert thread.shape.width_mm == 6.8


@pytest.mark.parametrize(
    ("table", "process", "in_file", "note"),
    [
        ('tap = "M6"', "waterjet", 5.0, ""),
        ('tap = "M6"', "plasma", 4.0, "pilot of 4 mm; drill to 5 mm and tap"),
        ('tap = "M6"\npilot = 3.3', "laser", 3.3, "pilot of 3.3 mm; drill to 5 mm and tap"),
        ("dowel = 8", "laser", 7.0, "pilot of 7 mm; ream to 8 mm"),
        ("dowel = 8", "plasma", 7.0, "pilot of 7 mm; ream to 8 mm"),
        ("dowel = 8", "waterjet", 8.0, ""),
        ('bolt = "M6"', "plasma", 6.6, ""),
    ],
)
def test_hot_cut_threads_and_fits_are_drilled_to_size(table: str, process: str, in_file: float, note: str) -> None:
    made = work_out(plate(f"[[panels.base.holes]]\n{table}\nat = [50, 40]", stock=f'process = "{process}"'), "p", "p")
    (cut,) = made.flat.cuts()
    assert isinstance(cut, Circle)
    assert 2 * cut.radius == in_file
    noted = [f.remedy for f in made.findings if f.rule == "thermal-thread"]
    assert [note in remedy for remedy in noted] == ([True] if note else [])


def test_from_laser_to_plasma_a_tapped_hole_changes_in_the_cut_file() -> None:
    table = '[[panels.base.holes]]\ntap = "M6"\nat = [50, 40]'
    laser, plasma = (whole_way(plate(table, stock=f'process = "{p}"')).dxf for p in ("laser", "plasma"))
    # Group 40 of a CIRCLE is its radius.
    assert b"\n 40\r\n2.5\r\n" in laser and b"\n 40\r\n2.5\r\n" not in plasma
    assert b"\n 40\r\n2.0\r\n" in plasma


# -- slots


def slot(table: str, direction: str = "0") -> Hole:
    return holes(f"diameter = 6\nat = [50, 40]\nslot = {{ length = 20, direction = {direction} }}\n{table}")[0]


def test_a_slot_is_as_long_as_told_from_end_to_end() -> None:
    made = slot("", "90")
    assert made.cut.contour().bounds() == pytest.approx((47, 30, 53, 50))
    # A 14 x 6 box and two half rounds.
    assert made.cut.contour().area == pytest.approx(14 * 6 + math.pi * 9)
    assert made.cut.contour().length == pytest.approx(2 * 14 + math.pi * 6)


@pytest.mark.parametrize(
    ("table", "direction", "expected"),
    [
        ("", "30", 30),
        ("turned = 45", "30", 75),
        ('mirrored = "left-right"', "30", 150),
        ('mirrored = "up-down"', "30", -30),
        ('mirrored = "left-right"\nturned = 20', "30", 170),
        ('pattern = { kind = "bolt circle", diameter = 40, count = 1, start = 30 }', '"radial"', 30),
        ('pattern = { kind = "bolt circle", diameter = 40, count = 1, start = 30 }', '"around"', 120),
        ('turned = 15\npattern = { kind = "bolt circle", diameter = 40, count = 1, start = 30 }', '"radial"', 45),
        (
            'mirrored = "left-right"\npattern = { kind = "bolt circle", diameter = 40, count = 1, start = 30 }',
            '"radial"',
            150,
        ),
    ],
)
def test_direction_of_a_slot(table: str, direction: str, expected: float) -> None:
    made = slot(table, direction)
    direction = made.shape.direction_deg
    assert direction is not None
    assert (direction - expected) % 180 == pytest.approx(0, abs=1e-9) or (direction - expected) % 180 == pytest.approx(
        180, abs=1e-9
    )
    # The farthest point of the edge lies half a length away, that way.
    tip = made.centre.plus(type(made.centre)(math.cos(math.radians(expected)), math.sin(math.radians(expected))), 10.0)
    assert min(e.nearest(tip).distance(tip) for e in made.cut.contour().edges) < 1e-9


# -- cut-outs


def opening(table: str) -> Hole:
    (hole,) = job(plate(f"[[panels.base.cutouts]]\nat = [50, 40]\n{table}")).part.panels[0].holes
    return hole


@pytest.mark.parametrize(
    ("table", "area", "length"),
    [
        ('shape = "rectangle"\nsize = [20, 10]', 200, 60),
        ('shape = "rectangle"\nsize = [20, 10]\ncorner_radius = 3', 200 - (4 - math.pi) * 9, 60 - 24 + 6 * math.pi),
        # Grown by 2: 24 x 14 with corners of 2 + 3.
        (
            'shape = "rectangle"\nsize = [20, 10]\ncorner_radius = 3\nclearance = 2',
            24 * 14 - (4 - math.pi) * 25,
            76 - 40 + 10 * math.pi,
        ),
        ('shape = "disc"\ndiameter = 20\nclearance = 1.5', math.pi * 11.5**2, math.pi * 23),
        ('shape = "slot"\nsize = [20, 6]\nclearance = 1', 14 * 8 + math.pi * 16, 28 + 8 * math.pi),
        # A 30, 40, 50 triangle; the room around it by Steiner's formula: A + P g + pi g2.
        ('shape = "polygon"\npoints = [[0, 0], [40, 0], [0, 30]]', 600, 120),
        (
            'shape = "polygon"\npoints = [[0, 0], [0, 30], [40, 0]]\nclearance = 2',
            600 + 240 + 4 * math.pi,
            120 + 4 * math.pi,
        ),
        # An angle of 20 x 20 with legs of 10: five corners that stick out, and one hollow where the room overlaps.
        (
            'shape = "polygon"\npoints = [[0, 0], [20, 0], [20, 10], [10, 10], [10, 20], [0, 20]]\nclearance = 2',
            300 + 160 + 5 * math.pi - 4,
            80 + 5 * math.pi - 4,
        ),
        # The hollow corner's radius of 3 shrinks to 1, the others grow to 5.
        (
            'shape = "polygon"\npoints = [[0, 0], [20, 0], [20, 10], [10, 10], [10, 20], [0, 20]]\n'
            "corner_radius = 3\nclearance = 2",
            (300 + 160 + 20 - 4) - 5 * (1 - math.pi / 4) * 25 + (1 - math.pi / 4),
            None,
        ),
    ],
)
def test_openings_with_the_room_around_them(table: str, area: float, length: float | None) -> None:
    chain = opening(table).cut.contour()
    assert chain.area == pytest.approx(area, abs=1e-9)
    if length is not None:
        assert chain.length == pytest.approx(length, abs=1e-9)


def test_an_opening_is_turned_about_its_middle() -> None:
    assert opening('shape = "rectangle"\nsize = [20, 10]\nturned = 90').cut.contour().bounds() == pytest.approx(
        (45, 30, 55, 50)
    )


def flat_area(*tables: str) -> tuple[float, int]:
    flat = whole_way(plate(*tables)).flat
    return flat.area_mm2, flat.pierces


def test_a_cutout_over_the_edge_is_a_notch() -> None:
    area, pierces = flat_area('[[panels.base.cutouts]]\nshape = "rectangle"\nat = [50, 80]\nsize = [20, 10]')
    assert (area, pierces) == (pytest.approx(8000 - 100), 1)


def test_a_saddle_takes_a_round_with_its_gap_out_of_the_edge() -> None:
    area, pierces = flat_area("[[panels.base.saddles]]\ntube = 40\ngap = 1\nat = [50, 80]")
    assert (area, pierces) == (pytest.approx(8000 - math.pi * 21**2 / 2), 1)


def test_a_saddle_deeper_than_its_centre_is_more_than_half_a_round() -> None:
    # Centre 9 mm below the edge, radius 15: the chord reaches 12 to either side.
    half = math.asin(12 / 15)
    segment = 15**2 * half - 12 * 9
    area, _ = flat_area("[[panels.base.saddles]]\ntube = 30\nat = [50, 71]")
    assert area == pytest.approx(8000 - (math.pi * 225 - segment))


def test_notches_that_meet_are_one() -> None:
    notch = '[[panels.base.cutouts]]\nshape = "rectangle"\nat = [{}, 80]\nsize = [20, 10]'
    area, pierces = flat_area(notch.format(50), notch.format(60))
    assert (area, pierces) == (pytest.approx(8000 - 150), 1)


def test_marks_are_kept_and_cut_only_when_asked() -> None:
    mark = "[[panels.base.marks]]\nstart = [10, 20]\nend = [40, 20]"
    made = work_out(plate(mark), "p", "p")
    (line,) = made.job.part.panels[0].marks
    assert (line.start, line.end) == ((10, 20), (40, 20))
    assert made.job.also == ()
    assert work_out(plate(mark, '[cut_file]\nalso = ["marks"]'), "p", "p").job.also == ("marks",)
