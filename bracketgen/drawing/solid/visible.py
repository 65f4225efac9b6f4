"""Solids as they are seen from one side: how space falls on the paper, which points facets hide, what to draw first."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.drawing.sheet import Colour, Fill, Mark, Stroke, shaded
from bracketgen.drawing.solid.facets import EDGE_ON, Facet, halved
from bracketgen.geometry.arrays import Bools, Floats, Indices
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Vector, dot

#: Where the light comes from on the paper: left, above, from the eye.
_LIGHT: Final = (-0.30, 0.52, 0.80)


@dataclass(frozen=True, slots=True)
class Viewpoint:
    """Unit directions in the part's frame: right and up on the paper, and toward the eye. Parallel projection."""

    right: Vector
    up: Vector
    toward: Vector

    @staticmethod
    def at(round_deg: float, rise_deg: float) -> Viewpoint:
        """The eye `rise_deg` above the x-y plane, turned `round_deg` anticlockwise from the -y side."""
        a, e = math.radians(round_deg), math.radians(rise_deg)
        right = (math.cos(a), math.sin(a), 0.0)
        away = (-math.sin(a), math.cos(a))
        up = (away[0] * math.sin(e), away[1] * math.sin(e), math.cos(e))
        return Viewpoint(right, up, (-away[0] * math.cos(e), -away[1] * math.cos(e), math.sin(e)))

    def flat(self, v: Vector) -> Point:
        """Where a point falls, at the part's own size."""
        return Point(dot(v, self.right), dot(v, self.up))

    def seen(self, points: npt.ArrayLike) -> Floats:
        """Points in space as (right, up, toward the eye): the last is larger the nearer to the eye, mm."""
        made: Floats = (
            np.asarray(points, dtype=np.float64).reshape(-1, 3) @ np.array((self.right, self.up, self.toward)).T
        )
        return made


