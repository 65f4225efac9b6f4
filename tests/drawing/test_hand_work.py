"""The hand-work sheet and the command that writes it: what is scribed, drilled, when, and in which order."""

from __future__ import annotations

import itertools
import math
import re
from functools import cache
from pathlib import Path

import pytest
from command_line import ANGLE, FAILING, FAULTY, PLATE, names, run, words, written
from daily import every
from hypothesis import given
from hypothesis import strategies as st
from odd_parts import ODD, odd_part
from parts import plate, round_hole
from pdf_reading import read_pages
from preview_parts import KINDS, mixed_holes, seven_findings, slot, strip_part, worked
from sample_parts import SHAPES
from struck_words import struck

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.sheet import Fill, Paper, Sheet, Stroke
from bracketgen.drawing.workshop.brake_sheet import brake_pages
from bracketgen.drawing.workshop.hand_work import hand_work
from bracketgen.drawing.workshop.marking_out import drill_steps, drillings, outline_rows, scribed
from bracketgen.drawing.workshop.shop_drawing import shop_drawing
from bracketgen.drawing.workshop.tables import named_holes
from bracketgen.files.pdf import pdf_bytes
from bracketgen.findings import Finding
from bracketgen.geometry.contour import box_contour
from bracketgen.part.part import Way
from bracketgen.pipeline import work_out
from bracketgen.rules.engine import run_rules
from bracketgen.shop.brake.brakes import usual_press
from bracketgen.shop.brake.plan import plan_brake, usual_order

OWN = sorted(p.stem for p in SHAPES.glob("*.toml"))
ALL = [*OWN, *KINDS, *ODD]
#: A rail of 2.5 m with 40 names takes its time: once is enough.
PAGES = [
    *((n, Paper.A4) for n in OWN),
    *every([(n, Paper.A4) for n in (*KINDS, *ODD)], 3),
    *every([(n, Paper.A3) for n in (*OWN, *KINDS) if n != "long_rail"], 6),
    *every([(n, Paper.LETTER) for n in (*OWN, *ODD)], 6),
]


@cache
def part(name: str) -> tuple[Flat, Folded, tuple[Finding, ...]]:
    if name in ODD:
        return odd_part(name)
    if name in KINDS:
        return (*worked(KINDS[name]()), ())
    made = work_out((SHAPES / f"{name}.toml").read_text("utf-8"), name, name, folder=str(SHAPES))
    return made.flat, made.folded, made.findings


def overlaps(sheet: Sheet) -> list[tuple[str, str]]:
    """Pairs of labels whose boxes share more than a hair (0.05 mm) of paper."""
    return [
        (a.text, b.text)
        for a, b in itertools.combinations(sheet.labels, 2)
        for p, q in [(a.box, b.box)]
        if min(p[2], q[2]) - max(p[0], q[0]) > 0.05 and min(p[3], q[3]) - max(p[1], q[1]) > 0.05
    ]


@pytest.mark.parametrize(("name", "paper"), PAGES)
def test_no_text_covers_another_or_leaves_the_frame(name: str, paper: Paper) -> None:
    for sheet in hand_work(*part(name), paper):
        assert overlaps(sheet) == []
        assert struck(sheet) == []
        for label in sheet.labels:
            x0, y0, x1, y1 = label.box
            assert x0 >= 8.0 and y0 >= 8.0 and x1 <= sheet.width_mm - 8.0 and y1 <= sheet.height_mm - 8.0, label.text


@pytest.mark.parametrize("name", every(ALL, 3))
def test_pictures_keep_clear_of_words_and_of_the_head(name: str) -> None:
    """On the pages of steps no picture's line runs through a text or above the head's rule."""
    for sheet in hand_work(*part(name))[1:]:
        drawn = [m for m in sheet.marks if isinstance(m, Fill) and m.shows != "banner"]
        for mark in drawn:
            points = [p for ring in mark.rings for p in ring]
            assert max(p.y for p in points) <= sheet.height_mm - 16.0
            for label in sheet.labels:
                x0, y0, x1, y1 = label.box
                assert not any(x0 < p.x < x1 and y0 < p.y < y1 for p in points), label.text


