"""The paper template, read back from its PDF by an independent reader: true lengths, tiles that join, no mirror."""

from __future__ import annotations

import itertools
import math
import shutil
import subprocess
from functools import cache
from pathlib import Path

import pytest
from daily import every, swept
from hypothesis import given, settings
from hypothesis import strategies as st
from odd_parts import ODD, odd_part
from parts import plate, round_hole
from pdf_reading import read_pages
from PIL import Image
from preview_parts import KINDS, worked
from sample_parts import SHAPES
from struck_words import struck
from template_reading import joined, rectangles

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks.flat_lines import FaceUp
from bracketgen.drawing.sheet import Label, Paper, Sheet, Stroke
from bracketgen.drawing.template.pages import template_pages
from bracketgen.drawing.template.sheets import PAPERS, Scale, tiling
from bracketgen.files.pdf import pdf_bytes
from bracketgen.geometry.contour import Circle, box_contour
from bracketgen.part.part import Way
from bracketgen.pipeline import work_out

#: Every length on the printed sheets is true to this, mm.
TRUE_TO = 0.01
#: ISO 216; 8.5 x 11 in at 25.4 mm.
SIZES = {Paper.A4: (210.0, 297.0), Paper.LETTER: (8.5 * 25.4, 11 * 25.4)}
OWN = sorted(p.stem for p in SHAPES.glob("*.toml"))
WRONG_PRINTER = (0.97, 0.985)
LABELLED = [*OWN, *(k for k in KINDS if k not in ("flange", "long_rail")), *ODD]


@cache
def part(name: str) -> tuple[Flat, Folded]:
    if name in ODD:
        return odd_part(name)[:2]
    if name in KINDS:
        return worked(KINDS[name]())
    made = work_out((SHAPES / f"{name}.toml").read_text("utf-8"), name, name, folder=str(SHAPES))
    return made.flat, made.folded


@cache
def sheets(name: str, paper: Paper, scale: Scale = (1.0, 1.0), face: FaceUp = FaceUp.DESCRIBED,
           card_mm: float | None = None) -> tuple[Sheet, ...]:  # fmt: skip
    return template_pages(*part(name), paper, scale, face=face, card_mm=card_mm)


CASES = [
    *((name, Paper.A4, (1.0, 1.0), FaceUp.DESCRIBED) for name in OWN),
    *every([(name, Paper.LETTER, (1.0, 1.0), FaceUp.BACK) for name in OWN], 4),
    *((name, Paper.LETTER, WRONG_PRINTER, FaceUp.DESCRIBED) for name in ("tray", "filter-mount", "relay-box")),
    *swept(("rail of 900", paper, (1.0, 1.0), FaceUp.DESCRIBED) for paper in PAPERS),
    *every([("tray", paper, (1.0, 1.0), face) for paper in PAPERS for face in FaceUp], 3),
    ("long_rail", Paper.A4, (1.0, 1.0), FaceUp.DESCRIBED),
    ("tall_rail", Paper.LETTER, (1.021, 0.95), FaceUp.BACK),
    ("box_tray", Paper.A4, WRONG_PRINTER, FaceUp.BACK),
]


@pytest.mark.parametrize(("name", "paper", "scale", "face"), CASES)
def test_every_length_on_the_joined_sheets_is_true(name: str, paper: Paper, scale: Scale, face: FaceUp) -> None:
    flat, _ = part(name)
    found = joined(sheets(name, paper, scale, face), scale)
    sign = 1.0 if face is FaceUp.DESCRIBED else -1.0
    first = flat.holes[0]
    origin = found.centres(first.hole.id)[0]

    def true(x: float, y: float) -> tuple[float, float]:
        """A point of the flat as it must lie on the paper, counted from the first hole."""
        return (origin[0] + sign * (x - first.centre.x), origin[1] + y - first.centre.y)

    for hole in flat.holes:
        centres = found.centres(hole.hole.id)
        assert centres
        for centre in centres:
            assert centre == pytest.approx(true(*hole.centre), abs=TRUE_TO), hole.hole.id
        if isinstance(hole.cut, Circle):
            for chain in found.chains[f"hole {hole.hole.id}"]:
                radii = [math.dist(p, true(*hole.centre)) for p in chain]
                assert radii == pytest.approx([hole.cut.radius] * len(radii), abs=TRUE_TO)
    x0, y0, x1, y1 = flat.bounds_mm
    (a, b), (c, d) = true(x0, y0), true(x1, y1)
    assert found.box("outline") == pytest.approx((min(a, c), b, max(a, c), d), abs=TRUE_TO)
    for number, strip in enumerate(flat.strips, 1):
        ends = [p for chain in found.chains[f"bend {number}"] for p in chain]
        for p in (strip.centre_line.start, strip.centre_line.end):
            assert min(math.dist(true(*p), q) for q in ends) < TRUE_TO
        tangents = [p for chain in found.chains[f"tangent of bend {number}"] for p in chain]
        for line in (strip.line_at(0.0), strip.line_at(strip.metal.allowance_mm)):
            assert all(min(math.dist(true(*p), q) for q in tangents) < TRUE_TO for p in (line.start, line.end))


