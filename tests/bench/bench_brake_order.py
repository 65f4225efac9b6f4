"""How long a bend order takes to find, or to be found impossible. Run by hand: python tests/bench/bench_brake_order.py

Holds the bar "6 bends in under 1 s" on both usual brakes, in seconds of one core: steps, a spiral, a hat with lips,
random sections.
"""

from __future__ import annotations

import os
import random
import statistics
import sys
from collections.abc import Callable
from pathlib import Path
from time import process_time

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[threads] = "1"
ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "support")]

from brake_sections import DOWN, UP, Section  # noqa: E402

from bracketgen.bending.flat import Flat  # noqa: E402
from bracketgen.part.part import Way  # noqa: E402
from bracketgen.shop.brake.brakes import (  # noqa: E402
    Brake,
    usual_leaf,
    usual_press,
)
from bracketgen.shop.brake.plan import plan_brake  # noqa: E402

RUNS = 5
RANDOM = 40
BENDS = 6
UPS = ((90.0, UP),) * BENDS


def section(legs: tuple[float, ...], bends: tuple[tuple[float, Way], ...]) -> Flat:
    return Section("any", legs, bends, usual_press, True, "").flat()


def named() -> dict[str, Flat]:
    stairs = tuple((90.0, UP if i % 2 == 0 else DOWN) for i in range(BENDS))
    hat = ((90.0, UP), (90.0, UP), (90.0, DOWN), (90.0, DOWN), (90.0, UP), (90.0, UP))
    return {
        "steps": section((30.0,) * 7, stairs),
        "spiral": section((30.0,) * 7, UPS),
        "wide spiral": section((20.0, 40.0, 60.0, 120.0, 60.0, 40.0, 20.0), UPS),
        "hat with lips": section((12.0, 40.0, 30.0, 90.0, 30.0, 40.0, 12.0), hat),
    }


def drawn(draw: random.Random) -> Flat:
    bends = tuple((draw.choice([45.0, 90.0, 90.0]), draw.choice(list(Way))) for _ in range(BENDS))
    return section(tuple(round(draw.uniform(14.0, 100.0), 1) for _ in range(BENDS + 1)), bends)


def seconds(flat: Flat, brake: Brake) -> tuple[float, str]:
    """Best of some runs, and the verdict."""
    took, word = [], ""
    for _ in range(RUNS):
        begun = process_time()
        plan = plan_brake(flat, brake)
        took.append(process_time() - begun)
        word = "works" if plan.works else "gave up" if plan.gave_up else "no order"
    return min(took), word


def main() -> None:
    brakes: tuple[tuple[str, Callable[[], Brake]], ...] = (("press", usual_press), ("leaf", usual_leaf))
    for name, make in brakes:
        for kind, flat in named().items():
            took, word = seconds(flat, make())
            print(f"{name:<6} {kind:<14} {1000 * took:6.0f} ms  {word}")
        draw, times, words = random.Random(1), [], []
        for _ in range(RANDOM):
            took, word = seconds(drawn(draw), make())
            times.append(took)
            words.append(word)
        told = ", ".join(f"{words.count(w)} {w}" for w in sorted(set(words)))
        print(f"{name:<6} {RANDOM} random       median {1000 * statistics.median(times):.0f} ms, most "
              f"{1000 * max(times):.0f} ms ({told})")  # fmt: skip


if __name__ == "__main__":
    main()
