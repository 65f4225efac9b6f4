"""A seat with the side of the sheet that lies on it, as arrays for the search."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from bracketgen.standards.fasteners import Fit, clearance_hole
from bracketgen.vehicle.seating.placed import Touching
from bracketgen.vehicle.span.practice import HoleRoom, Practice, Room, hole_room
from bracketgen.vehicle.span.seat import Floats, Seat, SeatHole

#: Narrowest bend that a proposal makes, mm (common practice, no source).
LEAST_WIDTH_MM: Final = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class Lying:
    """The sheet on one seat.

    `z` is the unit normal out of the described face, `points` are the holes on that face (site's frame, mm, one a
    row), `pad` and `need` the metal around each and its distance to a tangent line.
    """

    seat: Seat
    touching: Touching
    z: Floats
    points: Floats
    pad: Floats
    need: Floats

    @property
    def middle(self) -> Floats:
        """Middle of the holes on the described face."""
        return np.asarray((self.points.min(axis=0) + self.points.max(axis=0)) / 2)

    @property
    def height(self) -> float:
        """The described face's distance from the site's origin along z."""
        return float(self.points[0] @ self.z)

    def extent(self, along: Floats) -> tuple[Floats, Floats]:
        """Least and greatest reach of the pads along each of the unit directions (rows)."""
        reach = along @ self.points.T
        return np.asarray((reach - self.pad).min(axis=1)), np.asarray((reach + self.pad).max(axis=1))


def lying(seat: Seat, touching: Touching, practice: Practice, room: Room) -> Lying:
    """The sheet put on a seat: its back on the face has the metal's thickness below the described face."""
    n = np.array(seat.normal)
    back = touching is Touching.BACK
    points = seat.points() + (practice.thickness_mm if back else 0.0) * n
    rooms = [room_of(h, practice, room) for h in seat.holes]
    pads, needs = np.array([r.pad for r in rooms]), np.array([r.from_bend for r in rooms])
    return Lying(seat, touching, n if back else -n, points, pads + _half_slots(seat), needs)


def room_of(hole: SeatHole, practice: Practice, room: Room) -> HoleRoom:
    """The room that one hole of a seat asks for."""
    return hole_room(hole.bolt, hole.fit, practice, room, hole.slot[0] if hole.slot else 0.0)


def _half_slots(seat: Seat) -> Floats:
    """How far the pads of slots reach beyond those of round holes."""
    return np.array([_half_slot(h) for h in seat.holes])


def _half_slot(hole: SeatHole) -> float:
    if hole.slot is None:
        return 0.0
    return max(0.0, hole.slot[0] - clearance_hole(hole.bolt, Fit(hole.fit)).diameter_mm) / 2
