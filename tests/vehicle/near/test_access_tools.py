"""Tools on a hexagon beside walls, in channels and among other bolts: against printed sizes and closed forms."""

from __future__ import annotations

import math

import pytest

from bracketgen.geometry.contour import box_contour
from bracketgen.geometry.space import Frame
from bracketgen.standards.fasteners import fastener
from bracketgen.standards.hand_tools import socket, spanner, tool_room_mm, tool_swing
from bracketgen.standards.table import LookupFault
from bracketgen.vehicle.access.access import EndAccess, ToolTry, end_access, most_spare, prepared, still_spare, tool_try
from bracketgen.vehicle.access.freeing import smallest_freeing
from bracketgen.vehicle.access.spanners import End, Tool, ToolShape, free_sectors, tool_shapes
from bracketgen.vehicle.near.envelope import Named
from bracketgen.vehicle.near.solids import Block, Drum, Plate, Wall, shifted

INCH = 25.4


def head(size: str = "M8", frame: Frame | None = None) -> End:
    bolt = fastener(size)
    on = frame or Frame()
    return End("plate/a", "head", on, bolt.head_across_flats_mm, bolt.head_height_mm, 0.0)


def wall(x: float, name: str = "wall") -> Named:
    """A wall square to x that stands at x and looks back to the bolt."""
    return (name, Wall((x, 0.0, 0.0), (-math.copysign(1.0, x), 0.0, 0.0)))


def tried(access: EndAccess, tool: Tool) -> ToolTry:
    return next(t for t in access.tries if t.shape.tool is tool)


def shape_of(end: End, tool: Tool) -> ToolShape:
    return next(s for s in tool_shapes(end) if s.tool is tool)


# -- tables


@pytest.mark.parametrize(
    ("across_in", "ring_in", "thick_in", "centres_in"),
    # A-A-1346A, 3.2: opening, outside diameter of head, thickness of head, distance between centres.
    [(7 / 16, 0.695, 3 / 8, 4.875), (1 / 2, 0.775, 3 / 8, 4.875), (9 / 16, 0.868, 11 / 32, 5.6875),
     (5 / 8, 0.946, 7 / 16, 6.4375), (11 / 16, 1.025, 33 / 64, 6.75), (3 / 4, 1.125, 35 / 64, 6.75)],
)  # fmt: skip
def test_rings_are_as_printed(across_in: float, ring_in: float, thick_in: float, centres_in: float) -> None:
    size = spanner(across_in * INCH)
    assert size.ring_mm == pytest.approx(ring_in * INCH, abs=1e-4)
    assert size.ring_thick_mm == pytest.approx(thick_in * INCH, abs=1e-4)
    assert size.length_mm == pytest.approx(centres_in * INCH, abs=1e-4)


@pytest.mark.parametrize(("across_mm", "most_mm"), [(8.0, 24.0), (13.0, 34.0), (24.0, 57.0)])
def test_open_ends_are_as_wide_as_iso_3318_allows(across_mm: float, most_mm: float) -> None:
    # ISO 3318:2016, largest width of the head, rounded there to whole mm.
    assert spanner(across_mm).open_mm == pytest.approx(most_mm, abs=0.5)


def test_a_ring_of_twelve_points_takes_a_grip_every_twelfth_of_a_turn() -> None:
    assert tool_swing("ring").swing_deg == 360.0 / 12
    assert tool_swing("open end").swing_deg == 360.0 / 12
    assert tool_swing("open end not turned over").swing_deg == 360.0 / 6


def test_widths_beyond_the_tables_are_told() -> None:
    for look_up in (spanner, socket):
        with pytest.raises(LookupFault, match="46 mm"):
            look_up(50.0)
    with pytest.raises(LookupFault):
        tool_swing("hammer")


