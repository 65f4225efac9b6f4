"""Units, gauges, parameters and what is set from outside: what a description's values come to."""

from __future__ import annotations

import pytest
from described import angle, plate
from whole_way import whole_way

from bracketgen.description.read import read
from bracketgen.errors import InputFaults
from bracketgen.pipeline import work_out

WIDTH = 'shape = "rectangle", width = {}, height = 80'


def width(value: str, *further: str, **set_values: str) -> float:
    """Width in mm of a plate that is described as this wide."""
    made = work_out(plate(*further, outline=WIDTH.format(value)), "part.toml", "part", set_values)
    return made.flat.bounds_mm[2]


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        ("62", 62),
        ("62.5", 62.5),
        ('"62 mm"', 62),
        ('"2 1/2 in"', 63.5),
        ("'2-1/2\"'", 63.5),
        ("'3/8\"'", 9.525),
        ('"12.7 mm"', 12.7),
        ('"1 ft 2 in"', 355.6),
        ('"4 cm"', 40),
        ('"40 thou"', 1.016),
        ('"(60 mm + 1/2 in)"', 72.7),
        ('"(2 * 31)"', 62),
        ('"(hypot(30 mm, 40 mm))"', 50),
        ('"(100 mm * cos(60 deg))"', 50),
        ('"(max(20 mm, 1 in))"', 25.4),
    ],
)
def test_lengths_as_people_write_them(typed: str, mm: float) -> None:
    assert width(typed) == pytest.approx(mm, abs=1e-12)


def test_in_a_file_in_inches_a_bare_number_is_inches() -> None:
    text = plate(outline='shape = "rectangle", width = 4, height = "50 mm"').replace('"mm"', '"in"', 1)
    made = work_out(text.replace("thickness = 2", 'thickness = "2 mm"'), "part.toml", "part")
    assert made.flat.bounds_mm == pytest.approx((0, 0, 101.6, 50))


@pytest.mark.parametrize(
    ("metal", "thickness", "mm"),
    [
        # Machinery's Handbook, 31st ed., sheet gauges: 0.1196, 0.1250, 0.0907, 0.1233 in; 16 ga: 0.0598 in.
        ("S235", "11 ga", 0.1196 * 25.4),
        ("304", "11 gauge", 0.1250 * 25.4),
        ("5052-H32", "11 ga", 0.0907 * 25.4),
        ("DX51D", "11ga", 0.1233 * 25.4),
        ("S235", "16 ga.", 0.0598 * 25.4),
        ("S235", "3/16 in", 4.7625),
    ],
)
def test_a_gauge_is_another_thickness_in_every_metal(metal: str, thickness: str, mm: float) -> None:
    text = plate().replace('"S235"', f'"{metal}"').replace("thickness = 2", f'thickness = "{thickness}"')
    stock = whole_way(text).job.part.stock
    assert stock.thickness_mm == pytest.approx(mm, abs=1e-12)
    assert stock.thickness_typed == thickness


def test_a_metal_is_known_by_its_other_names() -> None:
    assert whole_way(plate().replace('"S235"', '"1.4301"')).job.part.stock.metal.id == "304"


# -- parameters


def test_parameters_lean_on_each_other_in_any_order() -> None:
    table = '[parameters]\nhalf = "(reach / 2 + 5 mm)"\nreach = { value = "60 mm", least = "40 mm", most = "3 in" }'
    assert width('"(2 * half)"', table) == pytest.approx(70)


def test_a_plain_value_and_a_table_are_the_same() -> None:
    assert width('"reach"', '[parameters]\nreach = "72 mm"') == width('"reach"', '[parameters.reach]\nvalue = "72 mm"')


def test_a_number_without_unit_is_a_length_where_its_kind_says_so() -> None:
    assert width('"reach"', '[parameters.reach]\nvalue = 72\nkind = "length"') == 72


def test_a_parameter_can_be_a_count_an_angle_or_a_number() -> None:
    text = plate(
        "[parameters]\nn = 3\nway = '90 deg'\nshare = 0.5",
        "[[panels.base.holes]]\ndiameter = 4\nat = ['(100 mm * share)', 20]",
        "pattern = { kind = 'row', count = 'n', spacing = '(40 mm / (n + 1))', direction = 'way' }",
    )
    holes = whole_way(text).job.part.panels[0].holes
    assert [tuple(h.centre) for h in holes] == [pytest.approx(p) for p in [(50, 20), (50, 30), (50, 40)]]


