"""Folded parts that run into themselves and folded parts that do not, by hand and against sampled points."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from parts import l_part, plate, stock

from bracketgen.bending.collision import Collision, collisions
from bracketgen.bending.fold import Folded, fold, strip_frame
from bracketgen.geometry.contour import ChainSet, Circle, Contour, box_contour, closed_chain
from bracketgen.geometry.edge import Line
from bracketgen.geometry.gap import point_gap
from bracketgen.geometry.plane import Placement, Point
from bracketgen.geometry.prism import Prisms, depths_mm
from bracketgen.geometry.space import Frame
from bracketgen.part.hole import Hole, HoleShape, Opening, Purpose, RoundHole
from bracketgen.part.part import Bend, Panel, Part, Way

Points = Any

T = 2.0
R = 2.0


def bend(n: int, parent: str, child: str, line: Line, turn: float = 90.0, way: Way = Way.UP, radius: float = R) -> Bend:
    """The child's own tangent line starts at its origin and runs along x."""
    return Bend(f"bend {n}", parent, child, line, Line(Point(0, 0), Point(line.length, 0)), turn, way, radius)


def part_of(panels: list[Panel], bends: list[Bend], thickness: float = T) -> Part:
    return Part("test", "Test", stock(thickness), tuple(panels), tuple(bends), "EN 1993-1-8", 1.0)


def chain_part(legs: list[float], turns: list[float], width: float = 30.0, radius: float = R) -> Part:
    """A strip bent over and over: legs between tangent lines; a positive turn is up, a negative one down."""
    panels = [Panel(f"leg {n}", box_contour(0, 0, width, length)) for n, length in enumerate(legs)]
    bends = [
        bend(
            n,
            f"leg {n}",
            f"leg {n + 1}",
            Line(Point(0, legs[n]), Point(width, legs[n])),
            abs(turn),
            Way.UP if turn > 0 else Way.DOWN,
            radius,
        )
        for n, turn in enumerate(turns)
    ]
    return part_of(panels, bends)


def pairs(part: Part) -> set[tuple[str, str]]:
    return {(c.a, c.b) for c in collisions(fold(part))}


# ---------------------------------------------------------------- a referee: points of the true metal


def into(frame: Frame, xyz: Points) -> Points:
    return (xyz - np.array(frame.origin)) @ np.array((frame.x, frame.y, frame.z)).T


def within_panel(folded: Folded, panel: Panel, xyz: Points, grown: float = 0.0) -> Points:
    """Whether points lie in the plate, swollen (or shrunk, below 0) by `grown` all round."""
    local = into(folded.frames[panel.id], xyz)
    t = folded.part.stock.thickness_mm
    inside = np.asarray((local[:, 2] >= -t - grown) & (local[:, 2] <= grown))
    chains = [panel.outline, *(h.cut.contour() for h in panel.holes if h.shape.kind == "outline")]
    held = ChainSet(chains).hold([Point(x, y) for x, y in local[:, :2]])
    metal = held[:, 0] & ~held[:, 1:].any(axis=1)
    # Only points on the wrong side of the skin that the swelling or shrinking moves need its distance.
    for n in np.flatnonzero(inside & (metal if grown < 0 else ~metal)) if grown else []:
        near = min(point_gap(Point(*local[n, :2]), c).mm for c in chains)
        metal[n] = near >= -grown if grown < 0 else near <= grown
    inside &= metal
    return inside


def within_strip(folded: Folded, b: Bend, xyz: Points, grown: float = 0.0) -> Points:
    """Whether points lie in the true sector of a cylinder that a bend is."""
    x, y, z = into(strip_frame(b, folded.frames[b.parent]), xyz).T
    t = folded.part.stock.thickness_mm
    # From the axis: on the described side for a bend up, t + R below that face for a bend down.
    down = (b.inside_radius_mm - z) if b.way is Way.UP else (z + t + b.inside_radius_mm)
    away, turned = np.hypot(y, down), np.degrees(np.arctan2(y, down))
    slack = np.degrees(grown / b.inside_radius_mm)
    across = (away >= b.inside_radius_mm - grown) & (away <= b.inside_radius_mm + t + grown)
    along = (x >= -grown) & (x <= b.width_mm + grown)
    return across & along & (turned >= -slack) & (turned <= b.turn_deg + slack)


