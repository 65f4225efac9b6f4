"""What is doubtful is said: mirror images, loose holes, readings that look wrong, and what to measure next."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from random_sites import TrueReading, TrueSite, add_distance, random_site

from bracketgen.standards.deviations import reading_error
from bracketgen.vehicle.locate.adjustment import solved
from bracketgen.vehicle.locate.locate import Located, error_ellipsoid, is_loose, locate
from bracketgen.vehicle.locate.readings import problem_of
from bracketgen.vehicle.site import read_site

HEAD = 'title = "t"\nunits = "mm"\n'


def distance(a: str, b: str, value: float, over: str = "centres", **more: object) -> str:
    extra = "".join(f"\n{k} = {v if not isinstance(v, str) else repr(v)}" for k, v in more.items())
    return f'[[readings]]\nkind = "distance"\nfrom = "{a}"\nto = "{b}"\nover = "{over}"\nvalue = {value!r}{extra}\n'


def step(hole: str, face: str, value: float) -> str:
    return f'[[readings]]\nkind = "step"\nhole = "{hole}"\nface = "{face}"\nvalue = {value!r}\n'


def tab(c: str = "", a: str = "diameter = 8.5", b: str = "diameter = 8.5") -> str:
    return f"{HEAD}[faces.tab.holes]\nA = {{ {a} }}\nB = {{ {b} }}\nC = {{ diameter = 8.5{c} }}\n"


def solve(text: str) -> Located:
    return locate(read_site(text, "t.site.toml", "t"))


#: A triangle with sides 3, 4 and 5.
TRIANGLE = distance("tab.A", "tab.B", 100) + distance("tab.A", "tab.C", 80) + distance("tab.B", "tab.C", 60)


# -- mirror images


def test_distances_alone_leave_the_mirror_image() -> None:
    located = solve(tab() + TRIANGLE)
    assert located.mirror == ("tab",)
    assert located.hole("tab.C").centre == pytest.approx((64.0, 48.0, 0.0), abs=1e-9)
    assert "tab.C at (64.0, -48.0, 0.0)" in located.mirror_words[0]
    assert "about" in located.mirror_words[0]


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_rough_place_settles_it(side: float) -> None:
    located = solve(tab(f", about = [70, {side * 20}]") + TRIANGLE)
    assert located.mirror == () and located.mirror_words == ()
    assert located.hole("tab.C").centre == pytest.approx((64.0, side * 48.0, 0.0), abs=1e-9)


def test_rough_places_may_be_counted_from_anywhere() -> None:
    """All three holes of the face given in a frame that is turned and shifted."""
    text = tab(", about = [90, 30]", "diameter = 8.5, about = [10, 5]", "diameter = 8.5, about = [15, 105]")
    assert solve(text + TRIANGLE).hole("tab.C").centre[1] == pytest.approx(-48.0, abs=1e-9)


def test_a_square_distance_settles_it() -> None:
    square = '[[readings]]\nkind = "square"\nhole = "tab.C"\nline = ["tab.A", "tab.B"]\nvalue = -48.0\n'
    located = solve(tab() + TRIANGLE + square)
    assert located.mirror == ()
    assert located.hole("tab.C").centre == pytest.approx((64.0, -48.0, 0.0), abs=1e-9)


def rough_square(error: float) -> str:
    """C seen 40 mm left of the line, roughly: the triangle says 48 to either side."""
    return f'[[readings]]\nkind = "square"\nhole = "tab.C"\nline = ["tab.A", "tab.B"]\nvalue = 40.0\nerror = {error}\n'


def test_what_a_rough_reading_only_makes_likely_stays_open() -> None:
    """(88 / 30)² - (8 / 30)² = 8.5: the other image is as likely as exp(-8.5 / 2), one in seventy."""
    located = solve(tab() + TRIANGLE + rough_square(30.0))
    assert located.mirror == ("tab",)
    assert located.hole("tab.C").centre[1] == pytest.approx(48.0, abs=0.1)


def test_a_rough_place_outweighs_what_is_only_likely() -> None:
    located = solve(tab(", about = [64, -48]") + TRIANGLE + rough_square(30.0))
    assert located.mirror == ()
    assert located.hole("tab.C").centre[1] == pytest.approx(-48.0, abs=0.1)


def test_a_reading_that_leaves_one_in_a_thousand_settles_it() -> None:
    """(88 / 20)² - (8 / 20)² = 19.2: exp(-19.2 / 2) is one in fifteen thousand; a rough place changes nothing."""
    for hint in ("", ", about = [64, -48]"):
        located = solve(tab(hint) + TRIANGLE + rough_square(20.0))
        assert located.mirror == ()
        assert located.hole("tab.C").centre[1] == pytest.approx(48.0, abs=0.1)


@pytest.mark.parametrize(("y", "said"), [(48.0, False), (23.01, False), (22.99, True), (-48.0, True)])
def test_a_rough_place_far_off_is_said(y: float, said: bool) -> None:
    """Out at (64, 48). Of a site of 100 mm a rough place may be a quarter off, 25 mm."""
    square = rough_square(1.0).replace("40.0", "48.0")
    words = [w for w in solve(tab(f", about = [64, {y}]") + TRIANGLE + square).advice if "rough place" in w]
    assert words == [w for w in words if f"tab.C comes out {48 - y:.0f} mm from its rough place, at [64, 48]" in w]
    assert len(words) == said


@pytest.mark.parametrize("up", [1, -1])
def test_a_normal_that_the_readings_gainsay_is_said(up: int) -> None:
    site = random_site(1, 2).site(hints=True)
    right = site.document.faces["right"]
    assert right.normal is not None
    turned = right.model_copy(update={"normal": tuple(up * v for v in right.normal)})
    document = site.document.model_copy(update={"faces": {**site.document.faces, "right": turned}})
    words = locate(replace(site, document=document)).advice
    assert sum("face right looks the other way than its normal says" in w for w in words) == (up < 0)


@pytest.mark.parametrize("seed", [0, 1, 2])
@pytest.mark.parametrize(("faces", "images"), [(1, 2), (2, 8)])
def test_distances_between_all_centres_leave_every_image_and_each_is_found(seed: int, faces: int, images: int) -> None:
    """One face may be seen from either side. In space, besides, all the rest may lie on either side of the first
    face, and the other face may look either way: 2 x 2 x 2."""
    site = random_site(seed, faces)
    for face in site.faces.values():
        face.paint = 0.0
    site.readings.clear()
    for a, b in combinations(site.names, 2):
        add_distance(site, a, b, "centres", np.random.default_rng(seed))
    problem = problem_of(site.site(hints=False))
    solution = solved(problem.network, problem.readings, problem.hints)
    assert solution.cost == pytest.approx(0.0, abs=1e-6)
    assert 1 + len(solution.others.uv) == images


def test_a_site_that_a_wrong_sign_mirrored_is_said() -> None:
    """The level tab of the filter head, 82 mm above the rail's holes, with its normal written upside down: the
    readings fit as well below, where the rough place isn't."""
    path = Path(__file__).parents[3] / "shapes/sites/filter-head.site.toml"
    text = path.read_text(encoding="utf-8")
    assert "normal = [0, 1, 0]" in text and "at = [6, 82, 46]" in text
    assert not [w for w in solve(text).advice if "rough place" in w]
    (said,) = [w for w in solve(text.replace("normal = [0, 1, 0]", "normal = [0, -1, 0]")).advice if "rough place" in w]
    assert said.startswith("face outrigger comes out 165 mm from its rough place, at [6, -83, 47]")


