"""What a flexible joint has to take up: how two bodies move against each other, and what heat adds there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import Final

from bracketgen.fit.near.clearance_scene import Scene, Standing
from bracketgen.fit.near.envelope_growth import growth_at
from bracketgen.fit.near.envelope_travel import Travel, relative_travel
from bracketgen.fit.near.joints.joints import Joint, missing_mm
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.vector import length, minus
from bracketgen.rules.rule import short_of

#: A body with this in its name grows when hot: 'exhaust', 'left exhaust'.
_HOT_BODY: Final = "exhaust"
_NONE: Final = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Grown:
    """By how much two joints go apart when hot, to either side along each axis, mm; `pipes` are the cause.

    None of it: `unknown` says whose growth nobody knows.
    """

    mm: Vector
    pipes: tuple[str, ...] = ()
    unknown: str | None = None


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two joints of the part, and what their bodies do to each other there."""

    a: Joint
    b: Joint
    travel: Travel
    growth: Grown

    @property
    def need_mm(self) -> Vector:
        """What has to be taken up to either side along each axis."""
        t, g = self.travel.mm, self.growth.mm
        return (t[0] + g[0], t[1] + g[1], t[2] + g[2])

    @property
    def asks(self) -> bool:
        """Whether anything is asked of the joint at all."""
        return self.growth.unknown is not None or any(self.need_mm)

    @property
    def given_mm(self) -> float:
        """What the two joints give where the most is missing."""
        return missing_mm(self.need_mm, self.a, self.b)[0]

    @property
    def asked_mm(self) -> float:
        """What they have to give there."""
        return missing_mm(self.need_mm, self.a, self.b)[1]

    @property
    def axis(self) -> int | None:
        """Along which axis; None = whichever way."""
        return missing_mm(self.need_mm, self.a, self.b)[2]

    @property
    def short(self) -> bool:
        """Whether the stroke is too short, or can't be judged."""
        return self.growth.unknown is not None or short_of(self.given_mm, self.asked_mm)

    @property
    def rigid(self) -> bool:
        """Whether nothing gives between the two."""
        return self.a.flexible is None and self.b.flexible is None


def meetings(scene: Scene) -> tuple[Meeting, ...]:
    """Every two joints of the part."""
    return tuple(_meeting(scene, a, b) for a, b in combinations(scene.joints, 2))


def _meeting(scene: Scene, a: Joint, b: Joint) -> Meeting:
    travel = relative_travel(a.body, b.body, scene.site.document.bodies)
    return Meeting(a, b, travel, _grown(scene, a, b))


def _grown(scene: Scene, a: Joint, b: Joint) -> Grown:
    for joint in (a, b):
        if is_hot(joint.body) and not _growing(scene, joint.body):
            return Grown(_NONE, unknown=joint.body)
    ways = list(_apart(scene, a, b))
    x, y, z = (max((abs(w[k]) for w, _ in ways), default=0.0) for k in range(3))
    worst = max(ways, key=lambda w: length(w[0]), default=(_NONE, ()))
    return Grown((x, y, z), worst[1])


def _apart(scene: Scene, a: Joint, b: Joint) -> Iterator[tuple[Vector, tuple[str, ...]]]:
    """How far joint b goes hot as seen from joint a, by every pipe of either body, with the pipes' names.

    Which pipe of a body holds a joint is not said: the one that goes farthest decides.
    """
    for p, q in product(a.spots, b.spots):
        if a.body == b.body:
            for pipe in _growing(scene, a.body):
                yield minus(_shift(pipe, q), _shift(pipe, p)), (pipe.title,)
            continue
        for mine, theirs in product(_or_none(_growing(scene, a.body)), _or_none(_growing(scene, b.body))):
            names = tuple(t.title for t in (mine, theirs) if t is not None)
            if names:
                yield minus(_shift(theirs, q), _shift(mine, p)), names


def _or_none(things: Sequence[Standing]) -> Sequence[Standing | None]:
    return things or (None,)


def _shift(pipe: Standing | None, at: Vector) -> Vector:
    return _NONE if pipe is None or pipe.growth is None else growth_at(pipe.growth, at)


def _growing(scene: Scene, body: str) -> list[Standing]:
    return [t for t in scene.neighbours if t.body == body and t.growth is not None] if is_hot(body) else []


def is_hot(body: str) -> bool:
    """Whether a body is one that grows when hot. A pipe that is listed under another body holds no joint of it."""
    return _HOT_BODY in body.casefold()
