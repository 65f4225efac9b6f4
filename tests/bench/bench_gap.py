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
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from time import perf_counter, process_time

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[threads] = "1"
ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

from bracketgen.bending.fold import Folded  # noqa: E402
from bracketgen.fit.near.gaps.gap import gap  # noqa: E402
from bracketgen.fit.near.gaps.solids import Block, Capsule, Drum, Solid, Wall  # noqa: E402
from bracketgen.fit.near.gaps.support import Pieces  # noqa: E402
from bracketgen.fit.near.gaps.sweep import Move, Neighbour, Per, Prepared, closest_pairs, least_gaps_over, prepare  # noqa: E402
from bracketgen.fit.near.metal import metal_solids  # noqa: E402
from bracketgen.geometry.contour import Circle, Cut  # noqa: E402
from bracketgen.geometry.frame import Frame, Vector  # noqa: E402
from bracketgen.geometry.point import Point  # noqa: E402
from bracketgen.pipeline import work_out  # noqa: E402

RUNS = 21
STEPS = 25
NEIGHBOURS = 20


def bracket(shape: str) -> dict[str, Solid]:
    """The folded metal, and a bolt's head, nut and shank at each of the first six holes."""
    path = ROOT / "shapes" / shape
    folded = work_out(path.read_text(encoding="utf-8"), shape, path.stem).folded
    part = folded.part
    solids: dict[str, Solid] = dict(metal_solids(folded, Frame()))
    holes = [(p.id, h.cut) for p in part.panels for h in p.holes][:6]
    for k, (panel, cut) in enumerate(holes):
        solids[f"bolt {k}"] = bolt(folded, panel, cut)
    return solids


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


def surroundings(prepared: Prepared, draw: random.Random) -> list[Neighbour]:
    """Nineteen things 5 to 60 mm from the bracket and a wall, each shaken along its own way, 4 mm to either side."""
    found: list[Neighbour] = []
    middle = centre(prepared.side.pieces)
    while len(found) < NEIGHBOURS - 1:
        solids = thing(draw, along(middle, way(draw), draw.uniform(40, 160)))
        near = closest_pairs(prepared, {"": solids})[0].gap.mm
        if 5 < near < 60:
            found.append(Neighbour(f"thing {len(found)}", solids, shaken(way(draw))))
    wall = Wall(along(middle, (0.0, 0.0, 1.0), -200.0), (0.0, 0.0, 1.0))
    return [*found, Neighbour("wall", (wall,), shaken((0.0, 0.0, 1.0)))]


def centre(p: Pieces) -> Vector:
    """Mean of the pieces' middles."""
    x, y, z = p.mid.mean(axis=0).tolist()
    return (x, y, z)


def shaken(v: Vector) -> tuple[Move, ...]:
    """25 steps from 4 mm one way to 4 mm the other."""
    return tuple(along((0.0, 0.0, 0.0), v, -4.0 + 8.0 * k / (STEPS - 1)) for k in range(STEPS))


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


def main() -> None:
    """Prints a line a question."""
    for shape in ("pump-offset.toml", "filter-mount.toml", "hat-bridge.toml"):
        solids = bracket(shape)
        prepared = prepare(solids)
        around = surroundings(prepared, random.Random(7))
        count = Counter(type(s).__name__ for s in solids.values())
        kinds = ", ".join(f"{count[k]} {k}" for k in ("Plate", "Bow", "Drum"))
        others = sum(len(n.solids) for n in around)
        print(f"{shape}: {kinds}; {len(around)} neighbours of {others} solids, {STEPS} steps each")
        still = {n.name: n.solids for n in around}
        for text, work in (
            ("prepare the part", lambda s=solids: prepare(s)),
            ("neighbours standing still", lambda p=prepared, s=still: closest_pairs(p, s)),
            ("20 x 25 steps, least for each neighbour", lambda p=prepared, a=around: least_gaps_over(p, a)),
            ("the same for each solid of the part too",
             lambda p=prepared, a=around: least_gaps_over(p, a, Per.SOLID_AND_NEIGHBOUR)),
        ):  # fmt: skip
            clock, core = median_ms(work)
            print(f"  {text:<42} {clock:7.1f} ms on the clock, {core:7.1f} ms of one core (medians of {RUNS})")
    pipe, plate = Capsule((0, -20, 15), (30, -20, 15), 5.5), next(iter(bracket("filter-mount.toml").values()))
    print(f"one gap, pipe to plate: {median_ms(lambda: gap(plate, pipe))[0]:.2f} ms")
    print("load average:", *(f"{x:.1f}" for x in os.getloadavg()))


if __name__ == "__main__":
    main()