def test_one_hole_of_many_folded_over() -> None:
    """D is known by its distances to A and B alone: it may lie on either side of their line."""
    text = tab(", about = [64, 48]").rstrip() + "\nD = { diameter = 8.5 }\n"
    text += TRIANGLE + distance("tab.A", "tab.D", 50) + distance("tab.B", "tab.D", 70)
    located = solve(text)
    assert located.mirror == ("tab",)
    assert all("tab.C" not in words for words in located.mirror_words)
    y = located.hole("tab.D").centre[1]
    assert any(f"tab.D at (38.0, {-y:.1f}, 0.0)" in words for words in located.mirror_words)


def test_a_face_that_may_look_either_way() -> None:
    """Distances between two faces say nothing of which side is outside."""
    site = random_site(1, 2)
    site.readings = [r for r in site.readings if "distance" in r.words]
    located = locate(site.site(hints=False))
    assert "right" in located.mirror
    assert max(abs(r.residual) for r in located.residuals) < 1e-6
    settled = locate(site.site(hints=True))
    assert settled.mirror == ()
    assert np.abs(np.array([h.centre for h in settled.holes]) - site.places).max() < 1e-6


# -- looseness


def test_a_hole_on_one_distance_can_move_across_it() -> None:
    located = solve(tab(", about = [64, 48]") + distance("tab.A", "tab.B", 100) + distance("tab.A", "tab.C", 80))
    assert len(located.loose) == 1
    found = re.fullmatch(r"hole tab\.C can still move along \[(.*)\]", located.loose[0])
    assert found
    way = np.array([float(v) for v in found[1].split(",")])
    assert abs(way @ np.array(located.hole("tab.C").centre)) < 0.02 * 80
    assert is_loose(located, "tab.C") and not is_loose(located, "tab.B")
    assert error_ellipsoid(located.covariance_of("tab.C")).axes_mm[0] > 50.0


