"""A printed bend order made again with other means: the section as a drawn line with thickness, tools as polygons.

Knows nothing of the package: the middle line of the metal is walked out from the bend to either side, made thick by
shapely, laid on the die by halving, and held against the tools as they were measured.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

#: Metal is made thinner by this on each side before it is held against a tool that it may touch.
SKIN_MM = 0.03
_ARC_DEG = 3.0
_STEP_DEG = 1.0


@dataclass(frozen=True)
class BendToMake:
    """A bend of a strip: turn from flat, up or down (seen on the described face), inside radius."""

    turn_deg: float
    up: bool
    radius_mm: float


@dataclass(frozen=True)
class StripToBend:
    """Flat legs (tangent to tangent) and bends between them, in order; leg 0 is the first bend's parent."""

    thickness_mm: float
    legs_mm: tuple[float, ...]
    bends: tuple[BendToMake, ...]
    k: float

    def allowance_mm(self, n: int) -> float:
        """Metal of bend n: its neutral arc."""
        bend = self.bends[n]
        return math.radians(bend.turn_deg) * (bend.radius_mm + self.k * self.thickness_mm)


@dataclass(frozen=True)
class PrintedStep:
    """One line of a printed order: which bend (from 0), face, whether the child's side is held, distance, over-bend."""

    bend: int
    described_face_up: bool
    child_held: bool
    distance_mm: float | None
    over_deg: float


_STEP = re.compile(
    r"step \d+ +bend (\d+): [\d.]+° (up|down), (described face|back) up, '([^']+)' (?:to the back gauge at|under the "
    r"clamp, sight line|to the back, by the scribed line) ([\d.]+) mm.*?bend over to [\d.]+° \([\d.]+–([\d.]+)\)"
)


def printed_order(text: str) -> list[PrintedStep]:
    """The steps as a person reads them; panels are named 'leg N', bend N lies between legs N-1 and N."""
    steps = []
    for number, way, face, panel, distance, over in _STEP.findall(" ".join(text.split())):
        bend = int(number) - 1
        assert (way == "up") == (face == "described face")
        held = int(panel.removeprefix("leg "))
        assert held in (bend, bend + 1)
        steps.append(PrintedStep(bend, face == "described face", held == bend + 1, float(distance), float(over)))
    return steps


def _walk(strip: StripToBend, bend: int, child: bool, done: Sequence[int]) -> Iterator[tuple[float, float, float]]:
    """Outward from a bend: pieces of the middle line as (length, turn toward the inside of that bend, mid radius)."""
    t, inside_up = strip.thickness_mm, strip.bends[bend].up
    legs = range(bend + 1, len(strip.legs_mm)) if child else range(bend, -1, -1)
    for leg in legs:
        yield strip.legs_mm[leg], 0.0, 0.0
        following = leg if child else leg - 1
        if not 0 <= following < len(strip.bends):
            return
        if following not in done:
            yield strip.allowance_mm(following), 0.0, 0.0
            continue
        other = strip.bends[following]
        sign = 1.0 if other.up == inside_up else -1.0
        yield 0.0, sign * other.turn_deg, other.radius_mm + t / 2


class _Pen:
    """Draws a middle line to the right; turns to the left are positive."""

    def __init__(self, x: float, y: float, heading_deg: float) -> None:
        self.points, self.heading = [(x, y)], math.radians(heading_deg)

    def straight(self, length: float) -> None:
        if length > 1e-9:
            x, y = self.points[-1]
            self.points.append((x + length * math.cos(self.heading), y + length * math.sin(self.heading)))

    def arc(self, turn_deg: float, radius: float) -> None:
        count = max(1, math.ceil(abs(turn_deg) / _ARC_DEG))
        part = math.radians(turn_deg) / count
        for _ in range(count):
            self.heading += part / 2
            self.straight(2 * radius * math.sin(abs(part) / 2))
            self.heading += part / 2


