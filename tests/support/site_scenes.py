"""Parts in their places with neighbours and gaps, built by hand, for tests of the site's sheet."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from parts import l_part, plate, round_hole, stock
from preview_parts import rounded

from bracketgen.bending.fold import fold
from bracketgen.drawing.site.scene import GapMark, Relation, Severity, Thing
from bracketgen.geometry.contour import box_contour
from bracketgen.geometry.space import Frame, Vector
from bracketgen.part.part import Part, Way
from bracketgen.vehicle.near.solids import Block, Capsule, Drum, Gap3, Wall
from bracketgen.vehicle.seating.bolts import Bolted, Placed, Touching

PART = "part"


@dataclass(frozen=True)
class Case:
    """What `site_sheet` is given."""

    placed: Placed
    shown: tuple[Thing, ...]
    gaps: tuple[GapMark, ...]
    title: str
    down: Vector = (0.0, -1.0, 0.0)


def pipe(points: Sequence[Vector], diameter: float, steps: int = 0, bend_radius: float = 0.0) -> tuple[Capsule, ...]:
    """Runs of pipe; with `steps` each corner becomes so many short runs round its bend radius."""
    chain = [points[0]]
    for a, b, c in zip(points, points[1:], points[2:], strict=False):
        chain += _corner(a, b, c, steps, bend_radius) if steps else [b]
    chain.append(points[-1])
    return tuple(Capsule(p, q, diameter / 2) for p, q in pairwise(chain))


def _corner(a: Vector, b: Vector, c: Vector, steps: int, radius: float) -> list[Vector]:
    u = [(x - y) / math.dist(a, b) for x, y in zip(a, b, strict=True)]
    v = [(x - y) / math.dist(c, b) for x, y in zip(c, b, strict=True)]
    half = math.acos(sum(p * q for p, q in zip(u, v, strict=True))) / 2
    back = radius / math.tan(half)
    middle = [p + q for p, q in zip(u, v, strict=True)]
    size = math.hypot(*middle)
    centre = [y + m / size * radius / math.sin(half) for y, m in zip(b, middle, strict=True)]
    start = [y + p * back - m for y, p, m in zip(b, u, centre, strict=True)]
    end = [y + p * back - m for y, p, m in zip(b, v, centre, strict=True)]
    turn = math.pi - 2 * half
    made = []
    for i in range(steps + 1):
        f, g = math.sin(turn * (1 - i / steps)) / math.sin(turn), math.sin(turn * i / steps) / math.sin(turn)
        made.append(tuple(m + f * s + g * e for m, s, e in zip(centre, start, end, strict=True)))
    return made  # type: ignore[return-value]


def gap(a: str, b: str, here: Vector, there: Vector, required: float | None, meets: float = 0.0) -> GapMark:
    mm = -meets if meets else math.dist(here, there)
    severity = Severity.FAIL if required is None or mm < required else Severity.CLEAR
    if required is not None and 0.0 <= mm - required < 3.0:
        severity = Severity.WARN
    return GapMark(a, b, Gap3(mm, here, there), required, severity)


def bolted(panel: str, mate: str, size: str, at: Vector, axis: Vector) -> Bolted:
    return Bolted(f"{panel}/{mate}", mate, panel, Touching.BACK, size, at, at, axis, 0.5)


def head_of(size_mm: float, at: Vector, axis: Vector) -> Drum:
    """A bolt's head on metal of 4 mm, 0.65 of its size high and 1.7 of it wide."""
    foot, top = (tuple(p + k * n for p, n in zip(at, axis, strict=True)) for k in (4.0, 4.0 + 0.65 * size_mm))
    return Drum(foot, top, 0.85 * size_mm)  # type: ignore[arg-type]


def filter_part() -> Part:
    base = [round_hole("a", 20.0, 20.0, 11.0, "M10"), round_hole("b", 81.3, 20.0, 11.0, "M10")]
    leg = [round_hole("c", 25.8, 38.1, 9.0, "M8"), round_hole("d", 76.2, 38.8, 9.0, "M8"),
           round_hole("h1", 20.0, 112.0, 9.0, "M8"), round_hole("h2", 82.0, 112.0, 9.0, "M8")]  # fmt: skip
    part = l_part(102.0, 94.4, 132.0, 4.0, 90.0, Way.UP, stock(4.0, grain_deg=90.0), base, leg)
    cautions = ("Fuel: keep lines clear of heat and moving parts, no hot work near it; leak-test before use.",
                "Carries a load: have load paths judged by someone qualified.")  # fmt: skip
    return replace(part, name="filter-head-mount", title="Fuel filter head mount", cautions=cautions)