@pytest.mark.parametrize("across_mm", [5.5, 7.0, 8.0, 10.0, 11.1125, 13.0, 16.0, 18.0, 24.0, 30.0, 36.0, 46.0])
def test_tools_are_wider_than_the_hexagon_and_grow_with_it(across_mm: float) -> None:
    corners = across_mm * 2 / math.sqrt(3)
    held = socket(across_mm)
    assert corners < held.diameter_mm < (held.free_mm or math.inf)
    assert corners < spanner(across_mm).ring_mm < spanner(across_mm).open_mm
    assert spanner(across_mm).ring_mm < spanner(across_mm * 0.999 + 0.04).ring_mm + 0.2


#: DIN 974-2:1991, series 1: the diameter around the bolt that takes any hand socket, mm.
DIN_974_2 = {
    "M5": 15, "M6": 18, "M8": 24, "M10": 28, "M12": 33, "M14": 36, "M16": 40, "M18": 43, "M20": 46, "M22": 54,
    "M24": 58, "M27": 61, "M30": 73,
}  # fmt: skip


@pytest.mark.parametrize("size", DIN_974_2)
def test_the_room_for_any_hand_socket_is_the_printed_one(size: str) -> None:
    held = socket(fastener(size).head_across_flats_mm)
    assert (held.free_mm, held.how) == (DIN_974_2[size], "read")
    # Only the drive end of a small socket, which stands above the hexagon, takes more.
    assert held.room_mm == max(DIN_974_2[size], held.drive_end_mm)


@pytest.mark.parametrize(("off", "fits"), [(0.5, True), (-0.5, False)])
def test_a_wall_at_the_printed_room_flips_the_verdict_of_the_socket(off: float, fits: bool) -> None:
    # Low enough for the ratchet of the extension to stand above it.
    low = ("rib", Block(Frame((12.0 + off + 50.0, 0.0, 20.0)), (50.0, 300.0, 20.0)))
    end = head("M8")
    on_150 = next(s for s in tool_shapes(end) if s.name == "socket 13 mm on a 150 mm extension")
    assert tool_try(end, on_150, [low]).turns is fits


# -- a wall beside the bolt, half a mm either way


@pytest.mark.parametrize(("off", "fits"), [(0.5, True), (-0.5, False)])
def test_a_wall_at_the_printed_radius_of_the_ring_flips_the_verdict(off: float, fits: bool) -> None:
    # 5/16 in bolt: 1/2 in across flats; its ring measures 0.775 in (A-A-1346A).
    access = end_access(head("5/16"), [wall(0.775 * INCH / 2 + off)])
    assert tried(access, Tool.RING).turns is fits
    assert (access.turned_by is not None) is fits


@pytest.mark.parametrize("size", ["M6", "M8", "M10", "M12", "M16", "M24"])
@pytest.mark.parametrize("tool", [Tool.OPEN_END, Tool.SOCKET])
@pytest.mark.parametrize(("off", "fits"), [(0.5, True), (-0.5, False)])
def test_a_wall_at_the_tools_radius_flips_whether_it_gets_on(size: str, tool: Tool, off: float, fits: bool) -> None:
    end = head(size)
    held = socket(end.across_flats_mm)
    round_mm = spanner(end.across_flats_mm).open_mm if tool is Tool.OPEN_END else held.room_mm
    if tool is Tool.SOCKET:
        # The ratchet's head is wider than any socket to 19 mm, and comes to stand above it.
        round_mm = max(round_mm, 2 * tool_room_mm("ratchet radius"))
    assert tool_try(end, shape_of(end, tool), [wall(round_mm / 2 + off)]).seats is fits


def test_an_extension_lifts_the_ratchet_over_a_low_wall() -> None:
    # A rib 60 mm high close to the socket: the bare socket's ratchet fouls it, on an extension of 75 mm it is above.
    end = head()
    rib: Named = ("rib", Block(Frame((17.0, 0.0, 30.0)), (5.0, 300.0, 30.0)))
    bare, on_75 = (s for s in tool_shapes(end) if s.name in ("socket 13 mm", "socket 13 mm on a 75 mm extension"))
    assert not tool_try(end, bare, [rib]).seats
    found = tool_try(end, on_75, [rib])
    assert found.turns and found.sectors[0].wide_deg == 360.0


