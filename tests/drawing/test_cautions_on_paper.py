"""On every paper each caution stands once, on its first sheet, above the tables, in ink and letters that are read."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from bracketgen.drawing.picture.preview import preview
from bracketgen.drawing.sheet import INK, Paper, Sheet
from bracketgen.drawing.site.site_sheet import site_page
from bracketgen.drawing.template.pages import template_pages
from bracketgen.drawing.workshop.brake_sheet import brake_pages
from bracketgen.drawing.workshop.hand_work import hand_work
from bracketgen.drawing.workshop.shop_drawing import shop_drawing
from bracketgen.pipeline import Made, work_out
from bracketgen.shop.brake.brakes import usual_press
from bracketgen.shop.brake.plan import plan_brake
from bracketgen.shop.order import Bender, order_line, order_text
from bracketgen.standards.cautions import cautions

SHAPES = Path(__file__).parents[2] / "shapes"
#: Capitals of 2.5 mm: in the font of the papers they are 0.729 of the letter size.
LEAST_LETTERS_MM = 2.5 / 0.729


@cache
def made(name: str) -> Made:
    path = SHAPES / f"{name}.toml"
    return work_out(path.read_text(encoding="utf-8"), str(path), path.stem, folder=str(path.parent))


TAB, MOUNT = "hanger-tab", "filter-mount"
ON_PAPER = [
    f"{kind} {paper.name}" for kind in ("drawing", "hand work", "template") for paper in (Paper.A4, Paper.LETTER)
]


@cache
def pages_of(name: str, kind: str) -> tuple[Sheet, ...]:
    one = made(name)
    if kind == "picture":
        return (preview(one.flat, one.folded, one.findings),)
    if kind == "brake":
        return brake_pages(plan_brake(one.flat, usual_press()))
    paper = Paper[kind.rsplit(" ", 1)[1]]
    if kind.startswith("drawing"):
        return shop_drawing(one.flat, one.folded, one.findings, paper)
    if kind.startswith("hand work"):
        return hand_work(one.flat, one.folded, one.findings, paper)
    return template_pages(one.flat, one.folded, paper)


def _hold(one: Made, pages: tuple[Sheet, ...]) -> None:
    told = [label for label in pages[0].labels if label.colour == INK and label.size_mm >= LEAST_LETTERS_MM]
    said = " ".join(label.text for label in told)
    everywhere = " ".join(label.text for sheet in pages for label in sheet.labels)
    assert one.job.part.cautions
    for caution in one.job.part.cautions:
        assert said.count(caution) == 1 and everywhere.count(caution) == 1, caution
    assert said.index("Local vehicle codes") == min(said.index(c) for c in one.job.part.cautions)


@pytest.mark.parametrize("paper", ["picture", *ON_PAPER])
def test_a_welded_tab(paper: str) -> None:
    _hold(made(TAB), pages_of(TAB, paper))


@pytest.mark.parametrize("paper", ["A4", "LETTER"])
def test_all_that_hand_work_asks_stands_on_its_first_sheet(paper: str) -> None:
    said = " ".join(label.text for label in pages_of(TAB, f"hand work {paper}")[0].labels)
    for row in (row for row in cautions().values() if row.on == "hand work"):
        assert said.count(row.printed) == 1, row.id


@pytest.mark.parametrize("paper", ["picture", "brake", *ON_PAPER])
def test_a_bent_mount(paper: str) -> None:
    _hold(made(MOUNT), pages_of(MOUNT, paper))


def test_a_part_in_its_place() -> None:
    one = made("sites/exhaust-hanger")
    assert one.place is not None
    _hold(one, (site_page(one.place),))


@pytest.mark.parametrize(
    ("paper", "table"),
    [
        ("drawing A4", "Holes, centres"),
        ("hand work LETTER", "Punch marks"),
        ("brake", "step"),
        ("template A4", "Print"),
    ],
)
def test_they_stand_above_the_tables(paper: str, table: str) -> None:
    labels = pages_of(MOUNT, paper)[0].labels
    lowest = min(m.at.y for m in labels if m.text.endswith("Cut edges are sharp: deburr.") or "deburr. Press" in m.text)
    assert lowest > max(
        m.at.y for m in labels if m.text.startswith(table) and not m.shows.startswith("step 1 ") and m.shows
    )


def test_the_order_sheet_says_each_once_and_whose_it_is() -> None:
    parts = made(TAB), made(MOUNT)
    lines = [order_line(one.flat, (1.0, 1.0, 1.0), 1, Bender.CUSTOMER) for one in parts]
    text = " ".join(order_text("order", lines, {line.name: ["x.dxf"] for line in lines}).split())
    for caution in {caution for one in parts for caution in one.job.part.cautions}:
        assert text.count(caution) == 1, caution
    assert text.index("Local vehicle codes") < text.index("Part 1: Exhaust") < text.index("1. hanger-tab")
    assert "Part 2: Fuel" in text and "Part 1: Cut edges" not in text
