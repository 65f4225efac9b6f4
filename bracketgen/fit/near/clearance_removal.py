"""Whether what is taken away for service can be taken away."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bracketgen.fit.near.clearance import PART, bolt_solids, metal_pieces
from bracketgen.fit.near.clearance_scene import Role, Scene, Standing
from bracketgen.fit.near.envelope import Least, Mine, Named, Path, Task, least_gap, smallest_move
from bracketgen.fit.seating.mates import CARRIED
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.vector import length, scaled
from bracketgen.rules.rule import short_of

_NEAR_MM: Final = 1e-3
_MOST_STEPS: Final = 200
#: Places along its way at which a thing that touches from the start is looked at.
_LOOKS: Final = 25
#: A way is free with this much on all sides, mm.
_FREE_MM: Final = 0.1


@dataclass(frozen=True, slots=True)
class Blocked:
    """A thing that can't be taken away: how far it gets of its way, mm, and what stops it.

    `move` is the shortest move of what stops it that clears the way (None: none found).
    """

    thing: Standing
    stopped_by: str
    free_mm: float
    way_mm: float
    least: Least
    move: Vector | None


def blocked(scene: Scene) -> tuple[Blocked, ...]:
    """Every thing whose way out is stopped by the part, by what is carried, or by a neighbour.

    Old neighbours that stop each other are not the part's doing and are left out.
    """
    found = []
    for thing in scene.things:
        if thing.removal is None or length(thing.removal) <= 0.0:
            continue
        for name, obstacle in _obstacles(scene, thing):
            one = _blocked(thing, thing.removal, name, Mine.of(obstacle))
            if one is not None:
                found.append(one)
    return tuple(found)


def _obstacles(scene: Scene, thing: Standing) -> Iterator[tuple[str, list[Named]]]:
    hung = [b for b in scene.placed.bolts if b.mate.startswith(CARRIED)] if thing.role is Role.CARRIED else []
    touching = hung if not thing.kind.gap_mm else []
    yield PART, [*metal_pieces(scene, touching), *bolt_solids(scene, hung)]
    # A carried thing is taken off its own fellows; how that goes is theirs to know.
    for other in scene.neighbours if thing.role is Role.CARRIED else scene.carried:
        yield other.title, [(other.title, s) for s in other.solids]


def _blocked(thing: Standing, way: Vector, name: str, obstacle: Mine) -> Blocked | None:
    states = [("on its way out", thing.solids)]
    start = least_gap(obstacle, states)
    # What meets before anything moves is a matter of the gap.
    if start is None or short_of(start.gap.mm, 0.0):
        return None
    least = least_gap(obstacle, states, Path(way))
    if least is None or least.gap.mm > _NEAR_MM:
        return None
    if start.gap.mm <= _NEAR_MM and not _runs_in(thing, way, obstacle):
        return None
    move = smallest_move(Task(obstacle, states, Path(way), _FREE_MM))
    return Blocked(thing, name, _free_mm(thing, way, obstacle), length(way), least, move)


def _runs_in(thing: Standing, way: Vector, obstacle: Mine) -> bool:
    """Whether a thing that touches from the start goes deeper on its way, instead of leaving or sliding along."""
    for n in range(1, _LOOKS + 1):
        here = least_gap(obstacle, [("", thing.solids)], offset=scaled(way, n / _LOOKS))
        if here is not None and here.gap.mm < -_NEAR_MM:
            return True
    return False


def _free_mm(thing: Standing, way: Vector, obstacle: Mine) -> float:
    """How far the thing gets: forward by the gap again and again, which can't step over anything."""
    whole, done = length(way), 0.0
    for _ in range(_MOST_STEPS):
        here = least_gap(obstacle, [("", thing.solids)], offset=scaled(way, done / whole))
        if here is None or here.gap.mm <= _NEAR_MM or done >= whole:
            break
        done = min(whole, done + here.gap.mm)
    return done