# -- how far the handle swings


def half_closed_deg(size_mm: float, wall_mm: float) -> float:
    """Degrees to either side of the wall's direction that a ring's handle can't have: two round bars beside a plane."""
    size, c = spanner(size_mm), math.cos(math.radians(15.0))
    fingers = tool_room_mm("finger room")
    bars = [(size.length_mm - size.handle_mm / 2, size.handle_mm / 2), (size.length_mm - fingers, fingers)]
    return max(math.degrees(math.acos(min(1.0, (wall_mm - r) / (far * c)))) for far, r in bars)


@pytest.mark.parametrize("size", ["M6", "M8", "M12", "3/8"])
@pytest.mark.parametrize("wall_mm", [20.0, 45.0, 80.0, 110.0])
def test_the_swing_beside_a_wall_is_the_closed_form(size: str, wall_mm: float) -> None:
    end = head(size)
    found = tool_try(end, shape_of(end, Tool.RING), [wall(wall_mm)])
    (sector,) = found.sectors
    closed = half_closed_deg(end.across_flats_mm, wall_mm)
    assert sector.start_deg == pytest.approx(closed, abs=0.06)
    assert sector.stop_deg == pytest.approx(360.0 - closed, abs=0.06)
    # Found on the safe side.
    assert sector.start_deg >= closed - 1e-6 and sector.stop_deg <= 360.0 - closed + 1e-6


def test_angles_count_from_x_anticlockwise_as_seen_from_the_tool() -> None:
    # Seen from below, x to the right, the site's -y lies to the left of x, at +90 degrees.
    end = head(frame=Frame.toward((0.0, 0.0, 0.0), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0)))
    found = tool_try(end, shape_of(end, Tool.RING), [("wall", Wall((0.0, -40.0, 0.0), (0.0, 1.0, 0.0)))])
    closed = half_closed_deg(13.0, 40.0)
    assert found.sectors[0].start_deg == pytest.approx(90.0 + closed, abs=0.06)
    assert found.sectors[0].stop_deg == pytest.approx(450.0 - closed, abs=0.06)


@pytest.mark.parametrize(("off", "fits"), [(0.5, True), (-0.5, False)])
def test_a_bolt_in_a_u_channel_needs_the_width_for_thirty_degrees(off: float, fits: bool) -> None:
    # Between two walls the handle lies along the channel, to either side by 90 degrees less what a wall takes.
    end = head()
    low, high = 15.0, 130.0
    for _ in range(60):
        half = (low + high) / 2
        low, high = (half, high) if 180.0 - 2 * half_closed_deg(13.0, half) < 30.0 else (low, half)
    channel = [wall(half + off, "flange"), wall(-half - off, "other flange")]
    found = tool_try(end, shape_of(end, Tool.RING), channel)
    assert found.seats and len(found.sectors) == 2
    assert [round((s.start_deg + s.stop_deg) / 2) for s in found.sectors] == [90, 270]
    assert found.turns is fits and found.holds
    assert set(found.in_the_way) == (set() if fits else {"flange", "other flange"})


def test_thin_things_between_two_directions_are_not_missed() -> None:
    # Pins of 2 mm all round the bolt, every 29 degrees: nowhere 30 degrees are free, whichever way they begin.
    end = head()
    for start in (0.0, 3.7, 8.1):
        pins: list[Named] = []
        for k in range(13):
            a = math.radians(start + min(29.0 * k, 348.0))
            at = (80.0 * math.cos(a), 80.0 * math.sin(a))
            pins.append(("pins", Drum((*at, -50.0), (*at, 200.0), 1.0)))
        found = tool_try(end, shape_of(end, Tool.RING), pins)
        assert found.seats and found.sectors and not found.turns
        assert all(s.wide_deg < 29.0 for s in found.sectors)


