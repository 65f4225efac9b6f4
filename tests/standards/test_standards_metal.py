"""Metals, gauges and least bend radii against the printed standards."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bracketgen.standards.metals import Grain, gauge_mm, metal, metal_ids, minimum_bend_radius
from bracketgen.standards.table import LookupFault


@pytest.mark.parametrize(
    ("gauge", "series", "inches"),
    # Machinery's Handbook 31st ed. p. 1453. Steel 10 and stainless 21 are misprinted in the copy read
    # (.1395, .0244); their millimetre columns, 3.416 and .873, give the values here.
    [
        (10, "steel", 3.416 / 25.4),
        (11, "steel", 0.1196),
        (14, "steel", 0.0747),
        (16, "steel", 0.0598),
        (11, "stainless", 0.1250),
        (21, "stainless", 0.873 / 25.4),
        (11, "aluminium", 0.0907),
        (14, "galvanized", 0.0785),
    ],
)
def test_gauges(gauge: int, series: str, inches: float) -> None:
    assert gauge_mm(gauge, series).thickness_mm == pytest.approx(inches * 25.4, abs=0.0015)


def test_ten_gauge_steel_weighs_what_its_definition_says() -> None:
    # Manufacturers' Standard gauge: 10 gauge is 5.625 lb/ft2, at 41.82 lb/ft2 per inch.
    assert gauge_mm(10, "steel").thickness_mm / 25.4 == pytest.approx(5.625 / 41.82, abs=5e-5)


@pytest.mark.parametrize("gauge", range(7, 25))
def test_aluminium_gauge_is_the_geometric_series(gauge: int) -> None:
    # Brown and Sharpe (AWG): 0.005 x 92^((36 - n) / 39) in, to the printed four places.
    assert gauge_mm(gauge, "aluminium").thickness_mm / 25.4 == pytest.approx(
        0.005 * 92 ** ((36 - gauge) / 39), abs=6e-5
    )


@pytest.mark.parametrize("gauge", range(9, 25))
def test_galvanized_is_steel_plus_zinc(gauge: int) -> None:
    # The galvanized gauge is the steel gauge plus 2.5 oz/ft2 of zinc, about 0.0037 in for both faces.
    extra_in = (gauge_mm(gauge, "galvanized").thickness_mm - gauge_mm(gauge, "steel").thickness_mm) / 25.4
    assert extra_in == pytest.approx(0.0037, abs=1.1e-4)
    assert gauge_mm(gauge, "galvanized").how == "memory"


def test_same_gauge_differs_between_metals() -> None:
    sizes = {gauge_mm(14, series).thickness_mm for series in ("steel", "stainless", "aluminium", "galvanized")}
    assert len(sizes) == 4


@pytest.mark.parametrize(("gauge", "series"), [(6, "steel"), (25, "steel"), (8, "galvanized"), (0, "stainless")])
def test_gauges_outside_the_table_are_said(gauge: int, series: str) -> None:
    with pytest.raises(LookupFault, match="the gauge table holds"):
        gauge_mm(gauge, series)


def test_unknown_gauge_series_names_the_nearest() -> None:
    with pytest.raises(LookupFault) as caught:
        gauge_mm(11, "aluminum")
    assert caught.value.nearest == "aluminium"


@pytest.mark.parametrize(
    ("metal_id", "yield_mpa", "ultimate_mpa"),
    # EN 10025-2 table 7; Aluminum Design Manual table 3.3-1M; ASTM A36 (36 / 58 ksi), A240; EN 485-2.
    [
        ("S235", 235, 360),
        ("S355", 355, 470),
        ("A36", 250, 400),
        ("5052-H32", 160, 215),
        ("5083-H116", 215, 305),
        ("304", 205, 515),
        ("409", 170, 380),
        ("6082-T6", 260, 310),
    ],
)
def test_strengths(metal_id: str, yield_mpa: float, ultimate_mpa: float) -> None:
    chosen = metal(metal_id)
    assert (chosen.yield_mpa, chosen.ultimate_mpa) == (yield_mpa, ultimate_mpa)


@pytest.mark.parametrize(
    ("metal_id", "yield_ksi", "ultimate_ksi", "modulus_psi", "per_f"),
    # MMPDS-01 as public data files quote it; None: the row keeps another figure and says so.
    [
        ("4130N", 75, 95, 29.0e6, None),
        ("2024-T3", 42, 62, 10.5e6, 12.6e-6),
        ("6061-T6", 35, 42, 10.0e6, 13.0e-6),
    ],
)
def test_us_design_values(
    metal_id: str, yield_ksi: float, ultimate_ksi: float, modulus_psi: float, per_f: float | None
) -> None:
    chosen, ksi = metal(metal_id), 6.894757
    assert chosen.how == "read" and "yield_mpa" not in chosen.from_memory
    assert chosen.yield_mpa == pytest.approx(yield_ksi * ksi, abs=1.5)
    assert chosen.ultimate_mpa == pytest.approx(ultimate_ksi * ksi, abs=0.6)
    assert chosen.elastic_modulus_gpa == pytest.approx(modulus_psi * ksi / 1e6, abs=0.1)
    if per_f is None:
        assert "expansion_per_k" in chosen.from_memory
    else:
        assert chosen.expansion_per_k == pytest.approx(per_f * 1.8, abs=0.05e-6)


@pytest.mark.parametrize(
    ("metal_id", "density_kg_dm3", "modulus_gpa", "expansion"),
    # EN 10088-1; data sheet of 5083-H116, where 71.7 GPa is the modulus in compression.
    [("304", 7.9, 200, 16.0e-6), ("316", 8.0, 200, 16.0e-6), ("5083-H116", 2.66, 70.3, None)],
)
def test_physical_properties(metal_id: str, density_kg_dm3: float, modulus_gpa: float, expansion: float | None) -> None:
    chosen = metal(metal_id)
    assert (chosen.density_kg_m3, chosen.elastic_modulus_gpa) == (1000 * density_kg_dm3, modulus_gpa)
    if expansion is not None:
        assert chosen.expansion_per_k == expansion


@pytest.mark.parametrize("metal_id", metal_ids())
def test_metals_are_sane(metal_id: str) -> None:
    chosen = metal(metal_id)
    light = chosen.family == "aluminium"
    assert 2600 < chosen.density_kg_m3 < 2900 if light else 7600 < chosen.density_kg_m3 < 8100
    assert 65 < chosen.elastic_modulus_gpa < 75 if light else 190 <= chosen.elastic_modulus_gpa <= 210
    assert 1.0e-5 < chosen.expansion_per_k < 2.5e-5
    assert chosen.yield_mpa is None or chosen.yield_mpa < chosen.ultimate_mpa
    assert gauge_mm(14, chosen.gauge_series).thickness_mm > 0


def test_metals_by_other_names_and_case() -> None:
    assert metal("1.4301").id == "304"
    assert metal("s235jr").id == "S235"
    assert metal("6061 t6").id == "6061-T6"


def test_unknown_metal_names_the_nearest() -> None:
    with pytest.raises(LookupFault) as caught:
        metal("6061-T5")
    assert caught.value.nearest.startswith("6061-T")
    assert caught.value.given == "6061-T5"


#: EN 10025-2, recommended radii for cold flanging square to the rolling direction, upper thickness: radius.
#: DIN 6935 prints the same figures for its three strength classes.
EN_10025_2_ACROSS = {
    "S235": "1.5:1.6 2.5:2.5 3:3 4:5 5:6 6:8 7:10 8:12 10:16 12:20 14:25 16:28 18:36 20:40",
    "S275": "1.5:2 2.5:3 3:4 4:5 5:8 6:10 7:12 8:16 10:20 12:25 14:28 16:32 18:40 20:45",
    "S355": "1.5:2.5 2.5:4 3:5 4:6 5:8 6:10 7:12 8:16 10:20 12:25 14:32 16:36 18:45 20:50",
}
#: The same, with the bend line along the rolling direction.
EN_10025_2_ALONG = {
    "S235": "1.5:1.6 2.5:2.5 3:3 4:6 5:8 6:10 7:12 8:16 10:20 12:25 14:28 16:32 18:40 20:45",
    "S275": "1.5:2 2.5:3 3:4 4:6 5:10 6:12 7:16 8:20 10:25 12:32 14:36 16:40 18:45 20:50",
    "S355": "1.5:2.5 2.5:4 3:5 4:8 5:10 6:12 7:16 8:20 10:25 12:32 14:36 16:40 18:50 20:63",
}


@pytest.mark.parametrize(("grain", "printed"), [(Grain.ACROSS, EN_10025_2_ACROSS), (Grain.ALONG, EN_10025_2_ALONG)])
@pytest.mark.parametrize("metal_id", ["S235", "S275", "S355"])
def test_steel_radii_agree_with_the_product_standard(grain: Grain, printed: dict[str, str], metal_id: str) -> None:
    for pair in printed[metal_id].split():
        thickness, radius = map(float, pair.split(":"))
        limit = minimum_bend_radius(metal_id, thickness, grain)
        assert (limit.radius_mm, limit.how) == (radius, "read")


def test_turns_over_120_take_the_next_value() -> None:
    # Worked example in the notes on DIN 6935: a 42-grade steel, 6 mm, across: 10 mm to 120 degrees, 12 mm over.
    assert minimum_bend_radius("S275", 6.0, Grain.ACROSS, 120.0).radius_mm == 10
    beyond = minimum_bend_radius("S275", 6.0, Grain.ACROSS, 121.0)
    assert beyond.radius_mm == 12
    assert "next thicker band" in beyond.note


@pytest.mark.parametrize(
    ("metal_id", "printed_in", "upper"),
    # AC 43.13-1B table 4-6, the upper end of the printed range, in thicknesses.
    [
        ("5052-H32", 0.032, 0),
        ("5052-H32", 0.064, 1),
        ("5052-H32", 0.128, 1.5),
        ("6061-T4", 0.064, 1.5),
        ("6061-T4", 0.258, 4),
        ("6061-T6", 0.032, 1.5),
        ("6061-T6", 0.064, 2),
        ("6061-T6", 0.128, 3),
        ("6061-T6", 0.182, 4),
        ("2024-T3", 0.016, 3),
        ("2024-T3", 0.064, 5),
        ("2024-T3", 0.258, 7),
    ],
)
def test_aluminium_radii(metal_id: str, printed_in: float, upper: float) -> None:
    thickness = printed_in * 25.4
    limit = minimum_bend_radius(metal_id, thickness, Grain.ACROSS)
    assert limit.radius_mm == pytest.approx(upper * thickness)
    assert limit.how == "read"


@pytest.mark.parametrize(
    ("thickness", "multiple"),
    # EN 485-2, EN AW-6082 T6, 90 degrees: to 1.5, 3, 6 and 12.5 mm.
    [(1.0, 2.5), (1.5, 2.5), (1.6, 3.5), (3.0, 3.5), (4.0, 4.5), (6.0, 4.5), (6.1, 6.0), (12.5, 6.0)],
)
def test_6082_radii(thickness: float, multiple: float) -> None:
    limit = minimum_bend_radius("6082-T6", thickness, Grain.ACROSS)
    assert (limit.radius_mm, limit.how, limit.note) == (pytest.approx(multiple * thickness), "read", "")


#: Engineering design notebook, 90 degrees: sheet in inches, radius in thicknesses.
NOTEBOOK = {
    "4130N": "020:3.15 025:2.5 032:2.9 040:3.1 050:3.1 063:3.0 074:3.4 080:3.1 090:3.1 100:3.1 125:3.0 140:3.1 188:2.7",
    "304": "020:3.15 032:2.0 040:2.35 050:1.9 063:2.0 080:1.95 100:2.5",
}


@pytest.mark.parametrize(("metal_id", "how"), [("4130N", "read"), ("304", "common practice")])
def test_notebook_radii(metal_id: str, how: str) -> None:
    for pair in NOTEBOOK[metal_id].split():
        thou, _, multiple = pair.partition(":")
        thickness = int(thou) / 1000 * 25.4
        limit = minimum_bend_radius(metal_id, thickness, Grain.ACROSS)
        # The notebook prints lengths; they were divided and rounded to the multiples above.
        assert limit.radius_mm / thickness == pytest.approx(float(multiple), abs=0.051)
        assert (limit.source, limit.how) == ("bend-notebook", how)


def test_stainless_beyond_the_notebook_has_no_source() -> None:
    limit = minimum_bend_radius("304", 3.175, Grain.ACROSS)
    assert (limit.radius_mm, limit.source) == (pytest.approx(2.5 * 3.175), "no-source")


def test_thickness_between_two_printed_takes_the_thicker() -> None:
    # 6061-T6 at 2 mm lies between .064 in (2 t) and .128 in (3 t).
    assert minimum_bend_radius("6061-T6", 2.0, Grain.ACROSS).radius_mm == pytest.approx(6.0)


@pytest.mark.parametrize("metal_id", metal_ids())
@given(thickness=st.floats(min_value=1.6, max_value=4.0), turn=st.floats(min_value=1.0, max_value=135.0))
def test_unknown_grain_is_the_worse_way(metal_id: str, thickness: float, turn: float) -> None:
    try:
        ways = [minimum_bend_radius(metal_id, thickness, grain, turn) for grain in (Grain.ACROSS, Grain.ALONG)]
    except LookupFault:
        # A single band has no thicker one to take for a tighter turn, and that is said.
        assert turn > 90
        return
    worst = minimum_bend_radius(metal_id, thickness, Grain.UNKNOWN, turn)
    assert worst.radius_mm == max(way.radius_mm for way in ways)
    assert ways[1].radius_mm >= ways[0].radius_mm


@pytest.mark.parametrize("metal_id", metal_ids())
@pytest.mark.parametrize("grain", list(Grain))
def test_thicker_metal_never_bends_tighter(metal_id: str, grain: Grain) -> None:
    radii = [minimum_bend_radius(metal_id, t / 10, grain).radius_mm for t in range(16, 48)]
    assert all(a <= b + 1e-9 for a, b in itertools.pairwise(radii))


@pytest.mark.parametrize(
    ("metal_id", "thickness"),
    [("S235", 0.0), ("S235", -1.0), ("S235", 20.1), ("5052-H32", 6.6), ("5083-H116", 1.5), ("304", 6.1)],
)
def test_thickness_outside_the_table_is_said(metal_id: str, thickness: float) -> None:
    with pytest.raises(LookupFault, match="the bend radius table holds"):
        minimum_bend_radius(metal_id, thickness)


@pytest.mark.parametrize("turn", [0.0, -90.0, 180.5])
def test_turn_outside_its_range_is_said(turn: float) -> None:
    with pytest.raises(LookupFault, match="a turn is more than 0"):
        minimum_bend_radius("S235", 2.0, Grain.ACROSS, turn)


def test_rows_taken_for_another_metal_are_said() -> None:
    limit = minimum_bend_radius("DC01", 1.5, Grain.ACROSS)
    assert limit.how == "common practice"
    assert "DC01" in limit.note
    assert minimum_bend_radius("304", 2.0, Grain.ACROSS).how == "common practice"
