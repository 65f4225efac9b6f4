"""Where planes of a folded sheet meet: many bends at once, as arrays.

Two described faces with unit normals z1, z2 and distances d1, d2 from the origin meet in a line. The metal of the
first lies along `sigma` q1 from it and that of the second along `sigma` q2, where q1 is the unit direction in the
first plane that climbs along z2, and sigma is +1 for a bend up, -1 for a bend down (plane geometry).
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from bracketgen.vehicle.span.practice import Practice
from bracketgen.vehicle.span.seat import Floats
from bracketgen.vehicle.span.ways.lying import Lying

Rows = npt.NDArray[np.intp]


@dataclass(slots=True, eq=False)
class Creases:
    """Bends between two planes each, one a row; lengths in mm, the line's direction is z1 x z2."""

    turn_deg: Floats
    q1: Floats
    q2: Floats
    along: Floats
    on_line: Floats
    sigma: Floats
    setback: Floats

    def taken(self, rows: Rows) -> Creases:
        """Some of the rows."""
        return Creases(*(getattr(self, f.name)[rows] for f in fields(self)))

    def over_first(self, points: Floats) -> Floats:
        """How far points (rows, or one a crease) of the first plane stand from the tangent line, into the metal."""
        return _off(points, self.on_line, self.q1, self.sigma) - _like(self.setback, points)

    def over_second(self, points: Floats) -> Floats:
        """The same on the second plane."""
        return _off(points, self.on_line, self.q2, self.sigma) - _like(self.setback, points)


def _off(points: Floats, base: Floats, way: Floats, sigma: Floats) -> Floats:
    if points.ndim == 3:
        return np.asarray(np.einsum("npk,nk->np", points - base[:, None, :], way) * sigma[:, None])
    return np.asarray(np.einsum("nk,nk->n", points - base, way) * sigma)


def _like(values: Floats, points: Floats) -> Floats:
    return values[:, None] if points.ndim == 3 else values


def creases(z1: Floats, d1: Floats, z2: Floats, d2: Floats, sigma: Floats, practice: Practice) -> Creases:
    """Bends between planes given row by row; nearly parallel planes give a turn near 0 or 180 and no sense."""
    c = np.clip(np.einsum("nk,nk->n", z1, z2), -1.0, 1.0)
    s = np.sqrt(np.maximum(1.0 - c * c, 1e-12))
    q1 = (z2 - c[:, None] * z1) / s[:, None]
    q2 = (z1 - c[:, None] * z2) / s[:, None]
    along = np.cross(z1, z2) / s[:, None]
    on_line = ((d1 - c * d2) / s**2)[:, None] * z1 + ((d2 - c * d1) / s**2)[:, None] * z2
    turn = np.arctan2(s, c)
    radius = practice.inside_radius_mm + np.where(sigma > 0, 0.0, practice.thickness_mm)
    setback = radius * np.tan(np.minimum(turn, 3.0) / 2)
    return Creases(np.degrees(turn), q1, q2, along, on_line, sigma, setback)


def sided(side: Lying, z: Floats, d: Floats, practice: Practice) -> tuple[Creases, Floats]:
    """Bends from a seat's plane to other planes, each the way on which the seat's holes lie; and the room they
    leave: the least distance of a hole from the tangent line less what it needs, mm."""
    n = len(z)
    z1, d1 = np.broadcast_to(side.z, (n, 3)), np.full(n, side.height)
    up = creases(z1, d1, z, d, np.ones(n), practice)
    down = creases(z1, d1, z, d, -np.ones(n), practice)
    points = np.broadcast_to(side.points, (n, *side.points.shape))
    slack_up = (up.over_first(points) - side.need).min(axis=1)
    slack_down = (down.over_first(points) - side.need).min(axis=1)
    better = slack_up >= slack_down
    sigma = np.where(better, 1.0, -1.0)
    chosen = Creases(up.turn_deg, up.q1, up.q2, up.along, up.on_line, sigma, np.where(better, up.setback, down.setback))
    return chosen, np.maximum(slack_up, slack_down)
