"""What the joints of a part have to take up as bodies move and pipes grow, and what is to say of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import Vector, length, minus
from bracketgen.rules.engine import NO_SOURCE, short_of, up_mm
from bracketgen.rules.in_place import HEAT, TWO_BODIES
from bracketgen.vehicle.near.motion import Travel, growth_at, relative_travel
from bracketgen.vehicle.near.required import stands
from bracketgen.vehicle.near.scene import Joint, Scene, Standing, kind_of_flexible, missing_mm

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
    bodies = scene.site.document.bodies
    pairs = combinations(scene.joints, 2)
    return tuple(Meeting(a, b, relative_travel(a.body, b.body, bodies), _grown(scene, a, b)) for a, b in pairs)


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
        for mine, theirs in product(_growing(scene, a.body) or (None,), _growing(scene, b.body) or (None,)):
            names = tuple(t.title for t in (mine, theirs) if t is not None)
            if names:
                yield minus(_shift(theirs, q), _shift(mine, p)), names


def _shift(pipe: Standing | None, at: Vector) -> Vector:
    return _NONE if pipe is None or pipe.growth is None else growth_at(pipe.growth, at)


def _growing(scene: Scene, body: str) -> list[Standing]:
    return [t for t in scene.neighbours if t.body == body and t.growth is not None] if is_hot(body) else []


def is_hot(body: str) -> bool:
    """Whether a body is one that grows when hot. A pipe that is listed under another body holds no joint of it."""
    return _HOT_BODY in body.casefold()


_AXES: Final = ("x", "y", "z")


def joint_findings(scene: Scene) -> Iterator[Finding]:
    """Rule two-bodies, and what heat does to what gives."""
    found = meetings(scene)
    yield from _rigid(scene, found)
    yield from _short(found)
    if any(is_hot(body) for body in scene.bodies):
        for joint in scene.joints:
            yield from _too_hot(joint)


def _rigid(scene: Scene, found: tuple[Meeting, ...]) -> Iterator[Finding]:
    """Two joints where nothing gives are an error, whatever they do to each other."""
    stiff = [j for j in scene.joints if j.flexible is None]
    bodies = tuple(dict.fromkeys(j.body for j in stiff))
    if len(bodies) > 1:
        remedy = (
            "they move against each other, the bracket can't: bolt it to one, or put rubber between and write in the "
            "site file how far it gives: flexible = { stroke = [x, y, z] } at the face, or at [carried]"
        )
        yield TWO_BODIES.finding(Level.FAIL, " and ".join(bodies), None, None, None, remedy)
    for body in bodies:
        feet = [j.name for j in stiff if j.body == body]
        if is_hot(body) and len(feet) > 1:
            mm = next((m.growth.mm for m in found if m.a.body == m.b.body == body and m.rigid), _NONE)
            grown = f" ({_by_axes(mm)} mm)" if any(mm) else ""
            remedy = (
                f"the exhaust grows between them{grown} and the bracket does not: hold it at one, let it slide at "
                "the other, and write there how far: flexible = { stroke = [x, y, z] }"
            )
            yield TWO_BODIES.finding(Level.FAIL, " and ".join(feet), None, None, None, remedy)


def _short(found: tuple[Meeting, ...]) -> Iterator[Finding]:
    """For every two bodies, and every two feet on one, the joint where the most is missing."""
    worst: dict[str, Meeting] = {}
    for m in found:
        subject = " and ".join((m.a.body, m.b.body) if m.a.body != m.b.body else (m.a.name, m.b.name))
        if m.rigid or not (m.asks and m.short):
            continue
        if subject not in worst or m.asked_mm - m.given_mm > worst[subject].asked_mm - worst[subject].given_mm:
            worst[subject] = m
    for subject, m in worst.items():
        if m.growth.unknown is not None:
            remedy = (
                f"nothing says how far '{m.growth.unknown}' grows at {_where(m)}: list its pipe as a neighbour with "
                f"body = '{m.growth.unknown}', surface and grows_from"
            )
            yield TWO_BODIES.finding(Level.FAIL, subject, None, None, None, remedy)
            continue
        source = "; ".join(dict.fromkeys(s for s in (m.travel.source, TWO_BODIES.source) if s))
        yield TWO_BODIES.finding(Level.FAIL, subject, m.given_mm, m.asked_mm, None, _missing(m), source)


def _missing(m: Meeting) -> str:
    way = "whichever way it is pulled" if m.axis is None else f"along {_AXES[m.axis]}"
    causes = [f"they move {_by_axes(m.travel.mm)} mm against each other"] if m.travel.moves else []
    if any(m.growth.mm):
        pipes = " and ".join(f"'{p}'" for p in m.growth.pipes)
        causes.append(f"{pipes} {'grow' if len(m.growth.pipes) > 1 else 'grows'} {_by_axes(m.growth.mm)} mm there")
    return (
        f"{', and '.join(causes)}; what gives at {_where(m)} gives {m.given_mm:.1f} mm {way} and has to give "
        f"{m.asked_mm:.1f} mm: {up_mm(m.asked_mm - m.given_mm)} are missing. Take one with a longer stroke, or "
        "bring the joint nearer to where the pipe is held, or measure the travel"
    )


def _where(m: Meeting) -> str:
    return " and ".join(f"'{j.name}'" for j in (m.a, m.b) if j.flexible is not None)


def _by_axes(mm: tuple[float, float, float]) -> str:
    return "(" + ", ".join(f"{round(c, 1) + 0.0:.1f}" for c in mm) + ")"


def _too_hot(joint: Joint) -> Iterator[Finding]:
    """What gives beside an exhaust: how hot it gets has to be known, and it has to stand that."""
    table = joint.flexible
    limit = stands(kind_of_flexible(table)) if table is not None else None
    if table is None or limit is None:
        return
    subject = f"what gives at {joint.name}"
    if table.surface is None:
        remedy = (
            f"nothing says how hot the metal gets that it sits on; {limit.words}: measure there after a long climb "
            "and write surface = ... in degrees C at its 'flexible'"
        )
        yield HEAT.finding(Level.FAIL, subject, None, None, None, remedy, NO_SOURCE)
    elif short_of(limit.limit_c, table.surface):
        remedy = (
            f"the metal that it sits on has {table.surface:g} degrees C; {limit.words}: take a compound that stands "
            "more, or hold it on a longer rod, farther from the pipe"
        )
        yield HEAT.finding(Level.FAIL, subject, table.surface, limit.limit_c, None, remedy, unit="degrees C")