def test_a_hole_without_readings_is_loose_in_its_face() -> None:
    located = solve(tab() + distance("tab.A", "tab.B", 100))
    assert located.loose == ("hole tab.C can still move in all directions square to [0, 0, 1]",)


def test_holes_in_a_row_are_loose_across_it() -> None:
    """Distances along a line don't hold the middle hole across it, however well they agree."""
    row = distance("tab.A", "tab.B", 100) + distance("tab.A", "tab.C", 50) + distance("tab.C", "tab.B", 50)
    located = solve(tab() + row)
    assert located.loose == ("hole tab.C can still move along [0, 1, 0]",)
    square = '[[readings]]\nkind = "square"\nhole = "tab.C"\nline = ["tab.A", "tab.B"]\nvalue = 0.4\n'
    held = solve(tab() + row + square)
    assert held.loose == ()
    assert held.hole("tab.C").centre[1] == pytest.approx(0.4, abs=0.01)


def test_pain_13_the_height_of_every_foot_must_be_read() -> None:
    """Two tabs with all distances between their holes: flat to first order only, so heights are needed; 0 counts."""
    text = HEAD + "[faces.left.holes]\nA = { diameter = 8.5 }\nB = { diameter = 8.5 }\n"
    text += "[faces.right]\nat = [0, 200, 0]\nnormal = [0, 0, 1]\n"
    text += "[faces.right.holes]\nC = { diameter = 8.5 }\nD = { diameter = 8.5 }\n"
    long = math.hypot(100.0, 200.0)
    text += distance("left.A", "left.B", 100.0) + distance("right.C", "right.D", 100.0)
    text += distance("left.A", "right.C", 200.0) + distance("left.B", "right.D", 200.0)
    text += distance("left.A", "right.D", long) + distance("left.B", "right.C", long)
    without = solve(text)
    assert any("face right as a whole can still move" in words for words in without.loose)
    assert "stands above" in without.advice[0]
    heights = text + step("right.C", "left", 0.0) + step("right.D", "left", 0.5) + step("left.A", "right", -0.25)
    located = solve(heights)
    assert located.loose == ()
    assert located.hole("right.C").centre[2] == pytest.approx(0.0, abs=0.1)
    assert located.hole("right.D").centre[2] == pytest.approx(0.5, abs=0.1)


# -- readings that look wrong


def test_two_readings_of_one_span_can_not_be_told_apart() -> None:
    located = solve(tab(", about = [64, 48]") + distance("tab.A", "tab.B", 103) + TRIANGLE)
    assert located.suspect in (0, 1)
    assert {located.suspect, *located.suspect_alike} == {0, 1}
    assert abs(located.suspect_error or 0.0) == pytest.approx(3.0, abs=1e-6)
    assert "one of these is out" in located.advice[0]


def test_a_third_reading_tells_them_apart() -> None:
    twice = distance("tab.A", "tab.B", 103) + distance("tab.A", "tab.B", 100.1)
    located = solve(tab(", about = [64, 48]") + twice + TRIANGLE)
    assert (located.suspect, located.suspect_alike) == (0, ())
    assert located.suspect_error == pytest.approx(2.95, abs=0.01)
    assert located.advice[0].startswith("measure again: tab.A to tab.B")


def test_readings_that_nothing_checks_are_never_suspected() -> None:
    located = solve(tab(", about = [64, 48]") + distance("tab.A", "tab.B", 103) + TRIANGLE)
    assert [r.w is None for r in located.residuals] == [False, False, True, True]
    assert [round(r.redundancy, 9) for r in located.residuals] == [0.5, 0.5, 0.0, 0.0]


def test_readings_far_apart_widen_every_error() -> None:
    """50 and 53 mm with a tape: the variance factor stands by hand, and the covariance grows by it."""
    pair = distance("tab.A", "tab.B", 50, error=0.5) + distance("tab.A", "tab.B", 53, error=0.5)
    rest = distance("tab.A", "tab.C", 40, error=0.5) + distance("tab.B", "tab.C", 40, error=0.5)
    located = solve(tab(", about = [25, 30]") + pair + rest)
    assert located.variance_factor == pytest.approx(2 * 1.5**2 / 0.5**2, rel=1e-9)
    assert located.widened == pytest.approx(located.variance_factor)
    off = error_ellipsoid(located.covariance_of("tab.B")).axes_mm[0]
    assert off == pytest.approx(0.5 / math.sqrt(2.0) * math.sqrt(located.variance_factor), rel=1e-9)