def filter_case() -> Case:
    """An angle in the corner of two tabs, a filter under its level leg, a pipe that is too near."""
    bolts = [("base", "rail.A", "M10", (0.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
             ("base", "rail.B", "M10", (61.3, 0.0, 0.0), (0.0, 0.0, 1.0)),
             ("leg", "cross.C", "M8", (5.8, 82.4, 46.1), (0.0, -1.0, 0.0)),
             ("leg", "cross.D", "M8", (56.2, 82.4, 46.8), (0.0, -1.0, 0.0))]  # fmt: skip
    placed = Placed(fold(filter_part()), Frame((-20.0, -20.0, 4.0)), tuple(bolted(*b) for b in bolts), Frame())
    heads = tuple(head_of(10.0 if b[2] == "M10" else 8.0, b[3], b[4]) for b in bolts)
    cartridge = Drum((31.0, 23.4, 120.0), (31.0, -111.6, 120.0), 43.0)
    shown = (
        Thing("bolts", "metal", heads, Relation.BOLT),
        Thing("filter head", "fuel", (Block(Frame((31.0, 50.9, 120.0)), (45.0, 27.5, 25.0)),), Relation.CARRIED),
        Thing("cartridge", "fuel", (cartridge,), Relation.CARRIED),
        Thing("cartridge taken off", "fuel", (Drum((31.0, 23.4, 120.0), (31.0, -141.6, 120.0), 43.0),),
              Relation.ENVELOPE),
        Thing("charge-air pipe", "air",
              pipe(((-260.0, -10.0, 221.0), (70.0, -10.0, 221.0), (240.0, -130.0, 190.0)), 63.5, 12, 95.0)),
        Thing("charge-air pipe rocking", "air",
              pipe(((-260.0, -10.0, 221.0), (70.0, -10.0, 221.0), (240.0, -130.0, 190.0)), 75.5, 6, 95.0),
              Relation.ENVELOPE),
        Thing("fuel line", "fuel", pipe(((-200.0, -48.0, 20.0), (260.0, -48.0, 20.0)), 10.0)),
        Thing("wiring loom", "wire",
              pipe(((-70.0, 150.0, 30.0), (-64.0, 40.0, 24.0), (-64.0, -140.0, 24.0)), 16.0, 5, 40.0)),
        Thing("cross member", "metal", (Block(Frame((30.0, 190.0, -20.0)), (250.0, 30.0, 40.0)),)),
        Thing("rail web", "metal", (Wall((0.0, 0.0, -55.0), (0.0, 0.0, 1.0)),)),
    )  # fmt: skip
    gaps = (
        gap("cartridge", "charge-air pipe rocking", (31.0, -10.0, 163.0), (31.0, -10.0, 183.25), 25.0),
        gap(PART, "fuel line", (0.0, -20.0, 4.0), (0.0, -43.6, 16.0), 10.0),
        gap(PART, "wiring loom", (-20.0, 30.0, 8.0), (-56.0, 30.0, 22.0), 36.0),
        gap("cartridge", "wiring loom", (0.0, -20.0, 90.0), (-58.0, -20.0, 30.0), 50.8),
        gap(PART, "cross member", (30.0, 82.4, 10.0), (30.0, 160.0, 10.0), 5.0),
        gap("bolts", "fuel line", (0.0, -8.5, 10.0), (0.0, -43.1, 18.0), 10.0),
    )
    return Case(placed, shown, gaps, "Fuel filter head, left rail")


def hanger_case() -> Case:
    """An angle on a rail with a rubber below it; a hot pipe far below, a gap that nobody knows, a pipe that meets."""
    base = [round_hole("a", 87.6, 20.0, 9.0, "M8"), round_hole("b", 16.0, 20.0, 9.0, "M8"),
            round_hole("c", 50.2, 42.9, 9.0, "M8")]  # fmt: skip
    leg = [round_hole("s1", 30.0, 38.0, 9.0, "M8"), round_hole("s2", 74.0, 38.0, 9.0, "M8")]
    # The leg grows from the lower edge: the base stands on its head, so that its bend lies at the far edge.
    part = l_part(104.0, 84.0, 62.0, 4.0, 90.0, Way.UP, stock(4.0), base, leg)
    part = replace(part, name="rear-hanger", title="Rear exhaust hanger")
    frame = Frame((87.6, 20.0, 4.0), (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0))
    out = (0.0, 0.0, 1.0)
    old = {"rail.A": (0.0, 0.0, 0.0), "rail.B": (71.6, 0.0, 0.0), "rail.C": (37.4, -22.9, 0.0)}
    placed = Placed(fold(part), frame, tuple(bolted("base", k, "M8", at, out) for k, at in old.items()), Frame())
    hot = pipe(((-1350.0, -130.0, 30.0), (-900.0, -205.0, 48.0), (430.0, -205.0, 48.0)), 54.0, 8, 120.0)
    shown = (
        Thing("rubber", "rubber", (Block(Frame((36.0, -95.0, 48.0)), (20.0, 20.0, 15.0)),), Relation.CARRIED),
        Thing("exhaust pipe", "exhaust", hot),
        Thing("exhaust pipe hot and swinging", "exhaust",
              pipe(((-900.0, -205.0, 48.0), (440.0, -205.0, 48.0)), 70.0), Relation.ENVELOPE),
        Thing("silencer", "exhaust", (Drum((430.0, -205.0, 48.0), (810.0, -205.0, 48.0), 75.0),)),
        Thing("brake pipe", "brake", pipe(((-400.0, 46.0, 14.0), (500.0, 46.0, 14.0)), 6.0)),
        Thing("old stay", "metal", pipe(((-30.0, -40.0, 30.0), (130.0, -40.0, 30.0)), 12.0)),
    )  # fmt: skip
    gaps = (
        gap("rubber", "exhaust pipe hot and swinging", (36.0, -115.0, 48.0), (36.0, -170.0, 48.0), 50.0),
        gap(PART, "brake pipe", (36.0, 20.0, 4.0), (36.0, 43.0, 14.0), None),
        gap(PART, "old stay", (36.0, -40.0, 4.0), (36.0, -40.0, 4.0), 5.0, meets=20.0),
    )
    return Case(placed, shown, gaps, "Rear exhaust hanger, right rail")


def flat_case() -> Case:
    """A flat plate that stands up from a bulkhead with a can on it; nothing fails."""
    places = ((15.0, 15.0), (103.4, 15.0), (103.9, 98.6), (15.7, 99.1), (59.0, 155.0), (59.0, 205.0))
    holes = [round_hole(f"h{i}", x, y, 6.6, "M6") for i, (x, y) in enumerate(places)]
    part = replace(plate(rounded(box_contour(0.0, 0.0, 119.0, 222.0), 12.0), holes, stock(4.0)), name="can-plate",
                   title="Breather can plate")  # fmt: skip
    out = (0.0, 0.0, 1.0)
    bolts = tuple(bolted("plate", f"bulkhead.{k}", "M6", (x, y, 0.0), out) for k, x, y in
                  (("P", 0.0, 0.0), ("Q", 88.4, 0.0), ("R", 88.9, 83.6), ("S", 0.7, 84.1)))  # fmt: skip
    placed = Placed(fold(part), Frame((-15.0, -15.0, 4.0)), bolts, Frame())
    can = Drum((44.0, 100.0, 49.0), (44.0, 230.0, 49.0), 38.0)
    shown = (
        Thing("can", "oil", (can,), Relation.CARRIED),
        Thing("can lifted out", "oil", (Drum((44.0, 100.0, 49.0), (44.0, 290.0, 49.0), 38.0),), Relation.ENVELOPE),
        Thing("bonnet", "metal", (Wall((0.0, 330.0, 0.0), (0.0, -1.0, 0.0)),)),
        Thing("heater hose", "coolant",
              pipe(((-140.0, 30.0, 60.0), (-70.0, 120.0, 62.0), (-60.0, 260.0, 40.0)), 28.0, 6, 60.0)),
    )  # fmt: skip
    gaps = (
        gap("can lifted out", "bonnet", (44.0, 290.0, 49.0), (44.0, 330.0, 49.0), 20.0),
        gap(PART, "heater hose", (-15.0, 120.0, 2.0), (-58.0, 121.0, 55.0), 10.0),
    )
    return Case(placed, shown, gaps, "Breather can on the bulkhead")


CASES: dict[str, Callable[[], Case]] = {f.__name__: f for f in (filter_case, hanger_case, flat_case)}
