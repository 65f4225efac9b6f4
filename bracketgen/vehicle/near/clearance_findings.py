"""What the site has to say about the part in its place, as findings."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import Vector, length, unit
from bracketgen.rules.in_place import DRIP, GAP, GROWTH, HEAT, REMOVAL, TRAVEL
from bracketgen.rules.rule import NO_SOURCE, cited, up_mm
from bracketgen.standards.vehicle import body_travel
from bracketgen.vehicle.near.clearance import PART, PairCheck
from bracketgen.vehicle.near.drip import HALF_CONE_DEG, Drip
from bracketgen.vehicle.near.joints import joint_findings
from bracketgen.vehicle.near.motion import MEASURED_AT_C, travel_of
from bracketgen.vehicle.near.removal import Blocked
from bracketgen.vehicle.near.scene import Scene, Standing
from bracketgen.vehicle.site import PipeTable

_ENOUGH_MM: Final = 2000.0


def pair_findings(check: PairCheck) -> Iterator[Finding]:
    """Rules gap and heat for one pair."""
    subject = f"{check.a} to {check.b}"
    if check.needed.mm is None:
        how = "they meet" if check.gap_mm <= 0.0 else f"the gap is {check.gap_mm:.1f} mm"
        remedy = f"{how}{_where(check)}, and nothing says which gap is needed: {_state_it(check)}"
        yield Finding(GAP.id, Level.FAIL, subject, check.gap_mm, None, "mm", None, remedy, check.needed.source)
    elif check.short:
        remedy = f"{_met(check)}{_where(check)}: {move_words(check.a, check.move)}"
        yield Finding(
            GAP.id, Level.FAIL, subject, check.gap_mm, check.needed.mm, "mm", None, remedy, check.needed.source
        )
    if check.too_hot and check.heat is not None and check.heat.mm is not None:
        most = check.heat.mm
        shield = "put a heat shield between, with air on both sides"
        far = "no distance is enough" if most > _ENOUGH_MM else move_words(check.a, check.move)
        remedy = f"{check.heat.why}{_where(check)}: {far}, or {shield}, or take a compound that stands more"
        required = most if math.isfinite(most) else None
        yield Finding(HEAT.id, Level.FAIL, subject, check.gap_mm, required, "mm", None, remedy, check.heat.source)


def _state_it(check: PairCheck) -> str:
    habit = check.needed.habit_mm
    usual = f" (many shops leave {habit:g} mm: common practice, no source)" if habit is not None else ""
    whose = "one of the two" if check.a != PART else f"'{check.b}'"
    return f"write gap = ... at {whose} in the site file{usual}"


def _met(check: PairCheck) -> str:
    at = spot(check.least.gap.here)
    if check.gap_mm <= 0.0:
        return f"{check.least.mine} runs into it at {at}"
    return f"{check.least.mine} comes near it at {at}"


def _where(check: PairCheck) -> str:
    """In which position of things the gap is least."""
    words = []
    if check.least.state not in ("", "as measured"):
        words.append(f"pipe {check.least.state}")
    if any(check.least.shift):
        words.append(f"moved by {spot(check.least.shift)}")
    return f" ({', '.join(words)})" if words else ""


def move_words(who: str, move: Vector | None) -> str:
    """The smallest move in words: how far and which way in the site's frame."""
    if move is None or length(move) <= 0.0:
        return "no straight move was found that mends it"
    x, y, z = unit(move)
    whom = "the part there" if who == PART else f"'{who}'"
    way = ", ".join(f"{round(c, 2) + 0.0:.2f}" for c in (x, y, z))
    return f"move {whom} by {up_mm(length(move))} along ({way})"


def spot(p: Vector) -> str:
    """A place in the site's frame, '(12.3, -4.0, 55.1)'."""
    return "(" + ", ".join(f"{round(c, 1) + 0.0:.1f}" for c in p) + ")"