@pytest.mark.parametrize(("name", "paper", "scale", "face"), CASES)
def test_pages_bars_and_margins(name: str, paper: Paper, scale: Scale, face: FaceUp) -> None:
    """On every sheet, found by their size alone: 100 mm and 4 in (101.6 mm) bars across and up, ticks at their ends."""
    pages = read_pages(pdf_bytes(sheets(name, paper, scale, face)))
    sizes = {tuple(sorted((round(p.width, 4), round(p.height, 4)))) for p in pages}
    assert sizes == {tuple(round(v, 4) for v in sorted(SIZES[paper]))}
    for page in pages:
        bars = [(d.box[2] - d.box[0], d.box[3] - d.box[1], d) for d in rectangles(page)]
        for true_mm in (100.0, 101.6):
            across = [d for w, h, d in bars if abs(w * scale[0] - true_mm) < TRUE_TO and h < 2.0]
            up = [d for w, h, d in bars if abs(h * scale[1] - true_mm) < TRUE_TO and w < 2.0]
            assert len(across) == len(up) == 1
            ticks = [d.chains[0] for d in page.paths if d.paint == "S" and len(d.points) == 2]
            for end in (across[0].box[0], across[0].box[2]):
                assert any(abs(t[0][0] - end) < TRUE_TO and abs(t[1][0] - end) < TRUE_TO for t in ticks)
            for end in (up[0].box[1], up[0].box[3]):
                assert any(abs(t[0][1] - end) < TRUE_TO and abs(t[1][1] - end) < TRUE_TO for t in ticks)
        for x, y in (p for d in page.paths for p in d.points):
            assert 7.0 <= x <= page.width - 7.0 and 7.0 <= y <= page.height - 7.0
        for text in page.texts:
            end = (text.at[0] + text.length * text.along[0], text.at[1] + text.length * text.along[1])
            assert all(7.0 <= v[0] <= page.width - 7.0 and 7.0 <= v[1] <= page.height - 7.0 for v in (text.at, end))


def test_a_printer_that_is_off_is_corrected_in_each_direction_alone() -> None:
    """Bars of 97.0 and 98.5 mm: the corrected file holds 100/0.97 across and 100/0.985 up."""
    plain, corrected = (joined(sheets("filter-mount", Paper.A4, s)) for s in ((1.0, 1.0), WRONG_PRINTER))
    for index, scale in enumerate(WRONG_PRINTER):
        lengths = [j.box("outline")[index + 2] - j.box("outline")[index] for j in (plain, corrected)]
        assert lengths[1] == pytest.approx(lengths[0] / scale, abs=TRUE_TO)


def test_a_corrected_template_lies_as_the_measured_one() -> None:
    """170 x 230 mm fit one upright sheet; on a printer of 90 % two level ones would do, but across must stay across."""
    both = worked(plate(box_contour(0.0, 0.0, 170.0, 230.0), [round_hole("h", 40.0, 40.0, 9.0)]))
    assert joined(template_pages(*both, Paper.A4)).sheets == 1
    for scale in ((1.0, 1.0), (0.9, 0.9), (0.9, 1.1), (1.1, 0.9)):
        assert {s.width_mm for s in template_pages(*both, Paper.A4, scale)} == {210.0}


