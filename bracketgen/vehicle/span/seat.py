"""Flat places that the bracket has to lie on: mating faces with their bolt holes."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

import numpy as np

from bracketgen.errors import GeometryFault
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.space import Vector, cross, length, unit, vector
from bracketgen.standards.fasteners import Fit, clearance_hole
from bracketgen.vehicle.locate.locate import Located, LocatedHole
from bracketgen.vehicle.seating.bolts import CARRIED, Touching, carried_holes
from bracketgen.vehicle.seating.place import wished_frame
from bracketgen.vehicle.site import CarriedTable
from bracketgen.vehicle.span.practice import EdgeDistance, HoleRoom, Practice, hole_room

#: Planes this nearly parallel, and this far apart, are bridged by washers under a flat bracket. Washers of M6 to M12
#: are 1.6 to 2.5 mm thick (ISO 7089); a degree is what a short leg is made to (ISO 2768-1 m) and what bolts draw flat.
#: The limits are common practice, no source.
SHIM_MM: Final = 2.5
_PARALLEL_DEG: Final = 1.0
#: An x that stands off the normal by less says nothing.
_NO_DIRECTION_MM: Final = 1e-6
#: A step below this is no step: paint, burr.
NO_SHIM_MM: Final = 0.05


class SheetSide(Enum):
    """Whether a mate lies on the sheet's side that touches the seat, or on the one that looks away from it."""

    SEAT = "seat"
    AWAY = "away"


@dataclass(frozen=True, slots=True)
class FaceHole:
    """One bolt hole to be met: its place on the mating face in the site's frame, mm, and the bolt it takes.

    `own` is the unit normal out of its mating face. `mate` is what it is called in the site: 'left.A', or
    'carried.head-1'. `shim_mm` of washers go between it and the bracket. `slot` asks for a slot there: overall length
    and direction in space. `sheet_mm` is the sheet's thickness where the mate lies on the side away from the seat.
    """

    name: str
    mate: str
    at: Vector
    own: Vector
    bolt: str
    fit: Fit = Fit.NORMAL
    shim_mm: float = 0.0
    slot: tuple[float, Vector] | None = None
    side: SheetSide = SheetSide.SEAT
    sheet_mm: float = 0.0

    @property
    def contact(self) -> Vector:
        """Where the bracket's hole has to be, on the side that touches."""
        x, y, z = (a + self.shim_mm * n for a, n in zip(self.at, self.own, strict=True))
        return (x, y, z)


@dataclass(frozen=True, slots=True)
class MatingFace:
    """A mating face: unit normal out of it, toward the bracket's metal, and its holes in one plane."""

    name: str
    normal: Vector
    holes: tuple[FaceHole, ...]
    body: str
    #: How far what is carried may be moved along x, y, z of the site; None for a face of the vehicle.
    room: Vector | None = None

    def points(self) -> Floats:
        """The holes, one a row, in the plane of the sheet's side that touches the seat."""
        sheets = np.array([[h.sheet_mm] for h in self.holes])
        return np.asarray(np.array([h.contact for h in self.holes]) - sheets * np.array(self.normal))


def seats_of(
    located: Located, carried: CarriedTable | None, thickness_mm: float, faces: Sequence[str] = ()
) -> tuple[MatingFace, ...]:
    """The mating faces to be joined, faces of the vehicle first; all of them when `faces` is empty.

    Faces that lie in one plane, or so nearly that washers make up for it, are one seat; so are two that look at each
    other with the sheet's thickness between. What is carried is moved onto such a seat within its room. Raises
    GeometryFault for an unknown face, LookupFault for a bolt or hole that no table holds.
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
    return tuple(_merged(made, thickness_mm))


def _vehicle_seat(face: str, located: Located) -> MatingFace:
    holes = [h for h in located.holes if h.face == face]
    normal = _unit(located.faces[face].z)
    names = _plain_names([h.id.split(".", 1)[-1] for h in holes])
    made = tuple(
        FaceHole(name, h.id, _on_plane(h.centre, holes[0].centre, normal), normal, bolt_for(h))
        for name, h in zip(names, holes, strict=True)
    )
    return MatingFace(_panel_name(face), normal, made, holes[0].body)


def bolt_for(hole: LocatedHole) -> str:
    """The thread's size, or the largest metric bolt that goes through the old hole with a close fit.

    Raises GeometryFault for a hole that is too small for any.
    """
    bolt = hole.bolt
    if bolt is None:
        what = f"hole {hole.id} of {hole.diameter_mm or 0.0:g} mm takes no bolt of the tables"
        raise GeometryFault(what, None, "leave it out")
    return bolt


def _carried_seat(carried: CarriedTable) -> MatingFace:
    if length(cross(unit(carried.normal), carried.x)) < _NO_DIRECTION_MM:
        raise GeometryFault("x of the carried thing runs along its normal", None, "give x along its mounting face")
    frame, met = wished_frame(carried), tuple(carried_holes(carried).values())
    names = _plain_names([h.id.removeprefix(CARRIED) for h in met])
    holes = tuple(
        FaceHole(name, h.id, frame.point(h.centre), frame.z, h.size or "") for name, h in zip(names, met, strict=True)
    )
    return MatingFace("carried", frame.z, holes, carried.body, carried.room)


def _merged(seats: Iterable[MatingFace], thickness_mm: float) -> list[MatingFace]:
    kept: list[MatingFace] = []
    for seat in seats:
        for n, partner in enumerate(kept):
            joined = _one_seat(partner, seat, thickness_mm)
            if joined is not None:
                kept[n] = joined
                break
        else:
            kept.append(seat)
    return _unique(kept)


def _one_seat(a: MatingFace, b: MatingFace, thickness_mm: float) -> MatingFace | None:
    """Both as one seat where one flat bracket lies on both; None where none can.

    Either they look the same way, and the bracket lies on the highest hole and on washers at the others; or b looks at
    a with room for the sheet between, and little more.
    """
    cosine = float(np.dot(a.normal, b.normal))
    if abs(cosine) < math.cos(math.radians(_PARALLEL_DEG)):
        return None
    mixed = any(h.side is SheetSide.AWAY for h in (*a.holes, *b.holes))
    if mixed and (cosine > 0 or any(h.side is SheetSide.AWAY for h in b.holes)):
        return None
    sheet = 0.0 if cosine > 0 else thickness_mm
    b = _moved(b, a, sheet)
    side = SheetSide.SEAT if cosine > 0 else SheetSide.AWAY
    holes = [*a.holes, *(replace(h, side=side, sheet_mm=sheet, shim_mm=0.0) for h in b.holes)]
    return _named(a, b, _shimmed(holes))


def _shimmed(holes: Sequence[FaceHole]) -> tuple[Vector, list[FaceHole]] | None:
    """The sheet's direction out of the seat, and the holes with their washers; None where they need too many."""
    signs = np.array([1.0 if h.side is SheetSide.SEAT else -1.0 for h in holes])
    own = np.array([h.own for h in holes])
    n = _unit(vector((signs[:, None] * own).sum(axis=0)))
    heights = np.array([h.at for h in holes]) @ np.array(n) - np.array([h.sheet_mm for h in holes])
    base = heights[signs > 0].max()
    room = signs * (base - heights)
    if float(room.min()) < -NO_SHIM_MM or float(room.max()) > SHIM_MM:
        return None
    shims = np.maximum(room, 0.0) / np.abs(own @ np.array(n))
    return n, [replace(h, shim_mm=float(s)) for h, s in zip(holes, shims, strict=True)]


