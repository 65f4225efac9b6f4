"""Rubber between part and mate: what is listed, how long the bolt is by hand, and when no torque stands."""

from __future__ import annotations

import re

import pytest
from command_line import PLATE, words
from site_parts import PLATE as PLATE_ON_TABS
from site_parts import SITE, TABS, folded_of, located_at, seen, site_of
from whole_way import whole_way

from bracketgen.findings import Level
from bracketgen.part.part import Part
from bracketgen.pipeline import work_out
from bracketgen.shop.hardware import BoltSet, Mate, bolt_sets, hardware_lines, mates_in_place
from bracketgen.vehicle.in_place import InPlace
from bracketgen.vehicle.seating.bolts import Placed, hardware
from bracketgen.vehicle.seating.place import place

WARN, FAIL, NOTE = Level.WARN, Level.FAIL, Level.NOTE


def text(isolator: str = "", more: str = "", stock: str = "") -> str:
    """Plate of 4 mm, one M8 hole in its middle."""
    rubber = f"isolator = {{ {isolator} }}\n" if isolator else ""
    described = PLATE.replace('diameter = "bore"\n', f'bolt = "M8"\n{rubber}{more}')
    return described.replace("thickness = 4\n", f"thickness = 4\n{stock}\n")


def part(isolator: str, more: str = "") -> Part:
    return whole_way(text(isolator, more)).flat.part


def only_set(isolator: str, mate_mm: float | None = 6.0) -> BoltSet:
    made = part(isolator)
    (one,) = bolt_sets(made, {made.panels[0].holes[0].id: Mate(mate_mm)})
    return one


def said(described: str, rule: str) -> list[tuple[Level, float | None, float | None]]:
    made = work_out(described, "part.toml", "part")
    return [(f.level, f.measured, f.required) for f in made.findings if f.rule == rule]


# Wide washers M8 are 2 mm thick (ISO 7093, from memory), normal ones 1.6 (ISO 7089); nut 6.8 (ISO 4032); pitch 1.25.


def test_a_bush_takes_the_place_of_the_part_in_the_grip() -> None:
    # 18 + 6 + 2 x 2 + 6.8 + 2 x 1.25 = 37.3, next 40; with a sleeve of 15: 34.3, next 35.
    one = only_set('kind = "bush", height = 18, hole = 16')
    assert (one.least_mm, one.length_mm, one.washers, one.nuts) == (pytest.approx(37.3), 40.0, 2, 1)
    one = only_set('kind = "bush", height = 18, hole = 16, sleeve = 15')
    assert (one.least_mm, one.length_mm) == (pytest.approx(34.3), 35.0)


def test_a_pad_adds_to_the_grip() -> None:
    # 4 + 5 + 6 + 4 + 6.8 + 2.5 = 28.3, next 30.
    one = only_set('kind = "pad", height = 5')
    assert (one.least_mm, one.length_mm) == (pytest.approx(28.3), 30.0)


def test_a_bobbin_with_studs_wants_nuts_only() -> None:
    # 4 + 1.6 + 6.8 + 2.5 = 14.9, whatever is at its other end.
    one = only_set('kind = "bobbin", height = 20, stud = 20')
    assert (one.bolts, one.nuts, one.washers, one.length_mm) == (0, 1, 1, None)
    assert one.least_mm == pytest.approx(14.9)


@pytest.mark.parametrize(
    ("depth", "length"),
    # At least 4 + 1.6 + 8 = 13.6; at most 5.6 + depth: 16 fits from 10.4 on, 20 from 14.4 on.
    [(8.0, None), (10.3, None), (10.4, 16.0), (14.3, 16.0), (14.4, 20.0)],
)
def test_a_bolt_into_a_bobbin_never_meets_the_bottom(depth: float, length: float | None) -> None:
    one = only_set(f'kind = "bobbin", height = 20, depth = {depth}')
    assert (one.least_mm, one.length_mm, one.nuts, one.washers) == (pytest.approx(13.6), length, 0, 1)


def test_the_hole_is_the_bush_s() -> None:
    hole = part('kind = "bush", height = 18, hole = 16').panels[0].holes[0]
    assert (hole.shape.width_mm, hole.fastener) == (16.0, "M8")
    assert part('kind = "pad", height = 5').panels[0].holes[0].shape.width_mm == 9.0


@pytest.mark.parametrize(
    ("isolator", "torque"),
    [
        ('kind = "bush", height = 18, hole = 16', "no torque from a table: rubber in the grip"),
        ('kind = "pad", height = 5', "no torque from a table: rubber in the grip"),
        ('kind = "bush", height = 18, hole = 16, sleeve = 17', "21.6 N m at total friction 0.10 on the steel sleeve"),
        ('kind = "pad", height = 5, hole = 12, sleeve = 8', "21.6 N m at total friction 0.10 on the steel sleeve"),
        ('kind = "pad", height = 5, torque = 6.5', "6.5 N m, the isolator maker's as the description says"),
        ('kind = "bobbin", height = 20, stud = 20', "no torque from a table: the bobbin turns and tears"),
        ('kind = "bobbin", height = 20, depth = 12, torque = 10', "10 N m, the isolator maker's"),
    ],
)
def test_torque_only_where_no_rubber_is_squeezed(isolator: str, torque: str) -> None:
    line = hardware_lines(part(isolator), 1)[0]
    assert torque in line
    assert re.findall(r"[\d.]+ N m", line) == re.findall(r"[\d.]+ N m", torque)


