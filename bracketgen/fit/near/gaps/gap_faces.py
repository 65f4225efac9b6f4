"""The flat faces of a plate against convex pieces.

The point of a face that lies nearest to a convex body is either the foot of the body's nearest point, or it lies on the
rim of the face, where the sheets of the edges have it too. And a convex body that meets the metal without meeting a
sheet passes through a face: then each of its points between the planes of the faces lies in the metal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bracketgen.fit.near.gaps.solids import Bow, Plate, Solid
from bracketgen.fit.near.gaps.support import Bools, Floats, Indices, Pieces, farthest
from bracketgen.fit.near.gaps.support_of import bow_plate, chains_of
from bracketgen.geometry.frame import Frame
from bracketgen.geometry.inside import ChainSet


@dataclass(frozen=True, slots=True)
class Faces:
    """Both faces of one plate (or both ends of a bend): local z from `low` to `high` within the chains."""

    frame: Frame
    low: float
    high: float
    chains: ChainSet
    owner: int
    step: int

    def moved(self, frame: Frame, step: int) -> Faces:
        """The faces after a rigid move."""
        return Faces(self.frame.within(frame), self.low, self.high, self.chains, self.owner, step)

    def hold(self, points: Floats) -> Bools:
        """Whether the metal's outline holds the points (n, 3), seen along z; on the rim itself either answer."""
        off = points - np.array(self.frame.origin)
        xy = np.stack((off @ np.array(self.frame.x), off @ np.array(self.frame.y)), axis=1)
        held = self.chains.hold(xy)  # type: ignore[arg-type]
        inside: Bools = held[:, 0] & ~held[:, 1:].any(axis=1)
        return inside


def faces_of(solids: Sequence[Solid]) -> list[Faces]:
    """The faces of all plates and bends among the solids; `owner` is the place in the sequence."""
    found = []
    for owner, solid in enumerate(solids):
        plate = bow_plate(solid) if isinstance(solid, Bow) else solid
        if isinstance(plate, Plate):
            low, high = sorted((plate.low, plate.high))
            found.append(Faces(plate.frame, low, high, ChainSet(chains_of(plate)), owner, 0))
    return found


@dataclass(slots=True)
class FaceGaps:
    """Rows of the question for which a face decides: core distance, the face's point and the piece's.

    `unsure`: the hull of an arc passes through the face; its true arc may or may not.
    """

    row: Indices
    mm: Floats
    on_face: Floats
    on_piece: Floats
    unsure: Bools


def face_gaps(faces: Faces, p: Pieces, at: Indices, most: Floats) -> FaceGaps:
    """Pieces `at` of p against the faces; `most[n]` is the core distance beyond which row n is of no interest."""
    o, z = np.array(faces.frame.origin), np.array(faces.frame.z)
    up = np.broadcast_to(z, (len(at), 3))
    middle = (p.mid[at] - o) @ z - (faces.low + faces.high) / 2
    reach = np.abs(p.stretch[at] @ z) + p.girth[at] - p.radius[at]
    row = np.flatnonzero(np.abs(middle) - reach - (faces.high - faces.low) / 2 <= most)
    at, most, up = at[row], most[row], up[row]
    bottom, top = farthest(p, at, -up), farthest(p, at, up)
    z_bottom, z_top = (bottom - o) @ z, (top - o) @ z
    mm = np.maximum(z_bottom - faces.high, faces.low - z_top)
    near = mm <= most
    row, at, bottom, top = row[near], at[near], bottom[near], top[near]
    z_bottom, z_top, mm = z_bottom[near], z_top[near], mm[near]
    # The part of the piece between the two planes, or its point nearest to them.
    wanted = (np.clip(z_bottom, faces.low, faces.high) + np.clip(z_top, faces.low, faces.high)) / 2
    share = np.clip((wanted - z_bottom) / np.maximum(z_top - z_bottom, 1e-300), 0.0, 1.0)
    point = bottom + share[:, None] * (top - bottom)
    held = faces.hold(point)
    row, point, mm, wanted, at = row[held], point[held], np.maximum(mm[held], 0.0), wanted[held], at[held]
    foot = point + (wanted - (point - o) @ z)[:, None] * z
    return FaceGaps(row, mm, foot, point, (mm <= 0) & (p.slack[at] > 0))
