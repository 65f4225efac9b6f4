"""Whole tables in the layout of the print, so that no cell can drift unseen."""

from __future__ import annotations

import math

import pytest

from bracketgen.standards.fasteners import Fit, clearance_hole, fastener, usual_torque
from bracketgen.standards.table import Row, load_table

#: ISO 9013 limit deviations, class: upper thickness: sizes to 3, 10, 35, 125, 315, 1000 mm.
ISO_9013 = {
    ("1", "1"): ".075 .10 .10 .20 .20 .30",
    ("1", "3.15"): ".10 .15 .20 .25 .25 .35",
    ("1", "6.3"): ".20 .20 .25 .25 .30 .40",
    ("1", "10"): "- .25 .30 .30 .35 .45",
    ("1", "15"): "- .30 .35 .40 .45 .55",
    ("2", "1"): ".5 .6 .6 .7 .7 .8",
    ("2", "3.15"): ".6 .6 .7 .7 .8 .9",
    ("2", "6.3"): ".7 .8 .9 .9 1.1 1.2",
    ("2", "10"): "- 1.0 1.1 1.3 1.4 1.5",
}
#: ISO 2768-1 table 1: sizes to 3, 6, 30, 120, 400, 1000, 2000, 4000 mm.
ISO_2768_1 = {
    "f": ".05 .05 .1 .15 .2 .3 .5 -",
    "m": ".1 .1 .2 .3 .5 .8 1.2 2",
    "c": ".2 .3 .5 .8 1.2 2 3 4",
    "v": "- .5 1 1.5 2.5 4 6 8",
}
#: ISO 2768-1 table 3, in minutes of arc: legs to 10, 50, 120, 400 mm, and over. From memory, as the table says.
ISO_2768_1_ANGLES = {"f": "60 30 20 10 5", "m": "60 30 20 10 5", "c": "90 60 30 15 10", "v": "180 120 60 30 20"}
#: EN 10051 category A, upper thickness: widths to 1200 and 1500 mm.
EN_10051 = {
    "2": ".17 .19", "2.5": ".18 .21", "3": ".20 .22", "4": ".22 .24", "5": ".24 .26",
    "6": ".26 .28", "8": ".29 .30", "10": ".32 .33", "12.5": ".35 .36",
}  # fmt: skip
#: General air bending chart: V opening, least flange, natural radius.
AIR_BEND_CHART = (
    "4 2.8 .7 | 6 4 1 | 7 5 1.1 | 8 5.5 1.3 | 10 7 1.6 | 12 8.5 2 | 14 10 2.3 | 16 11 2.6 | 18 13.5 3 | 20 14 3.3 | "
    "25 17.5 4 | 32 22 5 | 40 28 6.5 | 50 35 8 | 63 45 10 | 80 55 13 | 100 71 16 | 125 89 20 | 160 113 26"
)
#: ISO 273:1979, fine, medium, coarse.
ISO_273 = (
    "M3 3.2 3.4 3.6 | M4 4.3 4.5 4.8 | M5 5.3 5.5 5.8 | M6 6.4 6.6 7 | M8 8.4 9 10 | M10 10.5 11 12 | "
    "M12 13 13.5 14.5 | M14 15 15.5 16.5 | M16 17 17.5 18.5 | M18 19 20 21 | M20 21 22 24 | M22 23 24 26 | "
    "M24 25 26 28 | M27 28 30 32 | M30 31 33 35"
)
#: ASME B18.2.8, close, normal, loose; drills by name.
ASME_B18_2_8 = (
    "#4 #31 #30 #27 | #5 9/64 5/32 11/64 | #6 #23 #18 #13 | #8 #15 #9 #3 | #10 #5 #2 B | 1/4 17/64 9/32 19/64 | "
    "5/16 21/64 11/32 23/64 | 3/8 25/64 13/32 27/64 | 7/16 29/64 15/32 31/64 | 1/2 17/32 9/16 39/64 | "
    "5/8 21/32 11/16 47/64 | 3/4 25/32 13/16 29/32 | 7/8 29/32 15/16 1-1/32 | 1 1-1/32 1-3/32 1-5/32"
)
#: Size, pitch (ISO 261 coarse), ISO 4014 s and k, ISO 4032 m, ISO 7089 d2, ISO 7093 d2.
ISO_FASTENERS = (
    "M3 .5 5.5 2 2.4 7 9 | M4 .7 7 2.8 3.2 9 12 | M5 .8 8 3.5 4.7 10 15 | M6 1 10 4 5.2 12 18 | "
    "M8 1.25 13 5.3 6.8 16 24 | M10 1.5 16 6.4 8.4 20 30 | M12 1.75 18 7.5 10.8 24 37 | M14 2 21 8.8 12.8 28 44 | "
    "M16 2 24 10 14.8 30 50 | M18 2.5 27 11.5 15.8 34 56 | M20 2.5 30 12.5 18 37 60 | M22 2.5 34 14 19.4 39 - | "
    "M24 3 36 15 21.5 44 72 | M27 3 41 17 23.8 50 - | M30 3.5 46 18.7 25.6 56 92"
)
#: ASME B18.6.3 hexagon machine screws: size, basic diameter, threads per inch, across flats, head height, in.
ASME_B18_6_3 = (
    "#4 .112 40 .188 .060 | #5 .125 40 .188 .070 | #6 .138 32 .250 .093 | #8 .164 32 .250 .110 | #10 .190 24 .312 .120"
)
#: ASME B18.21.1 type A: size, narrow, wide, in. Only sizes read in Machinery's Handbook, 31st ed., p. 1694.
ASME_B18_21_1 = (
    "#4 .312 - | #6 .375 - | #8 .438 - | #10 .500 - | 1/4 .625 .734 | 5/16 .688 .875 | 3/8 .812 1.000 | "
    "7/16 .922 1.250 | 1/2 1.062 1.375 | 5/8 1.312 1.750 | 3/4 1.469 2.000"
)
#: DIN 6935:1975-10, bands to 1, 1.5, 2.5, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20 mm, across, turn to 120.
DIN_6935 = {
    "steel to 390 MPa": "1 1.6 2.5 3 5 6 8 10 12 16 20 25 28 36 40",
    "steel 390 to 490 MPa": "1.2 2 3 4 5 8 10 12 16 20 25 28 32 40 45",
    "steel 490 to 640 MPa": "1.6 2.5 4 5 6 8 10 12 16 20 25 32 36 45 50",
}
#: AC 43.13-1B table 4-6, upper ends, at .016, .032, .064, .128, .182, .258 in.
AC_43_13_1B = {
    "2024-T3": "3 4 5 6 6 7",
    "5052-H32": "0 0 1 1.5 1.5 1.5",
    "6061-T4": "1 1 1.5 2 3 4",
    "6061-T6": "1 1.5 2 3 4 4",
}
#: Machinery's Handbook, 31st ed., p. 1453: gauge, stainless, steel, aluminium, in (misprints put right).
GAUGES = (
    "7 .1875 .1793 .1443 | 8 .1719 .1644 .1285 | 9 .1562 .1495 .1144 | 10 .1406 .1345 .1019 | "
    "11 .1250 .1196 .0907 | 12 .1094 .1046 .0808 | 13 .0937 .0897 .0720 | 14 .0781 .0747 .0641 | "
    "15 .0703 .0673 .0571 | 16 .0625 .0598 .0508 | 17 .0562 .0538 .0453 | 18 .0500 .0478 .0403 | "
    "19 .0437 .0418 .0359 | 20 .0375 .0359 .0320 | 21 .0344 .0329 .0285 | 22 .0312 .0299 .0253 | "
    "23 .0281 .0269 .0226 | 24 .0250 .0239 .0201"
)