def test_parameters_are_echoed_as_read_and_as_typed() -> None:
    table = '[parameters]\nreach = "2 1/2 in"\nn = 3'
    assert whole_way(plate(table)).job.parameters == (("reach", "63.5 mm (typed 2 1/2 in)"), ("n", "3"))


# -- set from outside

REACH = '[parameters.reach]\nvalue = "60 mm"\nleast = "40 mm"\nmost = "3 in"'


@pytest.mark.parametrize(("typed", "mm"), [("45 mm", 45), ("2-1/2 in", 63.5), ("(20 mm + 1 in)", 45.4), ("40 mm", 40)])
def test_a_value_set_from_outside_takes_the_place_of_the_written_one(typed: str, mm: float) -> None:
    assert width('"reach"', REACH, reach=typed) == pytest.approx(mm)


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("reach", "39.99 mm", ("set reach", "below its least", "40 mm")),
        ("reach", "77 mm", ("above its most", "76.2 mm")),
        ("reach", "50,5 mm", ("comma", "50.5 mm")),
        ("reach", "long", ("long",)),
        ("reech", "50 mm", ("no parameter 'reech'", "did you mean 'reach'")),
        ("width", "50 mm", ("no parameter 'width'", "reach")),
    ],
)
def test_faults_of_a_value_set_from_outside(name: str, typed: str, words: tuple[str, ...]) -> None:
    with pytest.raises(InputFaults) as told:
        width('"reach"', REACH, **{name: typed})
    (fault,) = told.value.faults
    for word in words:
        assert word in str(fault)


def test_a_wrong_parameter_is_told_once_and_not_where_it_is_used() -> None:
    text = plate(
        "[parameters]\nreach = '60 furlongs'",
        *(f"[[panels.base.holes]]\ndiameter = 3\nat = ['reach', '({n} * reach)']" for n in range(5)),
    )
    with pytest.raises(InputFaults) as told:
        read(text, "part.toml")
    assert len(told.value.faults) == 1
    assert "furlongs" in str(told.value)


# -- habits of the shop


@pytest.mark.parametrize(
    ("further", "least"),
    [
        # The chart's shortest flange over a V of 32 is 22 mm; a length of the shop's own stands before it.
        ("die = 32", 22.0),
        ("die = 32\nminimum_leg = 30", 30.0),
        ("inside_radius = 4\nminimum_leg = 25", 25.0),
        # A die that no chart holds is fine as soon as the shop says what it does.
        ('die = "1 1/4 in"\ninside_radius = 4\nminimum_leg = 20', 20.0),
        ("inside_radius = 4", None),
    ],
)
def test_shortest_leg(further: str, least: float | None) -> None:
    text = angle(table=f'{further}\nsizes = "outside"')
    assert [b.minimum_leg_mm for b in whole_way(text).job.part.bends] == [least]


def test_what_one_bend_says_stands_before_what_all_say() -> None:
    (bend,) = whole_way(angle("turn = 90, inside_radius = 6")).job.part.bends
    assert bend.inside_radius_mm == 6.0


def test_waivers_and_cautions_go_with_the_part() -> None:
    waiver = '[[waivers]]\nrule = "hole-edge"\nreason = "holds a label only"'
    part = whole_way('near = ["fuel", "weld"]\n' + plate(waiver)).job.part
    (kept,) = part.waivers
    assert (kept.rule, kept.subject, kept.reason) == ("hole-edge", "*", "holds a label only")
    assert part.cautions[0].startswith("Local vehicle codes and licensed practice come first")
    assert [c.split(":")[0] for c in part.cautions[1:3]] == ["Fuel", "Hot work"]
    assert "deburr" in part.cautions[-1]


def test_a_blank_is_held_to_the_sheet_that_can_be_had() -> None:
    made = work_out(plate(stock="sheet = [90, 70]"), "part.toml", "part")
    assert [f.rule for f in made.findings if f.rule == "sheet-size"] == ["sheet-size"]
