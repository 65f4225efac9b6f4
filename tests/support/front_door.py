"""From texts to reports: all that the written facts ask of the package, and the one place that imports it for them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from command_line import run

from bracketgen.description.read import read
from bracketgen.errors import InputFaults
from bracketgen.files.site_report import _pair, locate_report
from bracketgen.pipeline import Outputs, files_of, work_out
from bracketgen.vehicle.in_place import site_beside
from bracketgen.vehicle.locate.locate import locate
from bracketgen.vehicle.near.clearance import pair_checks
from bracketgen.vehicle.near.scene import scene
from bracketgen.vehicle.seating.place import place
from bracketgen.vehicle.site import read_site

Report = dict[str, Any]
PART = "part.toml"


def part_report(
    text: str, folder: Path, set_values: dict[str, str] | None = None
) -> tuple[Report | None, Report | None]:
    """The report of a description, and of its located holes where it names a site; None, None when it is refused."""
    try:
        made = work_out(text, PART, "part", set_values, str(folder))
    except InputFaults:
        return None, None
    (told,) = files_of(made, Outputs.JSON).values()
    return json.loads(told), locate_report(made.place.located, "", "", ()) if made.place else None


def gaps_report(text: str, folder: Path) -> tuple[Report | None, Report | None]:
    """Only the pairs of the site's block, and the located holes: access and odds cost the most."""
    try:
        made = work_out(text.partition("[site]")[0], PART, "part", None, str(folder))
        reading = read(text, PART, None, str(folder))
        table = reading.document.site
        assert table is not None
        site = site_beside(table, reading.source, str(folder))
        located = locate(site)
        pairs = pair_checks(scene(place(made.folded, table, reading.source, site, located), site))
    except InputFaults:
        return None, None
    return {"pairs": [_pair(p) for p in pairs]}, locate_report(located, "", "", ())


def located_report(path: Path) -> Report:
    return locate_report(locate(read_site(path.read_text(encoding="utf-8"), str(path), path.stem)), "", "", ())


def command(*arguments: str | Path) -> int:
    """The exit code of one command."""
    return run(*arguments).code
