"""The preview sheet: nothing overlaps or leaves the page, everything is named, nothing is mirrored."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from parts import l_part, plate, round_hole, stock
from preview_parts import KINDS, l_bracket, seven_findings, slot, strip_part, worked
from sheet_reading import middle, outside, overlaps, texts
from struck_words import struck

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.dimensions import bar_length_mm
from bracketgen.drawing.marks.words import bend_label, hole_groups
from bracketgen.drawing.picture.head_and_foot import finding_text, numbered
from bracketgen.drawing.picture.preview import preview
from bracketgen.drawing.sheet import Fill, Label, Sheet, Stroke
from bracketgen.drawing.solid.visible import Viewpoint
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import box_contour, closed_chain
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import dot
from bracketgen.part.part import Bend, Panel, Part, Way

NO_PLACE = [Finding(f"rule-{i}", Level.WARN, f"hole {i}", 1.0, 2.0, "mm", None, "do it again " * 12, "own")
            for i in range(30)]  # fmt: skip


def sheet_of(part: Part, findings: list[Finding] | None = None) -> Sheet:
    return preview(*worked(part), findings or [])


@cache
def clean_sheet(kind: str) -> tuple[Flat, Sheet]:
    """The flat and the sheet of one of the built kinds, without findings."""
    flat, folded = worked(KINDS[kind]())
    return flat, preview(flat, folded, [])


def hole_places(sheet: Sheet, names: tuple[str, ...]) -> list[Point]:
    """Centres of named holes as drawn on the sheet."""
    strokes = {m.shows: m for m in sheet.marks if isinstance(m, Stroke) and not m.dash_mm}
    return [middle(strokes[f"hole {name}"].points) for name in names]


def orientation(points: list[Point]) -> float:
    a, b, c = points
    return b.minus(a).cross(c.minus(a))


@pytest.mark.parametrize("kind", KINDS)
def test_no_label_covers_another_or_leaves_the_sheet(kind: str) -> None:
    _, sheet = clean_sheet(kind)
    assert overlaps(sheet) == []
    assert struck(sheet) == []
    assert outside(sheet) == []


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_with_seven_findings(kind: str) -> None:
    flat, folded = worked(KINDS[kind]())
    x0, y0, x1, y1 = flat.bounds_mm
    findings = [
        f if f.at_mm is None else replace(f, at_mm=(x0 + (x1 - x0) * i / 7, y0 + (y1 - y0) * i / 7))
        for i, f in enumerate(seven_findings())
    ]
    sheet = preview(flat, folded, findings)
    assert overlaps(sheet) == []
    assert outside(sheet) == []


@pytest.mark.parametrize("kind", KINDS)
def test_every_hole_group_and_bend_is_named(kind: str) -> None:
    flat, sheet = clean_sheet(kind)
    said, part = texts(sheet), flat.part
    for lettered in hole_groups(flat, 2):
        assert lettered.text.split("  ")[-1] in said
    read = (re.fullmatch(r"(\d+)  ([\d.]+)° (UP|DOWN)  R([\d.]+)", label.text) for label in sheet.labels)
    found = sorted((int(w[1]), float(w[2]), Way(w[3].lower()), float(w[4])) for w in read if w)
    assert found == [(n, b.turn_deg, b.way, b.inside_radius_mm) for n, b in enumerate(part.bends, 1)]


@pytest.mark.parametrize("kind", KINDS)
def test_every_lettered_hole_carries_its_letter(kind: str) -> None:
    flat, sheet = clean_sheet(kind)
    callouts = {m.shows: m.text for m in sheet.labels if m.shows.startswith("holes like")}
    lettered = {m.shows.removeprefix("letter of "): m.text for m in sheet.labels if m.shows.startswith("letter of")}
    for group in hole_groups(flat):
        text = callouts.get(group.shows)
        if text is not None and group.letter:
            assert text.startswith(f"{group.letter}  ")
            assert all(lettered[h.hole.id] == group.letter for h in group.holes)


def test_counts_on_the_callouts_add_up() -> None:
    for kind in KINDS:
        flat, sheet = clean_sheet(kind)
        counted = re.findall(r"(\d+) × (?:Ø|slot|opening)", texts(sheet))
        assert sum(map(int, counted)) == len(flat.holes)


def test_words_on_holes() -> None:
    said = texts(sheet_of(KINDS["mixed_holes"]()))
    for words in ("3 × Ø9 (M8)", "1 × slot 9 × 30", "1 × Ø6.8 tap M8, cut as Ø4 pilot", "1 × Ø9 rivet nut M6",
                  "1 × Ø6 dowel, ream", "1 × opening"):  # fmt: skip
        assert words in said


def test_overall_size_in_both_units() -> None:
    # 2 in = 50.8 mm and 3 in = 76.2 mm (exact definition of the inch).
    said = texts(sheet_of(plate(box_contour(0.0, 0.0, 50.8, 76.2))))
    for words in ("50.8 mm (2.00 in)", "76.2 mm (3.00 in)", "flat 50.8 × 76.2 mm", "2.00 × 3.00 in"):
        assert words in said


def test_mass_and_cut_length_by_hand() -> None:
    # 100 x 100 x 3 mm with a hole of 20 mm; S235: 7850 kg/m3 (EN 1991-1-1, table A.4: steel 77.0 to 78.5 kN/m3).
    said = texts(sheet_of(plate(box_contour(0.0, 0.0, 100.0, 100.0), [round_hole("h", 50.0, 50.0, 20.0)])))
    mass = (10000.0 - math.pi * 100.0) * 3.0 * 7.85e-6
    assert f"mass {mass:.3f} kg" in said
    assert "cut 463 mm, 2 pierces" in said


def test_stock_face_and_rolling_direction_are_stated() -> None:
    said = texts(sheet_of(l_bracket()))
    assert "S235, 4 mm, laser" in said
    assert "this face up: described face" in said
    assert "rolling direction" in said and "not stated" not in said
    assert "rolling direction not stated" in texts(sheet_of(plate(box_contour(0.0, 0.0, 50.0, 40.0))))


@pytest.mark.parametrize("grain", [0.0, 30.0, 90.0, 135.0])
@pytest.mark.parametrize("size", [(120.0, 60.0), (40.0, 300.0)], ids=["level", "turned"])
def test_grain_arrow_lies_along_the_rolling_direction(grain: float, size: tuple[float, float]) -> None:
    marks = [round_hole("a", 10.0, 10.0, 6.0), round_hole("b", 30.0, 10.0, 6.0), round_hole("c", 10.0, 40.0, 6.0)]
    sheet = sheet_of(plate(box_contour(0.0, 0.0, *size), marks, stock(grain_deg=grain)))
    a, b, _ = hole_places(sheet, ("a", "b", "c"))
    x_axis = b.minus(a).unit()
    arrow = next(m for m in sheet.showing("rolling direction") if isinstance(m, Stroke))
    along = arrow.points[-1].minus(arrow.points[0]).unit()
    turned = math.degrees(math.atan2(x_axis.cross(along), x_axis.dot(along))) % 180.0
    assert min(abs(turned - grain % 180.0), 180.0 - abs(turned - grain % 180.0)) < 1e-6
    assert struck(sheet) == []


@pytest.mark.parametrize("size", [(90.0, 60.0), (40.0, 300.0), (1200.0, 50.0)], ids=["level", "turned", "long"])
def test_nothing_is_mirrored_and_the_scale_bar_is_true(size: tuple[float, float]) -> None:
    w, h = size
    at = {"a": Point(10.0, 10.0), "b": Point(w - 10.0, 12.0), "c": Point(14.0, h - 12.0)}
    part = plate(box_contour(0.0, 0.0, w, h), [round_hole(k, *p, 5.0) for k, p in at.items()])
    flat, folded = worked(part)
    sheet = preview(flat, folded, [])
    drawn = hole_places(sheet, ("a", "b", "c"))
    true = [f.centre for f in flat.holes]
    assert orientation(true) > 0.0
    assert orientation(drawn) > 0.0
    scale = drawn[0].distance(drawn[1]) / true[0].distance(true[1])
    assert orientation(drawn) == pytest.approx(orientation(true) * scale**2, rel=1e-6)
    bar = next(m for m in sheet.showing("scale bar") if isinstance(m, Stroke))
    length = max(p.x for p in bar.points) - min(p.x for p in bar.points)
    said = next(m.text for m in sheet.showing("scale bar") if isinstance(m, Label))
    assert length / scale == pytest.approx(float(said.split(" mm")[0]), rel=1e-6)


@pytest.mark.parametrize("size", [(1200.0, 50.0), (50.0, 1200.0), (1200.0, 100.0)], ids=str)
def test_what_a_long_flat_leaves_free_goes_to_the_row_below_it(size: tuple[float, float]) -> None:
    """The flat takes its own height and 68 mm around it (own choice, what its words and sizes need), no more."""
    sheet = sheet_of(plate(box_contour(0.0, 0.0, *size)))
    (high,) = (m.at.y for m in sheet.showing("face up") if isinstance(m, Label) and m.text.startswith("FLAT"))
    (low,) = (m.at.y for m in sheet.showing("folded view") if isinstance(m, Label))
    (outline,) = (m for m in sheet.showing("outline") if isinstance(m, Stroke) and not m.dash_mm)
    xs, ys = ([p[i] for p in outline.points] for i in (0, 1))
    assert (max(ys) - min(ys)) / (max(xs) - min(xs)) == pytest.approx(min(size) / max(size))
    assert high - low - (max(ys) - min(ys)) == pytest.approx(68.0, abs=3.0)


def test_scale_bar_is_a_round_number() -> None:
    assert [bar_length_mm(s) for s in (5.0, 1.0, 0.5, 0.1, 0.03)] == [10.0, 50.0, 100.0, 500.0, 1000.0]


def test_flipping_a_bend_changes_picture_label_and_list() -> None:
    up, down = (sheet_of(l_part(way=way)) for way in (Way.UP, Way.DOWN))
    assert "1  90° UP  R3" in texts(up) and "1  90° DOWN  R3" in texts(down)
    assert "1  turn 90° UP" in texts(up) and "1  turn 90° DOWN" in texts(down)
    assert "1 up" in texts(up).splitlines() and "1 down" in texts(down).splitlines()
    legs = [[m.rings for m in s.showing("panel leg") if isinstance(m, Fill)] for s in (up, down)]
    assert legs[0] != legs[1]
    strips = [next(m for m in s.showing("bend 1") if isinstance(m, Stroke) and m.dash_mm) for s in (up, down)]
    assert strips[0].colour != strips[1].colour and strips[0].dash_mm != strips[1].dash_mm


@pytest.mark.parametrize("way", list(Way))
def test_folded_view_turns_the_leg_the_right_way(way: Way) -> None:
    """The leg's far edge stands above the first panel when the bend is up, below it when down."""
    sheet = sheet_of(l_part(width=60.0, base=60.0, leg=60.0, way=way))
    base, leg = (
        [p.y for m in sheet.showing(f"panel {name}") if isinstance(m, Fill) for ring in m.rings for p in ring]
        for name in ("base", "leg")
    )
    if way is Way.UP:
        assert max(leg) > max(base) + 5.0
    else:
        assert min(leg) < min(base) - 5.0


