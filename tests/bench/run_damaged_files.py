"""Damaged drawings by the thousand: each looked through and mended as far as it can be; none may end in a traceback.

    python tests/bench/run_damaged_files.py 10000 [seed]

Holds the bar "10,000 randomly damaged files give no traceback"; the tests try a few hundred of them every time. The
sources are one file of every kind of fault and the clean ones, in turn, and the drawings of other libraries.
"""

from __future__ import annotations

import random
import statistics
import sys
import time
import traceback
from collections import Counter
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "support"), str(TESTS / "writers")]
sys.path.insert(0, str(TESTS.parent))

from test_inspect_faults import damaged, sources  # noqa: E402

from bracketgen.files.inspecting.inspection import Limits, inspect_bytes  # noqa: E402
from bracketgen.files.inspecting.mend import mend  # noqa: E402
from bracketgen.files.lint import lint  # noqa: E402
from bracketgen.standards.machines import process  # noqa: E402

LIMITS = Limits(process=process("laser"), thickness_mm=3.0)
#: Those that fail are kept to be looked at.
MOST_SHOWN = 5


def looked_through(data: bytes) -> str:
    """What became of one file, in a word. A traceback comes out as an exception."""
    found = inspect_bytes(data, LIMITS)
    lint(data)
    mended = mend(found, LIMITS)
    if found.unreadable:
        return "told as unreadable"
    if mended is None:
        return "nothing left to mend"
    if not found.findings:
        return "no finding"
    return "mended in part" if mended.failed else "mended"


def main(count: int, seed: int) -> None:
    """Damages, looks, counts."""
    files = sources() + [p.read_bytes() for p in sorted((TESTS / "other_writers").glob("*.dxf"))]
    dice, fates, seconds, tracebacks = random.Random(seed), Counter[str](), [], 0
    for n in range(count):
        data = damaged(files[n % len(files)], dice)
        begun = time.process_time()
        try:
            fates[looked_through(data)] += 1
        except Exception:
            tracebacks += 1
            if tracebacks <= MOST_SHOWN:
                Path(f"damaged-{seed}-{n}.dxf").write_bytes(data)
                print(f"file {n}, kept as damaged-{seed}-{n}.dxf")
                traceback.print_exc()
        seconds.append(time.process_time() - begun)
    print(f"{count} damaged files of {len(files)} sources, seed {seed}: {tracebacks} tracebacks")
    for fate, many in fates.most_common():
        print(f"  {many:6d} {fate}")
    most = max(seconds)
    print(f"median {1000 * statistics.median(seconds):.1f} ms, most {most:.2f} s (file {seconds.index(most)})")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000, int(sys.argv[2]) if len(sys.argv) > 2 else 20_261)
