"""Nesting: gaps on true outlines by another library, grain kept, sheets filled in turn, the estimate by hand."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from math import cos, hypot, pi
from pathlib import Path

import ezdxf
import pytest
import shapely
from command_line import PLATE, names, run, words, written
from hypothesis import given, settings
from hypothesis import strategies as st
from struck_words import struck

from bracketgen.drawing.nest_sheet import nest_picture
from bracketgen.errors import GeometryFault
from bracketgen.geometry.contour import Circle, Contour, box_contour, closed_chain
from bracketgen.geometry.edge import Arc
from bracketgen.geometry.gap import too_near
from bracketgen.geometry.plane import Point
from bracketgen.shop.nest import (
    FilledSheet,
    Nest,
    NestMethod,
    NestPart,
    PlacedPart,
    Rates,
    Rolled,
    Spacing,
    StockSheet,
    _check,
    estimate,
    has_library,
    nest,
)

ROOM = Spacing(5.0, 10.0)


def box(name: str, wide: float, high: float, quantity: int = 1, grain: float | None = None) -> NestPart:
    return NestPart(name, box_contour(0, 0, wide, high), wide * high, quantity, grain)


def mixed(count: int, seed: int = 3) -> list[NestPart]:
    """Boxes, L shapes, triangles and discs of 20 to 160 mm."""
    chance = random.Random(seed)
    pieces = []
    for n in range(count):
        a, b = chance.uniform(40, 160), chance.uniform(20, 120)
        outlines = [
            box_contour(0, 0, a, b),
            closed_chain([Point(*p) for p in ((0, 0), (a, 0), (a, b / 3), (a / 3, b / 3), (a / 3, b), (0, b))]),
            closed_chain([Point(0, 0), Point(a, 0), Point(a / 4, b)]),
            Circle(Point(0, 0), b / 2).contour(),
        ]
        outline = outlines[n % 4]
        pieces.append(NestPart(f"p{n}", outline, outline.area, 1, chance.choice([None, 0.0, 90.0])))
    return pieces


#: Chords to an arc when the other library is given an outline.
CHORDS = 720
#: What is left for rounding and for the chords, which lie inside convex arcs.
SLACK_MM = 1e-4


def by_shapely(lying: PlacedPart) -> tuple[shapely.Polygon, float]:
    """The lying piece, turned and shifted by the other library, arcs as chords; how far an arc may rise over them."""
    points: list[tuple[float, float]] = []
    rise = 0.0
    for edge in lying.piece.outline.edges:
        steps = CHORDS if isinstance(edge, Arc) else 1
        points += [tuple(edge.at(k / steps)) if steps > 1 else tuple(edge.start) for k in range(steps)]
        if isinstance(edge, Arc):
            rise = max(rise, edge.radius * (1 - cos(edge.length / edge.radius / CHORDS / 2)))
    turned = shapely.affinity.rotate(shapely.Polygon(points), lying.angle_deg, origin=(0, 0))
    return shapely.affinity.translate(turned, lying.at.x, lying.at.y), rise


def ring_of(piece: NestPart) -> list[tuple[float, float]]:
    """Arcs as 90 chords, finer than the project draws them for the library."""
    steps = [(edge, 90 if isinstance(edge, Arc) else 1) for edge in piece.outline.anticlockwise().edges]
    return [tuple(edge.at(k / n)) if n > 1 else tuple(edge.start) for edge, n in steps for k in range(n)]


def assert_sound(done: Nest, room: Spacing) -> None:
    for sheet in done.filled:
        shapes = [by_shapely(one) for one in sheet.lying]
        for i, (a, rise) in enumerate(shapes):
            x0, y0, x1, y1 = a.bounds
            edge = min(x0, y0, sheet.plate.length_mm - x1, sheet.plate.width_mm - y1)
            assert edge - rise >= room.margin_mm - SLACK_MM
            assert all(a.distance(b) - rise - also >= room.gap_mm - SLACK_MM for b, also in shapes[:i])
        for one in sheet.lying:
            if one.piece.grain_deg is not None:
                assert sheet.plate.rolled.value is not None
                off = (one.piece.grain_deg + one.angle_deg - sheet.plate.rolled.value) % 180
                assert min(off, 180 - off) < 1e-6


def assert_all_there(done: Nest, pieces: Sequence[NestPart]) -> None:
    laid = Counter(one.piece.name for one in done.lying())
    assert {p.name: p.quantity for p in pieces} == dict(laid + Counter(done.left_over))


@given(st.integers(0, 10_000), st.floats(0.5, 12), st.floats(0, 20), st.sampled_from(Rolled))
@settings(max_examples=25, deadline=None)
def test_boxes_keep_gap_margin_and_grain(seed: int, gap: float, margin: float, rolled: Rolled) -> None:
    pieces, room = mixed(16, seed), Spacing(gap, margin)
    done = nest(pieces, [StockSheet("a", 400, 300, rolled), StockSheet("b", 600, 300, rolled)], room, NestMethod.BOXES)
    assert_sound(done, room)
    assert_all_there(done, pieces)
    if rolled is Rolled.UNKNOWN:
        assert all(one.piece.grain_deg is None for one in done.lying())


def test_a_full_sheet_of_equal_boxes() -> None:
    # 4 x 3 of 95 x 95 with gaps of 5 in 395 x 295, and margins of 10.
    done = nest([box("b", 95, 95, 13)], [StockSheet("s", 415, 315)], ROOM, NestMethod.BOXES)
    assert len(done.filled[0].lying) == 12 and done.left_over == {"b": 1}
    assert done.filled[0].used == pytest.approx(12 * 95 * 95 / (415 * 315))


def test_sheets_are_filled_in_turn_and_an_offcut_too_small_is_passed_over() -> None:
    plates = [StockSheet("scrap", 60, 60), StockSheet("offcut", 250, 250), StockSheet("full", 1000, 500)]
    done = nest([box("b", 100, 100, 8)], plates, ROOM, NestMethod.BOXES)
    assert [(f.plate.name, len(f.lying)) for f in done.filled] == [("offcut", 4), ("full", 4)]


def test_grain_at_any_angle_is_turned_onto_the_sheets() -> None:
    done = nest([box("b", 60, 20, 2, grain=30.0)], [StockSheet("s", 200, 200, Rolled.WIDTH)], ROOM, NestMethod.BOXES)
    assert {one.angle_deg for one in done.lying()} == {60.0}
    assert_sound(done, ROOM)


def test_outlines_too_near_are_told() -> None:
    discs = [Circle(Point(x, 0), 10.0).contour() for x in (0.0, 25.1, 49.9)]
    assert too_near(discs, 5.0) == [(1, 2)]
    # Exactly the gap apart is no fault, however the arcs are looked at; one in the other is.
    assert too_near([Circle(Point(x, 0), 10.0).contour() for x in (0.0, 25.0)], 5.0) == []
    assert too_near([box_contour(0, 0, 90, 90), discs[1]], 5.0) == [(0, 1)]
    assert too_near([box_contour(-90, -90, 90, 90), discs[1]], 5.0) == [(0, 1)]
    plate, piece = StockSheet("s", 200, 100), box("b", 20, 20)
    near = (PlacedPart(piece, 0, Point(10, 10)), PlacedPart(piece, 0, Point(34.9, 10)))
    with pytest.raises(GeometryFault, match="nearer than 5 mm"):
        _check(FilledSheet(plate, near), ROOM)
    with pytest.raises(GeometryFault, match="edge"):
        _check(FilledSheet(plate, (PlacedPart(piece, 0, Point(9.9, 10)),)), ROOM)


@pytest.mark.skipif(not has_library(), reason="the extra 'nest' is not installed")
def test_by_outlines_gaps_hold_and_no_sheet_is_emptier_than_by_boxes() -> None:
    pieces = mixed(40)
    plates = [StockSheet("a", 500, 400), StockSheet("b", 500, 400), StockSheet("c", 900, 400)]
    close = nest(pieces, plates, ROOM, NestMethod.OUTLINES, seconds=2)
    assert_sound(close, ROOM)
    assert_all_there(close, pieces)
    plain = nest(pieces, plates, ROOM, NestMethod.BOXES)
    assert close.filled[0].used >= plain.filled[0].used


@pytest.mark.skipif(not has_library(), reason="the extra 'nest' is not installed")
def test_sheets_are_about_as_full_as_the_library_gets_its_strip() -> None:
    """Forty mixed parts, all on a sheet that is emptier than the library's own strip by 4 points; by boxes they aren't.

    The strip stops after a second, the sheet after three: a busy machine tells. tests/bench has one with 2 points.
    """
    import spyrrow

    pieces, high, room = mixed(40, 4), 500.0, Spacing(5.0, 0.0)
    metal = sum(p.area_mm2 for p in pieces)
    items = [spyrrow.Item(p.name, ring_of(p), 1, list(p.angles(Rolled.LENGTH))) for p in pieces]
    config = spyrrow.StripPackingConfig(total_computation_time=1, min_items_separation=5.0, num_workers=1, seed=7)
    alone = metal / (high * spyrrow.StripPackingInstance("alone", high, items).solve(config).width)
    plate = StockSheet("s", metal / ((alone - 0.04) * high), high)
    done = nest(pieces, [plate], room, NestMethod.OUTLINES, seconds=3)
    assert done.left_over == {}
    assert done.filled[0].used == pytest.approx(alone - 0.04)
    assert_sound(done, room)
    assert nest(pieces, [plate], room, NestMethod.BOXES).left_over


def test_a_part_with_grain_is_never_laid_across_the_sheets() -> None:
    """30 x 120 with its grain along the 120: on a sheet 60 high it lies lengthwise only, so the grain must run so."""
    piece = box("b", 30, 120, 2, grain=90.0)
    for way in NestMethod if has_library() else (NestMethod.BOXES,):
        lengthwise = nest([piece], [StockSheet("s", 400, 60, Rolled.LENGTH)], ROOM, way, seconds=1)
        assert {one.angle_deg % 180 for one in lengthwise.lying()} == {90.0} and lengthwise.left_over == {}
        across = nest([piece], [StockSheet("s", 400, 60, Rolled.WIDTH)], ROOM, way, seconds=1)
        assert across.filled == () and across.left_over == {"b": 2}
        unknown = nest([piece], [StockSheet("s", 400, 400, Rolled.UNKNOWN)], ROOM, way, seconds=1)
        assert unknown.left_over == {"b": 2}


def test_the_estimate_by_hand() -> None:
    # 3 m at 1.5 m/min = 120 s, 20 pierces of 0.6 s = 12 s; 132 s at 90 an hour = 3.30; 10 kg at 2 = 20; setup 15.
    told = estimate(3000, 20, 10, Rates(1500, 0.6, 90, 2, 15))
    assert told.cutting_s == pytest.approx(132)
    assert (told.machine, told.metal, told.total) == (pytest.approx(3.3), pytest.approx(20), pytest.approx(38.3))


JOB = """\
title = "Plates"
units = "mm"
[[parts]]
file = "plate.toml"
quantity = 5
[[sheets]]
name = "offcut"
size = [250, 160]
[[sheets]]
size = [500, 250]
[rates]
currency = "EUR"
cut_mm_per_min = 3000
pierce_s = 0.5
machine_per_hour = 90
metal_per_kg = 1.5
"""


def test_the_command_writes_sheets_that_another_library_reads(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE, job=JOB)
    result = run("nest", tmp_path / "job.toml", "--boxes", "--out", tmp_path / "out")
    assert result.code == 0, result.err
    assert names(tmp_path / "out") == {f"job-sheet-{n}.{e}" for n in (1, 2) for e in ("dxf", "png")}
    # Two beside each other and two rows: 4 on the offcut, 1 on the sheet; each 100 x 60 with a hole of 10 mm.
    for number, count in ((1, 4), (2, 1)):
        space = ezdxf.readfile(tmp_path / "out" / f"job-sheet-{number}.dxf").modelspace()
        circles, outlines = list(space.query("CIRCLE")), list(space.query("LWPOLYLINE"))
        assert (len(circles), len(outlines)) == (count, count)
        for line in outlines:
            points = [(x, y) for x, y in line.get_points("xy")]
            assert shapely.Polygon(points).area == pytest.approx(6000)
            x, y = sum(p[0] for p in points) / 4, sum(p[1] for p in points) / 4
            assert min(hypot(c.dxf.center.x - x, c.dxf.center.y - y) for c in circles) < 1e-6
    said = words(result.out)
    # 5 x (320 + pi 10) mm at 3 m/min and 10 pierces of 0.5 s; sheets of 250 x 160 and 500 x 250, 4 mm, 7850 kg/m3.
    minutes = 5 * (320 + pi * 10) / 3000 + 10 * 0.5 / 60
    kg = (250 * 160 + 500 * 250) * 4 * 7850e-9
    assert f"cutting {minutes:.1f} min" in said and f"({kg:.1f} kg, whole sheets)" in said
    assert "ESTIMATE" in said and "No quotation" in said and "offcut, 250 x 160 mm, 59.2 % used: 4 x plate" in said


@pytest.mark.parametrize(
    ("thickness", "asked", "gap", "margin"),
    [(4, "", 5, 10), (12, "", 12, 12), (4, "gap = 3", 3, 10), (4, "gap = 11", 11, 11), (12, "margin = 0", 12, 0)],
)
def test_gap_and_margin_that_are_left_out(tmp_path: Path, thickness: int, asked: str, gap: int, margin: int) -> None:
    """The gap is the thickness and at least 5 mm, the margin the gap and at least 10 mm; what is asked for stands."""
    plate = PLATE.replace("thickness = 4", f"thickness = {thickness}").replace('value = "10 mm"', 'value = "20 mm"')
    written(tmp_path, plate=plate, job=JOB.replace("[rates]", f"[nesting]\n{asked}\n[rates]"))
    result = run("nest", tmp_path / "job.toml", "--boxes", "--out", tmp_path / "out")
    assert result.code == 0, result.err
    assert f"gap {gap} mm, to the edge {margin} mm," in words(result.out)


def test_parts_without_room_and_mixed_stocks_are_told(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE, job=JOB.replace("quantity = 5", "quantity = 40"))
    result = run("nest", tmp_path / "job.toml", "--boxes", "--out", tmp_path / "out")
    assert result.code == 1 and "NO ROOM" in result.out
    other = '[[parts]]\nfile = "thin.toml"\n[[sheets]]\nsize = [250, 160]\n[rates]'
    written(tmp_path, thin=PLATE.replace("thickness = 4", "thickness = 3"), two=JOB.replace("[rates]", other))
    result = run("nest", tmp_path / "two.toml", "--out", tmp_path / "out")
    assert result.code == 2 and "several stocks: S235 3 mm, S235 4 mm" in result.err


def test_parts_for_several_machines_are_told(tmp_path: Path) -> None:
    other = '[[parts]]\nfile = "other.toml"\n[[sheets]]\nsize = [250, 160]\n[rates]'
    by_hand = PLATE.replace("thickness = 4", 'thickness = 4\nprocess = "waterjet"')
    written(tmp_path, plate=PLATE, other=by_hand, job=JOB.replace("[rates]", other))
    result = run("nest", tmp_path / "job.toml", "--boxes", "--out", tmp_path / "out")
    assert result.code == 2 and "cut by several processes: laser, waterjet" in result.err
    assert not (tmp_path / "out").exists()


def test_the_job_of_the_crew_truck_can_be_packed_and_laid(tmp_path: Path) -> None:
    job = Path(__file__).parents[2] / "shapes" / "jobs" / "crew-truck.job.toml"
    packed = run("pack", job, "--zip", "--out", tmp_path)
    assert packed.code == 0, packed.err
    assert names(tmp_path) == {"crew-truck-pack", "crew-truck-pack.zip"}
    order = (tmp_path / "crew-truck-pack" / "order.txt").read_text(encoding="utf-8")
    for text in ("3 parts, 6 in all", "pump-offset.dxf", "hose-stay.dxf", "hose-stay-2.dxf"):
        assert text in order
    laid = run("nest", job, "--boxes", "--out", tmp_path / "laid")
    assert laid.code == 0, laid.err
    assert names(tmp_path / "laid") >= {"crew-truck-sheet-1.dxf", "crew-truck-sheet-1.png"}
    lying = sum(len(ezdxf.readfile(p).modelspace().query("LWPOLYLINE")) for p in (tmp_path / "laid").glob("*.dxf"))
    assert lying == 6  # holes of these parts are circles


def test_names_keep_off_the_holes() -> None:
    """A plate whose middle is a hole of 40 mm."""
    hole = Circle(Point(60.0, 40.0), 20.0)
    outline = box_contour(0.0, 0.0, 120.0, 80.0)
    piece = NestPart("plate with a hole", outline, 9600.0, 1)
    filled = FilledSheet(StockSheet("sheet", 200.0, 140.0), (PlacedPart(piece, 0.0, Point(10.0, 10.0)),))
    assert struck(nest_picture(filled, {piece.name: (outline, (hole,))}, "sheet")) == []


def test_a_nest_is_the_same_every_time() -> None:
    plates = [StockSheet("a", 500, 400), StockSheet("b", 900, 400)]
    assert nest(mixed(20), plates, ROOM, NestMethod.BOXES) == nest(mixed(20), plates, ROOM, NestMethod.BOXES)


def test_contours_can_be_counted() -> None:
    # Pieces are counted by value: two equal outlines are one kind.
    assert Counter([box("b", 2, 3), box("b", 2, 3)]) == {box("b", 2, 3): 2}
    assert isinstance(box("b", 2, 3).outline, Contour)
