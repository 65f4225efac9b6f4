"""Proposals over many random sites: how many get a legal bracket and in which time; how many builds bolt up.

    python tests/bench/run_span_sites.py sites 300
    python tests/bench/run_span_sites.py first-fit 300

The first holds the bars "a legal bracket in at least 95 % of solvable sites, each in under 2 s" (of one core); the
second "at least 99 % of builds bolt up with the tool's own advice" by the independent workshop, against plain holes.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "support"))
sys.path.insert(0, str(Path(__file__).parents[2]))

from span_first_fit import Loose, first_fit_of
from span_sites import known_site

from bracketgen.findings import Level
from bracketgen.vehicle.span.practice import Practice
from bracketgen.vehicle.span.span import SpanRequest, Trail, span


def sites(count: int) -> None:
    """Legal brackets and times over the first `count` known sites, by how their known bracket is folded."""
    seconds: dict[str, list[float]] = defaultdict(list)
    none, failing, proposals = [], 0, 0
    for seed in range(count):
        known, trail = known_site(seed), Trail()
        begun = time.process_time()
        found = span(known.site, known.located, SpanRequest(practice=Practice(thickness_mm=known.thickness_mm)), trail)
        seconds[known.kind].append(time.process_time() - begun)
        proposals += len(found)
        failing += sum(any(f.level is Level.FAIL for f in p.findings) or p.miss_mm > 0.01 for p in found)
        if not found:
            none.append((seed, known.kind, trail.refusals[:1]))
    every = [s for kind in seconds.values() for s in kind]
    for kind, spent in sorted(seconds.items()):
        print(f"{kind:<10} {len(spent):4d} sites, median {statistics.median(spent):.2f} s, most {max(spent):.2f} s")
    print(f"legal bracket in {count - len(none)} of {count} sites ({100 * (1 - len(none) / count):.1f} %)")
    print(f"{proposals} proposals, {failing} of them fail a rule or miss a hole")
    print(f"slowest {max(every):.2f} s, {sum(s < 2.0 for s in every)} of {count} under 2 s")
    for one in none:
        print("none:", *one)


def first_fit(count: int) -> None:
    """Shares of builds that bolt up over `count` sites, read with noise."""
    plain, advised, told, repeats = [], [], [], 0
    loose, none = [], []
    for seed in range(count):
        try:
            outcome = first_fit_of(seed)
        except Loose:
            loose.append(seed)
            continue
        if outcome is None:
            none.append(seed)
            continue
        plain.append(outcome.plain)
        advised.append(outcome.advised)
        told.append(outcome.told)
        repeats += outcome.repeats
        if outcome.advised < 0.99:
            print(seed, outcome, flush=True)
    n = len(advised)
    print(f"{n} sites; {len(loose)} left out, their readings leave a hole loose: {loose}; without a bracket: {none}")
    print(
        f"builds that bolt up: plain holes {100 * sum(plain) / n:.2f} %, with the advice {100 * sum(advised) / n:.2f} %"
    )
    print(f"sites with at least 99 %: plain {sum(p >= 0.99 for p in plain)}, advised {sum(a >= 0.99 for a in advised)}")
    print(f"the tool's own odds {100 * sum(told) / n:.2f} %; readings taken again: {repeats}")


if __name__ == "__main__":
    {"sites": sites, "first-fit": first_fit}[sys.argv[1]](int(sys.argv[2]))