@pytest.mark.parametrize("kind", KINDS)
def test_the_folded_view_is_not_mirrored(kind: str) -> None:
    """The first panel's described face is in sight in one piece; its outline runs anticlockwise on the paper too."""
    flat, sheet = clean_sheet(kind)
    part = flat.part
    fills = [m for m in sheet.showing(f"panel {part.panels[0].id}") if isinstance(m, Fill)]
    face = max(fills, key=lambda m: len(m.rings[0]) * len(m.rings))
    ring = face.rings[0]
    area = sum(a.cross(b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)) / 2
    assert area > 0.0
    assert len(face.rings) == 1 + len(part.panels[0].holes)


@pytest.mark.parametrize("rise", [10.0, 33.0, 80.0])
@pytest.mark.parametrize("turned", [-148.0, -32.0, 0.0, 58.0])
def test_the_eye_has_a_right_hand(rise: float, turned: float) -> None:
    """Right cross up points toward the eye; all three are unit and square to each other."""
    view = Viewpoint.at(turned, rise)
    (a, b, c), (d, e, f) = view.right, view.up
    assert (b * f - c * e, c * d - a * f, a * e - b * d) == pytest.approx(view.toward, abs=1e-12)
    assert dot(view.right, view.up) == pytest.approx(0.0, abs=1e-12)
    assert dot(view.right, view.right) == pytest.approx(dot(view.up, view.up))
    assert view.toward[2] == pytest.approx(math.sin(math.radians(rise)))


