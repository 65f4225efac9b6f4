"""The box round the folded part, exact at its round faces."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bracketgen.drawing.model.brep import Rim, Skin
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.vector import cross, dot, minus, scaled


def skin_size_mm(skin: Skin) -> tuple[float, float, float]:
    """How long the skin is along x, y and z, mm."""
    points = [*skin.corners, *(p for rim in skin.rims for p in _farthest(rim, skin))]
    x, y, z = (max(p[i] for p in points) - min(p[i] for p in points) for i in range(3))
    return x, y, z


def _farthest(rim: Rim, skin: Skin) -> Iterator[Vector]:
    """Points of an arc that lie farthest along x, y or z and are none of its ends."""
    if rim.centre is None or rim.axis is None:
        return
    u = scaled(minus(skin.corners[rim.start], rim.centre), 1.0 / rim.radius)
    v = cross(rim.axis, u)
    end = minus(skin.corners[rim.end], rim.centre)
    sweep = math.atan2(dot(end, v), dot(end, u)) % math.tau
    for i in range(3):
        # The place on u cos a + v sin a that is farthest along an axis, and the one opposite.
        first = math.atan2(v[i], u[i])
        for turn in (first % math.tau, (first + math.pi) % math.tau):
            if turn < sweep:
                c, s = rim.radius * math.cos(turn), rim.radius * math.sin(turn)
                x, y, z = (rim.centre[k] + c * u[k] + s * v[k] for k in range(3))
                yield x, y, z
