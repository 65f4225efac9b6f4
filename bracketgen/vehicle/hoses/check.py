"""Every hose of a site held against what it must reach, still and at the ends of all travel."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise, product
from typing import Final

from bracketgen.geometry.space import Frame, Vector, plus, unit
from bracketgen.standards.vehicle import hose_rule
from bracketgen.vehicle.hoses.route import Leaving, Route, shortest_route
from bracketgen.vehicle.near.motion import relative_travel
from bracketgen.vehicle.near.scene import Scene
from bracketgen.vehicle.seating.place import wished_frame
from bracketgen.vehicle.site.tables import HoseEnd, HoseTable

#: Shares of a hose's length, and lengths in outside diameters and mm; each with its source in the table.
SHORTER: Final = hose_rule("shorter by pressure").value / 100.0
SLACK: Final = hose_rule("slack at rest").value / 100.0
STRAIGHT_DIAMETERS: Final = hose_rule("straight at a fitting").value
CLAMPED_FROM_MM: Final = hose_rule("clamped from").value
CLAMPS_APART_MM: Final = hose_rule("clamps apart").value


@dataclass(frozen=True, slots=True)
class HoseCheck:
    """One hose, lengths in mm between its fittings.

    `free_mm` is there; `rest_mm` and `moved_mm` the shortest ways at rest and where travel (`shift`) asks for the most,
    None where its bend radius leaves no way (`shift` then is where) or is not known.
    """

    name: str
    table: HoseTable
    free_mm: float
    rest_mm: float | None
    moved_mm: float | None
    shift: Vector

    @property
    def least_mm(self) -> float | None:
        """The least free length that serves: with slack at rest, and shortened by pressure at the end of travel."""
        if self.rest_mm is None or self.moved_mm is None:
            return None
        return max(self.rest_mm / (1.0 - SLACK), self.moved_mm / (1.0 - SHORTER))

    @property
    def at_rest(self) -> bool:
        """Whether slack at rest asks for more than travel does."""
        return self.least_mm is not None and self.rest_mm is not None and self.least_mm == self.rest_mm / (1.0 - SLACK)

    @property
    def widest_mm(self) -> float:
        """The longest piece between two fittings or clamps."""
        stops = (0.0, *self.table.clamps, self.table.length)
        return max(b - a for a, b in pairwise(stops))


def hose_checks(scene: Scene) -> tuple[HoseCheck, ...]:
    """One a hose, in the site file's order."""
    return tuple(_checked(scene, name, hose) for name, hose in scene.site.document.hoses.items())


def _checked(scene: Scene, name: str, hose: HoseTable) -> HoseCheck:
    free = hose.length - hose.start.fitting - hose.to.fitting
    if hose.bend_radius is None:
        return HoseCheck(name, hose, free, None, None, (0.0, 0.0, 0.0))
    a, b = _leaving(scene, hose, hose.start), _leaving(scene, hose, hose.to)
    travel = relative_travel(_body(scene, hose.start), _body(scene, hose.to), scene.site.document.bodies)
    straight = 2.0 * STRAIGHT_DIAMETERS * hose.diameter
    rest = shortest_route(a, b, hose.bend_radius)
    if rest is None:
        return HoseCheck(name, hose, free, None, None, (0.0, 0.0, 0.0))
    longest, where = rest, (0.0, 0.0, 0.0)
    for shift in _shifts(travel.mm):
        there = shortest_route(a, Leaving(plus(b.at, shift), b.way), hose.bend_radius)
        if there is None:
            return HoseCheck(name, hose, free, straight + rest.length_mm, None, shift)
        longest, where = _longer(longest, where, there, shift)
    return HoseCheck(name, hose, free, straight + rest.length_mm, straight + longest.length_mm, where)


def _longer(one: Route, where: Vector, other: Route, shift: Vector) -> tuple[Route, Vector]:
    # Rounding is no longer way: the first place is kept, or the words would depend on it.
    return (other, shift) if other.length_mm > one.length_mm + 1e-9 else (one, where)


def _shifts(travel: Vector) -> list[Vector]:
    """Corners, edges and faces of the travel."""
    ways = [(-t, 0.0, t) if t > 0.0 else (0.0,) for t in travel]
    return [(x, y, z) for x, y, z in product(*ways)]


def _leaving(scene: Scene, hose: HoseTable, end: HoseEnd) -> Leaving:
    """Past the fitting and the piece that stays straight."""
    frame = _frame(scene, end)
    way = unit(frame.direction(end.way))
    return Leaving(plus(frame.point(end.at), way, end.fitting + STRAIGHT_DIAMETERS * hose.diameter), way)


def _frame(scene: Scene, end: HoseEnd) -> Frame:
    carried = scene.site.document.carried
    if end.on == "vehicle" or carried is None:
        return Frame()
    return scene.placed.carried if scene.placed.carried is not None else wished_frame(carried)


def _body(scene: Scene, end: HoseEnd) -> str:
    """What is carried moves with the part."""
    return scene.body if end.on == "carried" else end.body
