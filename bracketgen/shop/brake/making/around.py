"""The pieces around one bend, packed for quick checks, with the figures of its strip while it closes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bracketgen.bending.flat import Strip
from bracketgen.bending.setback import outside_setback_mm
from bracketgen.shop.brake.making.convex import Floats, Ints, clashes, packed
from bracketgen.shop.brake.making.metal import LEVEL_MM, Metal, Piece, Wing, pieces

#: Metal may seem this deep in a tool that it lies on. Rounding only: the contacts are exact.
TOUCH_MM = 0.01
#: Wider gaps than this between pieces of a leg are no leg, mm.
_JOINED_MM = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Packed:
    """Pieces as arrays: corners (piece, corner, 2) as Piece.shape, and which of them belong to the child's wing."""

    pieces: tuple[Piece, ...]
    corners: Floats
    is_child: Ints

    @staticmethod
    def of(found: Sequence[Piece]) -> Packed:
        """The pieces packed."""
        child = np.array([p.wing is Wing.CHILD for p in found], dtype=np.intp)
        return Packed(tuple(found), packed([list(p.shape) for p in found]), child)


@dataclass(frozen=True, slots=True)
class Hit:
    """Two things nearer than they may be: which step of the move, piece, number of the other shape, gap in mm."""

    step: int
    piece: Piece
    other: int
    gap_mm: float


def first_hit(moving: Floats, of: Sequence[Piece], fixed: Floats, margin: Floats) -> Hit | None:
    """The first step at which a piece comes too near, the deepest pair of it; arguments as for convex.clashes."""
    s, i, j, gap = clashes(moving, fixed, margin)
    if len(s) == 0:
        return None
    first = np.flatnonzero(s == s.min())
    k = first[np.argmin(gap[first])]
    return Hit(int(s[k]), of[int(i[k])], int(j[k]), float(gap[k]))


class Around:
    """One bend about to be made, with the bends that are `done`."""

    def __init__(self, metal: Metal, bend_id: str, done: frozenset[str]) -> None:
        self.flat = metal.flat
        self.strip: Strip = metal.strips[bend_id]
        self.bend = self.strip.bend
        self.thickness_mm = metal.thickness_mm
        self.solids = metal.around(bend_id, done)
        self._clipped: dict[float, Packed] = {}

    @cached_property
    def all(self) -> Packed:
        """All metal."""
        return Packed.of(pieces(self.solids, self.bend.way, self.thickness_mm))

    def beside(self, tool_mm: float, clearance_mm: float) -> Packed:
        """The metal that a tool of that length, set to the bend's middle, may meet."""
        half = tool_mm / 2 + clearance_mm
        if half not in self._clipped:
            reach = max(max(-p.along_mm[0], p.along_mm[1]) for p in self.all.pieces)
            whole = half >= reach
            found = self.all if whole else Packed.of(pieces(self.solids, self.bend.way, self.thickness_mm, half))
            self._clipped[half] = found
        return self._clipped[half]

    @cached_property
    def farthest_mm(self) -> float:
        """From the bend's middle to the farthest metal, across the bend."""
        return max(math.hypot(*c) for p in self.all.pieces for c in p.shape)

    def radius_mm(self, turn_deg: Floats) -> Floats:
        """Inside radius while the bend closes: its own, and tighter when it is bent over, the metal being the same."""
        allowance, full = self.strip.metal.allowance_mm, math.radians(self.bend.turn_deg)
        neutral = allowance / full - self.bend.inside_radius_mm
        turn = np.maximum(np.radians(turn_deg), full)
        radius: Floats = np.maximum(allowance / turn - neutral, 0.0)
        return radius

    def rest_mm(self, turn_deg: Floats) -> Floats:
        """How much of the strip is still straight."""
        allowance, full = self.strip.metal.allowance_mm, math.radians(self.bend.turn_deg)
        rest: Floats = allowance * np.maximum(1.0 - np.radians(turn_deg) / full, 0.0)
        return rest

    def leg_mm(self, wing: Wing) -> float:
        """Level metal beside the bend up to the next made bend or the edge, over the outside of the bend."""
        bend, half = self.bend, self.strip.metal.allowance_mm / 2
        level = [p for p in self.beside(bend.width_mm, 0.0).pieces if p.wing is wing and p.is_level(self.thickness_mm)]
        end = half
        for low, high in sorted(p.reach_mm for p in level):
            if low <= end + _JOINED_MM:
                end = max(end, high)
        return end - half + outside_setback_mm(bend.inside_radius_mm, self.thickness_mm, bend.turn_deg)

    def own_hit(self, placed: Floats) -> tuple[int, Piece, Piece] | None:
        """The first step at which the part meets itself: the step and the two pieces; `placed` as Packed.corners."""
        parent, child, margin = self._own_pairs
        hit = first_hit(placed[:, parent], [self.all.pieces[i] for i in parent], placed[:, child], margin)
        return None if hit is None else (hit.step, hit.piece, self.all.pieces[int(child[hit.other])])

    @cached_property
    def _own_pairs(self) -> tuple[Ints, Ints, Floats]:
        """Numbers of the pieces on either wing, and how near each may come to each."""
        parent, child = np.flatnonzero(self.all.is_child == 0), np.flatnonzero(self.all.is_child == 1)
        found = self.all.pieces
        margin = np.array([[self._own_margin(found[i], found[j]) for j in child] for i in parent])
        return parent, child, margin.reshape(len(parent), len(child))

    def _own_margin(self, a: Piece, b: Piece) -> float:
        """Pieces that pass each other along the bend are not asked for, nor the two panels of the bend itself."""
        side_by_side = min(a.along_mm[1], b.along_mm[1]) - max(a.along_mm[0], b.along_mm[0]) < LEVEL_MM
        own = {a.id, b.id} == {self.bend.parent, self.bend.child}
        return -np.inf if side_by_side or own else -2 * LEVEL_MM
