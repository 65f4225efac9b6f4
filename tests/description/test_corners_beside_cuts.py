"""Corner radii that saddles and notches cut into, or that reach far at the acute corners which they leave, are told."""

from __future__ import annotations

import math

import pytest
import shapely
from described import plate

from bracketgen.findings import Finding, Level
from bracketgen.pipeline import Made, work_out

#: A base of 60 with a saddle for a tube of 48 in the middle of its foot: 6 mm of foot on each side.
FOOT_MM = 6.0


def saddled(
    outline: str = "", outer: float = 0.0, centre_y: float = 0.0, tube: float = 48.0, width: float = 60.0
) -> Made:
    saddle = f"[[panels.base.saddles]]\ntube = {tube}\nat = [{width / 2}, {centre_y}]"
    text = plate(saddle, outline=f'shape = "rectangle", width = {width}, height = 80{outline}')
    return work_out(text.replace("outer = 0", f"outer = {outer}"), "part.toml", "part")


def told(made: Made, rule: str) -> list[Finding]:
    return [f for f in made.findings if f.rule == rule]


def foot_of_rounded(radius: float) -> float:
    """How far the left foot reaches down, by another library: 0 where it still stands on the edge."""
    box = shapely.box(radius, radius, 60 - radius, 80 - radius).buffer(radius, quad_segs=256)
    left = box.difference(shapely.Point(30, 0).buffer(24, quad_segs=256)).intersection(shapely.box(0, 0, 10, 20))
    return float(left.bounds[1])


@pytest.mark.parametrize(("radius", "cut"), [(3.0, False), (FOOT_MM, False), (6.2, True), (12.0, True), (20.0, True)])
def test_a_radius_larger_than_the_foot_beside_a_saddle(radius: float, cut: bool) -> None:
    made = saddled(f", corner_radius = {radius}")
    found = told(made, "corner-cut")
    assert len(found) == (2 if cut else 0)
    assert (foot_of_rounded(radius) > 1e-4) is cut
    for finding in found:
        assert finding.level is Level.WARN and finding.subject == "base"
        assert finding.required == pytest.approx(radius * math.pi / 2)
        assert finding.measured is not None and 0 < finding.measured < finding.required
        assert "(0.0, 0.0)" in finding.remedy or "(60.0, 0.0)" in finding.remedy


def test_what_is_left_of_the_round() -> None:
    """Rounds of 12 about (12, 12) meet the saddle of 24 about (30, 0) 15 deg or so from their lower ends."""
    apart, r, big = math.hypot(18, 12), 12.0, 24.0
    toward = math.atan2(-12, 18)
    half = math.acos((apart**2 + r**2 - big**2) / (2 * apart * r))
    # From straight left of its centre, anticlockwise, to where the saddle begins.
    swept = (toward - half) % (2 * math.pi) - math.pi
    for finding in told(saddled(", corner_radius = 12"), "corner-cut"):
        assert finding.measured == pytest.approx(r * swept)


def test_a_chamfer_that_a_saddle_cuts_into() -> None:
    assert not told(saddled(", chamfer = 5.9"), "corner-cut")
    found = told(saddled(", chamfer = 9"), "corner-cut")
    assert len(found) == 2 and found[0].required == pytest.approx(9 * math.sqrt(2))


@pytest.mark.parametrize(("centre_y", "far"), [(-6.0, False), (0.0, False), (8.7, False), (9.0, True), (12.0, True)])
def test_the_common_radius_at_an_acute_foot(centre_y: float, far: bool) -> None:
    """A saddle whose middle lies inside the metal leaves acute feet; 1 mm more than at a square corner is told.

    A round of 3 mm reaches from the corner to where a circle that is tangent to the foot's line touches it; that circle
    lies 28 mm from the saddle's middle: 3.98 mm at a height of 8.7 mm, 4.03 mm at 9 mm.
    """
    found = told(saddled(outer=3, centre_y=centre_y, tube=50, width=80), "corner-reach")
    assert len(found) == (2 if far else 0)
    for finding in found:
        corner = math.sqrt(25**2 - centre_y**2)
        touches = math.sqrt(28**2 - (centre_y - 3) ** 2)
        assert finding.measured == pytest.approx(touches - corner)
        assert finding.required == 3
        assert f"({40 - corner:.1f}, 0.0)" in finding.remedy or f"({40 + corner:.1f}, 0.0)" in finding.remedy
