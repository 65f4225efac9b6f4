"""Every table: sources, units, printed against stored, and order."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import pytest

from bracketgen.standards.table import (
    LookupFault,
    citation,
    load_table,
    noted_citation,
    rows,
    source_ids,
    table_names,
)

HOWS = {"read", "memory", "computed", "common practice"}

#: Number and letter drills in inches, ASME B94.11M; the hole and tap drills name them.
DRILLS = {
    "#2": "0.2210", "#3": "0.2130", "#5": "0.2055", "#7": "0.2010", "#9": "0.1960", "#13": "0.1850",
    "#15": "0.1800", "#18": "0.1695", "#23": "0.1540", "#25": "0.1495", "#27": "0.1440", "#29": "0.1360",
    "#30": "0.1285", "#31": "0.1200", "#36": "0.1065", "#38": "0.1015", "#43": "0.0890",
    "B": "0.2380", "F": "0.2570", "U": "0.3680",
}  # fmt: skip


def inches(printed: str) -> Fraction:
    """'17/64', '1-1/32', '#7' or 'F' as an exact number of inches."""
    if printed in DRILLS:
        return Fraction(DRILLS[printed])
    return sum((Fraction(part) for part in printed.split("-")), Fraction(0))


@pytest.mark.parametrize("name", table_names())
def test_every_row_says_where_from_and_how(name: str) -> None:
    table = load_table(name)
    assert table.title and table.rows
    assert table.columns[-1] in ("how", "from_memory", "how_along")
    for row in table.rows:
        assert row["source"], row
        for column in (c for c in table.columns if c == "how" or c.startswith("how_") or c.endswith("_how")):
            assert row[column] in HOWS, (column, row)
        for column in (c for c in table.columns if "source" in c):
            assert all(one in source_ids() for one in row[column].split()), row


@pytest.mark.parametrize("name", table_names())
def test_rows_are_whole_and_numbers_are_numbers(name: str) -> None:
    table = load_table(name)
    measured = re.compile(r".*_(mm|in|deg|per_t|per_hole|per_bolt|mpa|gpa|kg_m3|per_k)$")
    for row in table.rows:
        assert tuple(row) == table.columns
        assert all(isinstance(cell, str) and cell == cell.strip() for cell in row.values())
        for column in table.columns:
            fraction = name == "bolt_edge" and column == "rolled_or_cut_in"
            if measured.match(column) and row[column] and not fraction:
                assert float(row[column]) >= 0


@pytest.mark.parametrize("name", table_names())
def test_columns_named_from_memory_exist(name: str) -> None:
    table = load_table(name)
    for row in table.rows:
        for column in row.get("from_memory", "").split():
            assert column in table.columns or f"{column}_mm" in table.columns


def test_every_source_is_used_and_has_a_citation() -> None:
    used = {
        one
        for name in table_names()
        for row in load_table(name).rows
        for column in row
        if "source" in column
        for one in row[column].split()
    }
    assert set(source_ids()) == used
    assert all(len(citation(one)) > 10 for one in source_ids())


def test_rows_marked_read_cite_a_source_that_was_read() -> None:
    unread = {one for one in source_ids() if noted_citation(one).endswith("(from memory)")} | {
        "from-memory",
        "no-source",
    }
    assert "en-485-2" in unread and "iso-273" not in unread
    for name in table_names():
        for row in load_table(name).rows:
            if row["how"] == "read":
                assert not unread.issuperset(row["source"].split()), (name, row)


def test_a_table_cannot_be_written_to() -> None:
    with pytest.raises(TypeError):
        load_table("metals").rows[0]["id"] = "other"  # type: ignore[index]


@dataclass(frozen=True)
class TitleAsFigure:
    """A row whose title is taken for a figure."""

    opening_per_t: float
    source: float


def test_a_cell_that_is_no_figure_is_told_with_its_table_and_row() -> None:
    with pytest.raises(ValueError, match=r"table die_rule, row '0 2.5': source can't be 'air-bend-chart'"):
        rows("die_rule", TitleAsFigure)


def test_unknown_table_and_source_name_the_nearest() -> None:
    with pytest.raises(LookupFault) as caught:
        load_table("fastener")
    assert caught.value.nearest == "fasteners"
    assert "fasteners" in str(caught.value)
    with pytest.raises(LookupFault) as caught:
        citation("din-6936")
    assert caught.value.nearest == "din-6935"


def test_inch_clearance_holes_are_their_printed_drill() -> None:
    inch_rows = [row for row in load_table("clearance_holes").rows if row["printed_in"]]
    assert len(inch_rows) == 42
    for row in inch_rows:
        exact = inches(row["printed"])
        assert float(row["diameter_mm"]) == pytest.approx(float(exact * Fraction("25.4")), abs=1e-6)
        assert float(row["printed_in"]) == pytest.approx(float(exact), abs=1e-6)


def test_metric_clearance_holes_are_their_printed_size() -> None:
    for row in load_table("clearance_holes").rows:
        if row["size"].startswith("M"):
            assert float(row["diameter_mm"]) == float(row["printed"].split()[0])


def test_inch_tap_drills_are_their_printed_drill() -> None:
    for row in load_table("fasteners").rows:
        if not row["size"].startswith("M"):
            exact = inches(row["tap_drill_printed"]) * Fraction("25.4")
            assert float(row["tap_drill_mm"]) == pytest.approx(float(exact), abs=1e-6)


@pytest.mark.parametrize("series", ["steel", "stainless", "aluminium", "galvanized"])
def test_gauge_inches_equal_millimetres_and_fall(series: str) -> None:
    held = [row for row in load_table("gauges").rows if row[f"{series}_in"]]
    for row in held:
        assert float(row[f"{series}_mm"]) == pytest.approx(float(row[f"{series}_in"]) * 25.4, abs=1e-6)
    thick = [float(row[f"{series}_mm"]) for row in held]
    assert all(a > b for a, b in pairwise(thick))


def test_bolt_edge_fractions_equal_millimetres() -> None:
    for row in load_table("bolt_edge").rows:
        if row["rolled_or_cut_in"]:
            assert float(row["rolled_or_cut_mm"]) == float(inches(row["rolled_or_cut_in"]) * Fraction("25.4"))
            assert float(row["bolt_diameter_mm"]) == float(inches(row["size"]) * Fraction("25.4"))


@pytest.mark.parametrize("name", ["bend_radius", "cut_tolerance", "die_rule", "thickness_tolerance"])
def test_thickness_bands_join_without_gap(name: str) -> None:
    table = load_table(name)
    key = next((column for column in ("bend_group", "class") if column in table.columns), "")
    for a, b in pairwise(table.rows):
        assert float(a["thickness_over_mm"]) < float(a["thickness_to_mm"])
        if not key or a[key] == b[key]:
            assert a["thickness_to_mm"] == b["thickness_over_mm"]
