"""Running the command line within the test's own process, and small descriptions to run it on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from typer.testing import CliRunner

from bracketgen.terminal.cli import app

#: 100 x 60 x 4 mm with one hole of 10 mm; every figure of it can be worked out by hand.
PLATE = """\
title = "Plain plate"
units = "mm"
[stock]
metal = "S235"
thickness = 4
[corners]
outer = 0
[parameters.bore]
value = "10 mm"
least = "5 mm"
most = "20 mm"
[panels.plate]
outline = { shape = "rectangle", width = 100, height = 60, corner_radius = 0 }
[[panels.plate.holes]]
diameter = "bore"
at = [50, 30]
"""

#: Two legs, 50 and 40 mm over the outside, 2 mm sheet, inside radius 6 mm, K 0.5.
ANGLE = """\
title = "Plain angle"
units = "mm"
[stock]
metal = "6061-T4"
thickness = 2
grain = "90 deg"
[bend]
inside_radius = 6
allowance = "K factor"
k_factor = 0.5
sizes = "outside"
[panels.foot]
outline = { shape = "rectangle", width = 60, height = 50 }
[panels.upright]
outline = { shape = "rectangle", height = 40 }
bend = { from = "foot", edge = "top", turn = 90, way = "down" }
"""

#: A hole of 1 mm in 4 mm metal, which no laser cuts well: a rule fails.
FAILING = PLATE.replace('value = "10 mm"', 'value = "1 mm"').replace('least = "5 mm"', 'least = "1 mm"')

#: A misspelt key and a comma for a point.
FAULTY = PLATE.replace("thickness = 4", 'thickness = "4,5 mm"').replace("diameter =", "diametre =")


@dataclass(frozen=True)
class Run:
    """What one call of the command line gave."""

    code: int
    out: str
    err: str


def run(*arguments: str | Path) -> Run:
    """One call, as `bracketgen ARGUMENTS`; what comes through, or a refusal without a word, fails the test."""
    result = CliRunner().invoke(app, [str(a) for a in arguments], prog_name="bracketgen")
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    assert result.exit_code != 2 or result.stderr.strip(), arguments
    return Run(result.exit_code, result.stdout, result.stderr)


def written(folder: Path, **texts: str) -> list[Path]:
    """Descriptions `name=text` as files in the folder."""
    paths = []
    for name, text in texts.items():
        path = folder / f"{name}.toml"
        path.write_text(text, encoding="utf-8")
        paths.append(path)
    return paths


def names(folder: Path) -> set[str]:
    """Names of the files in a folder; none when it is not there."""
    return {path.name for path in folder.iterdir()} if folder.is_dir() else set()


def words(lines: str | Sequence[str]) -> str:
    """The text in one line, however it was wrapped."""
    return " ".join(lines.split() if isinstance(lines, str) else " ".join(lines).split())