def test_near_plates_are_drawn_over_far_ones() -> None:
    """Of two flanges that both stand up, the one nearer to the eye (lower on the paper) is drawn later."""
    sheet = sheet_of(strip_part("u", 60.0, (40.0, 60.0, 40.0), ((90.0, Way.UP, 3.0), (90.0, Way.UP, 3.0))))
    fills = [m for m in sheet.marks if isinstance(m, Fill) and m.shows in ("panel leg 0", "panel leg 2")]
    last = {m.shows: i for i, m in enumerate(fills)}
    # leg 0 is the first panel (described face up, below), leg 2 hangs over it like a roof.
    assert last["panel leg 2"] > last["panel leg 0"]


def test_a_failing_part_says_so() -> None:
    fail = Finding("hole-edge", Level.FAIL, "hole h", 4.0, 9.0, "mm", (10.0, 10.0), "move it", "table")
    waived = replace(fail, waived="bench test only")
    banners = [[m.text for m in sheet_of(l_bracket(), f).showing("banner") if isinstance(m, Label)]
               for f in ([], [fail], [waived], [fail, waived], [replace(fail, level=Level.WARN)])]  # fmt: skip
    assert banners[0] == banners[4] == []
    assert banners[1] == ["DO NOT CUT: a rule has failed, see the list below"]
    assert len(banners[2]) == 1 and banners[2][0].startswith("WAIVED: 1 finding")
    assert [b[:6] for b in banners[3]] == ["DO NOT", "WAIVED"]
    assert "bench test only" in " ".join(texts(sheet_of(l_bracket(), [waived])).split())


