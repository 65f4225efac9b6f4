"""The long runs of locating old holes. By hand: python tests/bench/bench_locate.py [exact] [noise] [spoiled] [blind]

exact: 500 noise-free sites. noise: 1,000 sites with declared noise. spoiled: readings off by 5 to 20 sigma against
theory. blind: sites without any rough place.
"""

from __future__ import annotations

import math
import os
import sys
from pathlib import Path
from time import process_time

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[threads] = "1"
ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "support")]

import numpy as np  # noqa: E402
from random_sites import random_site  # noqa: E402
from site_trials import noisy, normalised_error, spoiled  # noqa: E402

from bracketgen.vehicle.locate.locate import locate  # noqa: E402

EXACT = 500
NOISE = 1000
SPOILED = 200
BLIND = 200


def exact() -> None:
    worst, wrong, spent = 0.0, 0, 0.0
    for seed in range(EXACT):
        site = random_site(seed, 1 + seed % 3, worn=0.3 if seed % 2 else 0.0)
        written = site.site(seed=seed)
        start = process_time()
        located = locate(written)
        spent += process_time() - start
        off = float(np.abs(np.array([h.centre for h in located.holes]) - site.places).max())
        worst = max(worst, off)
        wrong += off > 1e-6 or bool(located.mirror or located.loose)
    print(f"exact: {EXACT} sites, {wrong} wrong, worst place off by {worst:.1e} mm, {spent / EXACT:.3f} s a site")


def noise() -> None:
    inside, below, squares, freedom, errors, dimensions, false = 0, 0, 0.0, 0, 0.0, 0, 0
    for seed in range(NOISE):
        site, located = noisy(seed)
        low, high = located.chi_square_bounds
        inside += low <= located.variance_factor <= high
        below += located.variance_factor < low
        squares += located.variance_factor * located.freedom
        freedom += located.freedom
        error, count = normalised_error(site, located)
        errors, dimensions = errors + error, dimensions + count
        false += located.suspect is not None
    print(f"noise: {NOISE} sites, {inside / NOISE:.3f} within the 95 % bounds, {below / NOISE:.3f} below")
    print(f"  variance factor of all {squares / freedom:.4f} +- {math.sqrt(2.0 / freedom):.4f}")
    print(f"  squared errors over reported {errors / dimensions:.4f} +- {math.sqrt(2.0 / dimensions):.4f}")
    print(f"  a reading suspected without cause in {false / NOISE:.3f}")


def one_spoiled() -> None:
    for sigmas in (5.0, 7.0, 10.0, 15.0, 20.0):
        trials = [spoiled(seed, sigmas) for seed in range(5000, 5000 + SPOILED)]
        named = sum(t.named for t in trials) / len(trials)
        theory = sum(t.theory for t in trials) / len(trials)
        spread = math.sqrt(sum(t.theory * (1.0 - t.theory) for t in trials)) / len(trials)
        checked = [t for t in trials if t.redundancy > 0.3]
        told = sum(t.named for t in checked) / len(checked)
        allowed = sum(t.theory for t in checked) / len(checked)
        print(
            f"spoiled by {sigmas:4.0f} sigma: named right {named:.3f}, theory {theory:.3f} +- {spread:.3f}; "
            f"of readings checked by more than 0.3: {told:.3f}, theory {allowed:.3f}"
        )


def blind() -> None:
    right, image, wrong = 0, 0, 0
    for seed in range(BLIND):
        site = random_site(20_000 + seed, 1 + seed % 3)
        located = locate(site.site(hints=False))
        off = float(np.abs(np.array([h.centre for h in located.holes]) - site.places).max())
        right += off < 1e-6
        image += off >= 1e-6 and bool(located.mirror)
        wrong += off >= 1e-6 and not located.mirror
    print(f"blind: {BLIND} sites without a rough place, {right} right, {image} an image and said so, {wrong} wrong")


if __name__ == "__main__":
    runs = {"exact": exact, "noise": noise, "spoiled": one_spoiled, "blind": blind}
    for name in sys.argv[1:] or runs:
        runs[name]()
