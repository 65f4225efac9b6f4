"""Outside sizes of bent legs against what the descriptions say."""

from __future__ import annotations

import pytest
from preview_parts import strip_part, worked
from whole_way import whole_way

from bracketgen.drawing.workshop.tables import leg_table, legs
from bracketgen.part.part import Way

#: Sizes over the outside: base 60 with holes at 22 from its lower edge, upright 55 with holes 32 above the base.
UPRIGHT = """
title = "Pump to bulkhead"
units = "mm"
[stock]
metal = "S235"
thickness = 4
grain = "90 deg"
[bend]
die = 32
allowance = "DIN 6935"
sizes = "outside"
[panels.base]
outline = { shape = "rectangle", width = 100, height = 60 }
[[panels.base.holes]]
name = "foot"
bolt = "M8"
at = [19, 22]
pattern = { kind = "row", count = 2, spacing = 62 }
[panels.upright]
outline = { shape = "rectangle", height = 55 }
bend = { from = "base", edge = "top", turn = 90, way = "up" }
[[panels.upright.holes]]
name = "pump"
bolt = "M10"
at = [31, 32]
pattern = { kind = "row", count = 2, spacing = 38 }
"""


def test_sizes_come_out_as_described() -> None:
    base, upright = legs(whole_way(UPRIGHT).flat)
    assert (base.panel, base.bend, base.next_bend) == ("base", 1, None)
    assert base.outside_mm == pytest.approx(60.0, abs=1e-9)
    assert [far for _, far in base.holes] == pytest.approx([38.0, 38.0], abs=1e-9)
    assert upright.outside_mm == pytest.approx(55.0, abs=1e-9)
    assert [far for _, far in upright.holes] == pytest.approx([32.0, 32.0], abs=1e-9)


def test_the_table_of_the_upright() -> None:
    table = leg_table(whole_way(UPRIGHT).flat)
    assert table.rows == (("'base'", "1", "60", "A1, A2: 38"), ("'upright'", "1", "55", "B1, B2: 32"))


@pytest.mark.parametrize(
    ("ways", "turn"), [((Way.UP, Way.UP), 90.0), ((Way.UP, Way.DOWN), 90.0), ((Way.UP, Way.UP), 120.0)]
)
def test_a_leg_between_two_bends_is_measured_over_both(ways: tuple[Way, Way], turn: float) -> None:
    """Straight lengths 30, 40, 25, t 3, R 5: up to square and beyond, R + t = 8 at each bend."""
    flat, _ = worked(strip_part("bent", 20.0, (30.0, 40.0, 25.0), tuple((turn, way, 5.0) for way in ways)))
    made = legs(flat)
    assert [(leg.bend, leg.next_bend) for leg in made] == [(1, None), (1, 2), (2, None)]
    assert [leg.outside_mm for leg in made] == pytest.approx([38.0, 56.0, 33.0], abs=1e-9)


def test_below_square_the_outer_faces_meet_nearer() -> None:
    """60 degrees: (R + t) tan 30 = 4.6188."""
    flat, _ = worked(strip_part("bent", 20.0, (30.0, 25.0), ((60.0, Way.DOWN, 5.0),)))
    assert [leg.outside_mm for leg in legs(flat)] == pytest.approx([34.6188, 29.6188], abs=5e-5)
