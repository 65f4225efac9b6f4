"""Where a bend and its panels don't meet along the whole tangent line: the skin stays one closed solid."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from parts import plate

from bracketgen.bending.fold import fold
from bracketgen.drawing.solid.mesh import skin_mesh
from bracketgen.drawing.solid.skin import Plane, marked_outline, seam_of, skin_of, tangents_of
from bracketgen.geometry.contour import Contour, box_contour, closed_chain
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point
from bracketgen.part.part import Bend, Panel, Part, Way

WIDE, T = 60.0, 3.0
WHOLE_BASE, WHOLE_CHILD = box_contour(0, 0, WIDE, 40), box_contour(0, 0, WIDE, 30)


def outline(*corners: tuple[float, float]) -> Contour:
    return closed_chain([Point(*p) for p in corners])


#: A notch of 10 x 5 at the upper left corner of the base, one of 8 x 4 in the middle of the child's lower edge.
NOTCHED_BASE = outline((0, 0), (60, 0), (60, 40), (10, 40), (10, 35), (0, 35))
NOTCHED_CHILD = outline((0, 0), (26, 0), (26, 4), (34, 4), (34, 0), (60, 0), (60, 30), (0, 30))
#: A child that begins 5 mm before its bend.
BROAD_CHILD = outline((-5, 0), (60, 0), (60, 30), (-5, 30))


def angle(base: Contour, child: Contour, way: Way, radius: float) -> Part:
    """Two panels and a bend of 60 mm at the base's upper edge."""
    own = Line(Point(0.0, 0.0), Point(WIDE, 0.0))
    bend = Bend("bend 1", "base", "child", Line(Point(0.0, 40.0), Point(WIDE, 40.0)), own, 90.0, way, radius)
    return replace(plate(base), panels=(Panel("base", base), Panel("child", child)), bends=(bend,))


def test_marks_and_who_is_there() -> None:
    part = angle(NOTCHED_BASE, NOTCHED_CHILD, Way.UP, 4.0)
    seam = seam_of(part.bends[0], *part.panels)
    assert seam.marks == pytest.approx((0.0, 10.0, 26.0, 34.0, 60.0))
    assert seam.parent == (False, True, True, True)
    assert seam.child == (True, True, False, True)


def test_a_seam_as_usual_adds_no_corner() -> None:
    part = angle(WHOLE_BASE, WHOLE_CHILD, Way.UP, 4.0)
    seam = seam_of(part.bends[0], *part.panels)
    assert (seam.marks, seam.parent, seam.child) == ((0.0, WIDE), (True,), (True,))
    for panel, tangent in zip(part.panels, tangents_of(part.bends[0], seam), strict=True):
        assert marked_outline(panel, [tangent]) == panel.outline


def test_a_panel_wider_than_its_bend_gets_a_corner_where_the_bend_begins() -> None:
    part = angle(WHOLE_BASE, BROAD_CHILD, Way.UP, 4.0)
    seam = seam_of(part.bends[0], *part.panels)
    assert (seam.marks, seam.parent, seam.child) == ((0.0, WIDE), (True,), (True,))
    assert Point(0.0, 0.0) in marked_outline(part.panels[1], [tangents_of(part.bends[0], seam)[1]]).vertices()


def test_an_edge_that_has_its_metal_on_the_other_side_is_none_of_the_seam() -> None:
    # A slot whose lower edge lies on the tangent line: metal below it, none between it and the strip.
    bay = outline((0, 0), (60, 0), (60, 50), (50, 50), (50, 40), (20, 40), (20, 50), (0, 50))
    part = angle(bay, WHOLE_CHILD, Way.UP, 4.0)
    assert seam_of(part.bends[0], *part.panels).parent == (False, True, False)


CASES = [
    ("notched base", NOTCHED_BASE, WHOLE_CHILD, 50.0),
    ("notched child", WHOLE_BASE, NOTCHED_CHILD, 32.0),
    ("both", NOTCHED_BASE, NOTCHED_CHILD, 82.0),
    ("broad child", WHOLE_BASE, BROAD_CHILD, -150.0),
    ("notched base, broad child", NOTCHED_BASE, BROAD_CHILD, -100.0),
]


@pytest.mark.parametrize("way", Way)
@pytest.mark.parametrize("radius", [0.0, 4.0])
@pytest.mark.parametrize(("name", "base", "child", "less"), CASES, ids=[c[0] for c in CASES])
def test_the_skin_closes_round_what_overhangs(
    name: str, base: Contour, child: Contour, less: float, radius: float, way: Way
) -> None:
    skin = skin_of(fold(angle(base, child, way, radius)))
    assert skin.open_rims() == []
    mesh = skin_mesh(skin, name, (0, 0, 0), chord_mm=1e-4)
    assert mesh.open_edges() == []
    whole = T * (60 * 40 + 60 * 30) + 60 * math.pi / 4 * ((radius + T) ** 2 - radius**2)
    assert mesh.volume_mm3 == pytest.approx(whole - T * less, rel=1e-5)


def test_what_overhangs_has_a_wall_of_its_own() -> None:
    # Two faces, their outer walls (5 + 3), the strip's two rounds and two ends, and the wall over the notch.
    skin = skin_of(fold(angle(NOTCHED_BASE, WHOLE_CHILD, Way.UP, 4.0)))
    assert len(skin.faces) == 4 + 5 + 3 + 4 + 1
    walls = [f for f in skin.faces if isinstance(f.surface, Plane) and f.surface.origin[1] == 40.0]
    (wall,) = [f for f in walls if f.surface.normal == pytest.approx((0.0, -1.0, 0.0))]
    corners = {skin.corners[n] for rim, _ in wall.loops[0] for n in (skin.rims[rim].start, skin.rims[rim].end)}
    assert corners == {(0.0, 40.0, 0.0), (10.0, 40.0, 0.0), (0.0, 40.0, -3.0), (10.0, 40.0, -3.0)}