def test_pain_27_every_way_of_measuring_one_span() -> None:
    """Two holes of 8 and 12 mm, 100 mm apart: gap 90, over all 110, left edges 102 less the radii, pins 6 and 7."""
    ways = distance("tab.A", "tab.B", 90, "inner") + distance("tab.A", "tab.B", 110, "outer")
    ways += distance("tab.A", "tab.B", 98, "left to left") + distance("tab.B", "tab.A", 102, "left to left")
    ways += distance("tab.A", "tab.B", 106.5, "pins", pins=[6, 7]) + distance("tab.A", "tab.B", 100)
    located = solve(tab(", about = [64, 48]", "diameter = 8", "diameter = 12") + ways + TRIANGLE)
    assert [round(r.residual, 9) for r in located.residuals] == [0.0] * 9
    assert located.hole("tab.B").centre[0] == pytest.approx(100.0, abs=1e-9)


@pytest.mark.parametrize(
    ("direction", "unworn"), [(0, "start"), (0, "end"), (90, "start"), (37, "end"), (143, "start")]
)
def test_pain_31_the_true_centre_of_a_worn_hole(direction: float, unworn: str) -> None:
    """A round hole of 8.5 mm at (64, 48), dragged by 1.2 mm; what is seen is the oval."""
    drag, angle = 1.2, math.radians(direction)
    toward = np.array([math.cos(angle), math.sin(angle)]) * (1.0 if unworn == "start" else -1.0)
    middle = np.array([64.0, 48.0]) + drag / 2 * toward
    text = tab().replace(
        "C = { diameter = 8.5 }",
        f'C = {{ short = 8.5, long = 9.7, direction = {direction}, unworn = "{unworn}", about = [64, 48] }}',
    )
    text += distance("tab.A", "tab.B", 100.0)
    text += distance("tab.A", "tab.C", float(np.linalg.norm(middle)))
    text += distance("tab.B", "tab.C", float(np.linalg.norm(middle - [100.0, 0.0])))
    located = solve(text)
    assert located.hole("tab.C").centre == pytest.approx((64.0, 48.0, 0.0), abs=1e-9)
    assert located.hole("tab.C").diameter_mm == 8.5
    assert not any("worn" in words for words in located.advice)


def test_pain_31_an_unknown_end_takes_the_middle_and_asks() -> None:
    worn = "C = { short = 8.5, long = 9.7, direction = 0, about = [64, 48] }"
    located = solve(tab().replace("C = { diameter = 8.5 }", worn) + TRIANGLE)
    assert located.hole("tab.C").centre == pytest.approx((64.0, 48.0, 0.0), abs=1e-9)
    assert any("tab.C is worn oval by 1.2 mm" in words and "unworn" in words for words in located.advice)
    little = solve(tab().replace("C = { diameter = 8.5 }", worn.replace("9.7", "8.7")) + TRIANGLE)
    assert not any("worn" in words for words in little.advice)


def test_pain_31_edges_of_a_worn_hole() -> None:
    """Worn by 2 mm along the line to A: the near edge lies 5.25 mm from the middle, the far edge as well."""
    worn = 'C = { short = 8.5, long = 10.5, direction = 0, unworn = "start", about = [60, 0] }'
    text = tab().replace("C = { diameter = 8.5 }", worn) + distance("tab.A", "tab.B", 100.0)
    text += '[[readings]]\nkind = "square"\nhole = "tab.C"\nline = ["tab.A", "tab.B"]\nvalue = 0.0\n'
    # Middle at 61, true centre at 60; A has a radius of 4.25.
    text += distance("tab.A", "tab.C", 61.0 - 5.25 - 4.25, "inner") + distance(
        "tab.A", "tab.C", 61.0 + 5.25 + 4.25, "outer"
    )
    text += distance("tab.A", "tab.C", 61.0 - 5.25 + 4.25, "left to left") + distance("tab.A", "tab.C", 61.0)
    located = solve(text)
    assert located.hole("tab.C").centre == pytest.approx((60.0, 0.0, 0.0), abs=1e-9)
    assert max(abs(r.residual) for r in located.residuals) < 1e-9