def test_findings_are_numbered_marked_and_listed_whole() -> None:
    findings = seven_findings()
    sheet = sheet_of(l_bracket(), findings)
    for entry in numbered(findings):
        marks = sheet.showing(f"finding {entry.number}")
        numbers = [m for m in marks if isinstance(m, Label) and m.text == str(entry.number)]
        assert len(numbers) == (1 if entry.finding.at_mm is None else 2)
        words = [m.text for m in marks if isinstance(m, Label) and m.text != str(entry.number)]
        assert " ".join(words) == " ".join(finding_text(entry.finding).split())


def test_a_finding_is_marked_at_its_place() -> None:
    at = (12.0, 9.0)
    part = plate(box_contour(0.0, 0.0, 80.0, 50.0), [round_hole("a", *at, 6.0), round_hole("b", 60.0, 30.0, 6.0)])
    sheet = sheet_of(part, [Finding("r", Level.WARN, "hole a", 1.0, 2.0, "mm", at, "move", "own")])
    ring = next(m for m in sheet.showing("finding 1") if isinstance(m, Stroke) and len(m.points) == 33)
    assert middle(ring.points).distance(hole_places(sheet, ("a", "b", "a"))[0]) < 0.05


def test_many_findings_end_with_a_count() -> None:
    sheet = sheet_of(l_bracket(), NO_PLACE)
    listed = [n for n in range(1, 31) if sheet.showing(f"finding {n}")]
    more = next(label.text for label in sheet.labels if label.text.startswith("and "))
    assert more == f"and {30 - len(listed)} more, see the printed summary"
    assert 3 <= len(listed) < 30
    assert overlaps(sheet) == [] and outside(sheet) == []


def test_cautions_stand_on_the_sheet_whole() -> None:
    part = l_bracket()
    small = " ".join(m.text for m in sheet_of(part).labels if m.shows == "small print")
    for caution in part.cautions:
        assert caution in " ".join(small.split())