#: VDI 2230, 90 % of the yield point, hexagon head on a medium hole, N m: class 8.8 / 10.9 at total friction 0.10, 0.12,
#: 0.14. Computed from the method, which met six printed rows of fine threads within one of the last figure.
VDI_2230 = (
    "M5 5.2 7.6 5.8 8.6 6.5 9.5 | M6 9.0 13.2 10.2 14.9 11.3 16.5 | M8 21.6 31.8 24.6 36.1 27.3 40.1 | "
    "M10 42.6 62.6 48.4 71.1 53.9 79.1 | M12 73.5 108 83.6 123 93.0 137 | M14 117 172 134 196 149 218 | "
    "M16 180 265 206 303 230 338 | M18 259 369 295 421 329 469 | M20 364 518 416 592 464 661"
)
#: Least diameter of the ring under a hexagon head, ISO 4014 product grade A, mm (from memory).
BEARING_MM = {"M5": 6.88, "M6": 8.88, "M8": 11.63, "M10": 14.63, "M12": 16.63, "M14": 19.64, "M16": 22.49, "M18": 25.34,
              "M20": 28.19}  # fmt: skip
#: US Army TM 9-2320-362-14&P, table F-1, lb-ft, clean and dry: grade 5, grade 8.
ARMY_F_1 = "1/4 6 10 | 5/16 15 21 | 3/8 26 37 | 7/16 43 60 | 1/2 65 90 | 5/8 130 178 | 3/4 185 260"
#: IFI, fifth edition, table N-12, grade 5, lb-ft: plain.
IFI_N_12 = "1/4 8 | 5/16 17 | 3/8 31 | 7/16 50 | 1/2 76 | 5/8 150 | 3/4 266"


