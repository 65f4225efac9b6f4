"""What every kind of hole must answer, held against points sampled on its edge and core; and what is judged by it."""

from __future__ import annotations

import ast
import importlib
import math
import pkgutil
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
import shapely
from described import plate as described_plate
from parts import plate
from rule_cases import flattened, said, sampled, slot
from source_tree import modules
from template_reading import crossings, joined

import bracketgen.part
from bracketgen.bending.flat import Flat, FlatHole
from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks.words import DRAWN
from bracketgen.drawing.sheet import Paper
from bracketgen.drawing.template.pages import template_pages
from bracketgen.drawing.template.sheets import TRUE
from bracketgen.drawing.workshop.marking_out import drillings
from bracketgen.drawing.workshop.tables import named_holes
from bracketgen.findings import Level
from bracketgen.geometry.contour import box_contour, closed_chain
from bracketgen.geometry.edge import Arc
from bracketgen.geometry.plane import Placement, Point, polar
from bracketgen.part.hole import Hole, HoleShape, Opening, Purpose, RoundHole, Slot
from bracketgen.part.part import Part
from bracketgen.pipeline import work_out

#: Steps of the samples, mm, and how far a sampled distance may be off: a sagitta of that step at the least radius here.
_STEP = 0.01
_OFF = 1e-4

_WINDOW = closed_chain([Point(-20, -8), Point(25, -10), Point(25, 12), Point(-20, 12)])
EXAMPLES: list[HoleShape] = [
    RoundHole(Point(3, -2), 9.0),
    *(Slot(Point(3, -2), 9.0, 25.0, direction) for direction in (0.0, 30.0, 90.0, -71.3)),
    Opening(_WINDOW),
]
BOLTED = [s for s in EXAMPLES if s.core is not None]


def kinds() -> set[type]:
    """Every class of the room that has a kind's word and a kind's answers."""
    found = set()
    for module in pkgutil.iter_modules(bracketgen.part.__path__, "bracketgen.part."):
        for thing in vars(importlib.import_module(module.name)).values():
            if isinstance(thing, type) and isinstance(getattr(thing, "kind", None), str) and hasattr(thing, "told"):
                found.add(thing)
    return found


def core_points(shape: HoleShape) -> list[Point]:
    """The core, its end too, no farther apart than the step."""
    core = shape.core
    assert core is not None
    return [core] if isinstance(core, Point) else [*sampled([core], _STEP), core.end]


def flat_with(shape: HoleShape) -> tuple[Flat, Folded]:
    part = plate(box_contour(-50, -50, 50, 50), [Hole("h", shape, Purpose.CLEARANCE, "M8")])
    return flattened(part)


def named(shape: HoleShape) -> str:
    return f"{shape.kind} {shape.direction_deg}"


def test_every_kind_is_tried_here() -> None:
    assert {type(s) for s in EXAMPLES} == kinds() >= {RoundHole, Slot, Opening}
    words = [k.kind for k in kinds()]
    assert len(set(words)) == len(words)


@pytest.mark.parametrize("shape", EXAMPLES, ids=named)
def test_edge_is_closed_anticlockwise_and_exact(shape: HoleShape) -> None:
    edges = shape.cut.contour().edges
    assert all(a.end == b.start for a, b in pairwise([*edges, edges[0]]))
    ring = shapely.Polygon(sampled(edges, _STEP))
    assert ring.is_valid and ring.exterior.is_ccw
    assert shape.cut.area == pytest.approx(ring.area, rel=1e-5)
    for e in edges:
        if isinstance(e, Arc):
            assert e.centre.distance(e.start) == pytest.approx(e.radius, abs=1e-9)
            assert e.centre.distance(e.end) == pytest.approx(e.radius, abs=1e-9)
            assert abs(e.sweep_rad) <= math.pi + 1e-9
    assert ring.contains(shapely.Point(shape.centre))


@pytest.mark.parametrize("shape", BOLTED, ids=named)
def test_edge_lies_half_the_width_from_the_core_all_round(shape: HoleShape) -> None:
    assert shape.width_mm is not None
    points = core_points(shape)
    core = shapely.LineString(points) if len(points) > 1 else shapely.Point(points[0])
    edge = shapely.LinearRing(sampled(shape.cut.contour().edges, _STEP))
    # Every place of the edge is half a width from the core, and every place of the core half a width from the edge.
    away = [core.distance(shapely.Point(p)) for p in edge.coords]
    assert away == pytest.approx([shape.width_mm / 2] * len(away), abs=_OFF)
    kept = [edge.distance(shapely.Point(p)) for p in points]
    assert kept == pytest.approx([shape.width_mm / 2] * len(kept), abs=_OFF)
    # A round drawn along a line takes its length times its width, and one round (Pappus).
    assert shape.cut.area == pytest.approx(core.length * shape.width_mm + math.pi * shape.width_mm**2 / 4, rel=1e-5)
    assert shape.length_mm is None or shape.length_mm == pytest.approx(core.length + shape.width_mm, abs=_OFF)