def within(folded: Folded, name: str, xyz: Points, grown: float = 0.0) -> Points:
    for b in folded.part.bends:
        if b.id == name:
            return within_strip(folded, b, xyz, grown)
    return within_panel(folded, folded.part.panel(name), xyz, grown)


def points_of(folded: Folded, name: str, rng: random.Random, count: int) -> Points:
    """Random points well inside a piece: at least 0.1 mm below its skin."""
    t = folded.part.stock.thickness_mm
    for b in folded.part.bends:
        if b.id == name:
            frame = strip_frame(b, folded.frames[b.parent])
            made = []
            for _ in range(count):
                r = b.inside_radius_mm + rng.uniform(0.1, t - 0.1)
                a = math.radians(rng.uniform(0.0, b.turn_deg))
                drop = r * math.cos(a)
                z = b.inside_radius_mm - drop if b.way is Way.UP else drop - t - b.inside_radius_mm
                made.append(frame.point((rng.uniform(0.1, b.width_mm - 0.1), r * math.sin(a), z)))
            return np.array(made)
    panel, frame = folded.part.panel(name), folded.frames[name]
    x0, y0, x1, y1 = panel.outline.bounds()
    local = [
        (rng.uniform(x0 + 0.1, x1 - 0.1), rng.uniform(y0 + 0.1, y1 - 0.1), rng.uniform(0.1 - t, -0.1))
        for _ in range(count)
    ]
    xyz = np.array([frame.point(p) for p in local])
    return xyz[within_panel(folded, panel, xyz)]


def sampled_pairs(folded: Folded, rng: random.Random, count: int = 300) -> set[tuple[str, str]]:
    """Pairs of pieces that share random points deep in the metal of both."""
    part = folded.part
    names = [p.id for p in part.panels] + [b.id for b in part.bends]
    own = {frozenset((b.id, p)) for b in part.bends for p in (b.parent, b.child)}
    clouds = {n: points_of(folded, n, rng, count) for n in names}
    found = set()
    for i, a in enumerate(names):
        for b in names[i + 1 :]:
            if frozenset((a, b)) in own:
                continue
            if within(folded, b, clouds[a], -0.1).any() or within(folded, a, clouds[b], -0.1).any():
                found.add((a, b))
    return found


def lies_in_both(folded: Folded, c: Collision) -> bool:
    xyz = np.array([c.at_mm])
    return bool(within(folded, c.a, xyz, 0.06)[0] and within(folded, c.b, xyz, 0.06)[0])


# ---------------------------------------------------------------- by hand


@pytest.mark.parametrize("way", [Way.UP, Way.DOWN])
@pytest.mark.parametrize("turn", [5.0, 45.0, 90.0, 135.0])
def test_an_angle_is_clear(turn: float, way: Way) -> None:
    assert collisions(fold(l_part(turn_deg=turn, way=way))) == ()
    assert collisions(fold(l_part(turn_deg=turn, way=way, inside_radius=0.4))) == ()


def test_a_flat_plate_is_clear() -> None:
    assert collisions(fold(plate(box_contour(0, 0, 50, 30)))) == ()


@pytest.mark.parametrize("turn", [60.0, 90.0])
def test_a_box_with_four_flanges_is_clear(turn: float) -> None:
    base = Panel("base", box_contour(0, 0, 60, 40))
    sides = [
        Line(Point(0, 40), Point(60, 40)),
        Line(Point(60, 40), Point(60, 0)),
        Line(Point(60, 0), Point(0, 0)),
        Line(Point(0, 0), Point(0, 40)),
    ]
    flanges = [Panel(f"side {n}", box_contour(0, 0, s.length, 15)) for n, s in enumerate(sides)]
    bends = [bend(n, "base", f"side {n}", s, turn) for n, s in enumerate(sides)]
    assert pairs(part_of([base, *flanges], bends)) == set()
    # Two flanges that both reach past their corner by more than the radius stand in each other.
    past = R + 1.0
    first, second = Panel("side 0", box_contour(0, 0, 60 + past, 15)), Panel("side 1", box_contour(-past, 0, 40, 15))
    assert pairs(part_of([base, first, *flanges[1:]], bends)) == set()
    if turn == 90:
        assert pairs(part_of([base, first, second, *flanges[2:]], bends)) == {("side 0", "side 1")}