def _strip_now(strip: StripToBend, bend: int, turn: float) -> tuple[float, float]:
    """Mid radius and straight rest of the bend being made; bent over, the neutral arc keeps its length."""
    own, allowance = strip.bends[bend], strip.allowance_mm(bend)
    if turn <= own.turn_deg:
        return own.radius_mm + strip.thickness_mm / 2, allowance * (1 - turn / own.turn_deg)
    neutral = allowance / math.radians(turn)
    return neutral + (0.5 - strip.k) * strip.thickness_mm, 0.0


def _thick(points: Sequence[tuple[float, float]], thickness: float) -> BaseGeometry:
    return LineString(points).buffer(thickness / 2, cap_style="flat", join_style="mitre")


@dataclass(frozen=True)
class PressTools:
    """Outlines as measured: the punch from its tip, the ram from the punch's end, die and bed alike."""

    punch: Polygon
    ram: Polygon
    die: Polygon
    bed: Polygon
    punch_height_mm: float
    die_height_mm: float


def _wing(strip: StripToBend, step: PrintedStep, child: bool, done: Sequence[int], turn: float) -> _Pen:
    """Half of the bend and everything beyond it, drawn to the right from the bend's middle at the origin."""
    radius, rest = _strip_now(strip, step.bend, turn)
    pen = _Pen(0.0, 0.0, 0.0)
    pen.arc(turn / 2, radius)
    pen.straight(rest / 2)
    for length, turned, mid in _walk(strip, step.bend, child, done):
        pen.arc(turned, mid) if turned else pen.straight(length)
    return pen


def _sections_on_press(
    strip: StripToBend, step: PrintedStep, done: Sequence[int], tools: PressTools, turn: float
) -> tuple[BaseGeometry, BaseGeometry, float]:
    """Back wing and front wing as they lie on the die, and the height of the middle line at the bend."""
    t = strip.thickness_mm - 2 * SKIN_MM
    pens = [_wing(strip, step, child, done, turn) for child in (step.child_held, not step.child_held)]
    beside = [strip.legs_mm[step.bend + 1 if c else step.bend] for c in (step.child_held, not step.child_held)]
    radius, rest = _strip_now(strip, step.bend, turn)
    resting = []
    for leg in beside:
        short = _Pen(0.0, 0.0, 0.0)
        short.arc(turn / 2, radius)
        short.straight(rest / 2 + leg)
        resting.append(_thick(short.points, strip.thickness_mm))
    lies = shapely.union(resting[0], affinity.scale(resting[1], -1.0, 1.0, origin=(0, 0)))
    # Half way down the die the metal is surely in it, so that one can halve.
    low, high = -tools.die_height_mm / 2, 60.0
    while high - low > 1e-4:
        middle = (low + high) / 2
        if affinity.translate(lies, 0.0, middle).intersection(tools.die).area > 1e-6:
            low = middle
        else:
            high = middle
    back = affinity.translate(_thick(pens[0].points, t), 0.0, high)
    front = affinity.translate(affinity.scale(_thick(pens[1].points, t), -1.0, 1.0, origin=(0, 0)), 0.0, high)
    return back, front, high


def replay_press(
    strip: StripToBend, order: Sequence[PrintedStep], tools: PressTools, step_deg: float = _STEP_DEG
) -> list[str]:
    """Everything that intersects while the order is made; each bend closes by degrees to its greatest over-bend."""
    found: list[str] = []
    done: list[int] = []
    for step in order:
        turns = [k * step_deg for k in range(int(step.over_deg / step_deg) + 1)] + [step.over_deg]
        for turn in turns:
            back, front, mid = _sections_on_press(strip, step, done, tools, turn)
            tip = mid + strip.thickness_mm / 2
            bodies = {
                "punch": affinity.translate(tools.punch, 0.0, tip),
                "ram": affinity.translate(tools.ram, 0.0, tip + tools.punch_height_mm),
                "die": tools.die,
                "bed": affinity.translate(tools.bed, 0.0, -tools.die_height_mm),
            }
            found += [
                f"bend {step.bend + 1} at {turn:g}: {side} wing in {name}"
                for name, body in bodies.items()
                for side, wing in (("back", back), ("front", front))
                if wing.intersection(body).area > 1e-3
            ]
            # The wings share the metal of the bend itself and nothing else.
            shared = shapely.intersection(back, front)
            if shared.area > 1e-3 and shared.bounds[3] > mid + 2 * strip.thickness_mm:
                found.append(f"bend {step.bend + 1} at {turn:g}: the part in itself")
        done.append(step.bend)
    if sorted(done) != list(range(len(strip.bends))):
        found.append(f"not every bend once: {done}")
    return found