def _figure(cell: str) -> float | None:
    return float(cell) if cell else None


def lines(printed: str) -> list[list[str]]:
    return [line.split() for line in printed.split("|")]


def figures(printed: str) -> list[float | None]:
    return [None if word == "-" else float(word) for word in printed.split()]


def sizes(row: Row) -> list[float | None]:
    return [_figure(row[column]) for column in row if column.startswith("to_") or column.startswith("over_")]


def test_iso_9013() -> None:
    held = {(row["class"], row["thickness_to_mm"]): sizes(row) for row in load_table("cut_tolerance").rows}
    assert held == {key: figures(printed) for key, printed in ISO_9013.items()}


def test_iso_2768_1() -> None:
    held = {row["class"]: sizes(row) for row in load_table("general_tolerance").rows}
    assert held == {key: figures(printed) for key, printed in ISO_2768_1.items()}


def test_iso_2768_1_angles() -> None:
    for row in load_table("angle_tolerance").rows:
        minutes = [60 * (degrees or 0) for degrees in sizes(row)]
        assert minutes == pytest.approx(figures(ISO_2768_1_ANGLES[row["class"]]), abs=1e-3)


def test_en_10051() -> None:
    rows = load_table("thickness_tolerance").rows
    held = {row["thickness_to_mm"]: [_figure(row[f"width_to_{width}_mm"]) for width in (1200, 1500)] for row in rows}
    assert held == {key: figures(printed) for key, printed in EN_10051.items()}


def test_air_bend_chart() -> None:
    columns = ("opening_mm", "minimum_flange_mm", "natural_radius_mm")
    held = [[float(row[column]) for column in columns] for row in load_table("dies").rows]
    assert held == [[float(word) for word in line] for line in lines(AIR_BEND_CHART)]


@pytest.mark.parametrize(("size", "fine", "medium", "coarse"), lines(ISO_273))
def test_iso_273(size: str, fine: str, medium: str, coarse: str) -> None:
    assert [clearance_hole(size, fit).diameter_mm for fit in Fit] == [float(fine), float(medium), float(coarse)]


@pytest.mark.parametrize(("size", "close", "normal", "loose"), lines(ASME_B18_2_8))
def test_asme_b18_2_8(size: str, close: str, normal: str, loose: str) -> None:
    assert [clearance_hole(size, fit).printed for fit in Fit] == [close, normal, loose]


