"""Bolts: holes, heads, nuts, washers and tap drills against the printed standards."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bracketgen.standards.fasteners import Fit, clearance_hole, fastener, fastener_sizes, tap_drill
from bracketgen.standards.table import LookupFault


@pytest.mark.parametrize(
    ("size", "fine", "medium", "coarse"),
    [
        # ISO 273:1979. M12, M14 and M16 medium and coarse are where BS 4186 differs (14/15, 16/17, 18/19).
        ("M3", 3.2, 3.4, 3.6),
        ("M6", 6.4, 6.6, 7.0),
        ("M8", 8.4, 9.0, 10.0),
        ("M10", 10.5, 11.0, 12.0),
        ("M12", 13.0, 13.5, 14.5),
        ("M14", 15.0, 15.5, 16.5),
        ("M16", 17.0, 17.5, 18.5),
        ("M24", 25.0, 26.0, 28.0),
    ],
)
def test_metric_clearance_holes(size: str, fine: float, medium: float, coarse: float) -> None:
    assert [clearance_hole(size, fit).diameter_mm for fit in Fit] == [fine, medium, coarse]


@pytest.mark.parametrize(
    ("size", "drill_mm"),
    # ISO 7091 washer bores follow the ISO 273 medium series: 13.5, 17.5, 22, 26, 33.
    [("M12", 13.5), ("M16", 17.5), ("M20", 22.0), ("M24", 26.0), ("M30", 33.0)],
)
def test_medium_holes_agree_with_washer_bores(size: str, drill_mm: float) -> None:
    assert clearance_hole(size, Fit.NORMAL).diameter_mm == drill_mm


@pytest.mark.parametrize(
    ("size", "least_in", "most_in"),
    # ASME B18.2.8 table 1a, loose fit, in Machinery's Handbook 31st ed. p. 1741. The table holds the least.
    [
        ("#4", 0.144, 0.156),
        ("#6", 0.185, 0.197),
        ("#8", 0.213, 0.225),
        ("1/4", 0.297, 0.311),
        ("5/16", 0.359, 0.373),
        ("3/8", 0.422, 0.438),
        ("7/16", 0.484, 0.500),
        ("1/2", 0.609, 0.625),
        ("5/8", 0.734, 0.754),
        ("3/4", 0.906, 0.926),
        ("7/8", 1.031, 1.051),
        ("1", 1.156, 1.181),
    ],
)
def test_loose_inch_holes_are_the_least_of_the_range(size: str, least_in: float, most_in: float) -> None:
    hole_in = clearance_hole(size, Fit.LOOSE).diameter_mm / 25.4
    assert round(hole_in, 3) == least_in < most_in


@pytest.mark.parametrize(
    ("size", "normal", "close"),
    # ASME B18.2.8 table 3a, nearest metric drills, Machinery's Handbook 31st ed. p. 1743: within 0.2 mm.
    [("1/4", 7.1, 6.7), ("5/16", 8.7, 8.3), ("3/8", 10.2, 9.9), ("7/16", 11.8, 11.5), ("1/2", 14.25, 13.5)],
)
def test_inch_holes_are_near_their_metric_drills(size: str, normal: float, close: float) -> None:
    assert clearance_hole(size, Fit.NORMAL).diameter_mm == pytest.approx(normal, abs=0.2)
    assert clearance_hole(size, Fit.CLOSE).diameter_mm == pytest.approx(close, abs=0.2)


@pytest.mark.parametrize("size", fastener_sizes())
def test_holes_grow_with_the_fit_and_pass_the_bolt(size: str) -> None:
    holes = [clearance_hole(size, fit).diameter_mm for fit in Fit]
    bolt = fastener(size)
    assert bolt.diameter_mm < holes[0] < holes[1] < holes[2]
    assert tap_drill(size).diameter_mm < bolt.diameter_mm
    if bolt.washer_od_mm is not None:
        assert bolt.washer_od_mm > holes[2]
    if bolt.wide_washer_od_mm is not None:
        assert bolt.washer_od_mm is not None
        assert bolt.wide_washer_od_mm > bolt.washer_od_mm


@pytest.mark.parametrize(
    ("size", "across_flats_mm", "least_corners_mm"),
    # ISO 4014: s, and e min for product grade A (M24 too). DIN 931 would be 17, 19, 22, 32 at M10, 12, 14, 22.
    [
        ("M5", 8, 8.79),
        ("M6", 10, 11.05),
        ("M8", 13, 14.38),
        ("M10", 16, 17.77),
        ("M12", 18, 20.03),
        ("M14", 21, 23.36),
        ("M16", 24, 26.75),
        ("M20", 30, 33.53),
        ("M24", 36, 39.98),
    ],
)
def test_metric_heads(size: str, across_flats_mm: float, least_corners_mm: float) -> None:
    bolt = fastener(size)
    assert bolt.head_across_flats_mm == across_flats_mm
    # Sharp corners lie above the standard's minimum, by a few percent at most.
    assert least_corners_mm < bolt.head_across_corners_mm < 1.06 * least_corners_mm


@pytest.mark.parametrize(
    ("size", "flats_in", "corners_in", "height_in"),
    # ASME B18.2.1 hex cap screws: F max, G max, H max.
    [
        ("1/4", 0.438, 0.505, 0.163),
        ("5/16", 0.500, 0.577, 0.211),
        ("3/8", 0.562, 0.650, 0.243),
        ("7/16", 0.625, 0.722, 0.291),
        ("1/2", 0.750, 0.866, 0.323),
        ("5/8", 0.938, 1.083, 0.403),
        ("3/4", 1.125, 1.299, 0.483),
        ("7/8", 1.312, 1.516, 0.563),
        ("1", 1.500, 1.732, 0.627),
    ],
)
def test_inch_heads(size: str, flats_in: float, corners_in: float, height_in: float) -> None:
    bolt = fastener(size)
    assert bolt.head_across_flats_mm / 25.4 == pytest.approx(flats_in, abs=0.0006)
    assert bolt.head_across_corners_mm / 25.4 == pytest.approx(corners_in, abs=0.0006)
    assert bolt.head_height_mm / 25.4 == pytest.approx(height_in, abs=1e-6)


@pytest.mark.parametrize("size", fastener_sizes())
def test_corners_are_the_sharp_hexagon(size: str) -> None:
    bolt = fastener(size)
    assert bolt.head_across_corners_mm == pytest.approx(bolt.head_across_flats_mm / math.cos(math.pi / 6), abs=6e-4)


@pytest.mark.parametrize(
    ("size", "narrow_in", "wide_in"),
    # ASME B18.21.1 type A, Machinery's Handbook 31st ed. p. 1694.
    [("1/4", 0.625, 0.734), ("3/8", 0.812, 1.000), ("1/2", 1.062, 1.375), ("3/4", 1.469, 2.000)],
)
def test_inch_washers(size: str, narrow_in: float, wide_in: float) -> None:
    bolt = fastener(size)
    assert bolt.washer_od_mm == pytest.approx(narrow_in * 25.4)
    assert bolt.wide_washer_od_mm == pytest.approx(wide_in * 25.4)


@pytest.mark.parametrize(("size", "od_mm"), [("M6", 12), ("M8", 16), ("M10", 20), ("M12", 24), ("M20", 37)])
def test_metric_washers_iso_7089(size: str, od_mm: float) -> None:
    assert fastener(size).washer_od_mm == od_mm


@pytest.mark.parametrize("size", [s for s in fastener_sizes() if s.startswith("M")])
def test_metric_tap_drill_is_diameter_less_pitch(size: str) -> None:
    # ISO 2306: coarse thread, d - P, rounded to a drill size.
    bolt = fastener(size)
    assert tap_drill(size).diameter_mm == pytest.approx(bolt.diameter_mm - bolt.pitch_mm, abs=0.051)


@pytest.mark.parametrize("size", [s for s in fastener_sizes() if not s.startswith("M")])
def test_inch_tap_drill_leaves_a_usual_thread(size: str) -> None:
    # Percent of thread = (major - drill) / (1.299 x pitch); drills for UNC leave 60 to 85 %.
    bolt = fastener(size)
    percent = 100 * (bolt.diameter_mm - tap_drill(size).diameter_mm) / (1.299 * bolt.pitch_mm)
    assert 60 < percent < 85


def test_drills_from_memory_say_so() -> None:
    assert tap_drill("M12").how == "memory"
    assert tap_drill("M8").how == "read"


@pytest.mark.parametrize(
    ("words", "size"),
    [
        (("M8", "m8", " M8 ", "M8x1.25", "m8 × 1.25"), "M8"),
        (("1/4", "1/4 in", '1/4"', "1/4 inch", "1/4-20", "1/4-20 UNC"), "1/4"),
        (("#10", "No. 10", "no 10", "#10-24"), "#10"),
        (("1", "1 in", '1"', "1-8"), "1"),
    ],
)
def test_sizes_as_people_write_them(words: tuple[str, ...], size: str) -> None:
    assert {fastener(word).size for word in words} == {size}


@pytest.mark.parametrize(("word", "nearest"), [("M9", "M8"), ("8", "M8"), ("10 mm", "M10"), ("1//4", "1/4")])
def test_unknown_size_names_the_nearest(word: str, nearest: str) -> None:
    with pytest.raises(LookupFault) as caught:
        fastener(word)
    assert caught.value.nearest == nearest
    assert caught.value.known == fastener_sizes()


@pytest.mark.parametrize("word", ["M8x1", "1/4-28", "#10-32"])
def test_fine_threads_are_refused_with_the_reason(word: str) -> None:
    with pytest.raises(LookupFault, match="only the coarse thread"):
        fastener(word)


def test_fit_words_of_both_standards() -> None:
    assert [Fit.from_word(word) for word in ("fine", "Medium", " coarse ")] == list(Fit)
    assert [Fit.from_word(word) for word in ("close", "NORMAL", "loose")] == list(Fit)
    with pytest.raises(LookupFault) as caught:
        Fit.from_word("lose")
    assert caught.value.nearest == "loose"


@given(st.text(max_size=12))
def test_any_text_is_a_size_or_a_clear_fault(text: str) -> None:
    try:
        assert fastener(text).size in fastener_sizes()
    except LookupFault as fault:
        assert fault.given == text