def test_long_names_and_strange_letters() -> None:
    part = replace(l_bracket(), title="Halter für den Kraftstofffilter " * 9 + "Ж漢\n\t\x00", name="n" * 150)
    sheet = sheet_of(part, [Finding("r", Level.FAIL, "x" * 400, 1.0, 2.0, "mm", None, "y" * 300, "own")])
    assert overlaps(sheet) == [] and outside(sheet) == []
    assert all(label.text.isprintable() for label in sheet.labels)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(data=st.data())
def test_random_parts_stay_clean(data: st.DataObject) -> None:
    draw = data.draw
    length = st.floats(20.0, 160.0).map(lambda v: round(v, 1))
    count = draw(st.integers(0, 6))
    width = draw(st.sampled_from([16.0, 40.0, 120.0, 600.0, 2400.0]))
    legs = [draw(length) for _ in range(count + 1)]
    bends = [
        (draw(st.sampled_from([15.0, 22.5, 45.0, 90.0, 120.0, 135.0])), draw(st.sampled_from(list(Way))),
         draw(st.sampled_from([2.0, 3.0, 4.5])))
        for _ in range(count)
    ]  # fmt: skip
    sizes = st.sampled_from([4.5, 5.5, 6.6, 9.0])
    holes = {
        i: [round_hole(f"h{i}-{k}", 8.0 + (width - 16.0) * (k + 0.5) / n, leg / 2, draw(sizes)) for k in range(n)]
        for i, leg in enumerate(legs)
        for n in [draw(st.integers(0, max(1, min(8, int(width / 14.0)))))]
    }
    flat, folded = worked(strip_part("random", width, legs, bends, holes))
    x0, y0, x1, y1 = flat.bounds_mm
    findings = [
        Finding("rule", draw(st.sampled_from(list(Level))), "thing", 1.0, 2.0, "mm",
                (draw(st.floats(x0, x1)), draw(st.floats(y0, y1))), "put it right", "own")
        for _ in range(draw(st.integers(0, 7)))
    ]  # fmt: skip
    sheet = preview(flat, folded, findings)
    assert overlaps(sheet) == []
    assert outside(sheet) == []
    said = texts(sheet)
    assert all(bend_label(i, b) in said for i, b in enumerate(flat.part.bends, 1))
    assert all(g.text.split("  ")[-1] in said for g in hole_groups(flat))
    assert all(sheet.showing(f"finding {n}") for n in range(1, len(findings) + 1))
    drawn = {m.shows for m in sheet.marks}
    assert all(f"hole {h.hole.id}" in drawn for h in flat.holes)


def test_a_bend_on_an_oblique_edge() -> None:
    """A leg turned 30 deg in the plane of the first panel: label level, still legible and read back."""
    base = Panel("base", box_contour(0.0, 0.0, 80.0, 50.0))
    side = Line(Point(20.0, 50.0), Point(60.0, 50.0))
    own = Line(Point(0.0, 0.0), Point(40.0 * math.cos(math.pi / 6), 40.0 * math.sin(math.pi / 6)))
    d, up = own.direction_at(own.start), own.direction_at(own.start).left()
    corners = [own.start, own.end, own.end.plus(up, 30.0), own.start.plus(up, 30.0)]
    leg = Panel("leg", closed_chain(corners))
    part = Part("o", "Oblique", stock(), (base, leg), (Bend("b", "base", "leg", side, own, 60.0, Way.DOWN, 3.0),),
                "EN 1993-1-8", 1.0)  # fmt: skip
    assert d.length() == pytest.approx(1.0)
    sheet = sheet_of(part)
    assert "1  60° DOWN  R3" in texts(sheet) and "between 120°" in texts(sheet)
    assert overlaps(sheet) == [] and outside(sheet) == []


def test_a_slot_is_measured_width_by_length() -> None:
    said = texts(sheet_of(plate(box_contour(0.0, 0.0, 60.0, 40.0), [slot("s", 30.0, 20.0, 9.0, 14.0)])))
    assert "1 × slot 9 × 14" in said
