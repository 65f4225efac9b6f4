"""The mark by which everybody sees which face is up: a flag with a square corner, on the metal itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.one_to_one.clipping import within
from bracketgen.drawing.one_to_one.plane_map import PlaneMap
from bracketgen.drawing.paper.palette import INK
from bracketgen.drawing.sheet import Fill
from bracketgen.geometry.contour import ChainSet, box_contour
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point

#: Length of the flag's foot and the air between it and any edge, mm, from the best to the least; it stands two thirds
#: as high as it is long.
_SIZES_MM: Final = ((9.0, 3.5), (7.0, 3.5), (6.0, 2.0), (4.0, 1.0), (2.5, 0.5))
_SHARE: Final = 2.0 / 3.0
#: How many places are tried along each side of the flat.
_TRIES: Final = 40


@dataclass(frozen=True, slots=True)
class Flag:
    """A triangle in the flat: its square corner at the lower left when the described face is up."""

    corner: Point
    foot_mm: float

    @property
    def points(self) -> tuple[Point, Point, Point]:
        """Square corner, end of the foot, top."""
        return (
            self.corner,
            self.corner.plus(Point(self.foot_mm, 0.0)),
            self.corner.plus(Point(0.0, self.foot_mm * _SHARE)),
        )

    def fits(self, to_paper: PlaneMap, window: Box) -> bool:
        """Whether a sheet shows it whole."""
        return all(within(to_paper.point(p), window) for p in self.points)

    def mark(self, to_paper: PlaneMap) -> Fill:
        """The filled triangle on the paper; mirrored with everything else when the back is up."""
        return Fill((tuple(map(to_paper.point, self.points)),), INK, "flag")


def flag_of(flat: Flat, seams: Sequence[Box]) -> Flag | None:
    """The largest flag that lies on metal, clear of edges, holes, bends and seams, near the first panel; None for none.

    `seams` are the boxes of the flat that two sheets show.
    """
    x0, y0, x1, y1 = flat.bounds_mm
    chains = [flat.outline, *(s.outline() for s in flat.strips), *flat.openings, *(box_contour(*s) for s in seams)]
    chains += [h.cut.contour() for h in flat.holes]
    inside = ChainSet(chains)
    middle = _middle_of_first(flat)
    steps = (((x1 - x0) * i / _TRIES + x0, (y1 - y0) * j / _TRIES + y0) for i, j in product(range(_TRIES), repeat=2))
    corners = sorted((Point(*p) for p in steps), key=lambda p: (round(p.distance(middle), 6), p))
    for foot, air in _SIZES_MM:
        # Most places fall out by their four corners; the whole box is looked at for the others only.
        likely = [c for c, fits in zip(corners, _on_metal(inside, corners, foot, air, 2), strict=True) if fits]
        for corner in likely:
            if _on_metal(inside, [corner], foot, air, 1 + int(foot + 2 * air))[0]:
                return Flag(corner, foot)
    return None


def _on_metal(inside: ChainSet, corners: Sequence[Point], foot: float, air: float, count: int) -> list[bool]:
    """Whether a grid of points over each flag's box and its air lies in the first chain and in no other."""
    points = [p for corner in corners for p in _grid(corner, foot, air, count)]
    held = inside.hold(points).reshape(len(corners), count * count, -1)
    return [bool(own[:, 0].all() and not own[:, 1:].any()) for own in held]


def _grid(corner: Point, foot: float, air: float, count: int) -> list[Point]:
    """`count` by `count` points over a flag's box and the air around it, its corners among them."""
    low = corner.plus(Point(-air, -air))
    wide, high = foot + 2 * air, foot * _SHARE + 2 * air
    shares = [i / (count - 1) for i in range(count)]
    return [low.plus(Point(wide * x, high * y)) for x in shares for y in shares]


def _middle_of_first(flat: Flat) -> Point:
    """Centre of the box around the first panel."""
    x0, y0, x1, y1 = flat.part.panels[0].outline.moved(flat.placements[flat.part.panels[0].id]).bounds()
    return Point((x0 + x1) / 2, (y0 + y1) / 2)
