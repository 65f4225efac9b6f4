"""From a found way to panels with numbers: frames, bend lines, holes, and the rounds that make the outlines."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.space import Frame, Vector, vector
from bracketgen.vehicle.seating.bolts import Touching
from bracketgen.vehicle.span.bridge import SHOULDER_MM, SHOULDER_SHARE, SPARE_MM
from bracketgen.vehicle.span.practice import EdgeDistance, Practice
from bracketgen.vehicle.span.seat import FaceHole, Footing, room_of
from bracketgen.vehicle.span.ways import Connection, Crossing

#: Digits after the point of a mm that are written: bend lines finer, since a short line turns a long leg.
LINE_DIGITS: Final = 4
TURN_DIGITS: Final = 4
HOLE_DIGITS: Final = 3
#: Round in the middle of a web that has no hole: it only says on which side of a bend line the panel lies.
_MIDDLE_MM: Final = 2.0
#: A pad that stands out of the belt of the others by less leaves only a sliver of an arc.
_SLIVER_MM: Final = 0.05
#: An arc this short may be too short to cut; seen in these steps, a round this far inside may still show between two.
_SHORT_ARC_MM: Final = 0.15
_STEP_RAD: Final = math.radians(0.05)
_NEARLY_MM: Final = -0.05
#: How far a corner round is moved out to show.
_SHOW_MM: Final = 0.8


@dataclass(frozen=True, slots=True)
class LaidHole:
    """A hole at x, y of its panel, mm; `pad` mm of metal around it where the usual is too much."""

    hole: FaceHole
    x: float
    y: float
    pad: float | None
    slot: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class LaidBend:
    """The bend of a panel: two points on its parent (mould line), turn in degrees, way."""

    parent: str
    line: tuple[tuple[float, float], tuple[float, float]]
    turn_deg: float
    up: bool


@dataclass(slots=True)
class LaidPanel:
    """A panel: its frame in the site, holes, further rounds (x, y, radius), and its bend."""

    name: str
    frame: Frame
    holes: list[LaidHole] = field(default_factory=list)
    rounds: list[tuple[float, float, float]] = field(default_factory=list)
    foot: LaidBend | None = None
    touching: Touching | None = None
    #: Tangent lines of its bends: both ends in its frame, and the degrees turned; its metal lies left of each.
    tangents: list[tuple[tuple[float, float], tuple[float, float], float]] = field(default_factory=list)
    pad_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Layout:
    """All panels, the first one first; `grain_deg` is the rolling direction in its frame that suits the bends best."""

    panels: tuple[LaidPanel, ...]
    grain_deg: int | None
    practice: Practice
    ways: tuple[Connection, ...]
    root: Footing


def lay_out(root: Footing, ways: Sequence[Connection], practice: Practice, room: EdgeDistance) -> Layout:
    """Panels for a root seat and one way to each of the others."""
    first = LaidPanel(root.seat.name, _root_frame(root, ways), touching=root.touching)
    _add_holes(first, root, practice, room)
    panels = [first]
    for way in ways:
        parent = first
        for n, crossing in enumerate(way.crossings, 1):
            last = n == len(way.crossings)
            name = way.second.seat.name if last else ("web" if len(ways) == 1 else f"web {way.second.seat.name}"[:40])
            child = _bent(parent, crossing, name, practice)
            if last:
                child.touching = way.second.touching
                _add_holes(child, way.second, practice, room)
            panels.append(child)
            parent = child
    for panel in panels:
        _add_rounds(panel, practice)
        _without_slivers(panel)
    return Layout(tuple(panels), _grain(panels), practice, tuple(ways), root)


def _root_frame(root: Footing, ways: Sequence[Connection]) -> Frame:
    """Origin in the first hole, x to the second one, or along the first bend."""
    if len(root.points) > 1:
        along = root.points[1] - root.points[0]
    elif ways:
        crossing = ways[0].crossings[0]
        along = np.cross(-crossing.back, root.z)
    else:
        along = np.cross(root.z, [0.0, 0.0, 1.0] if abs(root.z[2]) < 0.9 else [0.0, 1.0, 0.0])
    x = along / np.linalg.norm(along)
    return Frame(vector(root.points[0]), vector(x), vector(np.cross(root.z, x)), vector(root.z))


def local(frame: Frame, p: Floats | Vector) -> Vector:
    """A point of the site in a frame."""
    d = np.asarray(p) - np.array(frame.origin)
    return (float(d @ np.array(frame.x)), float(d @ np.array(frame.y)), float(d @ np.array(frame.z)))


def _add_holes(panel: LaidPanel, side: Footing, practice: Practice, room: EdgeDistance) -> None:
    for hole, point in zip(side.seat.holes, side.points, strict=True):
        x, y, _ = local(panel.frame, point)
        pad = room_of(hole, practice, room).pad
        panel.pad_mm = max(panel.pad_mm, pad)
        slot = _slot(panel.frame, hole)
        panel.holes.append(LaidHole(hole, x, y, None if room is EdgeDistance.EASY else pad, slot))


def _slot(frame: Frame, hole: FaceHole) -> tuple[float, float] | None:
    if hole.slot is None:
        return None
    length, way = hole.slot
    x, y = (sum(a * b for a, b in zip(way, axis, strict=True)) for axis in (frame.x, frame.y))
    return length, math.degrees(math.atan2(y, x)) % 180.0


def _bent(parent: LaidPanel, crossing: Crossing, name: str, practice: Practice) -> LaidPanel:
    """The panel beyond a bend. Its x = 0 is the left end of the bend line, y = 0 the mould line."""
    up = -crossing.back
    along = np.cross(up, np.array(parent.frame.z))
    half = math.tan(math.radians(crossing.turn_deg) / 2)
    r, t = practice.inside_radius_mm, practice.thickness_mm
    mould = (r + t) * half
    face = r * half if crossing.up else mould
    start, end = (crossing.middle + s * crossing.width / 2 * along for s in (-1.0, 1.0))
    shift = (mould - face) * up
    line = tuple(local(parent.frame, p + shift)[:2] for p in (start, end))
    child = LaidPanel(
        name,
        Frame(vector(start - (mould - face) * crossing.on), vector(along), vector(crossing.on), vector(crossing.z)),
        foot=LaidBend(parent.name, (line[0], line[1]), crossing.turn_deg, crossing.up),
    )
    back = [local(parent.frame, p - face * up)[:2] for p in (end, start)]
    parent.tangents.append((back[0], back[1], crossing.turn_deg))
    child.tangents.append(((0.0, mould), (crossing.width, mould), crossing.turn_deg))
    return child


def _add_rounds(panel: LaidPanel, practice: Practice) -> None:
    """Corners of metal where a leg would else be too short for the die at the ends of its bend."""
    points = _outline_points(panel)
    rounds = []
    for start, end, turn in panel.tangents:
        width = math.dist(start, end)
        least = float(practice.least_flats_mm(np.array(turn))) + SPARE_MM
        radius = min(SHOULDER_MM, SHOULDER_SHARE * width)
        e = ((end[0] - start[0]) / width, (end[1] - start[1]) / width)
        seen = [_seen(p, start, e) for p in points]
        for share in (SHOULDER_SHARE, 1.0 - SHOULDER_SHARE):
            if _height_at(seen, share * width) < least:
                x, y = share * width, max(least - radius, radius)
                rounds.append((start[0] + x * e[0] - y * e[1], start[1] + x * e[1] + y * e[0], radius))
    panel.rounds += rounds
    if not panel.holes and not panel.rounds:
        ends = [p for start, end, _ in panel.tangents for p in (start, end)]
        panel.rounds.append((sum(p[0] for p in ends) / len(ends), sum(p[1] for p in ends) / len(ends), _MIDDLE_MM))


def _without_slivers(panel: LaidPanel) -> None:
    """A round that just touches the belt of the others makes an edge too short to cut.

    A hole's pad is made a little smaller then and lies inside; a corner round is moved out until it shows.
    """
    a = np.arange(0.0, 2 * math.pi, _STEP_RAD)
    out = np.stack([np.cos(a), np.sin(a)])
    fixed = np.array([p for start, end, _ in panel.tangents for p in (start, end)]).reshape(-1, 2) @ out
    discs = [(h.x, h.y, h.pad or panel.pad_mm) for h in panel.holes] + panel.rounds
    reach = np.array([np.array([x, y]) @ out + r for x, y, r in discs])
    for n, (x, y, r) in enumerate(discs):
        over = reach[n] - np.concatenate([np.delete(reach, n, axis=0), fixed]).max(axis=0, initial=-np.inf)
        if not (float(over.max()) > _NEARLY_MM and float((over >= 0.0).sum()) * _STEP_RAD * r < _SHORT_ARC_MM):
            continue
        if n < len(panel.holes):
            r -= max(0.0, float(over.max())) + 2 * _SLIVER_MM
            panel.holes[n] = replace(panel.holes[n], pad=r)
        else:
            x, y = (c + _SHOW_MM * float(w) for c, w in zip((x, y), out[:, int(over.argmax())], strict=True))
            panel.rounds[n - len(panel.holes)] = (x, y, r)
        reach[n] = np.array([x, y]) @ out + r


def _seen(p: tuple[float, float], start: tuple[float, float], e: tuple[float, float]) -> tuple[float, float]:
    """A point along a tangent line and over it."""
    x, y = p[0] - start[0], p[1] - start[1]
    return (x * e[0] + y * e[1], -x * e[1] + y * e[0])


def _outline_points(panel: LaidPanel) -> list[tuple[float, float]]:
    points = [p for start, end, _ in panel.tangents for p in (start, end)]
    for hole in panel.holes:
        r = hole.pad or panel.pad_mm
        for k in range(24):
            a = math.radians(15.0 * k)
            points.append((hole.x + r * math.cos(a), hole.y + r * math.sin(a)))
    return points


def _height_at(points: Sequence[tuple[float, float]], x: float) -> float:
    """Height of the convex hull of points over a place of the line."""
    p = np.array(points)
    left, right = p[p[:, 0] <= x], p[p[:, 0] >= x]
    if not len(left) or not len(right):
        return 0.0
    run = right[None, :, 0] - left[:, None, 0]
    share = np.where(run > 1e-9, (x - left[:, None, 0]) / np.maximum(run, 1e-9), 0.0)
    return float((left[:, None, 1] * (1 - share) + right[None, :, 1] * share).max())


def _grain(panels: Sequence[LaidPanel]) -> int | None:
    """The rolling direction, whole degrees in the first panel's frame, that lies farthest from every bend line."""
    turned: dict[str, float] = {panels[0].name: 0.0}
    lines = []
    for panel in panels[1:]:
        assert panel.foot is not None
        (ax, ay), (bx, by) = panel.foot.line
        turned[panel.name] = turned[panel.foot.parent] + math.degrees(math.atan2(by - ay, bx - ax))
        lines.append(turned[panel.name])
    if not lines:
        return None

    def apart(grain: int) -> float:
        return min(min((grain - a) % 180.0, (a - grain) % 180.0) for a in lines)

    best = max(map(apart, range(180)))
    # Round directions where they are nearly as good.
    return max(range(180), key=lambda g: (apart(g) > 0.93 * best, g % 90 == 0, g % 15 == 0, g % 5 == 0, apart(g)))
