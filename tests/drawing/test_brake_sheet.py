"""The brake sheet: nothing overlaps or leaves the page, every figure stands on it, pictures show what they say."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial

import pypdf
import pytest
from brake_sections import SECTIONS, Section, corrugated
from preview_parts import box_tray, joggle, l_bracket, worked
from sheet_reading import outside, overlaps, texts

from bracketgen.drawing.sheet import Fill, Sheet, Stroke
from bracketgen.drawing.workshop.brake_sheet import brake_pages
from bracketgen.files.pdf import pdf_bytes
from bracketgen.geometry.plane import Point
from bracketgen.shop.brake.brakes import usual_leaf, usual_press
from bracketgen.shop.brake.plan import BrakePlan, plan_brake
from bracketgen.units import plain

CAUTIOUS = "crush hands"


def _with_long_names() -> BrakePlan:
    section = next(s for s in SECTIONS if s.name == "hat")
    flat = section.flat()
    long = {p.id: f"{p.id} of the bracket beside the fuel filter head" for p in flat.part.panels}
    panels = tuple(replace(p, id=long[p.id]) for p in flat.part.panels)
    bends = tuple(replace(b, parent=long[b.parent], child=long[b.child]) for b in flat.part.bends)
    part = replace(flat.part, title="Hat bracket over the pipe run on the left rail " * 3, panels=panels, bends=bends)
    strips = tuple(replace(s, bend=b) for s, b in zip(flat.strips, bends, strict=True))
    flat = replace(flat, part=part, strips=strips, placements={long[k]: v for k, v in flat.placements.items()})
    return plan_brake(flat, replace(usual_press(), title="Press brake with a very long name, " * 4))


def _of_section(section: Section) -> BrakePlan:
    return plan_brake(section.flat(), section.brake())


#: What is drawn, worked out when a test first asks for it.
MADE: dict[str, Callable[[], BrakePlan]] = {
    **{s.name: partial(_of_section, s) for s in SECTIONS if s.makeable},
    "tray": lambda: plan_brake(worked(box_tray())[0], usual_press()),
    "tray on a leaf brake": lambda: plan_brake(worked(box_tray())[0], usual_leaf()),
    "angle with cautions": lambda: plan_brake(worked(l_bracket())[0], usual_press()),
    "steps": lambda: plan_brake(corrugated(6), usual_press()),
    "many steps": lambda: plan_brake(corrugated(8), usual_press()),
    "long names": _with_long_names,
    "no order": lambda: plan_brake(worked(joggle())[0], usual_press()),
}


@cache
def plan_of(name: str) -> BrakePlan:
    return MADE[name]()


@pytest.mark.parametrize("name", MADE)
def test_no_text_covers_another_or_leaves_the_page(name: str) -> None:
    for page in brake_pages(plan_of(name)):
        assert overlaps(page) == []
        assert outside(page) == []


def test_a_warning_has_room_too() -> None:
    page, *_ = brake_pages(plan_of("hat"), "DO NOT BEND: a rule failed")
    assert overlaps(page) == [] and outside(page) == []
    assert "DO NOT BEND: a rule failed" in texts(page)


@pytest.mark.parametrize("name", [n for n in MADE if n not in ("no order", "long names")])
def test_every_figure_of_every_step_stands_in_its_row(name: str) -> None:
    plan = plan_of(name)
    page, *_ = brake_pages(plan)
    for row, made in enumerate(plan.steps, 1):
        cells = [m.text for m in page.labels if m.shows == f"step {row}"]
        assert cells[0] == str(row) and cells[1] == str(made.number)
        assert f"{plain(made.bend.turn_deg)}° {made.bend.way.upper()}" in cells
        assert made.face_up in cells and made.held_panel in cells
        assert plain(made.scribe.edge_mm, 1) in cells
        if made.gauging is not None and made.gauging.distance_mm is not None:
            assert plain(made.gauging.distance_mm, 1) in cells
        if made.force is not None:
            assert any(c.startswith(f"{plain(made.force.kn, 0)} (") for c in cells)
        else:
            assert plain(made.scribe.sight_mm, 1) in cells


@pytest.mark.parametrize("name", MADE)
def test_cautions_and_the_manual_stand_on_the_first_page(name: str) -> None:
    said = " ".join(texts(brake_pages(plan_of(name))[0]).split())
    assert CAUTIOUS in said and "machine's own manual" in said
    for caution in plan_of(name).flat.part.cautions:
        assert caution in said


def test_a_plan_that_does_not_work_says_so() -> None:
    for name in ("no order", "tray on a leaf brake"):
        plan = plan_of(name)
        assert not plan.works
        said = " ".join(texts(brake_pages(plan)[0]).split())
        assert "DO NOT BEND: no order works" in said
        assert all(obstacle.words in said for _, obstacle in plan.stopped)
    assert "DO NOT BEND" not in texts(brake_pages(plan_of("hat"))[0])


def test_every_step_has_two_pictures_once() -> None:
    for name in MADE:
        plan = plan_of(name)
        shown = [m.shows for page in brake_pages(plan) for m in page.marks if isinstance(m, Fill)]
        for place in range(1, len(plan.steps) + 1):
            for when in ("before", "after"):
                assert f"step {place} {when} metal" in shown, name
        assert f"step {len(plan.steps) + 1} before metal" not in shown


def rings(page: Sheet, shows: str) -> list[tuple[Point, ...]]:
    return [m.rings[0] for m in page.marks if isinstance(m, Fill) and m.shows == shows]


def test_pictures_stay_in_their_cells_and_metal_is_drawn_to_scale() -> None:
    """A flat strip of 120 mm: legs 50 and 66, allowance; its picture is as long as its flat, times one scale."""
    section = Section("angle", (66.0, 50.0), ((90.0, SECTIONS[0].bends[0][1]),), usual_press, True, "")
    plan = plan_brake(section.flat(), usual_press())
    (page,) = brake_pages(plan)
    points = [p for ring in rings(page, "step 1 before metal") for p in ring]
    wide = max(p.x for p in points) - min(p.x for p in points)
    high = max(p.y for p in points) - min(p.y for p in points)
    _, y0, _, y1 = plan.flat.bounds_mm
    assert wide / high == pytest.approx((y1 - y0) / 2.0, rel=1e-6)
    for mark in page.marks:
        if isinstance(mark, Fill | Stroke) and mark.shows.startswith("step"):
            spots = mark.rings[0] if isinstance(mark, Fill) else mark.points
            assert all(8.0 <= p.x <= page.width_mm - 7.0 and 8.0 <= p.y <= page.height_mm - 8.0 for p in spots)


def test_the_described_face_is_up_for_a_bend_up() -> None:
    for name, above in (("angle", True), ("z", None)):
        plan = plan_of(name)
        (page,) = brake_pages(plan)
        for place, made in enumerate(plan.steps, 1):
            face = [m for m in page.marks if isinstance(m, Stroke) and m.shows == f"step {place} before face"]
            metal = [p.y for r in rings(page, f"step {place} before metal") for p in r]
            level = [m.points[0].y for m in face if abs(m.points[0].y - m.points[1].y) < 1e-6]
            assert level
            if above:
                assert max(level) == pytest.approx(max(metal), abs=1e-6)
            if made.face_up == "back" and place == 1:
                assert min(level) == pytest.approx(min(metal), abs=1e-6)


def test_the_pdf_reads_back() -> None:
    pages = brake_pages(plan_of("many steps"))
    assert len(pages) == 2
    reader = pypdf.PdfReader(io.BytesIO(pdf_bytes(pages)))
    assert len(reader.pages) == 2
    said = " ".join(reader.pages[0].extract_text().split())
    assert "Brake sheet" in said and "to the back gauge" in said
    assert float(reader.pages[0].mediabox.width) / 72 * 25.4 == pytest.approx(297.0, abs=0.01)