def test_pain_36_paint_is_taken_off_a_step() -> None:
    """0.3 mm of paint on the face the straight edge lies on, 0.1 mm on the other: 5 mm read are 5.2 mm of metal."""
    text = HEAD + "[faces.left]\ncoating = 0.3\n[faces.left.holes]\nA = { diameter = 8.5 }\nB = { diameter = 8.5 }\n"
    text += "[faces.right]\ncoating = 0.1\nat = [0, 50, 0]\nnormal = [0, 0, 1]\n"
    text += "[faces.right.holes]\nC = { diameter = 8.5 }\n"
    text += distance("left.A", "left.B", 100.0) + step("right.C", "left", 5.0)
    text += '[[readings]]\nkind = "tilt"\nfaces = ["left", "right"]\nvalue = 0\n'
    # Seen rims stand 5.2 + 0.1 - 0.3 = 5.0 mm apart in height.
    text += distance("left.A", "right.C", math.hypot(30.0, 40.0, 5.0))
    text += distance("left.B", "right.C", math.hypot(70.0, 40.0, 5.0))
    located = solve(text)
    assert located.hole("right.C").centre == pytest.approx((30.0, 40.0, 5.2), abs=1e-9)
    bare = solve(text.replace("coating = 0.3", "coating = 0").replace("coating = 0.1", "coating = 0"))
    assert bare.hole("right.C").centre[2] == pytest.approx(5.0, abs=1e-9)


# -- what to measure next


def _taken(words: str, site: TrueSite) -> TrueReading:
    """The advised reading, as it would be read on the true site."""
    if found := re.match(r"measure (\S+) to (\S+) centre to centre", words):
        value = site.distance(found[1], found[2], "centres")
        told = f'kind = "distance"\nfrom = "{found[1]}"\nto = "{found[2]}"\nover = "centres"'
        return TrueReading(told, value, reading_error("tape", value).sigma)
    if found := re.match(r"measure (\S+) square off the line (\S+) to (\S+) with", words):
        told = f'kind = "square"\nhole = "{found[1]}"\nline = ["{found[2]}", "{found[3]}"]'
        return TrueReading(told, site.square(*found.groups()), reading_error("ruler", 900.0).sigma)
    if found := re.match(r"measure how far (\S+) stands above face (\S+) with", words):
        told = f'kind = "step"\nhole = "{found[1]}"\nface = "{found[2]}"'
        return TrueReading(told, site.step(found[1], found[2]), reading_error("straight edge").sigma)
    raise AssertionError(words)


@pytest.mark.parametrize("seed", [9, 6, 12, 1, 4, 7])
def test_the_promised_gain_comes_true(seed: int) -> None:
    """The advised reading, added, makes the worst hole as good as was said; no other distance does better."""
    site = random_site(seed, 1 + seed % 3)
    rng = np.random.default_rng(seed)
    site.readings = [r for r in site.readings if rng.random() < 0.75]
    before = locate(site.site(seed=seed))
    words = before.advice[-1]
    found = re.search(r"goes from ([\d.]+) to ([\d.]+) mm", words)
    assert found, before.advice
    worst = max(error_ellipsoid(before.covariance_of(h.id)).axes_mm[0] for h in before.holes)
    assert float(found[1]) == pytest.approx(worst, abs=0.06)
    more = worst_with(site, _taken(words, site))
    assert more == pytest.approx(float(found[2]), abs=0.06)
    for a, b in [(site.names[0], site.names[-1]), (site.names[1], site.names[2])]:
        other = _taken(f"measure {a} to {b} centre to centre", site)
        assert worst_with(site, other) >= more - 0.005


def worst_with(site: TrueSite, reading: TrueReading) -> float:
    """The worst hole with one reading more, one sigma, mm."""
    located = locate(replace(site, readings=[*site.readings, reading]).site(seed=1))
    return max(error_ellipsoid(located.covariance_of(h.id)).axes_mm[0] for h in located.holes)


def test_one_hole_alone_needs_no_readings() -> None:
    located = solve(HEAD + "[faces.tab.holes]\nA = { diameter = 8.5 }\n")
    assert located.hole("tab.A").centre == (0.0, 0.0, 0.0)
    assert located.loose == located.mirror == located.advice == ()
    assert not located.covariance.any()


def test_a_triangle_that_does_not_close_is_not_bent_into_one() -> None:
    """100 mm can't be bridged by 30 and 50: a straight row is nearest, 20 mm shared by three equal readings."""
    readings = distance("tab.A", "tab.B", 100) + distance("tab.A", "tab.C", 30) + distance("tab.B", "tab.C", 50)
    located = solve(tab() + readings)
    assert [r.residual for r in located.residuals] == pytest.approx([20 / 3, -20 / 3, -20 / 3], abs=1e-6)
    assert located.suspect is not None and len(located.suspect_alike) == 2