@pytest.mark.parametrize("shape", BOLTED, ids=named)
def test_ends_are_the_ends_of_the_core(shape: HoleShape) -> None:
    points = core_points(shape)
    assert [tuple(p) for p in shape.ends] == [pytest.approx(tuple(p)) for p in dict.fromkeys((points[0], points[-1]))]
    around = shapely.MultiPoint(shape.pads).convex_hull.buffer(1e-9)
    assert around.covers(shapely.MultiPoint(points))


@pytest.mark.parametrize("shape", BOLTED, ids=named)
def test_a_bolt_goes_wherever_the_play_says(shape: HoleShape) -> None:
    assert shape.width_mm is not None
    metal_free = shapely.Polygon(sampled(shape.cut.contour().edges, _STEP)).buffer(_OFF)
    bolt = shape.width_mm / 2 - 0.4
    play = shape.play(0.4)
    assert play.across_mm > 0 and (play.along_mm > 0) is (play.way is not None) is (shape.slot_mm is not None)
    way = play.way or Point(1.0, 0.0)
    for share in (-1.0, -0.5, 0.0, 0.5, 1.0):
        for turn in range(0, 360, 15):
            at = shape.centre.plus(way, share * play.along_mm).plus(polar(play.across_mm, math.radians(turn)))
            assert metal_free.contains(shapely.Point(at).buffer(bolt, 32))


@pytest.mark.parametrize("shape", BOLTED, ids=named)
def test_a_wider_one_has_its_whole_edge_farther_out(shape: HoleShape) -> None:
    assert shape.width_mm is not None
    wider = shape.with_width(shape.width_mm + 0.6)
    assert wider is not None
    edge = shapely.LinearRing(sampled(shape.cut.contour().edges, _STEP))
    away = [edge.distance(shapely.Point(p)) for p in sampled(wider.cut.contour().edges, 0.5)]
    assert away == pytest.approx([0.3] * len(away), abs=_OFF)


@pytest.mark.parametrize("shape", EXAMPLES, ids=named)
def test_words_and_report_say_what_it_is(shape: HoleShape) -> None:
    words = shape.size_words(DRAWN)
    assert words.strip() and any(c.isdigit() for c in words)
    told: dict[str, Any] = dict(shape.told(25.0))
    assert told["shape"] == shape.kind and {"diameter_mm", "length_mm", "direction_deg"} <= told.keys()
    assert (told["diameter_mm"], told["length_mm"]) == (shape.width_mm, shape.length_mm)
    direction = told["direction_deg"]
    assert (direction is None) is (shape.direction_deg is None)
    if shape.direction_deg is not None:
        assert -90.0 < direction <= 90.0 and math.isclose(
            math.tan(math.radians(direction)), math.tan(math.radians(shape.direction_deg + 25.0)), rel_tol=1e-9
        )
    # One drill makes it, or something is said of how it is made by hand, and how it lies is told.
    assert (shape.bore_mm is None) is (shape.by_hand != "") is (shape.lie_words(0.0, "{:g}".format) != "")


@pytest.mark.parametrize("shape", BOLTED, ids=named)
def test_edge_distance_is_judged_from_every_end(shape: HoleShape) -> None:
    """A straight edge square to the way from the middle to each end, 9.3 mm beyond it: EN asks 10.8, of slots 13.5."""
    for end in shape.ends:
        out = end.minus(shape.centre).unit() if end != shape.centre else Point(1.0, 0.0)
        turned = Placement(Point(0.0, 0.0), out.x, out.y)
        reach = max(p.dot(out) for p in core_points(shape))
        outline = box_contour(-200, -200, reach + 9.3, 200).moved(turned)
        (finding,) = said(plate(outline, [Hole("h", shape, Purpose.CLEARANCE, "M8")]), "hole-edge")
        assert finding.level is Level.FAIL
        assert finding.measured == pytest.approx(9.3, abs=1e-6)
        assert finding.required == pytest.approx(10.8 if shape.slot_mm is None else 13.5)


@pytest.mark.parametrize("shape", BOLTED, ids=named)
def test_template_and_punch_marks_stand_at_the_ends(shape: HoleShape) -> None:
    flat, folded = flat_with(shape)
    (hole,) = flat.holes
    (drilling,) = drillings(named_holes(flat), ())
    corner = Point(-50.0, -50.0)
    assert [tuple(p.plus(corner)) for p in drilling.punches] == [pytest.approx(tuple(p)) for p in shape.ends]
    wanted = shape.ends if len(shape.ends) > 1 else ()
    assert end_marks(flat, folded, hole) == [pytest.approx(tuple(p), abs=0.01) for p in wanted]


