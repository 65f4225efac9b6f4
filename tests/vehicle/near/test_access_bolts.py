"""Both ends of every bolt of a part in its place: turned at one, held at the other, or held by a thread."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import pytest
from parts import l_part, plate, round_hole
from placed_parts import BoltSpec, placed_part

from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import box_contour
from bracketgen.part.hole import Purpose
from bracketgen.part.part import Part
from bracketgen.rules.in_place import ACCESS
from bracketgen.vehicle.access.access import BoltAccess, bolt_accesses
from bracketgen.vehicle.access.freeing import bolt_findings
from bracketgen.vehicle.near.scene import Scene, scene
from bracketgen.vehicle.site import read_site

HEAD = """
title = "test"
units = "mm"
[faces.tab]
thickness = 5
holes = { a = { HOLE }, b = { HOLE } }
"""
#: Ring for 13 mm across flats: between the printed ones of 1/2 and 9/16 in (A-A-1346A).
RING_13_MM = (0.775 + (13.0 / 25.4 - 1 / 2) / (9 / 16 - 1 / 2) * (0.868 - 0.775)) * 25.4
CLEAR, TAPPED = "diameter = 9", 'thread = "M8"'


def scene_of(part: Part, panel: str, holes: Sequence[str], old: str = CLEAR, more: str = "") -> Scene:
    """The part of 3 mm with its described face up at z = 0, lying on a tab of 5 mm."""
    site = read_site(HEAD.replace("HOLE", old) + more, "test.site.toml", "test")
    named = {h.id: h for h in part.panel(panel).holes}
    bolts = [BoltSpec(panel, named[h], f"tab.{h[-1]}") for h in holes]
    return scene(placed_part(part, bolts), site)


def flat(purpose: Purpose = Purpose.CLEARANCE, diameter: float = 9.0) -> Part:
    holes = [round_hole(f"plate/{n}", x, 0.0, diameter, "M8", purpose) for n, x in (("a", 0.0), ("b", 60.0))]
    return plate(box_contour(-20.0, -20.0, 80.0, 20.0), holes)


def accesses(found: Scene, every_tool: bool = True) -> dict[str, BoltAccess]:
    return {b.hole: b for b in bolt_accesses(found, every_tool=every_tool)}


def access_findings(bolts: Iterable[BoltAccess]) -> list[Finding]:
    return [f for bolt in bolts for f in bolt_findings(bolt)]


def test_a_bolt_with_a_nut_has_two_ends_one_in_a_thread_has_one() -> None:
    both = accesses(scene_of(flat(), "plate", ["plate/a", "plate/b"]))
    assert [e.end.what for e in both["plate/a"].ends] == ["head", "nut"]
    assert all(b.fits for b in both.values())
    one = accesses(scene_of(flat(), "plate", ["plate/a"], TAPPED))
    assert [e.end.what for e in one["plate/a"].ends] == ["head"]


@pytest.mark.parametrize(("purpose", "diameter"), [(Purpose.TAPPED, 6.8), (Purpose.RIVET_NUT, 11.0)])
def test_where_the_part_holds_the_thread_the_tool_is_behind(purpose: Purpose, diameter: float) -> None:
    (bolt,) = bolt_accesses(scene_of(flat(purpose, diameter), "plate", ["plate/a"]))
    assert [e.end.what for e in bolt.ends] == ["head behind"]
    assert bolt.ends[0].end.frame.z == pytest.approx((0.0, 0.0, -1.0))


# A block behind the tab around the nut of a: 8 mm beside the bolt's axis, too near for any tool.
BEHIND = """
[neighbours."gear case"]
shape = "box"
at = [X, 0, -60]
size = [100, 300, 108]
"""


def test_a_nut_that_no_tool_gets_onto_fails_and_a_captive_one_does_not() -> None:
    more = BEHIND.replace("X", str(-8 - 50))
    stuck = scene_of(flat(), "plate", ["plate/a", "plate/b"], CLEAR, more)
    bolts = accesses(stuck, every_tool=False)
    assert {h: b.fits for h, b in bolts.items()} == {"plate/a": False, "plate/b": True}
    (finding,) = access_findings(bolts.values())
    assert (finding.rule, finding.level, finding.subject) == (ACCESS.id, Level.FAIL, "plate/a")
    assert "nut of plate/a" in finding.remedy and "gear case" in finding.remedy
    captive = scene_of(flat(), "plate", ["plate/a", "plate/b"], TAPPED, more)
    assert not access_findings(bolt_accesses(captive, every_tool=False))


def test_the_move_in_the_finding_is_enough_and_half_of_it_is_not() -> None:
    ring = RING_13_MM
    for beside, fits in ((ring / 2 + 0.5, True), (ring / 2 - 0.5, False)):
        found = scene_of(flat(), "plate", ["plate/a"], CLEAR, BEHIND.replace("X", str(-beside - 50)))
        assert accesses(found, every_tool=False)["plate/a"].fits is fits
    stuck = scene_of(flat(), "plate", ["plate/a"], CLEAR, BEHIND.replace("X", str(-8 - 50)))
    (finding,) = access_findings(bolt_accesses(stuck, every_tool=False))
    # The ring lacks 2.06 mm; any hand socket (24 mm, DIN 974-2), on an extension that lifts the ratchet out, lacks 4.
    assert "2.1 mm farther from gear case" in finding.remedy
    assert finding.measured == pytest.approx(8.0 - ring / 2, abs=0.01)


def test_a_nut_that_can_only_be_held_is_enough_when_the_head_turns() -> None:
    # A gap of 28 mm between two deep blocks behind the tab: the ring goes on, its handle only lies along the gap.
    gap = "".join(
        f'[neighbours."{n}"]\nshape = "box"\nat = [{x}, 0, -206]\nsize = [100, 400, 400]\n'
        for n, x in (("left", -64.0), ("right", 64.0))
    )
    bolt = accesses(scene_of(flat(), "plate", ["plate/a"], CLEAR, gap))["plate/a"]
    head, nut = bolt.ends
    assert head.turned_by is not None and nut.turned_by is None and nut.held_by is not None
    assert bolt.fits
    assert head.turned_by.shape.name == nut.held_by.shape.name == "ring spanner 13 mm"
    assert head.turned_by.widest is not None and head.turned_by.widest.wide_deg == 360.0


@pytest.mark.parametrize(("off", "fits"), [(0.5, True), (-0.5, False)])
def test_a_flange_of_the_part_itself_counts(off: float, fits: bool) -> None:
    # The leg's inner face stands at y = 53, its root is round with 3 mm about y = 50, z = 3. The ring begins on the
    # washer, 1.6 mm up, where the root comes 0.35 mm nearer than the face.
    root = 50.0 + (3.0**2 - (3.0 - 1.6) ** 2) ** 0.5
    hole = round_hole("base/a", 20.0, root - RING_13_MM / 2 - off, 9.0, "M8")
    found = scene_of(l_part(base=50.0, leg=120.0, base_holes=[hole]), "base", ["base/a"], TAPPED)
    (bolt,) = bolt_accesses(found)
    assert bolt.fits is fits
    if not fits:
        assert "bend 1" in bolt.ends[0].tries[0].in_the_way


def test_the_neighbouring_bolt_is_in_the_way_when_it_is_too_near() -> None:
    holes = [round_hole(f"plate/{n}", x, 0.0, 9.0, "M8") for n, x in (("a", 0.0), ("b", 16.5))]
    part = plate(box_contour(-20.0, -20.0, 60.0, 20.0), holes)
    near = accesses(scene_of(part, "plate", ["plate/a", "plate/b"], TAPPED))
    # Half a ring of 20.1 mm and half of 15.0 mm across corners are 17.6 mm.
    assert not near["plate/a"].fits
    assert "head of plate/b" in near["plate/a"].ends[0].tries[0].in_the_way
    wide = [round_hole(f"plate/{n}", x, 0.0, 9.0, "M8") for n, x in (("a", 0.0), ("b", 18.5))]
    apart = accesses(
        scene_of(plate(box_contour(-20.0, -20.0, 60.0, 20.0), wide), "plate", ["plate/a", "plate/b"], TAPPED)
    )
    assert apart["plate/a"].ends[0].tries[0].seats