@given(st.floats(0.0, 3000.0))
def test_scribed_lengths_are_half_millimetres_with_the_exact_one_beside(mm: float) -> None:
    text = scribed(mm)
    rounded, exact = re.fullmatch(r"([\d.]+)(?: \(([\d.]+)\))?", text).groups()  # type: ignore[union-attr]
    assert (2 * float(rounded)).is_integer() or exact is None
    assert abs(float(rounded) - mm) <= 0.25 + 0.006
    assert abs(float(exact or rounded) - mm) <= 0.0051


def test_the_outline_of_a_round_is_one_stretch_and_nothing_has_corners() -> None:
    """The pump flange is a disc of 142 mm: its centre lies 71 mm from both datum edges."""
    flat = part("pump-flange")[0]
    (row,) = outline_rows(flat).rows
    assert row[2] == "R 71, all round, centre 71, 71"
    said = words([m.text for s in hand_work(*part("pump-flange")) for m in s.labels])
    assert "dividers" in said and "Round the corners" not in said and "bending" not in said


def test_an_arc_in_two_pieces_is_one_stretch() -> None:
    """The hose stay: 28 mm wide, one end round (R 14), the other with R 8 at two corners: 3 arcs, 3 straights."""
    ways = [row[2].split(",")[0] for row in outline_rows(part("hose-stay")[0]).rows]
    assert sorted(ways) == ["R 14", "R 8", "R 8", "straight", "straight", "straight"]


@pytest.mark.parametrize("name", OWN)
def test_corners_are_dotted_where_the_table_says(name: str) -> None:
    flat = part(name)[0]
    sheet = hand_work(*part(name))[0]
    dots = [m for m in sheet.marks if isinstance(m, Fill) and m.shows == "corner"]
    assert len(dots) == len(outline_rows(flat).rows)
    numbers = [int(m.text) for m in sheet.labels if m.shows.startswith("corner ")]
    assert numbers == sorted(set(numbers)) and 2 * len(numbers) >= len(dots)


def test_panels_are_named_in_quotes() -> None:
    said = words([m.text for s in hand_work(*part("tray")) for m in s.labels])
    assert "clamp 'floor' so" in said and "Bend 'left' toward you" in said


def test_a_few_lengths_by_hand() -> None:
    assert [scribed(v) for v in (12.0, 12.5, 12.2, 12.26, 0.0, 165.66)] == [
        "12", "12.5", "12 (12.2)", "12.5 (12.26)", "0", "165.5 (165.66)"]  # fmt: skip


@given(st.floats(1.0, 60.0))
def test_drills_grow_to_the_size(bore: float) -> None:
    steps = drill_steps(bore)
    assert list(steps) == sorted(set(steps))
    assert bore - 1e-6 <= steps[-1] < bore + 0.1 + 1e-6
    assert steps[0] == 3.0 or bore <= 3.5 + 1e-6


def test_drills_by_hand() -> None:
    assert drill_steps(3.2) == (3.2,) and drill_steps(6.6) == (3.0, 6.6)
    assert drill_steps(9.0) == (3.0, 6.0, 9.0) and drill_steps(16.0) == (3.0, 6.0, 10.0, 16.0)


def test_each_kind_of_hole() -> None:
    flat, folded = worked(mixed_holes())
    made = {d.named.hole.hole.id: d for d in drillings(named_holes(flat), run_rules(flat, folded))}
    assert made["t"].drills_mm == (3.0, 6.8) and made["t"].then == "tap M8"
    assert made["d"].drills_mm == (3.0, 5.8) and made["d"].then.startswith("ream Ø6")
    assert made["r"].then == "rivet nut M6" and made["w"].drills_mm == ()
    # Slot 9 x 30 level at (110, 15): its ends are 10.5 mm to either side of the middle.
    assert [tuple(p) for p in made["s"].punches] == [pytest.approx((99.5, 15.0)), pytest.approx((120.5, 15.0))]
    assert "saw and file" in made["s"].then


