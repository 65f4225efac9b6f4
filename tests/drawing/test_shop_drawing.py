"""The shop drawing, read back from its PDF: true to its scale, hidden lines, tables, tolerances, words apart."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace
from functools import cache

import pytest
from daily import every
from odd_parts import ODD, odd_part
from parts import plate, round_hole
from pdf_reading import Drawn, Page, read_pages
from preview_parts import KINDS, l_bracket, seven_findings, strip_part, worked
from sample_parts import SHAPES
from struck_words import struck

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.sheet import Label, Paper, Sheet, Stroke
from bracketgen.drawing.solid.line_view import line_view
from bracketgen.drawing.solid.skin import skin_of
from bracketgen.drawing.solid.visible import ABOVE, FRONT, RIGHT
from bracketgen.drawing.workshop.page import HIDDEN, VISIBLE
from bracketgen.drawing.workshop.shop_drawing import shop_drawing
from bracketgen.drawing.workshop.tables import bend_table
from bracketgen.files.pdf import pdf_bytes
from bracketgen.findings import Finding
from bracketgen.geometry.contour import Circle, box_contour
from bracketgen.part.part import Way
from bracketgen.pipeline import work_out

#: Every length drawn to scale is true to this on the paper, mm.
TRUE_TO = 0.01
#: What stands on every page, whatever it holds.
FRAME = {"page head", "caption", "banner", "warning", "", *("title", "part", "metal and temper", "mass of one"),
         *("quantity", "thickness", "process", "coating", "scale", "tolerances unless stated")}  # fmt: skip
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


@cache
def sheets(name: str, paper: Paper = Paper.A4) -> tuple[Sheet, ...]:
    return shop_drawing(*part(name), paper, 3)


@cache
def pages(name: str, paper: Paper = Paper.A4) -> list[Page]:
    return read_pages(pdf_bytes(sheets(name, paper)))


def overlaps(sheet: Sheet) -> list[tuple[str, str]]:
    """Pairs of labels whose boxes share more than a hair (0.05 mm) of paper."""
    return [
        (a.text, b.text)
        for a, b in itertools.combinations(sheet.labels, 2)
        for p, q in [(a.box, b.box)]
        if min(p[2], q[2]) - max(p[0], q[0]) > 0.05 and min(p[3], q[3]) - max(p[1], q[1]) > 0.05
    ]


def scale_of(page: Page) -> float:
    """As the title block says."""
    (words,) = [t.text for t in page.texts if re.fullmatch(r"\d+:\d+", t.text)]
    a, b = map(int, words.split(":"))
    return a / b


def box_of(drawn: list[Drawn]) -> tuple[float, float, float, float]:
    points = [p for d in drawn for p in d.points]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys), max(xs), max(ys))


def where(name: str, paper: Paper, page: int, shows: str) -> list[Drawn]:
    """The page's paths that stand for a thing: strokes are painted in the sheet's order."""
    strokes = [m for m in sheets(name, paper)[page].marks if isinstance(m, Stroke)]
    read = [d for d in pages(name, paper)[page].paths if d.paint == "S"]
    assert len(strokes) == len(read)
    return [d for m, d in zip(strokes, read, strict=True) if m.shows == shows]


@pytest.mark.parametrize(("name", "paper"), PAGES)
def test_no_text_covers_another_or_leaves_the_frame(name: str, paper: Paper) -> None:
    for sheet in sheets(name, paper):
        assert overlaps(sheet) == []
        assert struck(sheet) == []
        assert any(m.shows not in FRAME for m in sheet.labels), "an empty page"
        for label in sheet.labels:
            x0, y0, x1, y1 = label.box
            assert x0 >= 8.0 and y0 >= 8.0 and x1 <= sheet.width_mm - 8.0 and y1 <= sheet.height_mm - 8.0, label.text
        for mark in sheet.marks:
            if isinstance(mark, Stroke):
                assert all(7.9 <= p.x <= sheet.width_mm - 7.9 and 7.9 <= p.y <= sheet.height_mm - 7.9
                           for p in mark.points), mark.shows  # fmt: skip


@pytest.mark.parametrize(("name", "paper"), PAGES)
def test_the_flat_is_true_at_the_stated_scale(name: str, paper: Paper) -> None:
    flat = part(name)[0]
    scale = scale_of(pages(name, paper)[0])
    x0, y0, x1, y1 = flat.bounds_mm
    (outline,) = where(name, paper, 0, "outline")
    wide, high = outline.box[2] - outline.box[0], outline.box[3] - outline.box[1]
    turned = abs(wide - (x1 - x0) * scale) > TRUE_TO
    sizes = ((y1 - y0), (x1 - x0)) if turned else ((x1 - x0), (y1 - y0))
    assert (wide, high) == pytest.approx((sizes[0] * scale, sizes[1] * scale), abs=TRUE_TO)
    for hole in flat.holes:
        (drawn,) = where(name, paper, 0, f"hole {hole.hole.id}")
        x, y = hole.centre.x - x0, hole.centre.y - y0
        # A quarter turn anticlockwise puts the datum corner at the lower right.
        true = (outline.box[2] - y * scale, outline.box[1] + x * scale) if turned else (
            outline.box[0] + x * scale, outline.box[1] + y * scale)  # fmt: skip
        if isinstance(hole.cut, Circle):
            radii = [math.dist(p, true) for p in drawn.points]
            assert radii == pytest.approx([hole.cut.radius * scale] * len(radii), abs=TRUE_TO)


@pytest.mark.parametrize("name", OWN)
def test_the_scale_bar_is_as_long_as_it_says(name: str) -> None:
    page = pages(name)[0]
    (words,) = [m.text for m in sheets(name)[0].labels if m.shows == "scale bar"]
    (frame,) = where(name, Paper.A4, 0, "scale bar")
    said = float(words.split(" mm")[0]) * scale_of(page)
    assert frame.box[2] - frame.box[0] == pytest.approx(said, abs=TRUE_TO)


@pytest.mark.parametrize("name", [n for n in (*OWN, *ODD) if part(n)[0].strips])
def test_words_of_the_bend_table_are_whole_on_the_narrowest_paper(name: str) -> None:
    table = bend_table(part(name)[0])
    whole = {word for row in (table.heads, *table.rows) for cell in row for word in cell.split()}
    found = [m for s in sheets(name, Paper.LETTER) for m in s.labels if m.shows == table.shows]
    heads = [m for s in sheets(name, Paper.LETTER) for m in s.labels if m.shows == "table head" and m.text in whole]
    assert found and {h.text for h in heads} >= {"no.", "turn", "allow.", "ded."}
    assert {word for m in found for word in m.text.split()} <= whole


def test_findings_name_the_holes_as_the_view_does() -> None:
    """18 small holes of one size are A1 to A18 in the order of their ids, h1-1 to h1-18."""
    said = [m.text for s in sheets("many findings") for m in s.labels if m.shows == "finding"]
    assert any("A15 (base/h1-15)," in t for t in said)
    assert any("A1 (base/h1-1) and A2 (base/h1-2)" in t for t in said)
    assert any("B (base/near)" in t for t in said)


def test_a_long_title_stands_whole_on_two_lines() -> None:
    said = [m.text for m in sheets("long words", Paper.LETTER)[0].labels if m.shows == "title"]
    assert len(said) == 2 and " ".join(said) == part("long words")[0].part.title


@pytest.mark.parametrize("name", [n for n in ALL if part(n)[0].strips])
def test_the_views_are_true_at_the_stated_scale(name: str) -> None:
    """Held against all corners of finely traced plates and bends in space, on the paper."""
    folded = part(name)[1]
    scale = scale_of(pages(name)[1])
    x, y, z = ((b - a) * scale for a, b in (skin_of(folded).reach(w) for w in ((1.0, 0, 0), (0, 1.0, 0), (0, 0, 1.0))))
    drawn = [*where(name, Paper.A4, 1, "visible edge"), *where(name, Paper.A4, 1, "hidden edge")]
    box = box_of(drawn)
    split = max(d.box[1] for d in drawn)
    top = [d for d in drawn if d.box[1] >= box[3] - y - TRUE_TO]
    low = [d for d in drawn if d.box[3] <= box[1] + z + TRUE_TO]
    assert len(top) + len(low) == len(drawn) and split > box[1]
    left = box_of([d for d in low if d.box[2] <= box[0] + x + TRUE_TO])
    right = box_of([d for d in low if d.box[2] > box[0] + x + TRUE_TO])
    for found, size in ((box_of(top), (x, y)), (left, (x, z)), (right, (y, z))):
        assert (found[2] - found[0], found[3] - found[1]) == pytest.approx(size, abs=2 * TRUE_TO)


def test_outside_sizes_are_those_that_were_asked_for() -> None:
    """The hanger bracket is described over the outside: 90 wide, rail 58, ear 70 mm."""
    said = [m.text for m in sheets("hanger-bracket")[1].labels if m.shows == "overall size"]
    assert said == ["90 mm (3.54 in)", "58 mm (2.28 in)", "70 mm (2.76 in)"]


@pytest.mark.parametrize("turn", [37.0, 110.0, 135.0])
@pytest.mark.parametrize("way", list(Way))
def test_the_reach_of_a_bent_strip_by_hand(turn: float, way: Way) -> None:
    """Legs of 40 and 30 mm flat metal, t = 3, R = 5: corner points and the quadrant of the outer arc."""
    _, folded = worked(strip_part("bent", 20.0, (40.0, 30.0), ((turn, way, 5.0),)))
    a = math.radians(turn)
    c, s = math.cos(a), math.sin(a)
    # y along the strip, h out of the bend's inner face toward the side it turns to; centre of the bend at h = 5.
    points = [(0.0, 0.0), (0.0, -3.0), (40.0, 0.0), (40.0, -3.0)]
    for radius in (5.0, 8.0):
        end = (40.0 + radius * s, 5.0 - radius * c)
        points += [end, (end[0] + 30.0 * c, end[1] + 30.0 * s)]
        if turn > 90.0:
            points.append((40.0 + radius, 5.0))
    ys, hs = zip(*points, strict=True)
    assert skin_of(folded).reach((0.0, 1.0, 0.0)) == pytest.approx((min(ys), max(ys)), abs=1e-9)
    low, high = (min(hs), max(hs)) if way is Way.UP else (-3.0 - max(hs), -3.0 - min(hs))
    assert skin_of(folded).reach((0.0, 0.0, 1.0)) == pytest.approx((low, high), abs=1e-9)


@pytest.mark.parametrize("way", list(Way))
def test_the_reach_of_a_second_bend_that_begins_on_a_slope(way: Way) -> None:
    """50 then 60 degrees, R = 5, t = 3: outermost 40 degrees into the second bend, where the metal stands upright."""
    _, folded = worked(strip_part("bent", 20.0, (40.0, 30.0, 10.0), ((50.0, way, 5.0), (60.0, way, 5.0))))
    a = math.radians(50.0)
    # The second centre lies one leg further along the slope; the outer arc reaches R + t beyond it.
    most = 40.0 + 30.0 * math.cos(a) + 5.0 * math.sin(a) - 5.0 * math.sin(a) + 8.0
    assert skin_of(folded).reach((0.0, 1.0, 0.0)) == pytest.approx((0.0, most), abs=1e-9)


def radii_at(chains: tuple[tuple[tuple[float, float], ...], ...], centre: tuple[float, float]) -> set[float]:
    """Radii of the chains of curves that run around a point."""
    rounds = [c for c in chains if len(c) > 8]
    return {round(math.dist(c[0], centre), 3) for c in rounds
            if max(abs(math.dist(p, centre) - math.dist(c[0], centre)) for p in c) < 0.02}  # fmt: skip


def test_what_lies_behind_metal_is_dashed() -> None:
    """A channel seen from its front leg, whose hole is 8 mm; the rear leg has one of 14 mm at the same place."""
    flat, folded = worked(strip_part("channel", 60.0, (40.0, 50.0, 40.0), ((90.0, Way.UP, 3.0), (90.0, Way.UP, 3.0)),
                                     {0: [round_hole("near", 30.0, 20.0, 8.0)],
                                      2: [round_hole("far", 30.0, 20.0, 14.0)]}))  # fmt: skip
    # The first panel is a leg: it lies flat, so the far leg hangs above it; look from above and from below.
    view = line_view(skin_of(folded), ABOVE, 0.01)
    assert radii_at(view.visible, (30.0, 20.0)) >= {7.0}
    # Through the upper hole of 7 mm radius the lower one of 4 mm radius is in sight, so nothing of it is dashed.
    assert 4.0 in radii_at(view.visible, (30.0, 20.0)) and 4.0 not in radii_at(view.hidden, (30.0, 20.0))
    front = line_view(skin_of(folded), FRONT, 0.01)
    # The web between the legs stands behind the free ends of both: in front view its face is in sight between them.
    assert front.bounds_mm == pytest.approx((0.0, -3.0, 60.0, 3.0 + 50.0 + 3.0 + 3.0), abs=1e-9)
    assert flat.strips


def test_a_small_hole_above_hides_the_larger_one_below() -> None:
    _, folded = worked(strip_part("channel", 60.0, (40.0, 50.0, 40.0), ((90.0, Way.UP, 3.0), (90.0, Way.UP, 3.0)),
                                  {0: [round_hole("below", 30.0, 20.0, 14.0)],
                                   2: [round_hole("above", 30.0, 20.0, 8.0)]}))  # fmt: skip
    view = line_view(skin_of(folded), ABOVE, 0.01)
    assert radii_at(view.visible, (30.0, 20.0)) == {4.0}
    assert radii_at(view.hidden, (30.0, 20.0)) == {7.0}


def test_an_angle_from_the_side_is_its_profile() -> None:
    """Seen along the bend nothing is hidden but holes: two arcs of R and R + t, and straight lines."""
    _, folded = worked(replace(l_bracket(), panels=tuple(replace(p, holes=()) for p in l_bracket().panels)))
    view = line_view(skin_of(folded), RIGHT, 0.001)
    assert view.hidden == ()
    centre = (45.0, 4.0)
    assert {r for c in view.visible for p in c for r in [round(math.dist(p, centre), 2)] if
            p[0] > 45.1 and p[1] < 3.9} >= {4.0, 8.0}  # fmt: skip


def test_line_types() -> None:
    """Edges in sight 0.5 mm continuous; out of sight 0.25 mm dashed; centre and bend lines 0.25 mm, chain."""
    name = "filter-mount"
    assert {(round(d.width, 3), d.dash) for d in where(name, Paper.A4, 1, "visible edge")} == {(0.5, ())}
    hole = part(name)[0].holes[0].hole.id
    for shows, page in (("hidden edge", 1), (f"centre of {hole}", 0), ("bend 1", 0)):
        drawn = where(name, Paper.A4, page, shows)
        assert drawn and all(round(d.width, 3) == 0.25 and d.dash for d in drawn)
    assert len(where(name, Paper.A4, 0, "bend 1")[0].dash) == 6
    assert (VISIBLE.width_mm, HIDDEN.width_mm) == (0.5, 0.25)


def rows(name: str, shows: str, paper: Paper = Paper.A4) -> list[list[str]]:
    """The rows of a table: labels of one height on a page, from left to right."""
    found: dict[tuple[int, float, int], list[Label]] = {}
    for i, sheet in enumerate(sheets(name, paper)):
        for m in sheet.labels:
            if m.shows == shows:
                found.setdefault((i, round(m.at.y, 3), int(m.at.x // 93)), []).append(m)
    return [[m.text for m in sorted(ms, key=lambda m: m.at.x)] for ms in found.values()]


def test_holes_and_bends_of_the_mount_in_the_tables() -> None:
    """The filter mount is described by 62 mm between its upper bolts (M8, 9 mm) and 96 mm between its slots."""
    text = (SHAPES / "filter-mount.toml").read_text("utf-8")
    assert "62" in text and "96" in text
    table = rows("filter-mount", "hole row")
    at = {r[0]: (float(r[1]), float(r[2])) for r in table if re.fullmatch(r"[A-Z]\d?", r[0])}
    assert at["B2"][0] - at["B1"][0] == pytest.approx(62.0) and at["B1"][1] == at["B2"][1]
    assert at["A2"][0] - at["A1"][0] == pytest.approx(96.0)
    assert all(r[3] == "Ø9" and r[4] == "for M8" for r in table if r[0].startswith("B"))
    ((number, turn, way, radius, *_, line),) = rows("filter-mount", "bend row")
    assert (number, turn, way, radius) == ("1", "90°", "DOWN", "5")
    flat = part("filter-mount")[0]
    true = flat.strips[0].centre_line.start.y - flat.bounds_mm[1]
    assert float(line.removeprefix("y ")) == pytest.approx(true, abs=0.006)


def test_places_count_from_the_left_and_lower_edge_wherever_the_part_lies() -> None:
    """A plate from (-20, 7) to (80, 67) with a hole at (10, 27): 30 and 20 mm from its edges."""
    flat, folded = worked(plate(box_contour(-20.0, 7.0, 80.0, 67.0), [round_hole("h", 10.0, 27.0, 9.0, "M8")]))
    (sheet, *_) = shop_drawing(flat, folded, ())
    row = sorted((m for m in sheet.labels if m.shows == "hole row"), key=lambda m: m.at.x)
    assert [m.text for m in row] == ["A", "30", "20", "Ø9", "for M8"]


@pytest.mark.parametrize("name", ["tray", "many_sizes", "long_rail", "beacon-spider"])
def test_every_hole_has_one_row_and_one_name(name: str) -> None:
    flat = part(name)[0]
    names = [r[0] for r in rows(name, "hole row") if re.fullmatch(r"[A-Z]{1,2}\d*", r[0])]
    assert len(names) == len(set(names)) == len(flat.holes)
    on_view = [m.text for m in sheets(name)[0].labels if m.shows.startswith("name of")]
    left_out = " ".join(m.text for s in sheets(name) for m in s.labels)
    assert set(on_view) <= set(names)
    assert len(on_view) == len(names) or "No room on the view for" in left_out


def test_general_tolerances_are_those_of_the_standard() -> None:
    """ISO 2768-1 m: over 30 to 120 0.3, over 120 to 400 0.5; ISO 9013 class 1, 3.15 to 6.3 mm thick: 35 to 125 0.25."""
    said = {tuple(r) for r in rows("filter-mount", "general tolerance")}
    assert {("over 30 to 120", "0.3"), ("over 120 to 400", "0.5")} <= said
    assert ("from 35 to under 125", "0.25") in {tuple(r) for r in rows("filter-mount", "cut tolerance")}
    assert rows("filter-mount", "angle tolerance") == [["up to 50", "30′"]]
    words = " ".join(m.text for s in sheets("filter-mount") for m in s.labels)
    assert "ISO 2768-1 m" in words and "ISO 9013 class 1" in words


def test_the_title_block_says_it_all_on_every_page() -> None:
    for i, sheet in enumerate(sheets("filter-mount"), 1):
        said = {m.shows: m.text for m in sheet.labels}
        assert said["title"] == "Fuel filter head mount" and said["quantity"] == "3" and said["thickness"] == "4 mm"
        assert said["metal and temper"].startswith("S235") and said["warning"].startswith("DO NOT SCALE")
        assert said["tolerances unless stated"] == "ISO 2768-1 m"
        assert any(m.text.endswith(f"sheet {i} of {len(sheets('filter-mount'))}") for m in sheet.labels)
        assert any(m.text == "drawn by, date" for m in sheet.labels)


def test_failures_and_waivers_stand_on_every_page() -> None:
    flat, folded = worked(l_bracket())
    drawn = shop_drawing(flat, folded, seven_findings())
    for sheet in drawn:
        banners = [m.text for m in sheet.labels if m.shows == "banner"]
        assert any(b.startswith("DO NOT CUT: 2 rules") for b in banners) and any("WAIVED: 1" in b for b in banners)
        assert overlaps(sheet) == []
    words = " ".join(m.text for s in drawn for m in s.labels)
    assert "the shop has a die of 16 mm and has bent the same leg before" in words
    assert "no hot work near fuel" in words and "does not prove strength" in words


def test_long_words_and_odd_requests() -> None:
    flat, folded = worked(plate(box_contour(0.0, 0.0, 30.0, 400.0), [round_hole("h", 15.0, 20.0, 9.0)]))
    long = replace(flat.part, title="Bracket " * 30, cautions=("Beware of the dog. " * 60,))
    for sheet in shop_drawing(replace(flat, part=long), folded, seven_findings() * 12):
        assert overlaps(sheet) == []
    with pytest.raises(ValueError, match="one part"):
        shop_drawing(flat, folded, [], quantity=0)


def test_the_same_bytes_twice() -> None:
    made = [pdf_bytes(shop_drawing(*part("hat-bridge"))) for _ in range(2)]
    assert made[0] == made[1]
