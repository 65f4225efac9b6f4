"""How long the main job takes, held against its bars. Run by hand: python tests/bench/bench_main_job.py

Processes are timed whole, by the processor time (user and system) that the operating system counts for them: wall
time on a machine that does other things too says little. Command and yardstick run in turn, and the ratio is taken
pair by pair; medians of 7 pairs, after one run of each that is not counted and leaves compiled modules behind. A
spread of more than a tenth between least and greatest means that the machine was busy: run it again.
Figures within one process are medians of many, processor time too. Nothing here is an assertion.
"""

from __future__ import annotations

import gc
import os
import resource
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from time import perf_counter, process_time

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

from bracketgen.description.family import read_family  # noqa: E402
from bracketgen.pipeline import Outputs, files_of, work_out  # noqa: E402

SHAPE = ROOT / "shapes" / "filter-mount.toml"
RUNS = 7
HOLES = (10, 100, 500, 1000, 2000)
ROWS = 500

_CLI = ("-m", "bracketgen")
_LIBRARIES = "import typer, pydantic, numpy, shapely, ezdxf"
_PICTURE = "from matplotlib.figure import Figure; from matplotlib.backends.backend_agg import FigureCanvasAgg"
_BARE_COMMANDS = str(Path(__file__).with_name("bare_commands.py"))


def processor_s(arguments: Sequence[str], processors: int | None = None) -> float:
    """Processor seconds of a fresh Python with these arguments; on so many processors only, where that can be said."""
    surroundings = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"} | {"PYTHONPATH": str(ROOT)}
    limit = (lambda: os.sched_setaffinity(0, range(processors))) if processors else None
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, *arguments]
        done = subprocess.run(
            command, cwd=folder, env=surroundings, capture_output=True, text=True, check=False, preexec_fn=limit
        )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode not in (0, 1):
        raise SystemExit(done.stdout + done.stderr)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def pairs(what: str, command: Sequence[str], yardstick: Sequence[str], bar: float) -> None:
    """The command's processor time against the yardstick's, told with the bar that the ratio is to keep."""
    for one in (command, yardstick):
        processor_s(one)
    times = [(processor_s(command), processor_s(yardstick)) for _ in range(RUNS)]
    ratios = [a / b for a, b in times]
    ratio = statistics.median(ratios)
    mine, bare = (statistics.median(column) for column in zip(*times, strict=True))
    line(what, mine)
    line("  yardstick", bare)
    print(f"  {'  ratio':<58}{ratio:9.2f} x   {min(ratios):.2f} to {max(ratios):.2f}; bar {bar}: {verdict(ratio, bar)}")


def median_s(work: Callable[[], object], runs: int = RUNS) -> float:
    """Median processor seconds, after one run that is not counted."""
    work()
    times = []
    for _ in range(runs):
        gc.collect()
        start = process_time()
        work()
        times.append(process_time() - start)
    return statistics.median(times)


def line(what: str, seconds: float, more: str = "") -> None:
    print(f"  {what:<58}{seconds * 1e3:9.1f} ms  {more}")


def start_up() -> None:
    print("fresh processes, processor time")
    made = (*_CLI, "make", str(SHAPE), "--only")
    pairs(
        "bracketgen --help; a typer program with as many commands", (*_CLI, "--help"), (_BARE_COMMANDS, "--help"), 1.0
    )
    pairs("make, DXF + JSON; import of five libraries", (*made, "dxf,json"), ("-c", _LIBRARIES), 1.5)
    pairs("make, with PNG; and of matplotlib", (*made, "dxf,png,json"), ("-c", f"{_LIBRARIES}; {_PICTURE}"), 1.6)


def within_one_process() -> None:
    print(f"one part within a process: {SHAPE.name}")
    text = SHAPE.read_text(encoding="utf-8")
    made = work_out(text, SHAPE.name, "part")
    line("description to findings", median_s(lambda: work_out(text, SHAPE.name, "part"), 50))
    dxf = median_s(lambda: files_of(work_out(text, SHAPE.name, "part"), Outputs.DXF), 50)
    line("description to verified DXF (bar: 15 ms)", dxf, verdict(dxf, 15e-3))
    line("JSON on top", median_s(lambda: files_of(made, Outputs.JSON), 50))
    line("PNG on top", median_s(lambda: files_of(made, Outputs.PNG), 5))


def verdict(figure: float, bar: float) -> str:
    return "met" if figure <= bar else f"missed, {figure / bar:.2f} x the bar"


def family() -> None:
    """Wall time, for once: what counts is how much sooner two processors are done. Only a quiet machine can tell."""
    print(f"family of {ROWS} rows of {SHAPE.name}, DXF and JSON, wall time")
    rows = [f"part-{i},{70 + 80 * i / ROWS:.2f} mm,{45 + 40 * (i * 7 % ROWS) / ROWS:.2f} mm" for i in range(ROWS)]
    taken = []
    with tempfile.TemporaryDirectory() as folder:
        table = Path(folder, "family.csv")
        table.write_text("\n".join(["name,tabs,head", *rows]) + "\n", encoding="utf-8")
        assert len(read_family(table.read_text(encoding="utf-8"), "family.csv").members) == ROWS
        for processors in (1, 2):
            start = perf_counter()
            cpu = processor_s((*_CLI, "make", str(SHAPE), "--table", str(table), "--only", "dxf,json"), processors)
            taken.append(perf_counter() - start)
            print(
                f"  on {processors}: {ROWS / taken[-1]:6.1f} parts/s ({taken[-1]:.2f} s; {cpu:.2f} s of processor time)"
            )
    more = taken[0] / taken[1]
    print(f"  {more:.2f} times the rate of one (bar 1.7: {verdict(1.7, more)}; load {os.getloadavg()[0]:.1f})")


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