@pytest.mark.parametrize("line", lines(ISO_FASTENERS), ids=lambda line: line[0])
def test_iso_fasteners(line: list[str]) -> None:
    bolt = fastener(line[0])
    assert bolt.diameter_mm == float(line[0][1:])
    held = [bolt.pitch_mm, bolt.head_across_flats_mm, bolt.head_height_mm, bolt.nut_height_mm]
    assert [*held, bolt.washer_od_mm, bolt.wide_washer_od_mm] == figures(" ".join(line[1:]))
    # ISO 4032 nuts take the spanner of the ISO 4014 head.
    assert bolt.nut_across_flats_mm == bolt.head_across_flats_mm


@pytest.mark.parametrize("line", lines(ASME_B18_6_3), ids=lambda line: line[0])
def test_asme_b18_6_3(line: list[str]) -> None:
    bolt = fastener(line[0])
    held = [bolt.diameter_mm, 25.4**2 / bolt.pitch_mm, bolt.head_across_flats_mm, bolt.head_height_mm]
    assert [length / 25.4 for length in held] == pytest.approx([float(word) for word in line[1:]], rel=1e-6)


@pytest.mark.parametrize("line", lines(ASME_B18_21_1), ids=lambda line: line[0])
def test_asme_b18_21_1(line: list[str]) -> None:
    bolt = fastener(line[0])
    for held_mm, printed in zip((bolt.washer_od_mm, bolt.wide_washer_od_mm), line[1:], strict=True):
        assert held_mm == (None if printed == "-" else pytest.approx(25.4 * float(printed), abs=1e-6))


@pytest.mark.parametrize(
    ("size", "threads_per_inch"),
    # ASME B1.1, coarse series.
    [("1/4", 20), ("5/16", 18), ("3/8", 16), ("7/16", 14), ("1/2", 13), ("5/8", 11), ("3/4", 10), ("7/8", 9), ("1", 8)],
)
def test_inch_threads(size: str, threads_per_inch: int) -> None:
    top, _, bottom = size.partition("/")
    assert fastener(size).diameter_mm == pytest.approx(25.4 * int(top) / int(bottom or 1), abs=1e-9)
    assert fastener(size).pitch_mm == pytest.approx(25.4 / threads_per_inch, abs=1e-6)


@pytest.mark.parametrize("group", DIN_6935)
def test_din_6935(group: str) -> None:
    rows = [row for row in load_table("bend_radius").rows if row["bend_group"] == group]
    bands = [float(row["thickness_to_mm"]) for row in rows]
    assert bands == [1, 1.5, 2.5, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20]
    assert [float(row["across_mm"]) for row in rows] == figures(DIN_6935[group])
    assert {row["across_turn_to_deg"] for row in rows} == {"120"}
    # EN 10025-2 gives the along-grain figures for bends to 90 degrees.
    assert {row["along_turn_to_deg"] for row in rows} == {"90"}


@pytest.mark.parametrize("group", AC_43_13_1B)
def test_ac_43_13_1b(group: str) -> None:
    rows = [row for row in load_table("bend_radius").rows if row["bend_group"] == group]
    bands = [float(row["thickness_to_mm"]) / 25.4 for row in rows]
    assert bands == pytest.approx([0.016, 0.032, 0.064, 0.128, 0.182, 0.258], abs=1e-5)
    across = [float(row["across_per_t"]) for row in rows]
    assert across == figures(AC_43_13_1B[group])
    assert [float(row["along_per_t"]) for row in rows] == [multiple + 0.5 for multiple in across]
    # The table is headed 'for 90-degree bends'.
    assert {row[f"{way}_turn_to_deg"] for row in rows for way in ("across", "along")} == {"90"}


def test_gauges() -> None:
    held = [
        [float(row[column]) for column in ("gauge", "stainless_in", "steel_in", "aluminium_in")]
        for row in load_table("gauges").rows
    ]
    assert held == [[float(word) for word in line] for line in lines(GAUGES)]