def test_a_slot_on_a_turned_leg_is_punched_where_it_lies_in_the_flat() -> None:
    flat = part("hanger-bracket")[0]
    for d in drillings(named_holes(flat), ()):
        hole = d.named.hole
        if hole.hole.shape.slot_mm is not None:
            x0, y0, x1, y1 = hole.cut.bounds()
            fx, fy = flat.bounds_mm[:2]
            r = hole.hole.shape.slot_mm / 2
            xs, ys = [p.x for p in d.punches], [p.y for p in d.punches]
            box = (min(xs) - r, min(ys) - r, max(xs) + r, max(ys) + r)
            assert box == pytest.approx((x0 - fx, y0 - fy, x1 - fx, y1 - fy), abs=1e-6)


@pytest.mark.parametrize(("gap_t", "late"), [(1.4, True), (1.6, False)])
def test_holes_near_a_bend_are_drilled_after_it(gap_t: float, late: bool) -> None:
    """Round holes stay round from 1 1/2 t on, edge to tangent line (common practice); t = 3 mm, hole 8 mm."""
    y = 40.0 - 4.0 - gap_t * 3.0
    flat, folded = worked(strip_part("near", 40.0, (40.0, 40.0), ((90.0, Way.UP, 4.0),),
                                     {0: [round_hole("h", 20.0, y, 8.0)]}))  # fmt: skip
    findings = run_rules(flat, folded)
    (drilling,) = drillings(named_holes(flat), findings)
    assert drilling.after_bending is late
    pages = hand_work(flat, folded, findings)
    titles = [m.text for s in pages for m in s.labels if m.shows == "step"]
    said = " ".join(m.text for s in pages for m in s.labels)
    bend = next(i for i, t in enumerate(titles) if "Bend 1" in t)
    drill = next(i for i, t in enumerate(titles) if "Drill" in t)
    assert (drill > bend) is late and ("AFTER bending" in said.replace("\n", " ")) is late


def step_titles(name: str) -> list[str]:
    joined: list[str] = []
    for sheet in hand_work(*part(name)):
        joined += [m.text for m in sheet.labels if m.shows == "step"]
    return joined


def test_the_order_of_work() -> None:
    titles = [t for t in step_titles("hat-bridge") if re.match(r"\d+ ", t)]
    assert [int(t.split(" ")[0]) for t in titles] == list(range(1, len(titles) + 1))
    kinds = [re.sub(r"^\d+ +", "", t) for t in titles]
    assert kinds[0] == "Square up the sheet" and kinds[-1] == "Check"
    assert [k for k in kinds if k.startswith("Bend")] == ["Bend 1, UP", "Bend 2, DOWN", "Bend 3, DOWN", "Bend 4, UP"]
    assert kinds.index("Deburr") < kinds.index("Bend 1, UP") and kinds.index("Drill") < kinds.index("Bend 1, UP")


def test_a_flat_part_has_no_bend_in_its_words() -> None:
    said = words([m.text for s in hand_work(*part("pump-flange")) for m in s.labels])
    assert "Bend 1" not in said and "Folding bars" not in said and "it must not rock" in said


def test_the_flat_is_true_at_the_stated_scale() -> None:
    """Read back from the file: 100 x 60 mm at the scale of the title block."""
    flat, folded = worked(plate(box_contour(0.0, 0.0, 100.0, 60.0), [slot("s", 50.0, 30.0, 9.0, 20.0)]))
    made = hand_work(flat, folded, ())
    sheet, page = made[0], read_pages(pdf_bytes(made))[0]
    (said,) = [t.text for t in page.texts if re.fullmatch(r"\d+:\d+", t.text)]
    a, b = map(int, said.split(":"))
    strokes = [m for m in sheet.marks if isinstance(m, Stroke)]
    paths = [d for d in page.paths if d.paint == "S"]
    (outline,) = [d for m, d in zip(strokes, paths, strict=True) if m.shows == "outline"]
    x0, y0, x1, y1 = outline.box
    assert (x1 - x0, y1 - y0) == pytest.approx((100.0 * a / b, 60.0 * a / b), abs=0.01)
    assert math.isclose(outline.width, 0.5, abs_tol=1e-3)