def test_the_list_names_isolators_with_their_sizes_and_cautions() -> None:
    list_ = words(hardware_lines(part('kind = "bush", height = 18, hole = 16, sleeve = 17'), 3))
    # 17 + 4 (as thick as the part) + 4 + 6.8 + 2.5 = 34.3, next 35.
    assert "3 bolts M8 x 35" in list_ and "6 wide washers, 3 nuts class 8" in list_
    assert "3 x rubber bush for M8, 18 mm over all, for a hole of 16 mm, steel sleeve 17 mm long" in list_
    assert "when the rubber is gone" in list_ and "without dynamic load" in list_
    bobbin = words(hardware_lines(part('kind = "bobbin", height = 20, stud = 20'), 2))
    assert "2 washers M8, 2 nuts class 8, 2 x rubber bobbin M8, 20 mm between the plates, stud 20 mm" in bobbin
    assert "N m" not in bobbin and "bolt M8" not in bobbin


# -- findings


@pytest.mark.parametrize(
    ("isolator", "expected"),
    [
        ('kind = "pad", height = 5', [(WARN, 5.0, None)]),
        ('kind = "pad", height = 5, torque = 6', []),
        ('kind = "pad", height = 5, hole = 12, sleeve = 8', []),
        ('kind = "bush", height = 18, hole = 16', [(WARN, 18.0, None)]),
        ('kind = "bobbin", height = 20, stud = 20', [(NOTE, 20.0, None)]),
        ('kind = "bobbin", height = 20, stud = 20, torque = 8', []),
        ("", []),
    ],
)
def test_rubber_in_the_grip_without_a_torque_is_told(isolator: str, expected: list[tuple[Level, float, None]]) -> None:
    assert said(text(isolator), "soft-grip") == expected


@pytest.mark.parametrize(
    ("near", "level"), [("fuel", FAIL), ("oil", FAIL), ("brake", FAIL), ("exhaust", WARN), ("load", WARN)]
)
def test_beside_a_fluid_a_torque_must_be_known(near: str, level: Level) -> None:
    described = text('kind = "pad", height = 5').replace('units = "mm"\n', f'units = "mm"\nnear = ["{near}"]\n')
    assert [found for found, *_ in said(described, "soft-grip")] == [level]
    assert said(described.replace("height = 5 }", "height = 5, torque = 7 }"), "soft-grip") == []


@pytest.mark.parametrize(
    ("coating", "film", "expected"),
    [
        ("powder", 0.1, [(NOTE, 0.1, None)]),
        ("paint", 0.05, [(NOTE, 0.05, None)]),
        ("zinc", 0.01, []),
        ("zinc primer", 0.03, [(NOTE, 0.03, None)]),
        ("something new", 0.1, [(NOTE, 0.1, None)]),
        ("powder", 0, []),
    ],
)
def test_paint_in_the_grip_is_told_and_wants_bare_seats(
    coating: str, film: float, expected: list[tuple[Level, float, None]]
) -> None:
    described = text(stock=f'coating = {{ kind = "{coating}", film = {film} }}')
    assert said(described, "soft-grip") == expected
    line = hardware_lines(whole_way(described).flat.part, 1)[0]
    assert "21.6 N m" in line and ("only on seats masked bare" in line) == bool(expected)


def test_a_sleeve_through_painted_metal_does_not_sit_on_paint() -> None:
    described = text(
        'kind = "bush", height = 18, hole = 16, sleeve = 17', stock='coating = { kind = "powder", film = 0.1 }'
    )
    assert said(described, "soft-grip") == []


