"""Flat places that the bracket has to lie on: mating faces with their bolt holes."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.description.making.outlines.pattern import spots
from bracketgen.description.model.holes import HoleTable
from bracketgen.errors import GeometryFault
from bracketgen.fit.locate.located import Located, LocatedHole
from bracketgen.fit.site.tables import CarriedTable
from bracketgen.geometry.frame import Frame, Vector
from bracketgen.standards.fastener import Fit, clearance_hole, fastener, fastener_sizes

Floats = npt.NDArray[np.float64]

#: Planes this nearly parallel, and this far apart, are bridged by washers under a flat bracket. Washers of M6 to M12
#: are 1.6 to 2.5 mm thick (ISO 7089); the limits are common practice, no source.
SHIM_MM: Final = 2.5
_PARALLEL_DEG: Final = 0.5
#: A step below this is no step: paint, burr.
NO_SHIM_MM: Final = 0.05


@dataclass(frozen=True, slots=True)
class SeatHole:
    """One bolt hole to be met: its place on the mating face in the site's frame, mm, and the bolt it takes.

    `mate` is what it is called in the site: 'left.A', or 'carried.head-1'. `shim_mm` of washers go between it and
    the bracket. `slot` asks for a slot there: overall length and direction in space.
    """

    name: str
    mate: str
    at: Vector
    bolt: str
    fit: Fit = Fit.NORMAL
    shim_mm: float = 0.0
    slot: tuple[float, Vector] | None = None


@dataclass(frozen=True, slots=True)
class Seat:
    """A mating face: unit normal out of it, toward the bracket's metal, and its holes in one plane."""

    name: str
    normal: Vector
    holes: tuple[SeatHole, ...]
    #: What the face belongs to; 'carried' for the thing that hangs on the bracket.
    body: str

    def points(self) -> Floats:
        """The holes, one a row, in the plane of the bracket's contact."""
        n = np.array(self.normal)
        return np.asarray(np.array([h.at for h in self.holes]) + np.array([[h.shim_mm] for h in self.holes]) * n)


def seats_of(located: Located, carried: CarriedTable | None, faces: Sequence[str] = ()) -> tuple[Seat, ...]:
    """The mating faces to be joined, faces of the vehicle first; all of them when `faces` is empty.

    Faces that lie in one plane, or so nearly that washers make up for it, are one seat. Raises GeometryFault for an
    unknown face, LookupFault for a bolt or hole that no table holds.
    """
    wanted = tuple(faces) or tuple(dict.fromkeys(h.face for h in located.holes))
    for face in wanted:
        if face not in located.faces:
            raise GeometryFault(f"there is no face '{face}' in the site", None, f"faces: {', '.join(located.faces)}")
    made = [_vehicle_seat(face, located) for face in wanted]
    if carried is not None:
        made.append(_carried_seat(carried))
    if not made:
        raise GeometryFault("there is no hole to span", None, "describe faces with holes, or what is carried")
    return tuple(_merged(made))


def _vehicle_seat(face: str, located: Located) -> Seat:
    holes = [h for h in located.holes if h.face == face]
    normal = _unit(located.faces[face].z)
    names = _plain_names([h.id.split(".", 1)[-1] for h in holes])
    made = tuple(
        SeatHole(name, h.id, _on_plane(h.centre, holes[0].centre, normal), bolt_for(h))
        for name, h in zip(names, holes, strict=True)
    )
    return Seat(_panel_name(face), normal, made, holes[0].body)


def bolt_for(hole: LocatedHole) -> str:
    """The thread's size, or the largest metric bolt that goes through the old hole with a close fit.

    Raises GeometryFault for a hole that is too small for any.
    """
    if hole.thread is not None:
        return fastener(hole.thread).size
    diameter = hole.diameter_mm or 0.0
    fitting = [
        s for s in fastener_sizes() if s.startswith("M") and clearance_hole(s, Fit.CLOSE).diameter_mm <= diameter + 1e-6
    ]
    if not fitting:
        raise GeometryFault(f"hole {hole.id} of {diameter:g} mm takes no bolt of the tables", None, "leave it out")
    return fitting[-1]


