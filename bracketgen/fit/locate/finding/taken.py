"""Readings as plain arrays, kind by kind, ready to be compared with positions.

All readings are taken on what is seen: over the paint of a face, to the middle or the edges of a worn hole. The holes'
places mean the bare metal and the hole's true centre; the difference stands in these arrays.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from bracketgen.fit.locate.finding.network import Floats, Ints


class Edge(IntEnum):
    """Which points of two holes a distance runs between."""

    MIDDLES = 0
    NEAR = 1
    FAR = 2
    SAME_SIDE = 3


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """Holes as a person sees them, one entry a hole: what to add to the true centre, in the face's x and y, mm.

    `middle` leads to the middle of a worn hole, `half` from there to the end of its long diameter's centre line,
    `paint` is how far the seen rim stands out of the metal.
    """

    middle: Floats
    half: Floats
    paint: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Distances:
    """Hole to hole: `edge` says between which points, `added` what the reading holds beyond that, mm."""

    a: Ints
    b: Ints
    edge: Ints
    added: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """How far a hole stands out of a face."""

    hole: Ints
    face: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Squares:
    """How far a hole lies to the left of the line from `a` to `b`, on one face."""

    hole: Ints
    a: Ints
    b: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Tilts:
    """Between the normals of two faces. A reading of 0 or 180 degrees speaks for two directions at once.

    `sense` is 0 for a plain tilt, 1 for parallel faces that look the same way, -1 for opposite ways.
    """

    a: Ints
    b: Ints
    sense: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Levels:
    """How far the line from `a` to `b` rises."""

    a: Ints
    b: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Taken:
    """All readings: by kind, and in the order of the rows that they give (distances first, levels last).

    `measured` and `sigma` in mm or degrees, `reading` the index of the reading that a row belongs to.
    """

    seen: Seen
    up: Floats
    distances: Distances
    steps: Steps
    squares: Squares
    tilts: Tilts
    levels: Levels
    measured: Floats
    sigma: Floats
    reading: Ints


def indices(values: list[int]) -> Ints:
    """Indices as an array, also when there are none."""
    return np.array(values, dtype=np.intp)
