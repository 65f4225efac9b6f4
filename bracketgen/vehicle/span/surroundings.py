"""What stands near a proposal: roughly for the search, by exact gaps for the proposal in its place.

The search asks by how much sample points of the metal fall short of their gaps. That is only a guess, points instead of
plates: proposals are judged by exact gaps afterwards.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from bracketgen.findings import Finding, Level
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.space import Frame, Vector
from bracketgen.standards.table import LookupFault
from bracketgen.vehicle.access.grip import crowded, crowded_finding
from bracketgen.vehicle.near.clearance import (
    PairCheck,
    move_words,
    pair_findings,
    part_checks,
    scene_findings,
)
from bracketgen.vehicle.near.motion import relative_travel
from bracketgen.vehicle.near.removal import blocked, removal_finding
from bracketgen.vehicle.near.required import Motion, needed_to_part
from bracketgen.vehicle.near.scene import PART, kind_of, scene
from bracketgen.vehicle.near.solids import Block, Bow, Capsule, Drum, Plate, ShapeFault, Solid, Wall, solids_of
from bracketgen.vehicle.seating.bolts import Placed
from bracketgen.vehicle.seating.place import wished_frame
from bracketgen.vehicle.site import Site, Thing
from bracketgen.vehicle.span.proposal import Closest

#: What is missing in the metal's thickness and the samples' coarseness, mm (common practice, no source).
_SPARE_MM = 4.0


@dataclass(frozen=True, slots=True)
class KeepOut:
    """A solid of the thing `name`, the gap that metal has to keep from it, mm, and the same however it moves."""

    name: str
    solid: Solid
    needed_mm: float
    keep_mm: float


def keep_outs(site: Site, body: str) -> tuple[KeepOut, ...]:
    """What stands near a bracket that is bolted to `body`, with gaps widened by how things move; carried
    things where they are wished."""
    document = site.document
    found: list[KeepOut] = []
    for name, table in document.neighbours.items():
        found += _obstacles(name, table, Frame(), _travel_mm(site, body, table.body))
    if document.carried is not None:
        frame = wished_frame(document.carried)
        for name, thing in document.carried.things.items():
            found += _obstacles(f"carried {name}", thing, frame, 0.0)
    return tuple(found)


def _travel_mm(site: Site, body: str, other: str) -> float:
    try:
        return math.hypot(*relative_travel(body, other, site.document.bodies).mm)
    except LookupFault:
        return 0.0


def _obstacles(name: str, thing: Thing, frame: Frame, travel_mm: float) -> list[KeepOut]:
    try:
        solids = solids_of(thing, frame)
        needed = needed_to_part(kind_of(thing), Motion.APART if travel_mm else Motion.TOGETHER).mm or 0.0
    except (ShapeFault, LookupFault):
        # Whoever judges the proposals says what is wrong with it.
        return []
    touches = thing.gap == 0.0
    return [KeepOut(name, s, needed, needed + travel_mm + (0.0 if touches else _SPARE_MM)) for s in solids]


def crowding(things: tuple[KeepOut, ...]) -> Callable[[Floats], Floats] | None:
    """For points (n, m, 3): by how many mm the worst of each row falls short; below 0 to spare. None for nothing."""
    if not things:
        return None

    def short(points: Floats) -> Floats:
        rows = [o.keep_mm - distance(points, o.solid).min(axis=1) for o in things]
        return np.asarray(np.max(rows, axis=0))

    return short


def distance(points: Floats, solid: Solid) -> Floats:
    """From points (..., 3) to a solid, mm; negative inside, but for plates and bends, which are never asked."""
    match solid:
        case Capsule(a, b, radius):
            start, way = np.array(a), np.array(b) - np.array(a)
            share = np.clip((points - start) @ way / max(float(way @ way), 1e-12), 0.0, 1.0)
            return np.asarray(np.linalg.norm(points - start - share[..., None] * way, axis=-1) - radius)
        case Drum(a, b, radius):
            return _to_drum(points, a, b, radius)
        case Block(frame, half):
            local = (points - np.array(frame.origin)) @ np.array([frame.x, frame.y, frame.z]).T
            over = np.abs(local) - np.array(half)
            return _outside(over)
        case Wall(point, normal):
            return np.asarray((points - np.array(point)) @ np.array(normal))
        case Plate() | Bow():
            raise ValueError("plates and bends are no obstacles of a site")


def _to_drum(points: Floats, a: Vector, b: Vector, radius: float) -> Floats:
    start, way = np.array(a), np.array(b) - np.array(a)
    size = float(np.linalg.norm(way))
    along = (points - start) @ (way / size)
    out = np.linalg.norm(points - start - along[..., None] * (way / size), axis=-1)
    return _outside(np.stack([np.abs(along - size / 2) - size / 2, out - radius], axis=-1))


def _outside(over: Floats) -> Floats:
    """Distance to a body square in each of these, from how far a point stands over each of its limits."""
    return np.asarray(np.linalg.norm(np.maximum(over, 0.0), axis=-1) + np.minimum(over.max(axis=-1), 0.0))


# -- a proposal in its place, held against what stands near by exact gaps


def closest_of(placed: Placed, site: Site) -> Closest | None:
    """Where the part stands nearest to a required gap; None where nothing stands near. Raises InputFaults.

    What the carried things and the neighbours have with each other is no matter of the part's shape and is left out.
    """
    here = scene(placed, site)
    if not here.things:
        return None
    pairs = part_checks(here, moves=False)
    found = [f for p in pairs for f in pair_findings(p)]
    found += [removal_finding(b) for b in blocked(here, by_part_only=True)]
    found += [crowded_finding(c) for c in crowded(here) if c.stopped_by == PART]
    failed = [_line(f) for f in found if f.level is Level.FAIL]
    others = tuple(_line(f) for f in scene_findings(here) if f.level is Level.FAIL)
    own = [p for p in pairs if p.needed.mm is not None and math.isfinite(p.needed.mm)]
    if not own:
        return Closest(math.inf, "nothing asks for a gap here", "; ".join(failed), len(failed), others)
    # Things that may touch set no limit until they run into each other.
    limiting = [p for p in own if p.short or p.needed.mm] or own
    worst = min(limiting, key=_margin_mm)
    mend = "; ".join(failed)
    if worst.short:
        # The move that mends takes long to find, and only the worst one is told.
        theirs = [tuple(s for s in things if s.title == worst.b) for things in (here.neighbours, here.carried)]
        (worst,) = part_checks(replace(here, neighbours=theirs[0], carried=theirs[1]))[:1]
        mend = move_words(PART, worst.move)
        mend = mend[:1].upper() + mend[1:]
    return Closest(_margin_mm(worst), _told(worst), mend, len(failed), others)


def _margin_mm(pair: PairCheck) -> float:
    return pair.gap_mm - (pair.needed.mm or 0.0)


def _told(pair: PairCheck) -> str:
    needed = pair.needed.mm or 0.0
    if pair.gap_mm <= 0.0:
        return f"runs into '{pair.b}' with its {pair.least.mine}"
    if pair.short:
        return f"{pair.gap_mm:.1f} mm from '{pair.b}' where {needed:g} mm are required ({pair.least.mine})"
    if needed == 0.0:
        return f"nearest is '{pair.b}', {pair.gap_mm:.1f} mm away; nothing but contact is ruled out there"
    return f"nearest to its limit at '{pair.b}': {pair.gap_mm:.1f} mm, {needed:g} mm required"


def _line(finding: Finding) -> str:
    return f"{finding.rule}, {finding.subject}: {finding.remedy}"
