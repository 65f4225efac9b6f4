"""How long the main job takes. Run by hand: python tests/bench/bench_main_job.py

Subprocess figures are medians of 5, figures within one process medians of many; all wall clock on this machine.
"""

from __future__ import annotations

import gc
import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

from bracketgen.description.family import read_family  # noqa: E402
from bracketgen.pipeline import Outputs, files_of, work_out  # noqa: E402

SHAPE = ROOT / "shapes" / "filter-mount.toml"
RUNS = 5
HOLES = (10, 100, 500, 1000, 2000)
ROWS = 500

_CLI = "import sys; from bracketgen.app.cli import main; main()"
#: Prints which outside libraries a run has loaded.
_LOADED = (
    "import atexit, sys\n"
    "outside = ('ezdxf', 'matplotlib', 'numpy', 'PIL', 'pydantic', 'shapely', 'typer')\n"
    "atexit.register(lambda: print('loaded:', *(m for m in outside if m in sys.modules)))\n"
)


def child(code: str, *arguments: str) -> str:
    """Output of a fresh Python that runs the code."""
    with tempfile.TemporaryDirectory() as folder:
        surroundings = os.environ | {"PYTHONPATH": str(ROOT)}
        command = [sys.executable, "-c", code, *arguments]
        done = subprocess.run(command, cwd=folder, env=surroundings, capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise SystemExit(done.stdout + done.stderr)
    return done.stdout


def median_s(work: Callable[[], object], runs: int = RUNS) -> float:
    """Median seconds, after one run that is not counted."""
    work()
    times = []
    for _ in range(runs):
        gc.collect()
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return statistics.median(times)


def line(what: str, seconds: float, more: str = "") -> None:
    print(f"  {what:<58}{seconds * 1e3:9.1f} ms  {more}")


def start_up() -> None:
    print("start-up, fresh process")
    bare = median_s(lambda: child("pass"))
    line("Python alone", bare)
    line("bracketgen --help", median_s(lambda: child(_CLI, "--help")))
    for what, only in (("make, DXF + JSON", "dxf,json"), ("make, DXF + PNG + JSON", "dxf,png,json")):
        arguments = ("make", str(SHAPE), "--only", only)
        loaded = child(_LOADED + _CLI, *arguments).splitlines()[-1].removeprefix("loaded:").split()
        made = median_s(lambda given=arguments: child(_CLI, *given))
        imported = median_s(lambda names=loaded: child(f"import {', '.join(names)}"))
        line(what, made)
        line("  bare import of what it loads", imported, f"{made / imported:.2f} x ({', '.join(loaded)})")


def within_one_process() -> None:
    print(f"one part within a process: {SHAPE.name}")
    text = SHAPE.read_text(encoding="utf-8")
    made = work_out(text, SHAPE.name, "part")
    findings = median_s(lambda: work_out(text, SHAPE.name, "part"), 50)
    line("description to findings (goal: under 10 ms)", findings, verdict(findings, 10e-3))
    dxf = median_s(lambda: files_of(made, Outputs.DXF), 50)
    line("DXF on top, verified (goal: under 5 ms)", dxf, verdict(dxf, 5e-3))
    line("JSON on top", median_s(lambda: files_of(made, Outputs.JSON), 50))
    line("PNG on top", median_s(lambda: files_of(made, Outputs.PNG), 5))


def verdict(seconds: float, goal: float) -> str:
    return "met" if seconds < goal else f"missed, {seconds / goal:.2f} x the goal"


def family() -> None:
    print(f"family of {ROWS} rows within a process: {SHAPE.name}, description to DXF and JSON")
    text = SHAPE.read_text(encoding="utf-8")
    rows = [f"part-{i},{70 + 80 * i / ROWS:.2f} mm,{45 + 40 * (i * 7 % ROWS) / ROWS:.2f} mm" for i in range(ROWS)]
    members = read_family("\n".join(["name,tabs,head", *rows]), "family.csv").members
    start = perf_counter()
    failed = 0
    for member in members:
        made = work_out(text, SHAPE.name, member.name, member.values)
        failed += made.failed
        files_of(made, Outputs.DXF | Outputs.JSON)
    taken = perf_counter() - start
    print(f"  {len(members) / taken:.1f} parts/s ({taken:.2f} s; {failed} of {len(members)} fail a rule)")


def perforated(holes: int) -> str:
    """A plate with that many holes 20 mm apart, and a flange with none."""
    columns = max(c for c in range(1, 51) if holes % c == 0)
    rows = holes // columns
    return f"""
title = "perforated"
units = "mm"
[stock]
metal = "S235"
thickness = 2
sheet = [3000, 1500]
[bend]
inside_radius = 3
sizes = "outside"
[panels.plate]
outline = {{ shape = "rectangle", width = {20 * columns + 20}, height = {20 * rows + 30} }}
[[panels.plate.holes]]
diameter = 8
at = [20, 20]
pattern = {{ kind = "grid", columns = {columns}, rows = {rows}, spacing = [20, 20] }}
[panels.flange]
outline = {{ shape = "rectangle", height = 30 }}
bend = {{ from = "plate", edge = "top", turn = 90, way = "up" }}
"""


def growth() -> None:
    print("growth with the number of holes (goal: close to linear)")
    heads = "".join(f"{word:>12}" for word in ("findings", "DXF", "JSON", "sum", "a hole"))
    print(f"   holes{heads}  sum : holes, against the row before")
    before: tuple[int, float] | None = None
    for holes in HOLES:
        text = perforated(holes)
        runs = 15 if holes <= 100 else 3
        made = work_out(text, "plate.toml", "plate")
        parts = (
            median_s(lambda given=text: work_out(given, "plate.toml", "plate"), runs),
            median_s(lambda given=made: files_of(given, Outputs.DXF), runs),
            median_s(lambda given=made: files_of(given, Outputs.JSON), runs),
        )
        total = sum(parts)
        told = "".join(f"{1e3 * s:9.1f} ms" for s in (*parts, total)) + f"{1e6 * total / holes:9.0f} us"
        ratio = f"{total / before[1]:.2f} : {holes / before[0]:.0f}" if before else ""
        print(f"  {holes:>6}{told}  {ratio}")
        before = (holes, total)


def main() -> None:
    load = f", load {os.getloadavg()[0]:.2f}" if hasattr(os, "getloadavg") else ""
    print(f"Python {sys.version.split()[0]}, {os.cpu_count()} processors{load}")
    start_up()
    within_one_process()
    family()
    growth()


if __name__ == "__main__":
    main()
