"""Where the carried thing hangs: moved and turned from the wished place."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from bracketgen.geometry.plane import cos_sin_deg
from bracketgen.geometry.space import Frame, Vector, length, plus
from bracketgen.vehicle.seating.place import wished_frame
from bracketgen.vehicle.site.tables import CarriedTable

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pose:
    """Moved by `shift` (mm, in the site), and turned anticlockwise about its mounting face's normal."""

    shift: Vector = (0.0, 0.0, 0.0)
    turn_deg: float = 0.0

    def frame(self, carried: CarriedTable) -> Frame:
        """The carried thing's frame in the site."""
        wished = wished_frame(carried)
        c, s = cos_sin_deg(self.turn_deg)
        turned = Frame((0.0, 0.0, 0.0), (c, s, 0.0), (-s, c, 0.0)).within(wished)
        return replace(turned, origin=plus(wished.origin, self.shift))

    @property
    def far_mm(self) -> float:
        """How far it is moved."""
        return length(self.shift)


@dataclass(frozen=True, slots=True)
class Room:
    """The poses that are allowed, as numbers: shift x, y, z in mm, and the turn as the mm that `lever_mm` travels."""

    half: Floats
    lever_mm: float

    @staticmethod
    def of(carried: CarriedTable, lever_mm: float) -> Room:
        """The room that the site file gives, to either side."""
        return Room(np.array([*carried.room, math.radians(carried.turn_room) * lever_mm]), lever_mm)

    def pose(self, u: Floats) -> Pose:
        """The numbers as a pose."""
        x, y, z, turn = u.tolist()
        return Pose((x, y, z), math.degrees(turn / self.lever_mm))

    def numbers(self, pose: Pose) -> Floats:
        """The pose as numbers."""
        return np.array([*pose.shift, math.radians(pose.turn_deg) * self.lever_mm])
