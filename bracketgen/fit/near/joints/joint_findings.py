"""What is to say of a part that joins bodies: rigid ones fail, flexible ones by their stroke and what they stand."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.fit.near.clearance_scene import Scene, kind_of_flexible
from bracketgen.fit.near.joints.joint_need import Grown, Meeting, is_hot, meetings
from bracketgen.fit.near.joints.joints import Joint
from bracketgen.fit.near.required import stands
from bracketgen.rules.in_place import HEAT, TWO_BODIES
from bracketgen.rules.rule import NO_SOURCE, short_of, up_mm

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
        yield _fail(TWO_BODIES.id, " and ".join(bodies), remedy, TWO_BODIES.source)
    for body in bodies:
        feet = [j.name for j in stiff if j.body == body]
        if is_hot(body) and len(feet) > 1:
            grown = next((_growing(m.growth) for m in found if m.a.body == m.b.body == body and m.rigid), "")
            remedy = (
                f"the exhaust grows between them{grown} and the bracket does not: hold it at one, let it slide at "
                "the other, and write there how far: flexible = { stroke = [x, y, z] }"
            )
            yield _fail(TWO_BODIES.id, " and ".join(feet), remedy, TWO_BODIES.source)


def _growing(growth: Grown) -> str:
    return f" ({_by_axes(growth.mm)} mm)" if any(growth.mm) else ""


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
            yield _fail(TWO_BODIES.id, subject, remedy, TWO_BODIES.source)
            continue
        source = "; ".join(dict.fromkeys(s for s in (m.travel.source, TWO_BODIES.source) if s))
        yield Finding(TWO_BODIES.id, Level.FAIL, subject, m.given_mm, m.asked_mm, "mm", None, _missing(m), source)


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
        yield _fail(HEAT.id, subject, remedy, NO_SOURCE)
    elif short_of(limit.limit_c, table.surface):
        remedy = (
            f"the metal that it sits on has {table.surface:g} degrees C; {limit.words}: take a compound that stands "
            "more, or hold it on a longer rod, farther from the pipe"
        )
        yield Finding(
            HEAT.id, Level.FAIL, subject, table.surface, limit.limit_c, "degrees C", None, remedy, HEAT.source
        )


def _fail(rule: str, subject: str, remedy: str, source: str) -> Finding:
    return Finding(rule, Level.FAIL, subject, None, None, "", None, remedy, source)
