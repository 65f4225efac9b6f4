"""How long questions for gaps take. Run by hand: python tests/bench/bench_gap.py

A bracket of the project's shapes, with its bolts, against 20 neighbours that each make 25 steps; one core.
"""

from __future__ import annotations

import gc
import math
import os
import random
import statistics
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from time import perf_counter, process_time

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[threads] = "1"
ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

from bracketgen.bending.fold import Folded  # noqa: E402
from bracketgen.geometry.contour import Circle, Cut  # noqa: E402
from bracketgen.geometry.plane import Point  # noqa: E402
from bracketgen.geometry.space import Frame, Vector  # noqa: E402
from bracketgen.pipeline import work_out  # noqa: E402
from bracketgen.vehicle.near.gap import Bodies, gap, gaps_at, least_gaps  # noqa: E402
from bracketgen.vehicle.near.solids import Block, Capsule, Drum, Solid, Wall, metal_solids  # noqa: E402

RUNS = 21
STEPS = 25
NEIGHBOURS = 20


def bracket(shape: str) -> list[Solid]:
    """The folded metal, and a bolt's head, nut and shank at each of the first six holes."""
    path = ROOT / "shapes" / shape
    folded = work_out(path.read_text(encoding="utf-8"), shape, path.stem).folded
    part = folded.part
    solids: list[Solid] = [s for _, s in metal_solids(folded, Frame())]
    holes = [(p.id, h.cut) for p in part.panels for h in p.holes][:6]
    return solids + [bolt(folded, panel, cut) for panel, cut in holes]


def bolt(folded: Folded, panel: str, cut: Cut) -> Drum:
    """A drum over a hole: as thick as a bolt's head, from head to nut."""
    x0, y0, x1, y1 = cut.bounds()
    middle = cut.centre if isinstance(cut, Circle) else Point((x0 + x1) / 2, (y0 + y1) / 2)
    return Drum(folded.point(panel, middle, -8.0), folded.point(panel, middle, 14.0), 7.5)


def way(draw: random.Random) -> Vector:
    """A unit direction."""
    z, a = draw.uniform(-1, 1), draw.uniform(0, 2 * math.pi)
    r = math.sqrt(1 - z * z)
    return (r * math.cos(a), r * math.sin(a), z)


def along(p: Vector, v: Vector, mm: float) -> Vector:
    """p moved by `mm` along v."""
    return (p[0] + mm * v[0], p[1] + mm * v[1], p[2] + mm * v[2])


def thing(draw: random.Random, middle: Vector) -> tuple[Solid, ...]:
    """A pipe of three runs, a drum, a box or a wall at `middle`."""
    v = way(draw)
    match draw.choice(("pipe", "pipe", "drum", "box")):
        case "pipe":
            points = [along(middle, v, -120.0), along(middle, v, -30.0), along(middle, way(draw), 30.0)]
            points.append(along(points[2], way(draw), 120.0))
            radius = draw.uniform(4, 30)
            return tuple(Capsule(a, b, radius) for a, b in pairwise(points))
        case "drum":
            return (Drum(along(middle, v, -60.0), along(middle, v, 60.0), draw.uniform(15, 50)),)
        case _:
            turn, tilt = draw.uniform(0, 360), draw.uniform(0, 360)
            frame = Frame.about_x(tilt, (0.0, 0.0, 0.0)).within(Frame.about_x(turn, middle))
            return (Block(frame, (draw.uniform(10, 60), draw.uniform(10, 60), draw.uniform(10, 60))),)


def surroundings(part: Bodies, draw: random.Random) -> tuple[list[Sequence[Solid]], list[Sequence[Frame]]]:
    """Nineteen things 5 to 60 mm from the bracket and a wall; each shaken along its own way, 4 mm to either side."""
    things: list[Sequence[Solid]] = []
    shakes: list[Sequence[Frame]] = []
    x, y, z = part.pieces.mid[~part.pieces.face].mean(axis=0).tolist()
    while len(things) < NEIGHBOURS - 1:
        solids = thing(draw, along((x, y, z), way(draw), draw.uniform(40, 160)))
        (near,) = gaps_at(part, solids, [Frame()])
        if near is not None and 5 < near.mm < 60:
            things.append(solids)
            shakes.append(shaken(way(draw)))
    wall = Wall((x, y, z - 200.0), (0.0, 0.0, 1.0))
    return [*things, (wall,)], [*shakes, shaken((0.0, 0.0, 1.0))]


def shaken(v: Vector) -> list[Frame]:
    """25 steps from 4 mm one way to 4 mm the other."""
    return [Frame(along((0.0, 0.0, 0.0), v, -4.0 + 8.0 * k / (STEPS - 1))) for k in range(STEPS)]


def median_ms(work: Callable[[], object]) -> tuple[float, float]:
    """Medians of the runs, ms, after one that is not counted: on the clock, and of this process's own core time."""
    work()
    clock, core = [], []
    for _ in range(RUNS):
        gc.collect()
        start, busy = perf_counter(), process_time()
        work()
        clock.append(1e3 * (perf_counter() - start))
        core.append(1e3 * (process_time() - busy))
    return statistics.median(clock), statistics.median(core)


def least(part: Bodies, things: Sequence[Sequence[Solid]], moves: Sequence[Sequence[Frame]], each: bool) -> int:
    """The least gap to each thing, or from each solid of the part to each thing; how many there are."""
    whose = [k for k, solids in enumerate(things) for _ in solids]
    there = Bodies.of([s for solids in things for s in solids], [moves[k] for k in whose])
    parts = len(part.solids)
    wide = parts if each else 1
    asked = [(i, j, k * wide + i % wide) for j, k in enumerate(whose) for i in range(parts)]
    return len(least_gaps(part, there, asked, wide * len(things)))


def main() -> None:
    """Prints a line a question."""
    still = [[Frame()]] * NEIGHBOURS
    for shape in ("pump-offset.toml", "filter-mount.toml", "hat-bridge.toml"):
        solids = bracket(shape)
        part = Bodies.of(solids)
        things, shakes = surroundings(part, random.Random(7))
        count = Counter(type(s).__name__ for s in solids)
        kinds = ", ".join(f"{count[k]} {k}" for k in ("Plate", "Bow", "Drum"))
        print(f"{shape}: {kinds}; {len(things)} neighbours of {sum(map(len, things))} solids, {STEPS} steps each")
        for text, work in (
            ("prepare the part", lambda s=solids: Bodies.of(s)),
            ("neighbours standing still", lambda p=part, t=things: least(p, t, still, False)),
            ("20 x 25 steps, least for each neighbour", lambda p=part, t=things, m=shakes: least(p, t, m, False)),
            ("the same for each solid of the part too", lambda p=part, t=things, m=shakes: least(p, t, m, True)),
        ):  # fmt: skip
            clock, core = median_ms(work)
            print(f"  {text:<42} {clock:7.1f} ms on the clock, {core:7.1f} ms of one core (medians of {RUNS})")
    pipe, plate = Capsule((0, -20, 15), (30, -20, 15), 5.5), bracket("filter-mount.toml")[0]
    print(f"one gap, pipe to plate: {median_ms(lambda: gap(plate, pipe))[0]:.2f} ms")
    print("load average:", *(f"{x:.1f}" for x in os.getloadavg()))


if __name__ == "__main__":
    main()
