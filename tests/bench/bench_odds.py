"""How long the odds of fit take. Run by hand: python tests/bench/bench_odds.py

20,000 simulated builds of a part with four bolts and two bends; bar: under half a second of one core.
"""

from __future__ import annotations

import os
import statistics
import sys
from pathlib import Path
from time import process_time

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[threads] = "1"
ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "support")]

from placed_parts import random_scene  # noqa: E402

from bracketgen.vehicle.odds.odds import OddsDepth, odds_of_fit  # noqa: E402

RUNS = 7


def main() -> None:
    """Prints the median of some runs, after one that pays for what is read once, for each depth of the answer."""
    scene = random_scene(46)
    for depth in OddsDepth:
        taken, builds = [], 0
        for _ in range(RUNS + 1):
            begun = process_time()
            odds = odds_of_fit(scene.placed, scene.located, scene.flat, scene.practice, depth=depth)
            taken.append(process_time() - begun)
            builds = odds.share.builds
        bolts, bends = len(scene.placed.bolts), len(scene.flat.strips)
        told = f"{depth.value:<7} {builds} builds, {bolts} bolts, {bends} bends"
        print(f"{told}: median {1000 * statistics.median(taken[1:]):.0f} ms, most {1000 * max(taken[1:]):.0f} ms")


if __name__ == "__main__":
    main()
