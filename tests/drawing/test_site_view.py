"""The sheet of the part in its place: gaps marked and said, nothing overlaps, nothing is cut off or mirrored."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import cache

import pytest
from sheet_reading import middle, outside, overlaps, texts
from site_scenes import CASES, PART, Case, flat_case, gap

from bracketgen.drawing.sheet import Colour, Fill, Label, Sheet, Stroke, belt, cropped
from bracketgen.drawing.site.scene import (
    MOST_CLEAR,
    MOST_MARKED,
    SEVERITY_COLOUR,
    SEVERITY_LINE,
    GapMark,
    Relation,
    Severity,
    marked,
    severity_word,
    short_words,
    whole_words,
    worst_first,
)
from bracketgen.drawing.site.site_sheet import site_sheet
from bracketgen.drawing.site.view import from_above, inside, outer_dashes
from bracketgen.drawing.solid.solid_mesh import solid_mesh
from bracketgen.files.png import png_bytes
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import dot
from bracketgen.vehicle.near.solids import Gap3


def drawn(case: Case) -> Sheet:
    return site_sheet(case.placed, case.shown, case.gaps, site_title=case.title, down=case.down)


@cache
def sheet_of(name: str) -> Sheet:
    return drawn(CASES[name]())


@pytest.mark.parametrize("name", CASES)
def test_no_label_covers_another_or_leaves_the_sheet(name: str) -> None:
    assert overlaps(sheet_of(name)) == []
    assert outside(sheet_of(name)) == []


@pytest.mark.parametrize("name", CASES)
def test_every_gap_stands_in_both_views_and_in_the_list(name: str) -> None:
    case, sheet = CASES[name](), sheet_of(name)
    ordered = worst_first(case.gaps)
    in_views = dict(marked(ordered))
    assert {n for n, g in enumerate(ordered, 1) if g.severity is not Severity.CLEAR} <= in_views.keys()
    for number, mark in enumerate(ordered, 1):
        labels = [m for m in sheet.showing(f"gap {number}") if isinstance(m, Label)]
        said = [m.text for m in labels]
        assert said.count(short_words(number, mark)) == (2 if number in in_views else 0)
        assert whole_words(mark) in " ".join(said)
        assert {m.colour for m in labels} <= {SEVERITY_COLOUR[mark.severity], (30, 34, 40)}


def test_which_gaps_are_marked() -> None:
    near = Gap3(1.0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    clear, touching = GapMark("a", "b", near, 0.5, Severity.CLEAR), GapMark("a", "b", near, 0.0, Severity.CLEAR)
    failing = GapMark("a", "b", near, 5.0, Severity.FAIL)
    assert [n for n, _ in marked([touching, *[clear] * 9])] == list(range(2, 2 + MOST_CLEAR))
    assert [n for n, _ in marked([failing] * 3 + [clear] * 9)] == [1, 2, 3, 4]
    assert len(marked([failing] * 9 + [clear])) == MOST_MARKED


def test_words_of_gaps() -> None:
    far = Gap3(6.24, (0.0, 0.0, 0.0), (6.24, 0.0, 0.0))
    marks = [GapMark("part", "pipe", far, 25.0, Severity.FAIL), GapMark("part", "pipe", far, 6.0, Severity.WARN),
             GapMark("part", "pipe", far, 3.0, Severity.CLEAR), GapMark("part", "pipe", far, None, Severity.FAIL),
             GapMark("part", "pipe", replace(far, mm=-4.0), 5.0, Severity.FAIL)]  # fmt: skip
    assert [short_words(1, m) for m in marks] == [
        "1  6.2 of 25 mm TOO NEAR", "1  6.2 of 6 mm JUST", "1  6.2 of 3 mm clear", "1  6.2 of ? mm NOT KNOWN",
        "1  0 of 5 mm THEY MEET",
    ]  # fmt: skip
    assert whole_words(marks[0]) == "part to pipe: 6.2 mm, needs 25 mm (18.8 short)."
    assert whole_words(marks[2]) == "part to pipe: 6.2 mm, needs 3 mm (3.2 to spare)."
    assert "not known" in whole_words(marks[3])
    assert whole_words(marks[4]) == "part to pipe: 4 mm into each other, needs 5 mm (9 short)."


def test_the_worst_gap_comes_first_and_tops_the_sheet() -> None:
    case = CASES["filter_case"]()
    assert [m.severity for m in worst_first(case.gaps)][:3] == [Severity.FAIL, Severity.WARN, Severity.CLEAR]
    said = [m.text for m in sheet_of("filter_case").showing("least margin") if isinstance(m, Label)]
    # The cartridge stands 183.25 - 163 = 20.25 mm off the pipe; 25 are needed.
    assert said == ["4.8 mm too near", "6 gaps looked at"]
    assert "least margin 20 mm" in texts(sheet_of("flat_case"))


@pytest.mark.parametrize(("name", "words"), [("filter_case", "a gap is"), ("hanger_case", "2 gaps are")])
def test_a_part_that_stands_too_near_says_so(name: str, words: str) -> None:
    (banner,) = [m.text for m in sheet_of(name).showing("banner") if isinstance(m, Label)]
    assert banner.startswith(f"DO NOT FIT: {words}")
    assert sheet_of("flat_case").showing("banner") == ()


def seen_without_green(colour: Colour) -> tuple[float, float, float]:
    """Linear light as a reader without green cones sees it (Machado, Oliveira, Fernandes 2009; from memory)."""
    r, g, b = (c / 255 / 12.92 if c <= 10 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in colour)
    return (
        0.367322 * r + 0.860646 * g - 0.227968 * b,
        0.280085 * r + 0.672501 * g + 0.047413 * b,
        -0.011820 * r + 0.042940 * g + 0.968881 * b,
    )


def test_verdicts_differ_for_the_colour_blind_and_in_grey() -> None:
    for a, b in itertools.combinations(Severity, 2):
        p, q = (seen_without_green(SEVERITY_COLOUR[v]) for v in (a, b))
        # As seen, after the eye's own curve; 0.1 is some ten steps that an eye just tells apart.
        assert math.dist([max(0.0, c) ** (1 / 2.2) for c in p], [max(0.0, c) ** (1 / 2.2) for c in q]) > 0.1
        assert SEVERITY_LINE[a] != SEVERITY_LINE[b]


@pytest.mark.parametrize("name", CASES)
def test_all_that_is_near_is_named_or_said_to_be_out_of_view(name: str) -> None:
    case, sheet = CASES[name](), sheet_of(name)
    said = texts(sheet)
    for shown in case.shown:
        if shown.relation is not Relation.BOLT:
            assert shown.name in said, shown.name
    assert sum(label.text == "the part" for label in sheet.labels) == 2


def test_the_room_of_moving_things_is_dashed() -> None:
    for name in CASES:
        for shown in CASES[name]().shown:
            marks = [m for m in sheet_of(name).showing(shown.name) if isinstance(m, Stroke)]
            if shown.relation is Relation.ENVELOPE:
                dashes = [m for m in marks if m.width_mm == 0.35]
                assert dashes and all(m.points[0].distance(m.points[1]) < 1.7 for m in dashes)


def test_the_plan_looks_down_with_a_right_hand() -> None:
    for up in ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0), (0.1, -0.9, 0.3)):
        view = from_above(up)
        a, b, c = view.right
        d, e, f = view.up
        assert (b * f - c * e, c * d - a * f, a * e - b * d) == pytest.approx(view.toward, abs=1e-12)
        assert view.toward == pytest.approx([u / math.hypot(*up) for u in up])
        assert abs(dot(view.right, view.up)) < 1e-12


def plan_marks(sheet: Sheet, shows: str) -> list[Stroke | Fill]:
    """The marks of a thing in the right half of the sheet, where the plan is."""
    found = []
    for m in sheet.showing(shows):
        if isinstance(m, Stroke | Fill):
            at = middle(m.points if isinstance(m, Stroke) else m.rings[0])
            if at.x > 8.0 + 0.56 * 281.0:
                found.append(m)
    return found


def test_the_plan_is_not_mirrored_and_its_bar_is_true() -> None:
    """Looking down (-y) with x to the right, z comes toward the foot of the sheet."""
    sheet = sheet_of("filter_case")
    (arrow,) = [m for m in plan_marks(sheet, "gap 2") if isinstance(m, Stroke) and m.dash_mm]
    heads = [m.rings[0][0] for m in plan_marks(sheet, "gap 2") if isinstance(m, Fill) and len(m.rings[0]) == 3]
    here, there = sorted(heads, key=lambda p: -p.x)[0], sorted(heads, key=lambda p: p.x)[0]
    bar = next(m for m in plan_marks(sheet, "scale bar") if isinstance(m, Stroke))
    scale = (max(p.x for p in bar.points) - min(p.x for p in bar.points)) / 100.0
    assert arrow.colour == SEVERITY_COLOUR[Severity.WARN]
    # From (-20, 8) on the part to (-56, 22) on the loom, x and z of the site.
    assert (here.x - there.x) / scale == pytest.approx(36.0, abs=0.1)
    assert (here.y - there.y) / scale == pytest.approx(14.0, abs=0.1)


def test_many_gaps_and_long_names() -> None:
    case = flat_case()
    long = tuple(replace(s, name=f"{s.name} {'of the very long winding road ' * 4}") for s in case.shown)
    gaps = tuple(
        gap(PART, long[i % 4].name, (9.0 * i, 40.0, 0.0), (9.0 * i, 40.0 + i, 60.0 + i), 50.0 + i) for i in range(24)
    )
    sheet = drawn(replace(case, shown=long, gaps=gaps, title="Breather can " * 20))
    assert overlaps(sheet) == []
    assert outside(sheet) == []
    more = next(label.text for label in sheet.labels if label.text.startswith("and "))
    heads = [f"{i}  {severity_word(m)}" for i, m in enumerate(worst_first(gaps), 1)]
    listed = [h for h in heads if h in {label.text for label in sheet.labels}]
    assert listed == heads[: len(listed)] and len(listed) >= 2
    assert more == f"and {24 - len(listed)} more, see the printed summary"


def test_nothing_near_and_no_gaps() -> None:
    sheet = drawn(replace(flat_case(), shown=(), gaps=()))
    assert overlaps(sheet) == [] and outside(sheet) == []
    assert "No gaps were asked for." in texts(sheet)
    assert not sheet.showing("banner")


def test_the_same_sheet_every_time() -> None:
    assert drawn(CASES["hanger_case"]()) == sheet_of("hanger_case")


def test_it_becomes_a_picture() -> None:
    assert png_bytes(sheet_of("flat_case"), 600).startswith(b"\x89PNG")


def test_nothing_is_drawn_beyond_the_frame_of_a_view() -> None:
    for name in CASES:
        for shown in CASES[name]().shown:
            for m in sheet_of(name).showing(shown.name):
                if isinstance(m, Fill):
                    assert all(7.9 < p.x < 289.1 and 7.9 < p.y < 202.1 for p in m.rings[0])


def test_cautions_stand_whole_on_the_sheet() -> None:
    small = " ".join(m.text for m in sheet_of("filter_case").labels if m.shows == "small print")
    for caution in CASES["filter_case"]().placed.folded.part.cautions:
        assert caution in small


# -- outlines


def test_belt_of_a_drum_is_its_outline() -> None:
    view = from_above((0.0, 0.0, 1.0))
    drum = next(s for s in CASES["filter_case"]().shown if s.name == "cartridge").solids[0]
    mesh = solid_mesh(drum, "drum", (0, 0, 0), chord_mm=0.05)
    ring = belt([view.flat(p) for p in mesh.points])
    # Seen across its axis a drum is a rectangle: 86 wide, 135 long.
    xs, ys = [p.x for p in ring], [p.y for p in ring]
    assert max(xs) - min(xs) == pytest.approx(86.0, abs=0.2)
    assert max(ys) - min(ys) == pytest.approx(135.0)


SQUARES = (
    (Point(0.0, 0.0), Point(10.0, 0.0), Point(10.0, 10.0), Point(0.0, 10.0)),
    (Point(5.0, 2.0), Point(15.0, 2.0), Point(15.0, 8.0), Point(5.0, 8.0)),
)


def test_dashes_run_round_two_rings_together() -> None:
    pairs = list(outer_dashes(SQUARES, (-5.0, -5.0, 20.0, 20.0), 0.5, 0.25))
    ends = [Point((a.x + b.x) / 2, (a.y + b.y) / 2) for a, b in pairs]
    assert not any(inside(ring, p, 0.1) for ring in SQUARES for p in ends)
    # The common outline is 34 + 16 mm long; two thirds of it are dashes.
    assert sum(a.distance(b) for a, b in pairs) == pytest.approx(50.0 * 2 / 3, rel=0.06)


def test_rings_are_cropped() -> None:
    ring = cropped(SQUARES[0], (-5.0, 5.0, 4.0, 20.0))
    assert {(round(p.x), round(p.y)) for p in ring} == {(0, 5), (4, 5), (4, 10), (0, 10)}