def _moved(b: MatingFace, a: MatingFace, height_mm: float) -> MatingFace:
    """What is carried, put flat on a's plane or the sheet on it, where its room lets it; else as it is."""
    if b.room is None:
        return b
    n = np.array(a.normal)
    heights = (np.array([h.at for h in b.holes]) - a.points()[0]) @ n
    shift = (height_mm - heights)[:, None] * n
    if (np.abs(shift) > np.array(b.room) + NO_SHIM_MM).any():
        return b
    sign = 1.0 if float(n @ np.array(b.normal)) > 0 else -1.0
    own = _unit(vector(sign * n))
    places = [vector(p) for p in np.array([h.at for h in b.holes]) + shift]
    holes = tuple(replace(h, at=p, own=own) for h, p in zip(b.holes, places, strict=True))
    return replace(b, holes=holes, normal=own)


def _named(a: MatingFace, b: MatingFace, found: tuple[Vector, list[FaceHole]] | None) -> MatingFace | None:
    if found is None:
        return None
    normal, shimmed = found
    told = [f"{a.name} {h.name}" for h in a.holes] + [f"{b.name} {h.name}" for h in b.holes]
    named = tuple(replace(h, name=n) for h, n in zip(shimmed, _plain_names(told), strict=True))
    body = a.body if a.body == b.body else f"{a.body} and {b.body}"
    return MatingFace(_panel_name(f"{a.name} and {b.name}"), normal, named, body)


def _unique(seats: list[MatingFace]) -> list[MatingFace]:
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


def _unit(v: Vector) -> Vector:
    if length(v) < _NO_DIRECTION_MM:
        raise GeometryFault("a normal has no direction", None, "give a direction such as [0, 0, 1]")
    return unit(v)


# -- the side of the sheet that lies on a seat, as arrays for the search


#: Narrowest bend that a proposal makes, mm (common practice, no source).
LEAST_WIDTH_MM: Final = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class Footing:
    """The sheet on one seat.

    `z` is the unit normal out of the described face, `points` are the holes on that face (site's frame, mm, one a
    row), `pad` and `need` the metal around each and its distance to a tangent line.
    """

    seat: MatingFace
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


def footing(seat: MatingFace, touching: Touching, practice: Practice, room: EdgeDistance) -> Footing:
    """The sheet put on a seat: its back on the face has the metal's thickness below the described face."""
    n = np.array(seat.normal)
    back = touching is Touching.BACK
    points = seat.points() + (practice.thickness_mm if back else 0.0) * n
    rooms = [room_of(h, practice, room) for h in seat.holes]
    pads, needs = np.array([r.pad for r in rooms]), np.array([r.from_bend for r in rooms])
    return Footing(
        seat, touching, n if back else -n, points, pads + np.array([_half_slot(h) for h in seat.holes]), needs
    )


def room_of(hole: FaceHole, practice: Practice, room: EdgeDistance) -> HoleRoom:
    """The room that one hole of a seat asks for."""
    return hole_room(hole.bolt, hole.fit, practice, room, hole.slot[0] if hole.slot else 0.0)


def _half_slot(hole: FaceHole) -> float:
    if hole.slot is None:
        return 0.0
    return max(0.0, hole.slot[0] - clearance_hole(hole.bolt, Fit(hole.fit)).diameter_mm) / 2