def legs_turned(turn: float, gap: float, leg: float) -> Part:
    """A base of length `gap` with two legs turned towards each other."""
    base = Panel("base", box_contour(0, 0, 30, gap))
    legs = [Panel(n, box_contour(0, 0, 30, leg)) for n in ("left leg", "right leg")]
    lower, upper = Line(Point(30, 0), Point(0, 0)), Line(Point(0, gap), Point(30, gap))
    return part_of([base, *legs], [bend(0, "base", "left leg", lower, turn), bend(1, "base", "right leg", upper, turn)])


def test_legs_turned_135_cross_when_they_are_long_enough() -> None:
    """Each leg leans in by leg cos 45; the arc itself reaches R sin 45 out at its end."""
    gap = 60.0
    # In section, the described face of a leg ends at gap / 2 from the middle minus what it leans in.
    reach = (gap / 2 + R * math.sin(math.radians(45))) / math.cos(math.radians(45))
    assert pairs(legs_turned(135.0, gap, reach - 0.2)) == set()
    assert pairs(legs_turned(135.0, gap, reach + 0.2)) == {("left leg", "right leg")}
    assert pairs(legs_turned(90.0, gap, 200.0)) == set()


def g_shape(last: float) -> Part:
    """Base 60, upright 40, top 30 back over the base, then `last` down towards it; turned square and up each time."""
    return chain_part([60.0, 40.0, 30.0, last], [90.0, 90.0, 90.0])


def test_the_last_leg_of_a_g_reaches_the_base() -> None:
    """Between base and top there are 40 + 2 R; the last leg begins R below the top face and hits when longer."""
    room = 40.0 + 2 * R - R
    assert pairs(g_shape(room - 0.1)) == set()
    assert pairs(g_shape(room - 0.01)) == set()
    assert pairs(g_shape(room + 0.2)) == {("leg 0", "leg 3")}


def test_the_place_of_a_collision_lies_in_both() -> None:
    folded = fold(g_shape(43.0))
    (hit,) = collisions(folded)
    assert lies_in_both(folded, hit)
    assert hit.at_mm[2] == pytest.approx(0.0, abs=T)


def test_a_spiral_is_clear_as_long_as_every_turn_has_room() -> None:
    """Square turns inwards, each leg shorter than the one two before it by thickness and gap."""
    inwards = [60.0, 56.0, 52.0, 48.0, 44.0, 40.0]
    assert pairs(chain_part(inwards, [90.0] * 5, radius=1.0)) == set()
    assert pairs(chain_part([60.0, 56.0, 60.0, 56.0, 60.0], [90.0] * 4, radius=1.0)) != set()


def test_a_joggle_is_clear() -> None:
    assert pairs(chain_part([40.0, 3.0, 40.0], [90.0, -90.0])) == set()
    assert pairs(chain_part([40.0, 0.5, 40.0], [30.0, -30.0])) == set()


def test_a_hem_like_return_hits_its_parent_when_it_turns_too_far() -> None:
    """135 + 135 deg: the third leg runs back through the first one."""
    assert ("leg 0", "leg 2") in pairs(chain_part([40.0, 10.0, 40.0], [135.0, 135.0]))
    assert pairs(chain_part([40.0, 10.0, 40.0], [135.0, 45.0])) == set()


def tee(wing_drop: float, ears: float) -> Part:
    """A child with wings wider than its bend; the wings reach `wing_drop` below its tangent line, over the base's ears.

    The bend takes the middle 20 of a base of 60, whose ears stand `ears` beyond the bend line on both sides.
    """
    outline = [(0, 0), (60, 0), (60, 40 + ears), (41, 40 + ears), (41, 40), (19, 40), (19, 40 + ears), (0, 40 + ears)]
    base = Panel("base", closed_chain([Point(x, y) for x, y in outline]))
    d = -wing_drop
    wings = [(0, 0), (20, 0), (22, d), (38, d), (38, 20), (-18, 20), (-18, d), (-2, d)]
    child = Panel("child", closed_chain([Point(x, y) for x, y in wings]))
    return part_of([base, child], [bend(0, "base", "child", Line(Point(20, 40), Point(40, 40)))])