ABOVE: Final = Viewpoint((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
FRONT: Final = Viewpoint((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
RIGHT: Final = Viewpoint((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))


@dataclass(frozen=True, slots=True)
class Window:
    """How a view falls on the paper: its eye, scale, shift, and the paper it may use."""

    view: Viewpoint
    scale: float
    shift: Point
    area: Box

    @staticmethod
    def around(core: npt.ArrayLike, view: Viewpoint, area: Box, most_scale: float, share: float = 1.0) -> Window:
        """The largest window that shows all points of `core` in the middle of the area, on a share of each side."""
        xyz = view.seen(core)
        (x0, y0, _), (x1, y1, _) = xyz.min(axis=0).tolist(), xyz.max(axis=0).tolist()
        wide, high = area[2] - area[0], area[3] - area[1]
        scale = min(most_scale, share * wide / (x1 - x0), share * high / (y1 - y0))
        centre = Point((area[0] + area[2]) / 2, (area[1] + area[3]) / 2)
        return Window(view, scale, centre.minus(Point((x0 + x1) / 2, (y0 + y1) / 2).scaled(scale)), area)

    def point(self, v: Vector) -> Point:
        """Where a point in space comes to lie."""
        return self.view.flat(v).scaled(self.scale).plus(self.shift)

    def ring(self, points: Floats) -> tuple[Point, ...]:
        """Where points in space, (n, 3), come to lie."""
        xy = self.view.seen(points)[:, :2] * self.scale + self.shift
        return tuple(Point(x, y) for x, y in xy.tolist())

    def planes(self) -> list[tuple[Vector, float]]:
        """What lies above all these planes (normal, offset) falls within the area."""
        made: list[tuple[Vector, float]] = []
        for axis, way in enumerate((self.view.right, self.view.up)):
            low, high = ((self.area[axis + k] - self.shift[axis]) / self.scale for k in (0, 2))
            made += [(way, low), ((-way[0], -way[1], -way[2]), -high)]
        return made


def lit(colour: Colour, out: Vector, view: Viewpoint) -> Colour:
    """The colour of a surface whose unit normal is `out`: brighter or darker as it lies to the light."""
    light = dot(out, view.right) * _LIGHT[0] + dot(out, view.up) * _LIGHT[1] + dot(out, view.toward) * _LIGHT[2]
    return shaded(colour, 0.76 + 0.26 * max(0.0, light))


# -- which points are hidden


#: A surface must lie this much nearer to the eye to hide a point, mm.
NEARER_MM: Final = 0.05
#: Surfaces seen more steeply than this (cosine) hide nothing.
_STEEP: Final = 0.01
#: So many pairs of points and facets, or edges, are looked at in one go.
_AT_ONCE: Final = 2_000_000
#: Places looked at along each side of a facet's box.
_GRID: Final = 9
#: A corner this near to a plane lies in it, mm.
_SAME_PLANE_MM: Final = 1e-3
#: So many planes are tried at each step; a corner of a facet that is cut counts as so many facets out of balance.
_TRIED: Final = 6
_CUT_COST: Final = 3
_SEAM_MM: Final = 0.3
#: Edges shorter than this on the paper are points, mm.
_POINT_MM: Final = 1e-3


class Projection:
    """The facets that look to the eye, as they fall on the paper at the part's own size.

    Places are (right, up, toward the eye), mm, as `Viewpoint.seen` gives them.
    """

    def __init__(self, facets: Sequence[Facet], view: Viewpoint) -> None:
        normals = view.seen([f.normal for f in facets])
        facing = np.flatnonzero(normals[:, 2] > EDGE_ON).tolist()
        self.facets = [facets[i] for i in facing]
        self.view = view
        self._normals = normals[facing]
        rings = [r for f in self.facets for r in f.rings]
        self._starts, sizes = _starts([sum(map(len, f.rings)) for f in self.facets])
        self._counts = np.array(sizes, dtype=np.intp)
        self._corners = view.seen(np.concatenate(rings)) if rings else np.zeros((0, 3))
        after = np.arange(1, len(self._corners) + 1)
        first, lengths = _starts([len(r) for r in rings])
        after[first + lengths - 1] = first
        self._next = self._corners[after]

    @property
    def areas_mm2(self) -> Floats:
        """The area of each facet on the paper."""
        a, b = self._corners, self._next
        made: Floats = np.add.reduceat(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], self._starts) / 2
        return made

    def hide(self, places: Floats, nearer_mm: float = NEARER_MM) -> Bools:
        """Which of the places, (n, 3), lie behind any of the facets by more than that."""
        hidden: Bools = np.zeros(len(places), dtype=np.bool_)
        steep = np.flatnonzero(self._normals[:, 2] > _STEEP)
        if not len(steep):
            return hidden
        low = np.minimum.reduceat(self._corners, self._starts)[steep]
        high = np.maximum.reduceat(self._corners, self._starts)[steep]
        for some in np.array_split(np.arange(len(places)), len(places) * len(steep) // _AT_ONCE + 1):
            x, y, z = (places[some, k, None] for k in range(3))
            near = (
                (x > low[:, 0]) & (x < high[:, 0]) & (y > low[:, 1]) & (y < high[:, 1]) & (z < high[:, 2] - nearer_mm)
            )
            which, facet = np.nonzero(near)
            which, facet = some[which], steep[facet]
            behind = self._depth_over(places[which], facet) > places[which, 2] + nearer_mm
            which, facet = which[behind], facet[behind]
            held = self._hold(places[which], facet)
            hidden[which[held]] = True
        return hidden

    def _depth_over(self, places: Floats, facet: Indices) -> Floats:
        at, normal = self._corners[self._starts[facet]], self._normals[facet]
        made: Floats = at[:, 2] - ((places[:, :2] - at[:, :2]) * normal[:, :2]).sum(axis=1) / normal[:, 2]
        return made

    def _hold(self, places: Floats, facet: Indices) -> Bools:
        """Whether each place falls on the facet beside it: an odd number of edges lies to its right."""
        odd: Bools = np.zeros(len(places), dtype=np.bool_)
        counts = self._counts[facet]
        for some in np.array_split(np.arange(len(places)), int(counts.sum()) // _AT_ONCE + 1):
            if not len(some):
                continue
            starts, sizes = _starts(counts[some])
            edge = np.arange(sizes.sum()) - np.repeat(starts - self._starts[facet[some]], sizes)
            a, b = self._corners[edge], self._next[edge]
            x, y = (np.repeat(places[some, k], sizes) for k in (0, 1))
            rows = (a[:, 1] > y) != (b[:, 1] > y)
            with np.errstate(divide="ignore", invalid="ignore"):
                right = x < a[:, 0] + (y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
            odd[some] = np.add.reduceat((rows & right).astype(np.intp), starts) % 2 == 1
        return odd

    def places(self) -> tuple[Floats, Indices, Floats]:
        """Places (n, 3) spread over the facets, the number of each one's facet, and the area that it stands for.

        A facet of three or four corners has its middle only; others as many of a grid over their box as they hold.
        """
        share = (np.arange(_GRID) + 0.5) / _GRID
        grid = np.stack(np.meshgrid(share, share), axis=-1).reshape(-1, 2)
        found: list[Floats] = []
        owners: list[Indices] = []
        small = np.flatnonzero(self._counts <= 4)
        if len(small):
            found.append((np.add.reduceat(self._corners, self._starts) / self._counts[:, None])[small, :2])
            owners.append(small)
        for i in np.flatnonzero(self._counts > 4).tolist():
            corners = self._corners[self._starts[i] : self._starts[i] + self._counts[i], :2]
            low, high = corners.min(axis=0), corners.max(axis=0)
            spread = low + grid * (high - low)
            held = spread[self._hold(spread, np.full(len(spread), i))]
            found.append(held)
            owners.append(np.full(len(held), i))
        if not found:
            return np.zeros((0, 3)), np.zeros(0, dtype=np.intp), np.zeros(0)
        xy, facet = np.concatenate(found), np.concatenate(owners)
        areas = self.areas_mm2[facet] / np.bincount(facet, minlength=len(self.facets))[facet]
        return np.column_stack((xy, self._depth_over(xy, facet))), facet, areas


def _starts(sizes: Sequence[int] | Indices) -> tuple[Indices, Indices]:
    """Where stretches of these sizes begin that follow each other, and the sizes."""
    counts = np.asarray(sizes, dtype=np.intp)
    return np.concatenate(([0], np.cumsum(counts)[:-1])).astype(np.intp) if len(counts) else counts, counts


# -- from the farthest to the nearest


class _Heap:
    """Facets, their corners in one array, and their planes."""

    def __init__(self, facets: Sequence[Facet]) -> None:
        self.corners = np.concatenate([r for f in facets for r in f.rings])
        self.starts, self.counts = _starts([sum(map(len, f.rings)) for f in facets])
        normals = np.array([f.normal for f in facets])
        self.planes = np.column_stack((normals, (normals * self.corners[self.starts]).sum(axis=1)))

    def sides(self, plane: Floats) -> tuple[Bools, Bools]:
        """Which facets have a part above the plane, and which below."""
        heights = self.corners @ plane[:3] - plane[3]
        up: Bools = np.maximum.reduceat(heights, self.starts) > _SAME_PLANE_MM
        down: Bools = np.minimum.reduceat(heights, self.starts) < -_SAME_PLANE_MM
        return up, down

    def best_plane(self) -> Floats:
        """Of a few facets' planes, the one that cuts least and parts most evenly."""
        n = len(self.planes)
        tried = {round(i * (n - 1) / (_TRIED - 1)) for i in range(_TRIED)}
        marks: list[tuple[float, int]] = []
        for i in sorted({*tried, int(np.argmax(self.counts))}):
            up, down = self.sides(self.planes[i])
            uneven = abs(int((up & ~down).sum()) - int((down & ~up).sum()))
            marks.append((_CUT_COST * float(self.counts[up & down].sum()) + uneven, i))
        best: Floats = self.planes[min(marks)[1]]
        return best


def far_to_near(facets: Sequence[Facet]) -> list[list[Facet]]:
    """All facets in layers, the farthest first; those of one layer lie in one plane. All must look to the eye.

    The plane of one facet parts all others into those behind it, which are drawn before it, and those in front of it,
    which are drawn after it; a facet on both sides is cut in two. Then the same within each side. The order that comes
    out is right for any scene, also where solids run into each other.
    """
    layers: list[list[Facet]] = []
    waiting: list[tuple[bool, list[Facet]]] = [(False, list(facets))]
    while waiting:
        level, some = waiting.pop()
        if level or len(some) < 2:
            layers += [some] if some else []
            continue
        heap = _Heap(some)
        plane = heap.best_plane()
        parts: tuple[list[Facet], list[Facet], list[Facet]] = ([], [], [])
        normal, offset = tuple(plane[:3].tolist()), float(plane[3])
        for facet, up, down in zip(some, *(s.tolist() for s in heap.sides(plane)), strict=True):
            if up and down:
                for part, half in zip((parts[0], parts[2]), halved(facet, normal, offset), strict=True):
                    part += [half] if half else []
            else:
                parts[0 if up else 2 if down else 1].append(facet)
        waiting += [(False, parts[0]), (True, parts[1]), (False, parts[2])]
    return layers


def painted(facets: Sequence[Facet], window: Window) -> list[Mark]:
    """The facets that look to the eye, drawn from the farthest to the nearest, each with its edges."""
    view = window.view
    marks: list[Mark] = []
    for layer in far_to_near(facets):
        lines: list[Mark] = []
        for f in layer:
            rings = tuple(map(window.ring, f.rings))
            colour = lit(f.colour, f.normal, view)
            marks.append(Fill(rings, colour, f.shows))
            # Where it was cut only to sort it, what lies behind would shine through the seam.
            marks += [Stroke((window.point(a), window.point(b)), _SEAM_MM, colour) for a, b in f.seams]
            for ring, inks in zip(rings, f.inks, strict=True):
                looks = [(i.width_mm, i.colour) if i and i.drawn(view.toward) else None for i in inks]
                lines += [Stroke(run, *look, shows=f.shows) for run, look in _runs(ring, looks)]
        marks += lines
    return marks


_Look = tuple[float, Colour]


def _runs(ring: Sequence[Point], looks: Sequence[_Look | None]) -> Iterator[tuple[tuple[Point, ...], _Look]]:
    """Edges of one look that follow each other, as chains; edges without a look or without a length are left out."""
    count = len(ring)
    # Begin where the look changes, so that no run is torn.
    first = next((i for i in range(count) if looks[i] != looks[i - 1]), 0)
    run: list[Point] = []
    for step in range(count):
        i = (first + step) % count
        look, after = looks[i], ring[(i + 1) % count]
        if look and ring[i].distance(after) > _POINT_MM:
            run = [*run, after] if run else [ring[i], after]
        if run and look and (step == count - 1 or looks[(i + 1) % count] != look):
            yield tuple(run), look
            run = []