@pytest.mark.parametrize("paper", PAPERS)
def test_sheets_cover_a_part_of_any_length_and_overlap(paper: Paper) -> None:
    """Every 5.7 mm from one sheet to five: no strip of the part falls between sheets or beyond the last."""
    for i in range(150):
        length = 140.0 + 5.7 * i
        flat, _ = worked(plate(box_contour(0.0, 0.0, length, 50.0)))
        shown = sorted(t.shows for t in tiling(flat, FaceUp.DESCRIBED, paper, (0.98, 1.01)).tiles)
        assert shown[0][0] <= 0.0 and shown[-1][2] >= length
        assert all(a[2] - b[0] >= 10.0 for a, b in itertools.pairwise(shown)), length


@pytest.mark.parametrize("face", list(FaceUp))
@pytest.mark.parametrize("name", ["filter-mount", "tray"])
def test_only_the_back_is_mirrored_and_both_say_so(name: str, face: FaceUp) -> None:
    flat, _ = part(name)
    pages = sheets(name, Paper.A4, face=face)
    corners = list(flat.holes)[:3]
    found = joined(pages)
    turned = []
    for a, b, c in ([found.centres(h.hole.id)[0] for h in corners], [h.centre for h in corners]):
        turned.append((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
    assert abs(turned[1]) > 100.0
    assert (turned[0] * turned[1] > 0.0) is (face is FaceUp.DESCRIBED)
    words = "THIS FACE UP" if face is FaceUp.DESCRIBED else "BACK FACE UP (MIRRORED)"
    assert all(any(words in label.text for label in sheet.labels) for sheet in pages)
    other = "BACK FACE UP" if face is FaceUp.DESCRIBED else "THIS FACE UP"
    assert not any(other in label.text for sheet in pages for label in sheet.labels)


@pytest.mark.parametrize("face", list(FaceUp))
@pytest.mark.parametrize("name", OWN)
def test_the_flag_tells_the_faces_apart(name: str, face: FaceUp) -> None:
    """A black triangle on one sheet only: its square corner is at the lower left, from behind at the lower right."""
    found = joined(sheets(name, Paper.A4 if face is FaceUp.DESCRIBED else Paper.LETTER, face=face))
    (flag,) = found.chains["flag"]
    corners = flag[:3]
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    square = (min(xs) if face is FaceUp.DESCRIBED else max(xs), min(ys))
    assert any(math.dist(p, square) < 1e-3 for p in corners)
    opposite = (max(xs) if face is FaceUp.DESCRIBED else min(xs), max(ys))
    assert all(math.dist(p, opposite) > 1.0 for p in corners)


@pytest.mark.parametrize(("face", "toward"), [(FaceUp.DESCRIBED, Way.UP), (FaceUp.BACK, Way.DOWN)])
def test_each_bend_says_which_way_as_the_sheet_lies(face: FaceUp, toward: Way) -> None:
    flat, _ = part("hat-bridge")
    pages = sheets("hat-bridge", Paper.A4 if face is FaceUp.DESCRIBED else Paper.LETTER, face=face)
    said = [label.text for sheet in pages for label in sheet.labels if label.shows.startswith("bend ")]
    for number, strip in enumerate(flat.strips, 1):
        own = [text for text in said if text.startswith(f"{number}  ")]
        assert own
        words = "fold toward you" if strip.bend.way is toward else "fold away"
        assert all(text.endswith(words) and strip.bend.way.upper() in text for text in own)


def overlaps(sheet: Sheet) -> list[tuple[str, str]]:
    """Pairs of labels whose boxes share more than a hair (0.05 mm) of paper."""
    found = []
    for a, b in itertools.combinations(sheet.labels, 2):
        p, q = a.box, b.box
        if min(p[2], q[2]) - max(p[0], q[0]) > 0.05 and min(p[3], q[3]) - max(p[1], q[1]) > 0.05:
            found.append((a.text, b.text))
    return found


@pytest.mark.parametrize(
    ("name", "paper", "face", "card_mm"),
    every([(n, Paper.A4, FaceUp.DESCRIBED, 1.0) for n in LABELLED], 3)
    + every([(n, Paper.LETTER, FaceUp.BACK, None) for n in OWN], 4),
)
def test_no_text_covers_another_or_leaves_its_sheet(
    name: str, paper: Paper, face: FaceUp, card_mm: float | None
) -> None:
    pages = sheets(name, paper, face=face, card_mm=card_mm)
    for sheet in pages:
        assert overlaps(sheet) == []
        assert struck(sheet) == []
        for label in sheet.labels:
            x0, y0, x1, y1 = label.box
            assert x0 >= 7.0 and y0 >= 7.0 and x1 <= sheet.width_mm - 7.0 and y1 <= sheet.height_mm - 7.0, label.text


@pytest.mark.parametrize("name", every(LABELLED, 3))
def test_every_hole_has_its_size_beside_it_or_in_the_list(name: str) -> None:
    flat, _ = part(name)
    pages = sheets(name, Paper.A4, card_mm=1.0)
    beside = {label.shows for sheet in pages for label in sheet.labels if label.shows.startswith("size of")}
    listed = any(label.text.startswith("No room on the sheets") for sheet in pages for label in sheet.labels)
    missing = {h.hole.id for h in flat.holes} - {s.removeprefix("size of ") for s in beside}
    assert not missing or listed
    assert len(missing) <= len(flat.holes) // 10


def test_a_large_part_is_numbered_by_row_and_column_and_joined_by_named_crosses() -> None:
    pages = sheets("long_rail", Paper.A4, (1.0, 1.0), FaceUp.DESCRIBED)
    places = [m.text for sheet in pages for m in sheet.labels if m.shows == "sheet" and m.text.startswith("sheet")]
    count = len(places)
    assert count > 8
    assert places == [f"sheet {i} of {count}: row 1, column {i}" for i in range(1, count + 1)]
    names = [m.text for sheet in pages for m in sheet.labels if m.shows.startswith("cross")]
    assert sorted(names) == sorted(2 * [f"{i}{c}" for i in range(1, count) for c in "ab"])
    assert joined(pages).sheets == count


def test_a_cross_keeps_away_from_holes() -> None:
    """A tray whose lip has a hole where a cross of the seam would stand."""
    found = joined(sheets("box_tray", Paper.A4))
    marks = [found.box(shows) for shows in found.chains if shows.startswith("cross ")]
    assert len(marks) == 2
    for mark, hole in itertools.product(marks, part("box_tray")[0].holes):
        box = found.box(f"hole {hole.hole.id}")
        assert mark[0] > box[2] or mark[2] < box[0] or mark[1] > box[3] or mark[3] < box[1], hole.hole.id


def test_sheets_without_metal_are_left_out() -> None:
    """An L of 700 x 700 mm with arms of 40 mm: the sheets in its elbow would be empty."""
    from bracketgen.geometry.contour import closed_chain
    from bracketgen.geometry.plane import Point

    corners = [(0, 0), (700, 0), (700, 40), (40, 40), (40, 700), (0, 700)]
    outline = closed_chain([Point(float(x), float(y)) for x, y in corners])
    flat, folded = worked(plate(outline, [round_hole("a", 20.0, 680.0, 9.0), round_hole("b", 680.0, 20.0, 9.0)]))
    pages = template_pages(flat, folded, Paper.A4)
    found = joined(pages)
    # Level or upright, 700 mm need 3 by 4 sheets or more; only a row and a column of them hold metal.
    assert found.sheets <= 7
    (a,), (b,) = found.centres("a"), found.centres("b")
    assert math.dist(a, b) == pytest.approx(660.0 * math.sqrt(2.0), abs=TRUE_TO)


@settings(max_examples=8, deadline=None, derandomize=True)
@given(
    size=st.tuples(st.floats(15.0, 600.0), st.floats(15.0, 400.0)),
    scale=st.tuples(st.floats(0.9, 1.1), st.floats(0.9, 1.1)),
    paper=st.sampled_from(PAPERS),
    face=st.sampled_from(list(FaceUp)),
)
def test_any_plate_is_true_on_any_printer(size: tuple[float, float], scale: Scale, paper: Paper, face: FaceUp) -> None:
    w, h = size
    holes = [round_hole("a", 5.0, 5.0, 4.0), round_hole("b", w - 5.0, h - 5.0, 4.0)]
    flat, folded = worked(plate(box_contour(0.0, 0.0, w, h), holes))
    found = joined(template_pages(flat, folded, paper, scale, face=face), scale)
    x0, y0, x1, y1 = found.box("outline")
    assert (x1 - x0, y1 - y0) == pytest.approx((w, h), abs=TRUE_TO)
    for a, b in itertools.product(found.centres("a"), found.centres("b")):
        assert math.dist(a, b) == pytest.approx(math.hypot(w - 10.0, h - 10.0), abs=2 * TRUE_TO)


def test_a_failed_part_says_so_on_every_sheet() -> None:
    flat, folded = part("tray")
    pages = template_pages(flat, folded, Paper.A4, notice="DO NOT CUT METAL: a rule failed")
    assert all(any(m.text.startswith("DO NOT CUT METAL") for m in sheet.labels) for sheet in pages)
    assert all(overlaps(sheet) == [] for sheet in pages)


def test_cautions_stand_in_the_notes_and_the_brief_one_on_every_sheet() -> None:
    flat, _ = part("filter-mount")
    pages = sheets("filter-mount", Paper.A4)
    assert all(any("not strength" in m.text for m in sheet.labels) for sheet in pages)
    said = " ".join(" ".join(m.text for m in pages[0].labels if m.shows in ("notes", "caution")).split())
    assert flat.part.cautions
    for caution in flat.part.cautions:
        assert " ".join(caution.split()) in said


def test_a_correction_beyond_reason_is_refused() -> None:
    with pytest.raises(ValueError, match="corrected between"):
        template_pages(*part("tray"), Paper.A4, (0.5, 1.0))


def test_the_same_bytes_again() -> None:
    flat, folded = part("tray")
    assert pdf_bytes(template_pages(flat, folded, Paper.A4)) == pdf_bytes(sheets("tray", Paper.A4))


def test_strokes_keep_inside_the_window() -> None:
    for sheet in sheets("long_rail", Paper.A4, (1.0, 1.0), FaceUp.DESCRIBED):
        windows = [m for m in sheet.marks if isinstance(m, Stroke) and m.shows == "window"]
        if not windows:
            continue
        xs, ys = [p.x for p in windows[0].points], [p.y for p in windows[0].points]
        for mark in sheet.marks:
            if isinstance(mark, Label) or not mark.shows.startswith(("outline", "hole", "centre", "bend", "tangent")):
                continue
            points = mark.points if isinstance(mark, Stroke) else mark.rings[0]
            assert all(min(xs) - 1e-6 <= p.x <= max(xs) + 1e-6 for p in points)
            assert all(min(ys) - 1e-6 <= p.y <= max(ys) + 1e-6 for p in points)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="the renderer pdftoppm is not on this machine")
def test_the_bars_in_pixels(tmp_path: Path) -> None:
    """At 150 dpi a pixel is 0.17 mm: the longest dark runs of a page are its bars of 100 and 101.6 mm, both ways."""
    target = tmp_path / "a.pdf"
    target.write_bytes(pdf_bytes(sheets("hose-stay", Paper.A4)))
    subprocess.run(["pdftoppm", "-r", "150", "-gray", "-png", str(target), str(tmp_path / "a")], check=True)
    pictures = sorted(tmp_path.glob("a-*.png"))
    assert len(pictures) == 2
    for picture in pictures:
        with Image.open(picture) as image:
            grey = image.convert("L")
            for turned in (grey, grey.transpose(Image.Transpose.ROTATE_90)):
                lengths = {n for n in _dark_runs(turned) if 560 < n < 640}
                for true_mm in (100.0, 101.6):
                    assert any(abs(n * 25.4 / 150 - true_mm) < 0.35 for n in lengths), (picture, sorted(lengths))


def _dark_runs(image: Image.Image) -> list[int]:
    """Lengths of runs of dark pixels (darker than half) along every row."""
    width, height = image.size
    data = image.tobytes()
    runs = []
    for row in range(height):
        line = bytes(1 if v < 128 else 0 for v in data[row * width : (row + 1) * width])
        runs += [len(run) for run in line.split(b"\0") if len(run) > 400]
    return runs
