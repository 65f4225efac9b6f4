"""Pieces of a flat that lie on each other, against areas by hand."""

from __future__ import annotations

import math
import random

import pytest
from parts import l_part, stock

from bracketgen.bending.allowance import KFactor, bend_metal
from bracketgen.bending.flat import Flat, overlaps, unfold
from bracketgen.geometry.contour import Circle, Contour, box_contour, holds
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Placement, Point
from bracketgen.part.part import Bend, Panel, Part, Way

RADIUS, THICKNESS = 3.0, 3.0
#: Allowance of a square bend, R = t = 3 mm, K = 0.5: a quarter circle of 4.5 mm.
ALLOWANCE = math.pi / 2 * 4.5


def bend(name: str, parent: str, child: str, start: Point, end: Point, width: float | None = None) -> Bend:
    """A square bend up along start-end of the parent; the child's own tangent line runs along x from 0."""
    child_line = Line(Point(0, 0), Point(width or start.distance(end), 0))
    return Bend(name, parent, child, Line(start, end), child_line, 90.0, Way.UP, RADIUS)


def flat_of(panels: list[Panel], bends: list[Bend]) -> Flat:
    part = Part("test", "Test", stock(THICKNESS), tuple(panels), tuple(bends), "EN 1993-1-8", 1.0)
    return unfold(part, {b.id: bend_metal(KFactor(0.5), RADIUS, THICKNESS, 90.0) for b in bends})


def slit_base(slit: float) -> Flat:
    """Two tabs of 30 side by side on a base of 60, the second one reaching `slit` over the first."""
    base = Panel("base", box_contour(0, 0, 60, 20))
    first = bend("bend 1", "base", "tab 1", Point(0, 20), Point(30, 20))
    second = bend("bend 2", "base", "tab 2", Point(30, 20), Point(60, 20))
    tabs = [Panel("tab 1", box_contour(0, 0, 30, 25)), Panel("tab 2", box_contour(-slit, 0, 30, 10))]
    return flat_of([base, *tabs], [first, second])


def test_an_angle_and_neighbouring_tabs_only_touch() -> None:
    assert overlaps(unfold(l_part(), {"bend 1": bend_metal(KFactor(0.5), 3.0, 3.0, 90.0)})) == ()
    assert overlaps(slit_base(0)) == ()


def test_a_tab_that_reaches_over_its_neighbour() -> None:
    (found,) = overlaps(slit_base(4))
    assert (found.a, found.b) == ("tab 1", "tab 2")
    assert found.area_mm2 == pytest.approx(4 * 10, abs=1e-9)
    assert 26 < found.at_mm.x < 30
    assert 20 + ALLOWANCE < found.at_mm.y < 30 + ALLOWANCE


def corner_tabs(ear: float) -> Flat:
    """Tabs on two edges of a base that meet in a corner; both wider than their bends by `ear` towards the corner."""
    base = Panel("base", box_contour(0, 0, 40, 40))
    right = bend("right", "base", "right tab", Point(40, 40), Point(40, 0))
    top = bend("top", "base", "top tab", Point(0, 40), Point(40, 40))
    tabs = [
        Panel("right tab", box_contour(-ear, 0, 40, 20)),
        Panel("top tab", box_contour(0, 0, 40 + ear, 20)),
    ]
    return flat_of([base, *tabs], [right, top])


def test_ears_that_meet_beyond_a_corner() -> None:
    """Each ear begins one allowance away from the base: they share a square only when longer than that."""
    assert overlaps(corner_tabs(ALLOWANCE - 0.01)) == ()
    (found,) = overlaps(corner_tabs(ALLOWANCE + 5))
    assert {found.a, found.b} == {"right tab", "top tab"}
    assert found.area_mm2 == pytest.approx(25, abs=1e-9)


def test_a_shared_square_on_the_limit() -> None:
    """0.01 mm2 is a square of 0.1 mm."""
    assert overlaps(corner_tabs(ALLOWANCE + 0.0999)) == ()
    assert len(overlaps(corner_tabs(ALLOWANCE + 0.1001))) == 1


def test_pieces_that_touch_along_a_slanted_line_share_nothing() -> None:
    """Points of a line at any angle are rounded, so that neighbours cross each other by 1e-14 mm."""
    for n in range(400):
        along = Placement.turned(0.9 * n, Point(0.1 * n, 7 / (n + 1)))
        base = Panel("base", box_contour(0, 0, 90 + n / 7, 60).moved(along))
        start, end = (along.point(Point(x, 60)) for x in (12.3 + n / 11, 70 + n / 13))
        tab = Panel("tab", box_contour(0, 0, start.distance(end), 30))
        assert overlaps(flat_of([base, tab], [bend("bend 1", "base", "tab", start, end)])) == ()