def test_a_child_wider_than_its_bend() -> None:
    """The child's plate stands R to R + t beyond the bend line: ears that reach there are hit by wings that do too."""
    assert pairs(tee(wing_drop=0.0, ears=10.0)) == set()
    assert pairs(tee(wing_drop=R - 0.1, ears=10.0)) == set()
    assert pairs(tee(wing_drop=R + 0.5, ears=10.0)) == {("base", "child")}
    assert pairs(tee(wing_drop=R + 0.5, ears=R - 0.1)) == set()


def test_a_panel_over_its_own_bend_is_left_to_the_check_of_the_flat() -> None:
    """Base metal that reaches 6 past its bend line is the same metal as the bend's: an overlap, not a collision."""
    part = tee(wing_drop=0.0, ears=6.0)
    base = replace(part.panels[0], outline=box_contour(0, 0, 60, 46))
    assert pairs(replace(part, panels=(base, part.panels[1]))) == set()


def slotted(shape: HoleShape) -> Part:
    """A G whose last leg is a tab of 10 that goes on through the base's opening."""
    hole = Hole("opening", shape, Purpose.OPENING)
    made = g_shape(60.0)
    base = replace(made.panels[0], holes=(hole,))
    tab = replace(made.panels[3], outline=closed_chain(
        [Point(0, 0), Point(30, 0), Point(30, 20), Point(20, 20),
         Point(20, 60), Point(10, 60), Point(10, 20), Point(0, 20)]
    ))  # fmt: skip
    return replace(made, panels=(base, *made.panels[1:3], tab))


def test_a_tab_may_pass_through_an_opening_but_not_through_its_edge() -> None:
    """The top leg ends at y = 30, the bend takes R more: the tab's metal lies between 30 - R - t and 30 - R."""
    inner, outer = 30.0 - R, 30.0 - R - T
    assert pairs(slotted(Opening(box_contour(9, outer - 1, 21, inner + 1)))) == set()
    assert pairs(slotted(Opening(box_contour(9, outer + 0.5, 21, inner + 1)))) == {("leg 0", "leg 3")}
    assert pairs(slotted(Opening(box_contour(11, outer - 1, 21, inner + 1)))) == {("leg 0", "leg 3")}
    assert pairs(slotted(RoundHole(Point(15, (inner + outer) / 2), 2 * (inner - outer) + 12))) == {("leg 0", "leg 3")}


def test_round_outlines_are_taken_as_round() -> None:
    """A disc on the end of the last leg of a G: only its rim comes near the base."""
    made = g_shape(40.0)
    for low, hits in ((41.9, False), (42.2, True)):
        disc = Circle(Point(15, low - 12), 12).contour()
        part = replace(made, panels=(*made.panels[:3], replace(made.panels[3], outline=disc)))
        assert (("leg 0", "leg 3") in pairs(part)) is hits


# ---------------------------------------------------------------- prisms


def test_depth_of_two_boxes_by_hand() -> None:
    unit = [[(0, 0), (10, 0), (10, 10), (0, 10)]]
    a = Prisms.extruded(Frame(), unit, 0.0, 10.0)
    one = np.array([0])
    for shift, depth in (((8.0, 0.0, 0.0), 2.0), ((8.0, 9.0, 0.0), 1.0), ((12.0, 0.0, 0.0), -2.0)):
        b = Prisms.extruded(Frame(shift), unit, 0.0, 10.0)
        assert depths_mm(a, one, b, one)[0] == pytest.approx(depth)
    # Two bars crossed edge to edge, each turned 45 deg about its own length: the way out is along their common normal.
    bar = [[(-1, -1), (1, -1), (1, 1), (-1, 1)]]
    lying = Frame.about_x(90, (0.0, 0.0, 0.0))
    first = Prisms.extruded(Frame.in_plane(Placement.turned(45)), bar, -20.0, 20.0)
    across = Prisms.extruded(Frame.in_plane(Placement.turned(45)).within(lying), bar, -20.0, 20.0)
    for apart, depth in ((2.7, 2 * math.sqrt(2) - 2.7), (3.0, 2 * math.sqrt(2) - 3.0)):
        moved = Prisms(across.corners + np.array((apart, 0.0, 0.0)), across.normals, across.edges)
        assert depths_mm(first, one, moved, one)[0] == pytest.approx(depth)