def _carried_seat(carried: CarriedTable) -> Seat:
    frame = carried_frame(carried)
    made: list[SeatHole] = []
    for table in carried.holes:
        asked = HoleTable.model_construct(
            at=table.at, bolt=table.bolt, pattern=table.pattern, turned=0.0, mirrored=None, slot=None
        )
        places = spots(asked)
        for n, spot in enumerate(places, 1):
            name = table.name if len(places) == 1 else f"{table.name}-{n}"
            made.append(SeatHole(name, f"carried.{name}", frame.point((spot.at.x, spot.at.y, 0.0)), table.bolt))
    names = _plain_names([h.name for h in made])
    holes = tuple(replace(h, name=n) for h, n in zip(made, names, strict=True))
    return Seat("carried", frame.z, holes, carried.body)


def carried_frame(carried: CarriedTable) -> Frame:
    """The wished frame of the carried thing in the site. Raises GeometryFault when x runs along its normal."""
    z = _unit(carried.normal)
    along = np.array(carried.x) - np.dot(carried.x, z) * np.array(z)
    if float(np.linalg.norm(along)) < 1e-6:
        raise GeometryFault("x of the carried thing runs along its normal", None, "give x along its mounting face")
    x = _unit(tuple(along))
    y = np.cross(z, x)
    return Frame(carried.at, x, (float(y[0]), float(y[1]), float(y[2])), z)


def _merged(seats: Iterable[Seat]) -> list[Seat]:
    kept: list[Seat] = []
    for seat in seats:
        partner = next((k for k in kept if _step_mm(k, seat) is not None), None)
        if partner is None:
            kept.append(seat)
            continue
        kept[kept.index(partner)] = _joined(partner, seat)
    return _unique(kept)


def _step_mm(a: Seat, b: Seat) -> float | None:
    """How far b's plane stands beyond a's along a's normal; None when a flat bracket can't lie on both."""
    if np.dot(a.normal, b.normal) < math.cos(math.radians(_PARALLEL_DEG)):
        return None
    # Holes of b already carry their shims' plane; all of them have to be near a's plane.
    steps = (b.points() - a.points()[0]) @ np.array(a.normal)
    return float(steps.mean()) if float(np.abs(steps).max()) <= SHIM_MM else None


def _joined(a: Seat, b: Seat) -> Seat:
    """Both on one plane: that of the highest hole, washers under the others."""
    n = np.array(a.normal)
    base = np.array(a.holes[0].at)
    names = _plain_names([f"{a.name} {h.name}" for h in a.holes] + [f"{b.name} {h.name}" for h in b.holes])
    heights = [float((np.array(h.at) - base) @ n) for h in (*a.holes, *b.holes)]
    top = max(heights)
    made = []
    for name, hole, height in zip(names, (*a.holes, *b.holes), heights, strict=True):
        shim = top - height
        made.append(replace(hole, name=name, shim_mm=shim if shim > 1e-9 else 0.0))
    body = a.body if a.body == b.body else f"{a.body} and {b.body}"
    return Seat(_panel_name(f"{a.name} and {b.name}"), a.normal, tuple(made), body)


def _unique(seats: list[Seat]) -> list[Seat]:
    names = _plain_names([s.name for s in seats])
    return [replace(s, name=n) for s, n in zip(seats, names, strict=True)]


def _panel_name(name: str) -> str:
    return re.sub(r"[/\x00-\x1f\x7f]+", " ", name).strip()[:40] or "seat"


def _plain_names(names: Sequence[str]) -> list[str]:
    """Each name once, short enough, and without the slash that parts panel from hole."""
    found: list[str] = []
    for name in names:
        plain = _panel_name(name)
        n = 2
        while plain in found:
            plain = f"{_panel_name(name)[:36]} {n}"
            n += 1
        found.append(plain)
    return found


def _on_plane(p: Vector, base: Vector, normal: Vector) -> Vector:
    off = sum((a - b) * n for a, b, n in zip(p, base, normal, strict=True))
    return (p[0] - off * normal[0], p[1] - off * normal[1], p[2] - off * normal[2])


def _unit(v: Sequence[float]) -> Vector:
    size = math.sqrt(math.fsum(c * c for c in v))
    if size < 1e-9:
        raise GeometryFault("a normal has no direction", None, "give a direction such as [0, 0, 1]")
    return (float(v[0]) / size, float(v[1]) / size, float(v[2]) / size)