def test_edge_distance_multiples() -> None:
    # EN 1993-1-8 table 3.3; AISC 360 J3.3 to J3.5 and the notes of table J3.4; AC 43.13-1B ch. 4.
    columns = ("edge_per_hole", "edge_per_bolt", "pitch_per_hole", "pitch_per_bolt", "row_per_hole", "row_per_bolt")
    held = {row["id"]: [_figure(row[column]) for column in columns] for row in load_table("edge_distance").rows}
    two_and_two_thirds = pytest.approx(8 / 3, abs=1e-6)
    assert held == {
        "EN 1993-1-8": [1.2, None, 2.2, None, 2.4, None],
        "AISC 360-16": [None, 1.25, None, two_and_two_thirds, None, two_and_two_thirds],
        "AISC 360-05 sheared": [None, 1.75, None, two_and_two_thirds, None, two_and_two_thirds],
        "aviation 2D": [None, 2, None, 3, None, 2.5],
        "aviation 2.5D countersunk": [None, 2.5, None, 3, None, 2.5],
    }


def torque_rows(grade: str) -> dict[str, Row]:
    return {row["size"]: row for row in load_table("bolt_torque").rows if row["grade"] == grade}


@pytest.mark.parametrize(("grade", "first"), [("8.8", 1), ("10.9", 2)])
def test_vdi_2230_torques(grade: str, first: int) -> None:
    columns = ("torque_nm", "at_0_12_nm", "at_0_14_nm")
    held = torque_rows(grade)
    assert {size: [row[c] for c in columns] for size, row in held.items()} == {
        line[0]: line[first::2] for line in lines(VDI_2230)
    }
    assert all(row["condition"] == "at total friction 0.10" for row in held.values())
    for size, row in held.items():
        for column, friction in zip(columns, (0.10, 0.12, 0.14), strict=True):
            # Rounded to three figures, and stress areas are too.
            assert float(row[column]) == pytest.approx(by_vdi_2230_nm(size, grade, friction), rel=0.006, abs=0.051)


def by_vdi_2230_nm(size: str, grade: str, friction: float) -> float:
    """F = 0.9 Rp As / sqrt(1 + 3 [1.5 d2/dS (P/(pi d2) + 1.155 mu)]^2); M = F (0.16 P + 0.58 d2 mu + (dw+dh)/4 mu)."""
    bolt = fastener(size)
    pitch = bolt.pitch_mm
    d2, d3 = bolt.diameter_mm - 0.64952 * pitch, bolt.diameter_mm - 1.22687 * pitch
    stress = (d2 + d3) / 2
    proof = 940 if grade == "10.9" else 640 if bolt.diameter_mm <= 16 else 660
    lead = pitch / (math.pi * d2) + 1.155 * friction
    force = 0.9 * proof * math.pi / 4 * stress**2 / math.sqrt(1 + 3 * (1.5 * d2 / stress * lead) ** 2)
    ring = (BEARING_MM[size] + clearance_hole(size, Fit.NORMAL).diameter_mm) / 4
    return force * (0.16 * pitch + 0.58 * d2 * friction + ring * friction) / 1000


@pytest.mark.parametrize(("grade", "column"), [("5", 1), ("8", 2)])
def test_inch_torques(grade: str, column: int) -> None:
    held = torque_rows(grade)
    assert list(held) == [line[0] for line in lines(ARMY_F_1)]
    for line in lines(ARMY_F_1):
        # 1 lb-ft = 1.35582 N m.
        assert float(held[line[0]]["torque_nm"]) == pytest.approx(1.35582 * float(line[column]), rel=0.005)
        assert held[line[0]]["condition"] == f"({line[column]} lb-ft) clean and dry"


def test_inch_torques_keep_below_a_second_table() -> None:
    for size, plain in lines(IFI_N_12):
        held = usual_torque(size)
        assert held is not None and held.nm < 1.35582 * float(plain)


def test_a_bolt_is_pulled_by_the_least_friction() -> None:
    for size, *printed in lines(VDI_2230):
        held = usual_torque(size)
        assert held is not None and held.nm == min(float(nm) for nm in printed[::2])
    assert usual_torque("M4") is None and usual_torque("#10") is None and usual_torque("7/8") is None