# ---------------------------------------------------------------- against sampled points


def winged(w: float, h: float, wings: float | None) -> Contour:
    """A plate of w x h, with wings that spread from its tangent line and hang down at their ends if so wished."""
    if wings is None:
        return box_contour(0, 0, w, h)
    corners = [
        (0, 0),
        (w, 0),
        (w + wings, -wings),
        (w + wings, h / 2),
        (w, h),
        (0, h),
        (-wings, h / 2),
        (-wings, -wings),
    ]
    return closed_chain([Point(x, y) for x, y in corners])


@st.composite
def trees(draw: st.DrawFn) -> Part:
    """Two to five plates, each bent out of an edge of an earlier one over the whole or a part of it."""
    sizes = st.floats(8, 45)
    panels = [Panel("p0", box_contour(0, 0, draw(sizes), draw(sizes)))]
    bends: list[Bend] = []
    free = {"p0": ["up", "left", "down", "right"]}
    for n in range(draw(st.integers(1, 4))):
        choice = [p for p in panels if free[p.id]]
        if not choice:
            break
        parent = draw(st.sampled_from(choice))
        side = draw(st.sampled_from(free[parent.id]))
        free[parent.id].remove(side)
        _, _, w, h = parent.outline.bounds()
        edge = {
            "up": Line(Point(0, h), Point(w, h)),
            "right": Line(Point(w, h), Point(w, 0)),
            "down": Line(Point(w, 0), Point(0, 0)),
            "left": Line(Point(0, 0), Point(0, h)),
        }[side]
        inset = draw(st.sampled_from([0.0, 0.2])) * edge.length
        d = edge.direction_at(edge.start)
        line = Line(edge.start.plus(d, inset), edge.end.plus(d, -inset))
        name = f"p{n + 1}"
        # The side it hangs from is taken; a child with wings has none left.
        wings = draw(st.sampled_from([None, None, 6.0]))
        panels.append(Panel(name, winged(line.length, draw(sizes), wings)))
        free[name] = ["up", "left", "right"] if wings is None else []
        turn = draw(st.sampled_from([30.0, 45.0, 90.0, 120.0, 135.0]))
        bends.append(bend(n, parent.id, name, line, turn, draw(st.sampled_from(list(Way))), draw(st.floats(0.5, 6))))
    return part_of(panels, bends, draw(st.floats(1, 4)))


@given(trees(), st.integers(0, 2**30))
@settings(deadline=None, max_examples=120)
def test_random_trees_agree_with_sampled_points(part: Part, seed: int) -> None:
    """What sampling finds is reported; what is reported lies in both pieces of the true metal."""
    folded = fold(part)
    found = collisions(folded)
    event("with a collision" if found else "clear")
    assert sampled_pairs(folded, random.Random(seed)) <= {(c.a, c.b) for c in found}
    for c in found:
        assert lies_in_both(folded, c), c


@given(trees(), st.floats(0, 360), st.floats(-200, 200))
@settings(deadline=None, max_examples=40)
def test_the_answer_does_not_depend_on_where_the_part_stands(part: Part, turn: float, x: float) -> None:
    moved = Frame.about_x(turn, (x, 30.0, -x)).within(Frame.in_plane(Placement.turned(turn / 2)))
    folded = fold(part)
    elsewhere = Folded(part, {k: f.within(moved) for k, f in folded.frames.items()})
    here, there = collisions(folded), collisions(elsewhere)
    assert [(c.a, c.b) for c in here] == [(c.a, c.b) for c in there]
    assert all(lies_in_both(elsewhere, c) for c in there)