def drip_finding(drip: Drip) -> Finding:
    """Rule drip: failed when the part brings it about, a warning between two neighbours."""
    remedy = (
        f"what drips or sprays from '{drip.joint.title}' falls on '{drip.hot.title}' at {spot(drip.at)}: move it "
        f"{up_mm(drip.aside_mm)} aside, or shield it, and write down that it is to be wiped before the engine runs"
    )
    source = f"{cited('quebec-c24.2-r32-92', 'read')}; cone of {HALF_CONE_DEG:g} degrees: {NO_SOURCE}"
    level = Level.FAIL if drip.is_new else Level.WARN
    subject = f"{drip.joint.title} above {drip.hot.title}"
    return Finding(DRIP.id, level, subject, drip.beyond_mm, 0.0, "mm", None, remedy, source)


def removal_finding(one: Blocked) -> Finding:
    """Rule removal."""
    who = "the part" if one.stopped_by == PART else f"'{one.stopped_by}'"
    what = one.least.mine if one.stopped_by == PART else who
    legs = len(one.thing.legs)
    remedy = f"leg {one.leg + 1} of {legs} of its way out: " if legs > 1 else ""
    remedy += f"it tilts {one.free:.1f} degrees" if one.tilts else f"it comes {one.free:.1f} mm out"
    remedy += f", then {what} is in the way at {spot(one.least.gap.here)}: "
    remedy += move_words(PART if one.stopped_by == PART else one.stopped_by, one.move)
    return Finding(REMOVAL.id, Level.FAIL, one.thing.title, one.free, one.way, one.unit, None, remedy, REMOVAL.source)


def scene_findings(scene: Scene) -> Iterator[Finding]:
    """What needs no pairs: bodies, temperatures, held ends, travels and growth that were assumed."""
    yield from joint_findings(scene)
    for thing in scene.things:
        yield from _exhaust(thing)
        yield from _grows(thing)
    yield from _travels(scene)


def _exhaust(thing: Standing) -> Iterator[Finding]:
    if thing.kind.matter != "exhaust":
        return
    if thing.kind.surface_c is None:
        remedy = "nothing says how hot it gets: write surface = ... in degrees C, measured after a long climb"
        yield _fail(HEAT.id, thing.title, remedy, NO_SOURCE)
    if isinstance(thing.table, PipeTable) and thing.table.grows_from is None:
        remedy = "nothing says at which end it is held, so nobody knows where it goes hot: write grows_from = ..."
        yield _fail(GROWTH.id, thing.title, remedy, NO_SOURCE)


def _grows(thing: Standing) -> Iterator[Finding]:
    growth = thing.growth
    if growth is None:
        return
    e = growth.expansion
    metal = f"no metal is given, so the worst ({e.metal}) is taken" if growth.worst else f"metal {e.metal}"
    remedy = (
        f"hot, its far end goes {growth.end_mm:.1f} mm, by {spot(growth.end)}, from {MEASURED_AT_C:g} to "
        f"{thing.kind.surface_c:g} degrees C; {metal}: {e.per_k * 1e6:.2f}e-6 per K. Both places were looked at"
    )
    yield Finding(GROWTH.id, Level.NOTE, thing.title, growth.end_mm, None, "mm", None, remedy, cited(e.source, e.how))


def _travels(scene: Scene) -> Iterator[Finding]:
    document = scene.site.document
    for body in dict.fromkeys((*scene.bodies, *(t.body for t in scene.neighbours))):
        given = document.bodies[body].travel if body in document.bodies else None
        travel = travel_of(body, document.bodies)
        if given is None and travel.moves:
            mm = body_travel(body).travel_mm
            remedy = f"taken to move {mm:g} mm to either side: measure it, and write [bodies.{body}] travel = [x, y, z]"
            yield Finding(TRAVEL.id, Level.NOTE, body, mm, None, "mm", None, remedy, travel.source)


def _fail(rule: str, subject: str, remedy: str, source: str) -> Finding:
    return Finding(rule, Level.FAIL, subject, None, None, "", None, remedy, source)