def gauged_mm(strip: StripToBend, step: PrintedStep, done: Sequence[int], below: float, above: float) -> float:
    """How far the flat-lying part reaches behind the bend's middle, within the gauge's fingers."""
    pen = _wing(strip, step, step.child_held, done, 0.0)
    wing = affinity.translate(_thick(pen.points, strip.thickness_mm), 0.0, strip.thickness_mm / 2)
    reach = wing.intersection(shapely.box(-1e4, -below, 1e4, above)).bounds
    return float(reach[2])


@dataclass(frozen=True)
class LeafTools:
    """Outlines as measured: nose from the sight line on the sheet, bed and leaf from their upper edges."""

    nose: Polygon
    nose_radius_mm: float
    bed: Polygon
    leaf: Polygon


def replay_leaf(strip: StripToBend, order: Sequence[PrintedStep], tools: LeafTools) -> list[str]:
    """The same on a leaf brake: the held wing lies still, the other swings up with the leaf."""
    found: list[str] = []
    done: list[int] = []
    nose = tools.nose.buffer(-tools.nose_radius_mm).buffer(tools.nose_radius_mm)
    for step in order:
        inside, t = strip.bends[step.bend].radius_mm, strip.thickness_mm
        for turn in [k * _STEP_DEG for k in range(int(step.over_deg / _STEP_DEG) + 1)] + [step.over_deg]:
            mid, rest = _strip_now(strip, step.bend, turn)
            mid = max(mid, tools.nose_radius_mm + t / 2)
            held, swung = _Pen(inside, t / 2, 0.0), _Pen(-inside, t / 2, 0.0)
            for length, turned, radius in _walk(strip, step.bend, step.child_held, done):
                held.arc(turned, radius) if turned else held.straight(length)
            swung.arc(turn, mid)
            edge, heading = swung.points[-1], swung.heading
            swung.straight(rest)
            for length, turned, radius in _walk(strip, step.bend, not step.child_held, done):
                swung.arc(turned, radius) if turned else swung.straight(length)
            wings = {
                "held": _thick(held.points, t - 2 * SKIN_MM),
                "swung": affinity.scale(_thick(swung.points, t - 2 * SKIN_MM), -1.0, 1.0, origin=(0, 0)),
            }
            # The leaf lies under the metal where the bend ends, turned with it.
            under = (edge[0] + t / 2 * math.sin(heading), edge[1] - t / 2 * math.cos(heading))
            leaf = affinity.rotate(tools.leaf, heading, origin=(0, 0), use_radians=True)
            leaf = affinity.scale(affinity.translate(leaf, *under), -1.0, 1.0, origin=(0, 0))
            bodies = {
                "nose": affinity.translate(nose, max(inside - tools.nose_radius_mm, 0.0), t),
                "bed": affinity.translate(tools.bed, inside, 0.0),
                "leaf": leaf,
            }
            found += [
                f"bend {step.bend + 1} at {turn:g}: {side} wing in {name}"
                for name, body in bodies.items()
                for side, wing in wings.items()
                if wing.intersection(body).area > 1e-2
            ]
            # The wings share nothing but the joint where the bend begins.
            shared = wings["held"].intersection(wings["swung"])
            if shared.difference(Point(inside, t / 2).buffer(t)).area > 1e-2:
                found.append(f"bend {step.bend + 1} at {turn:g}: the part in itself")
        done.append(step.bend)
    if sorted(done) != list(range(len(strip.bends))):
        found.append(f"not every bend once: {done}")
    return found