def test_base_metal_beside_a_partial_bend_must_not_reach_over_it() -> None:
    """A bend of 20 on a base of 60 that goes on for 5 past the bend line: strip and base share 20 x 5."""
    base = Panel("base", box_contour(0, 0, 60, 45))
    child = Panel("child", box_contour(0, 0, 20, 30))
    flat = flat_of([base, child], [bend("bend 1", "base", "child", Point(20, 40), Point(40, 40))])
    (found,) = overlaps(flat)
    assert (found.a, found.b) == ("base", "bend 1")
    assert found.area_mm2 == pytest.approx(20 * 5, abs=1e-9)


def pads(apart: float, r: float) -> Flat:
    """Two bent tabs with round heads whose centres lie `apart` from each other in the flat, 40 above the base."""

    def head(x: float) -> Contour:
        return Circle(Point(x, 40), r).contour()

    base = Panel("base", box_contour(0, 0, 100, 20))
    bends = [
        bend("bend 1", "base", "head 1", Point(0, 20), Point(10, 20)),
        bend("bend 2", "base", "head 2", Point(90, 20), Point(100, 20)),
    ]
    # The heads are not even fastened to their strips: only their overlap is asked for.
    panels = [base, Panel("head 1", head(50 - apart / 2)), Panel("head 2", head(50 + apart / 2 - 90))]
    part = Part("test", "Test", stock(THICKNESS), tuple(panels), tuple(bends), "EN 1993-1-8", 1.0)
    placements = {
        "base": Placement(),
        "head 1": Placement(Point(0, 20)),
        "head 2": Placement(Point(90, 20)),
    }
    return Flat(part, base.outline, (), (), (), placements)


def test_round_heads_share_a_lens() -> None:
    """2 r^2 acos(d / 2r) - d / 2 sqrt(4 r^2 - d^2)."""
    r, d = 10.0, 12.0
    lens = 2 * r**2 * math.acos(d / 2 / r) - d / 2 * math.sqrt(4 * r**2 - d**2)
    (found,) = overlaps(pads(d, r))
    assert lens - 4 * r * math.pi * 1e-3 <= found.area_mm2 <= lens
    assert found.at_mm.distance(Point(50, 60)) < 8


def test_round_heads_that_touch_do_not_overlap() -> None:
    assert overlaps(pads(20.0, 10.0)) == ()
    assert overlaps(pads(20.001, 10.0)) == ()


def test_a_panel_that_comes_round_onto_the_first_one() -> None:
    """Four bends to the right: the last leg comes back over the base."""
    base = Panel("base", box_contour(0, 0, 30, 30))
    side = 30.0
    panels, bends = [base], []
    for n in range(3):
        panels.append(Panel(f"leg {n}", box_contour(0, 0, 30, side)))
        parent = "base" if n == 0 else f"leg {n - 1}"
        # Out of the base's upper edge, then always out of the right edge of the one before.
        start, end = (Point(0, 30), Point(30, 30)) if n == 0 else (Point(30, 30), Point(30, 0))
        bends.append(bend(f"bend {n}", parent, f"leg {n}", start, end))
    far = bend("bend 3", "leg 2", "last", Point(30, 30), Point(30, 0))
    flat = flat_of([*panels, Panel("last", box_contour(0, 0, 30, 60))], [*bends, far])
    assert {(o.a, o.b) for o in overlaps(flat)} >= {("base", "last")}


def test_random_tabs_agree_with_random_points() -> None:
    """Points thrown at the flat that lie in two pieces at once, counted, give the shared area within their scatter."""
    rng = random.Random(5)
    seen = 0
    for _ in range(12):
        flat = corner_tabs(rng.uniform(0, 18))
        found = {(o.a, o.b): o for o in overlaps(flat)}
        pieces = {p.id: p.outline.moved(flat.placements[p.id]) for p in flat.part.panels}
        thrown = [Point(rng.uniform(40, 70), rng.uniform(40, 70)) for _ in range(2000)]
        hits = [p for p in thrown if holds(pieces["right tab"], p) and holds(pieces["top tab"], p)]
        area = len(hits) / len(thrown) * 900
        mine = found.pop(("right tab", "top tab"), None)
        assert abs(area - (mine.area_mm2 if mine else 0.0)) < 5 * math.sqrt(900 * max(area, 5) / len(thrown)) + 1
        assert not found
        if mine:
            seen += 1
            assert all(holds(pieces[name], mine.at_mm) for name in (mine.a, mine.b))
    assert 2 < seen < 12