@pytest.mark.parametrize(
    ("isolator", "expected"),
    [
        # A bush or sleeve must stand out of 4 mm of metal.
        ('kind = "bush", height = 3.99, hole = 16, torque = 5', [(FAIL, 3.99, 4.0)]),
        ('kind = "bush", height = 4, hole = 16, torque = 5', [(FAIL, 4.0, 4.0)]),
        ('kind = "bush", height = 4.01, hole = 16, torque = 5', []),
        ('kind = "pad", height = 5, hole = 12, sleeve = 4', [(FAIL, 4.0, 4.0)]),
        # A sleeve is no longer than the rubber (and, for a pad, the metal) it goes through.
        ('kind = "bush", height = 18, hole = 16, sleeve = 18', []),
        ('kind = "bush", height = 18, hole = 16, sleeve = 18.01', [(WARN, 18.0, 18.01)]),
        ('kind = "pad", height = 5, hole = 12, sleeve = 9', []),
        ('kind = "pad", height = 5, hole = 12, sleeve = 9.01', [(WARN, 9.0, 9.01)]),
        # The wide washer of M8 has 24 mm (ISO 7093).
        ('kind = "bush", height = 18, hole = 23.99', []),
        ('kind = "bush", height = 18, hole = 24', [(FAIL, 24.0, 24.0)]),
        # Part 4 + washer 1.6 + nut 6.8 = 12.4, with two threads 14.9.
        ('kind = "bobbin", height = 20, stud = 12.39', [(FAIL, 12.39, 14.9)]),
        ('kind = "bobbin", height = 20, stud = 12.4', [(WARN, 12.4, 14.9)]),
        ('kind = "bobbin", height = 20, stud = 14.89', [(WARN, 14.89, 14.9)]),
        ('kind = "bobbin", height = 20, stud = 14.9', []),
        # One diameter of thread in the bobbin.
        ('kind = "bobbin", height = 20, depth = 7.99', [(WARN, 7.99, 8.0)]),
        ('kind = "bobbin", height = 20, depth = 8', []),
    ],
)
def test_sizes_that_do_not_go_together(isolator: str, expected: list[tuple[Level, float, float]]) -> None:
    found = said(text(isolator), "isolator-fit")
    assert [level for level, _, _ in found] == [level for level, _, _ in expected]
    for (_, *numbers), (_, *wanted) in zip(found, expected, strict=True):
        assert numbers == pytest.approx(wanted)


# -- at a site


def at_site(isolator: str) -> InPlace:
    """The plate of 3 mm on its two tabs of 5 mm, with isolators."""
    return seen(plate=PLATE_ON_TABS.replace('bolt = "M8"\n', f'bolt = "M8"\nisolator = {{ {isolator} }}\n'))


def seated(isolator: str, more: str = "") -> Placed:
    """The same, only put in its place."""
    text_ = PLATE_ON_TABS.replace('bolt = "M8"\n', f'bolt = "M8"\nisolator = {{ {isolator} }}\n') + more
    reading, folded = folded_of(text_)
    site = site_of(SITE)
    assert reading.document.site is not None
    return place(folded, reading.document.site, reading.source, site, located_at(site, TABS))


@pytest.mark.parametrize(
    ("isolator", "stands"),
    # A pad and a bobbin by their height, a bush by half of what it is longer than 3 mm.
    [('kind = "pad", height = 5', 5.0), ('kind = "bobbin", height = 20, stud = 20', 20.0),
     ('kind = "bush", height = 15, hole = 16', 6.0)],
)  # fmt: skip
def test_rubber_holds_the_part_off_its_mate(isolator: str, stands: float) -> None:
    # Its origin is on the described face, 3 mm above the back.
    assert seated(isolator).frame.origin[2] == pytest.approx(stands + 3.0)
    shims = '[site.shims]\n"plate/tab-1" = 4\n"plate/tab-2" = 4\n'
    assert seated(isolator, shims).frame.origin[2] == pytest.approx(7.0)


def test_the_bolt_is_as_long_as_the_stack_at_the_site() -> None:
    # Pad: 3 + 5 + 5 + 2 x 2 + 6.8 + 2.5 = 26.3.
    here = at_site('kind = "pad", height = 5')
    (one,) = bolt_sets(here.placed.folded.part, mates_in_place(here))
    assert (one.count, one.least_mm, one.length_mm) == (2, pytest.approx(26.3), 30.0)
    # Washers of 4 mm between, no rubber: 3 + 4 + 5 + 2 x 1.6 + 6.8 + 2.5 = 24.5.
    here = seen(plate=PLATE_ON_TABS + '[site.shims]\n"plate/tab-1" = 4\n"plate/tab-2" = 4\n')
    mates = mates_in_place(here)
    (one,) = bolt_sets(here.placed.folded.part, mates)
    assert one.least_mm == pytest.approx(24.5)
    assert "4 mm between the two counted in" in hardware_lines(here.placed.folded.part, 1, mates)[0]


def test_a_bush_lifts_the_head_and_leaves_its_bolt_no_play_but_the_tab_s() -> None:
    here = at_site('kind = "bush", height = 15, hole = 16')
    # The tabs' holes are 9 mm for M8.
    assert [bolt.play_mm for bolt in here.placed.bolts] == [pytest.approx(0.5)] * 2
    solids = hardware(here.placed, here.site.document)[0]
    washer = dict(solids.over)["washer"]
    assert (washer.a[2], washer.b[2]) == (pytest.approx(15.0), pytest.approx(16.6))
    # Below: 5 mm of tab, then washer and nut.
    nut = dict(solids.behind)["nut"]
    assert max(nut.a[2], nut.b[2]) == pytest.approx(-5.0 - 1.6)