def end_marks(flat: Flat, folded: Folded, hole: FlatHole) -> list[tuple[float, float]]:
    """Where the printed template has the small crosses of a hole, in the frame of the flat by the hole's own centre."""
    found = joined(template_pages(flat, folded, Paper.A4, TRUE))
    ends, centre = found.chains.get(f"end of {hole.hole.id}", []), found.centres(hole.hole.id)[0]
    return [(x - centre[0] + hole.centre.x, y - centre[1] + hole.centre.y) for x, y in crossings(ends)] if ends else []


# -- what a person can work out


def test_punch_crosses_of_slots_stand_at_their_ends_on_the_printed_template() -> None:
    """Slots 9 wide and 25 over all: their ends lie 8 mm to both sides, at 30 degrees 8 cos 30 = 6.9282 by 4."""
    tables = [
        f'[[panels.base.holes]]\nname = "s{deg}"\nbolt = "M8"\nat = [{x}, 60]\n'
        f"slot = {{ length = 25, direction = {deg} }}"
        for deg, x in ((0, 35), (30, 80), (90, 125))
    ]
    text = described_plate(*tables, outline='shape = "rectangle", width = 160, height = 120')
    made = work_out(text, "plate.toml", "plate")
    found = joined(template_pages(made.flat, made.folded, Paper.A4, TRUE))
    x0, y0, _, _ = found.box("outline")
    expected = {
        "s0": [(27.0, 60.0), (43.0, 60.0)],
        "s30": [(80 - 6.9282, 56.0), (80 + 6.9282, 64.0)],
        "s90": [(125.0, 52.0), (125.0, 68.0)],
    }
    for name, ends in expected.items():
        marks = sorted((x - x0, y - y0) for x, y in crossings(found.chains[f"end of base/{name}"]))
        assert marks == [pytest.approx(e, abs=0.01) for e in ends], name


def near_edge_turned(distance: float) -> Part:
    """A slot 9 by 25 for M8 at 30 degrees, its upper end so far from the top edge; the ends are 8 sin 30 = 4 up."""
    part = plate(box_contour(-100, -100, 100, 4.0 + distance), [slot("s", 0, 0, 9, 25, 30, "M8")])
    return replace(part, edge_rule="EN 1993-1-8")


@pytest.mark.parametrize(
    ("distance", "expected"),
    [(9.3, [Level.FAIL]), (13.49, [Level.FAIL]), (13.5, [Level.WARN]), (13.51, [Level.WARN]), (18.0, [])],
)
def test_the_end_of_a_turned_slot_is_judged_by_the_rule_for_slots(distance: float, expected: list[Level]) -> None:
    """EN 1993-1-8:2005, table 3.3: e3 of a slotted hole is 1.5 d0, 13.5 mm at 9 mm; two diameters are comfortable."""
    findings = said(near_edge_turned(distance), "hole-edge")
    assert [f.level for f in findings] == expected
    for f in findings:
        assert f.measured == pytest.approx(distance, abs=1e-9)
        assert f.at_mm == pytest.approx((8 * math.cos(math.radians(30)), 4.0), abs=1e-9)


# -- nobody looks which kind it is


def looks_at_a_kind(tree: ast.AST, names: set[str]) -> list[int]:
    """Lines that test what a thing is by a kind's class, or read the kind's word of a shape."""
    found = []
    for node in ast.walk(tree):
        match node:
            case ast.Call(ast.Name("isinstance"), [_, kind]) if names & {
                str(getattr(n, "id", "")) for n in ast.walk(kind)
            }:
                found.append(node.lineno)
            case ast.MatchClass(ast.Name(name)) if name in names:
                found.append(node.lineno)
            case ast.Attribute(ast.Attribute(_, "shape") | ast.Name("shape"), "kind"):
                found.append(node.lineno)
    return found


def test_nobody_looks_which_kind_a_hole_is() -> None:
    names = {k.__name__ for k in kinds()}
    tests = ("isinstance(h, Slot)", "isinstance(h, (RoundHole, int))", "h.shape.kind == 'slot'", "shape.kind")
    assert all(looks_at_a_kind(ast.parse(t), names) == [1] for t in tests)
    assert looks_at_a_kind(ast.parse("match h:\n    case Slot():\n        h"), names) == [2]
    assert [f"{m.path.name}:{n}" for m in modules() for n in looks_at_a_kind(m.tree, names)] == []