def test_nothing_near_leaves_the_whole_turn() -> None:
    access = end_access(head(), [wall(900.0)])
    assert all(t.turns and t.sectors[0].wide_deg == 360.0 and t.seat is None for t in access.tries)
    end = head()
    assert free_sectors(end, shape_of(end, Tool.RING), prepared([]))[0].wide_deg == 360.0


@pytest.mark.parametrize(
    ("size", "pitch_mm"),
    # Least distance between two bolts for spanners and sockets: roymech.co.uk, Head_Clearances, column 'Min P'.
    [("M3", 14), ("M4", 17), ("M5", 20), ("M6", 24), ("M8", 30), ("M10", 37), ("M12", 42), ("M16", 50), ("M20", 60),
     ("M24", 75), ("M30", 94)],
)  # fmt: skip
def test_a_spanner_fits_where_a_published_table_of_bolt_pitches_says_so(size: str, pitch_mm: float) -> None:
    bolt, plate = fastener(size), Plate(Frame(), box_contour(-300.0, -300.0, 300.0, 300.0), (), -5.0, 0.0)
    beside = Drum((pitch_mm, 0.0, 0.0), (pitch_mm, 0.0, bolt.head_height_mm + 1.6), bolt.head_across_corners_mm / 2)
    access = end_access(head(size, Frame((0.0, 0.0, 1.6))), [("plate", plate), ("head", beside)])
    assert tried(access, Tool.RING).turns
    assert any(t.turns for t in access.tries if t.shape.tool is Tool.SOCKET)


# -- room to spare, and the smallest move


def test_the_margin_beside_a_wall_is_what_the_ring_has_left() -> None:
    end = head("5/16")
    radius = 0.775 * INCH / 2
    assert most_spare(end, [wall(radius + 2.0)]).mm == pytest.approx(2.0, abs=1e-6)
    assert most_spare(end, [wall(radius - 2.0)]).mm == pytest.approx(-2.0, abs=1e-6)
    assert most_spare(end, [wall(radius + 30.0)], enough_mm=5.0).mm == 5.0


def test_what_fitted_once_is_asked_first_and_says_the_same() -> None:
    end, here, nearer = head(), [wall(25.0)], [wall(12.0)]
    known = most_spare(end, here, 5.0)
    assert known.mm == 5.0 and still_spare([(end, known)], here, 5.0)
    assert not still_spare([(end, known)], nearer, 5.0)
    assert most_spare(end, nearer, 5.0).mm < 5.0


def test_the_smallest_move_from_a_wall_is_what_the_ring_lacks() -> None:
    access = end_access(head("5/16"), [wall(0.775 * INCH / 2 - 3.0)])
    freed = smallest_freeing(access)
    assert freed is not None and freed.thing == "wall" and freed.shape.tool is Tool.RING
    assert freed.move == pytest.approx((-3.0, 0.0, 0.0), abs=0.02)


def test_the_smallest_move_is_found_by_its_trial() -> None:
    # A box beside and one above: whatever move is told, the tool fits after it.
    end = head()
    box: Named = ("box", Block(Frame((13.0, 4.0, 20.0)), (6.0, 60.0, 40.0)))
    shelf: Named = ("shelf", Block(Frame((0.0, 0.0, 160.0)), (300.0, 300.0, 10.0)))
    access = end_access(end, [box, shelf])
    assert access.turned_by is None
    freed = smallest_freeing(access)
    assert freed is not None and freed.thing == "box"
    x, y, z = freed.move
    after = [(n, shifted(s, (-x, -y, -z)) if n == freed.thing else s) for n, s in access.obstacles]
    assert tool_try(end, freed.shape, after).turns
    half = [(n, shifted(s, (-x / 2, -y / 2, -z / 2)) if n == freed.thing else s) for n, s in access.obstacles]
    assert not tool_try(end, freed.shape, half).turns


def test_walled_in_on_all_sides_no_move_from_one_thing_helps() -> None:
    access = end_access(head(), [wall(8.0, "one"), wall(-8.0, "other")])
    assert access.turned_by is None and access.held_by is None
    assert smallest_freeing(access) is None
