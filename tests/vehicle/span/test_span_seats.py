"""Which faces become one seat, which bolts go through old holes, and what is written about them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bracketgen.description.read import read
from bracketgen.errors import GeometryFault
from bracketgen.geometry.space import Frame, Vector
from bracketgen.pipeline import work_out
from bracketgen.standards.fasteners import Fit, clearance_hole
from bracketgen.vehicle.locate.locate import Located, LocatedHole
from bracketgen.vehicle.seating.bolts import Touching
from bracketgen.vehicle.site import Site, read_site
from bracketgen.vehicle.span.layout import lay_out
from bracketgen.vehicle.span.practice import EdgeDistance, Practice
from bracketgen.vehicle.span.proposal import Folding
from bracketgen.vehicle.span.seat import MatingFace, SheetSide, bolt_for, footing, seats_of
from bracketgen.vehicle.span.span import SpanRequest, span
from bracketgen.vehicle.span.writing import Heading, described

OUT: Vector = (0.0, 0.0, 1.0)
PRACTICE = Practice(thickness_mm=4.0)

CARRIED = """
[carried]
mass = 1
centre = [0, 0, -20]
at = [{x}, 0, {z}]
normal = [{lean}, 0, {out}]
x = [1, 0, 0]
room = [5, 5, {room}]
[[carried.holes]]
name = "foot"
bolt = "M8"
pattern = {{ kind = "row", count = 2, spacing = 60 }}
"""


def located(**faces: list[Vector]) -> Located:
    """Faces that look along +z with holes of 9 mm at these places."""
    holes = tuple(
        LocatedHole(f"{face}.{'ABCD'[n]}", face, "chassis", p, OUT, 9.0, None)
        for face, places in faces.items()
        for n, p in enumerate(places)
    )
    frames = {face: Frame(origin=places[0]) for face, places in faces.items()}
    return Located(holes, np.zeros((3 * len(holes),) * 2), frames, (), 1.0, 0, None, (), (), ())


def site(carried: str = "", **faces: list[Vector]) -> Site:
    text = ['title = "Mating faces"', 'units = "mm"']
    text += [
        f"[faces.{f}.holes]\n" + "\n".join(f"{'ABCD'[n]} = {{ diameter = 9 }}" for n in range(len(p)))
        for f, p in faces.items()
    ]
    return read_site("\n".join(text) + carried, "seats.site.toml", "seats")


def seats(carried: str = "", **faces: list[Vector]) -> tuple[MatingFace, ...]:
    return seats_of(located(**faces), site(carried, **faces).document.carried, 4.0)


# -- bolts: ISO 273 fine holes are 6.4, 8.4, 10.5 and 13 mm


@pytest.mark.parametrize(
    ("diameter", "bolt"),
    [(6.6, "M6"), (8.3, "M6"), (8.4, "M8"), (9.0, "M8"), (10.4, "M8"), (11.0, "M10"), (13.5, "M12")],
)
def test_an_old_hole_takes_the_largest_bolt_that_goes_through(diameter: float, bolt: str) -> None:
    assert bolt_for(LocatedHole("tab.A", "tab", "chassis", (0.0, 0.0, 0.0), OUT, diameter, None)) == bolt
    assert clearance_hole(bolt, Fit.CLOSE).diameter_mm <= diameter


def test_a_thread_says_its_bolt_and_a_pinhole_takes_none() -> None:
    assert bolt_for(LocatedHole("tab.A", "tab", "chassis", (0.0, 0.0, 0.0), OUT, None, "M10")) == "M10"
    with pytest.raises(GeometryFault, match="takes no bolt"):
        bolt_for(LocatedHole("tab.A", "tab", "chassis", (0.0, 0.0, 0.0), OUT, 1.0, None))


# -- planes


def test_faces_of_one_plane_are_one_seat() -> None:
    (one,) = seats(left=[(0, 0, 0), (60, 0, 0)], right=[(160, 0, 0)])
    assert [h.mate for h in one.holes] == ["left.A", "left.B", "right.A"]
    assert [h.shim_mm for h in one.holes] == [0.0, 0.0, 0.0]


def test_a_small_step_takes_washers_under_the_lower_face() -> None:
    (one,) = seats(left=[(0, 0, 0), (60, 0, 0)], right=[(160, 0, 1.6)])
    assert [h.shim_mm for h in one.holes] == pytest.approx([1.6, 1.6, 0.0])
    assert one.points()[:, 2].tolist() == pytest.approx([1.6, 1.6, 1.6])


def test_a_step_of_more_than_a_washer_is_two_seats() -> None:
    assert len(seats(left=[(0, 0, 0), (60, 0, 0)], right=[(160, 0, 2.6)])) == 2


def test_a_stepped_site_gets_a_flat_bracket_with_washers_and_others_get_offsets(tmp_path: Path) -> None:
    for step, kind in ((1.6, Folding.FLAT), (12.0, Folding.OFFSET)):
        faces: dict[str, list[Vector]] = {"left": [(0, 0, 0), (60, 0, 0)], "right": [(180, 0, step), (240, 0, step)]}
        found = span(site(**faces), located(**faces), SpanRequest(practice=PRACTICE))
        assert kind in {p.kind for p in found}
        document = read(found[0].text, "x.toml").document
        assert document.site is not None
        assert sorted(document.site.shims.values()) == ([1.6, 1.6] if kind is Folding.FLAT else [])


# -- what is carried, on the other side of the sheet


def test_what_hangs_on_the_sheets_other_side_is_one_seat_with_it() -> None:
    text = CARRIED.format(x=150, z=4, lean=0, out=-1, room=2)
    (one,) = seats(text, left=[(0, 0, 0), (60, 0, 0)])
    assert [h.side for h in one.holes] == [SheetSide.SEAT, SheetSide.SEAT, SheetSide.AWAY, SheetSide.AWAY]
    assert one.points()[:, 2].tolist() == pytest.approx([0.0] * 4)


def test_it_is_moved_onto_the_sheet_within_its_room_and_put_flat() -> None:
    text = CARRIED.format(x=150, z=4.6, lean=0.005, out=-1, room=2)
    (one,) = seats(text, left=[(0, 0, 0), (60, 0, 0)])
    assert [h.at[2] for h in one.holes] == pytest.approx([0.0, 0.0, 4.0, 4.0])
    assert [h.shim_mm for h in one.holes] == [0.0] * 4
    stiff = CARRIED.format(x=150, z=3.4, lean=0, out=-1, room=0)
    assert len(seats(stiff, left=[(0, 0, 0), (60, 0, 0)])) == 2


@pytest.mark.parametrize(("z", "moved"), [(6.0, True), (2.0, True), (1.9, False), (6.1, False)])
def test_it_is_moved_by_its_room_and_not_by_more(z: float, moved: bool) -> None:
    """A sheet of 4 mm and a room of 2 mm either way."""
    found = seats(CARRIED.format(x=150, z=z, lean=0, out=-1, room=2), left=[(0, 0, 0), (60, 0, 0)])
    hung = [h for seat in found for h in seat.holes if h.at[0] > 100.0]
    assert len(hung) == 2
    assert all((h.at[2] == pytest.approx(4.0) and h.shim_mm == 0.0) is moved for h in hung)


def test_a_flat_bracket_between_says_which_holes_touch_with_its_face() -> None:
    text = CARRIED.format(x=150, z=4, lean=0, out=-1, room=2)
    (one,) = seats(text, left=[(0, 0, 0), (60, 0, 0)])
    layout = lay_out(footing(one, Touching.BACK, PRACTICE, EdgeDistance.EASY), (), PRACTICE, EdgeDistance.EASY)
    written = described(layout, Heading("Plate", ("made for a test",), "seats.site.toml"))
    table = read(written, "x.toml").document.site
    assert table is not None
    assert set(table.touching.values()) == {"face"}
    assert sorted(table.bolts[name] for name in table.touching) == ["carried.foot-1", "carried.foot-2"]
    made = work_out(written.partition("# Where it goes")[0], "x.toml", "x")
    assert not made.failed
    # Holes stand 90 mm on from the second old hole, in one line, as the site says.
    xs = sorted(h.centre.x for h in made.flat.holes)
    assert xs == pytest.approx([0.0, 60.0, 150.0, 210.0])


def test_unknown_faces_are_named() -> None:
    with pytest.raises(GeometryFault, match="no face 'rihgt'"):
        seats_of(located(left=[(0, 0, 0), (60, 0, 0)]), None, 4.0, ("rihgt",))


def test_one_hole_is_nothing_to_span() -> None:
    faces: dict[str, list[Vector]] = {"left": [(0, 0, 0)]}
    with pytest.raises(GeometryFault, match="nothing to span"):
        span(site(**faces), located(**faces))


# -- more than two seats


def test_three_seats_are_joined_by_one_bracket_with_a_middle() -> None:
    """A rail's face and an ear on either side of it, square to it."""
    places: dict[str, tuple[list[Vector], Vector]] = {
        "rail": ([(0, 0, 0), (60, 0, 0)], OUT),
        "front": ([(-55, 0, 55), (-55, 30, 60)], (1.0, 0.0, 0.0)),
        "rear": ([(120, 0, 60), (120, 30, 60)], (-1.0, 0.0, 0.0)),
    }
    holes = tuple(
        LocatedHole(f"{face}.{'AB'[n]}", face, "chassis", p, normal, 9.0, None)
        for face, (points, normal) in places.items()
        for n, p in enumerate(points)
    )
    frames = {
        face: Frame(points[0], (0.0, 1.0, 0.0), (normal[1], normal[2], normal[0]), normal)
        for face, (points, normal) in places.items()
    }
    where = Located(holes, np.zeros((18, 18)), frames, (), 1.0, 0, None, (), (), ())
    found = span(site(**{face: points for face, (points, _) in places.items()}), where, SpanRequest(practice=PRACTICE))
    assert found
    assert {p.kind for p in found} == {Folding.BRANCHED}
    for proposal in found:
        assert proposal.miss_mm < 0.01
        assert {b.mate for b in proposal.placed.bolts} == {h.id for h in holes}
        assert not work_out(proposal.text.partition("# Where it goes")[0], "x.toml", "x").failed