def test_failures_and_cautions_are_on_the_sheet() -> None:
    flat, folded, _ = part("l_bracket")
    pages = hand_work(flat, folded, seven_findings())
    assert all(any(m.text.startswith("DO NOT CUT") for m in s.labels) for s in pages)
    said = words([m.text for s in pages for m in s.labels])
    assert "near fuel, battery or lines" in said and "safety glasses" in said.lower()
    assert flat.part.cautions and all(words([caution]) in said for caution in flat.part.cautions)
    assert "die of 16 mm" in said


def test_the_command_writes_both_files(tmp_path: Path) -> None:
    files = written(tmp_path, plate=PLATE, angle=ANGLE)
    done = run("sheets", *files, "--paper", "A3", "--quantity", "4", "--out", tmp_path / "out")
    assert done.code == 0, done.err
    expected = {f"{n}-{k}.pdf" for n in ("plate", "angle") for k in ("drawing", "hand-work")}
    assert names(tmp_path / "out") == expected
    for name in expected:
        for page in read_pages((tmp_path / "out" / name).read_bytes()):
            assert (page.width, page.height) == pytest.approx((420.0, 297.0), abs=1e-3)
            assert "\n4\n" in page.said and "DO NOT SCALE" in page.said


def test_what_was_typed_wrong_is_told_together(tmp_path: Path) -> None:
    (plate_,) = written(tmp_path, plate=PLATE)
    done = run("sheets", plate_, "--paper", "a5", "--quantity", "0", "--out", tmp_path / "out")
    assert done.code == 2 and "--paper" in done.err and "--quantity" in done.err and not (tmp_path / "out").exists()
    (faulty,) = written(tmp_path, faulty=FAULTY)
    assert run("sheets", faulty, "--out", tmp_path / "out").code == 2


def test_a_failed_part_gets_none_unless_asked_and_old_ones_are_set_aside(tmp_path: Path) -> None:
    out = tmp_path / "out"
    (file,) = written(tmp_path, part=PLATE)
    assert run("sheets", file, "--out", out).code == 0
    written(tmp_path, part=FAILING)
    done = run("sheets", file, "--out", out)
    assert done.code == 1 and names(out) == {"OLD-part-drawing.pdf", "OLD-part-hand-work.pdf"}
    asked = run("sheets", file, "--out", out, "--even-if-failed")
    assert asked.code == 1 and {"FAILED-part-drawing.pdf", "FAILED-part-hand-work.pdf"} <= names(out)
    for page in read_pages((out / "FAILED-part-drawing.pdf").read_bytes()):
        assert "DO NOT CUT" in page.said


def test_bends_stand_in_the_order_that_can_be_made() -> None:
    """A hat's feet go first: once its legs stand, the usual punch finds no way to what lies outside them."""
    flat, folded, _ = part("hat-bridge")
    order = usual_order(flat)
    plan = plan_brake(flat, usual_press())
    assert plan.works and order == tuple(made.number for made in plan.steps)
    assert sorted(order) == list(range(1, len(flat.strips) + 1)) and order != tuple(sorted(order))
    said = [" ".join(label.text for sheet in pages for label in sheet.labels) for pages in (
        hand_work(flat, folded, (), order=order), shop_drawing(flat, folded, (), order=order), brake_pages(plan)
    )]  # fmt: skip
    numbers = ", ".join(map(str, order))
    assert f"Order of bending: {numbers}" in said[0] and f"Order of bending: {numbers}" in said[1]
    assert re.findall(r"\d+ +Bend (\d), ", said[0]) == [str(n) for n in order]
    # On the brake sheet each picture is named '2   bend 4, 90° UP'.
    assert re.findall(r"\d +bend (\d), ", said[2]) == [str(n) for n in order]


def test_an_order_that_is_not_proven_is_told() -> None:
    """The joggle's web is too narrow for any die: nothing says that its bends can be made as described."""
    flat, folded, _ = part("pump-offset")
    assert usual_order(flat) == ()
    for pages in (hand_work(flat, folded, ()), shop_drawing(flat, folded, ())):
        assert "NOT PROVEN" in " ".join(label.text for sheet in pages for label in sheet.labels)


def test_a_single_bend_needs_no_order() -> None:
    flat, folded, _ = part("filter-mount")
    assert usual_order(flat) == (1,)
    assert "Order of bending" not in " ".join(label.text for s in hand_work(flat, folded, ()) for label in s.labels)
