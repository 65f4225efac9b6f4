from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bracketgen.description.family import LONGEST, name_trouble, part_name, read_family
from bracketgen.errors import Fault, InputFaults, Place


def test_rows_give_names_and_values_as_typed() -> None:
    family = read_family("name,reach,count\nshort, 40 mm,2\nlong,1 1/2 in,\n", "t.csv")
    assert family.faults == ()
    assert [(m.name, m.values) for m in family.members] == [
        ("short", {"reach": "40 mm", "count": "2"}),
        ("long", {"reach": "1 1/2 in"}),
    ]


def test_places_count_lines_and_columns_of_the_text() -> None:
    family = read_family("# sizes\n\nname,reach,count\nshort, 40 mm,2\n", "t.csv")
    cells = family.members[0].cells
    assert family.members[0].place == Place("t.csv", 4, 1)
    assert cells["reach"].place == Place("t.csv", 4, 8)
    assert cells["count"].place == Place("t.csv", 4, 14)
    assert [c.place.column for c in family.columns] == [6, 12]


@pytest.mark.parametrize("comma", [",", ";", "\t"])
def test_other_commas_and_quotes_as_spreadsheets_write_them(comma: str) -> None:
    stream = io.StringIO()
    csv.writer(stream, delimiter=comma).writerows([["name", "reach"], ["a", '2 1/2"'], ["b", "x,y;z"]])
    family = read_family("\ufeff" + stream.getvalue(), "t.csv")
    assert [m.values["reach"] for m in family.members] == ['2 1/2"', "x,y;z"]


@given(
    st.lists(
        st.text(st.characters(exclude_characters="\r\n\t#", exclude_categories=("C", "Z")), min_size=1), max_size=5
    )
)
def test_cells_are_read_as_the_csv_library_wrote_them(cells: list[str]) -> None:
    stream = io.StringIO()
    columns = [f"c{n}" for n in range(len(cells))]
    csv.writer(stream).writerows([["name", *columns], ["part", *cells]])
    members = read_family(stream.getvalue(), "t.csv").members
    assert list(members[0].values.values()) == cells


def test_an_inch_mark_at_the_end_needs_no_quotes() -> None:
    assert read_family('name,reach\na,2 1/2"\n', "t.csv").members[0].values == {"reach": '2 1/2"'}


def test_every_row_is_read_and_every_fault_told() -> None:
    text = "name,reach\ngood,1\n,2\nein name,3\nGood,4\nthree,5,6\ncon,7\nlast,8\n"
    family = read_family(text, "t.csv")
    assert [m.name for m in family.members] == ["good", "last"]
    assert [str(f).split(";")[0] for f in family.faults] == [
        "t.csv:3:1: the name is empty",
        "t.csv:4:1: the name 'ein name' has letters that don't fit every file name",
        "t.csv:5:1: the name 'Good' stands in line 2 already",
        "t.csv:6:1: the row has 3 cells, the heading 2",
        "t.csv:7:1: the name 'con' is kept for a device on some machines",
    ]
    assert "write ein-name" in str(family.faults[1])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "t.csv:1:1: the table is empty"),
        ("# only a remark\n\n", "t.csv:1:1: the table is empty"),
        ("name,reach\n", "t.csv:1:1: the table has a heading and no rows"),
        ("part,reach\na,1\n", "t.csv:1:1: the first column is 'part'; call it name"),
        ("name,reach,reach\na,1,2\n", "t.csv:1:12: the column 'reach' stands twice; strike out one"),
        ("name,,reach\na,1,2\n", "t.csv:1:6: column 2 has no heading"),
    ],
)
def test_a_heading_that_can_not_be_used_is_told(text: str, said: str) -> None:
    with pytest.raises(InputFaults) as caught:
        read_family(text, "t.csv")
    assert str(caught.value).startswith(said)


def test_faults_of_values_move_to_their_cells() -> None:
    member = read_family("name,reach\nshort,40,\nshorter,abc\n", "t.csv").members[0]
    faults = [Fault(Place("d.toml (set reach)"), "wrong", "cure"), Fault(Place("d.toml", 3, 4), "other")]
    assert member.name == "shorter"
    assert member.placed(faults, "d.toml") == (
        Fault(Place("t.csv", 3, 9), "wrong", "cure"),
        Fault(Place("d.toml", 3, 4), "shorter: other"),
    )


@given(st.text(max_size=120))
def test_a_made_name_is_always_one_that_is_accepted(stem: str) -> None:
    name = part_name(stem)
    assert name == "" or name_trouble(name) == ""
    assert len(name) <= LONGEST


@pytest.mark.parametrize("name", ["tab", "tab-2", "M8_tab", "v1.2", "8mm"])
def test_plain_names_stay_as_they_are(name: str) -> None:
    assert part_name(name) == name


@pytest.mark.parametrize("name", ["", "-a", ".a", "a b", "a/b", "a\\b", "ä", "a.", "NUL", "com1.x", "a" * 81, "a\n"])
def test_names_that_some_machine_refuses_are_refused(name: str) -> None:
    assert name_trouble(name)
