"""The story of the job: the first proposal looks good until the pipe is written down; the tool says so, says by how
much to move, and the next proposal clears. Nothing was cut."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from command_line import run

from bracketgen.findings import Level
from bracketgen.pipeline import work_out
from bracketgen.vehicle.locate.locate import locate
from bracketgen.vehicle.site import Site, read_site
from bracketgen.vehicle.span.practice import Practice
from bracketgen.vehicle.span.proposal import Proposal
from bracketgen.vehicle.span.span import SpanRequest, span
from bracketgen.vehicle.span.surroundings import closest_of

SITE = """\
# Crew truck: the water separator of the fuel line goes on a shelf over the rail.
title = "Water separator shelf"
units = "mm"
down = [0, -1, 0]

[faces.rail.holes]
A = { diameter = 9 }
B = { diameter = 9 }

[[readings]]
kind = "distance"
from = "rail.A"
to = "rail.B"
over = "outer"
value = 69.1
tool = "calliper"

[[readings]]
kind = "distance"
from = "rail.A"
to = "rail.B"
over = "inner"
value = 51
tool = "calliper"

[carried]
mass = 1.4
centre = [30, 0, -60]
at = [0, 90, 90]
normal = [0, -1, 0]
x = [1, 0, 0]

[[carried.holes]]
name = "foot"
bolt = "M8"
pattern = { kind = "row", count = 2, spacing = 60 }
"""

PIPE = """
[neighbours."charge-air pipe"]
shape = "pipe"
matter = "air"
points = [[-200, {y}, {z}], [260, {y}, {z}]]
diameter = {d}
gap = 5
"""


def site_of(text: str, folder: Path) -> Site:
    (folder / "shelf.site.toml").write_text(text, encoding="utf-8")
    return read_site(text, str(folder / "shelf.site.toml"), "shelf")


def proposals(site: Site) -> tuple[Proposal, ...]:
    return span(site, locate(site), SpanRequest(practice=Practice(thickness_mm=4.0)))


def pipe_through(proposal: Proposal) -> str:
    """A pipe along x through the middle of the proposal's web, half way between its two bends."""
    folded, frame = proposal.folded, proposal.placed.frame
    near, far = folded.part.bends
    panel = folded.frames[near.child].within(frame)
    here, there = (panel.point((*line.middle, 0.0)) for line in (near.child_line, far.parent_line))
    y, z = (here[1] + there[1]) / 2, (here[2] + there[2]) / 2
    return PIPE.format(y=round(y, 1), z=round(z, 1), d=16)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Proposal, Site, tuple[Proposal, ...]]:
    """The folder, the first proposal before the pipe was known, the site with the pipe, and its proposals."""
    folder = tmp_path_factory.mktemp("shelf")
    first = proposals(site_of(SITE, folder))[0]
    site = site_of(SITE + pipe_through(first), folder)
    return folder, first, site, proposals(site)


def test_the_first_proposal_is_clean_before_the_pipe_is_known(tmp_path: Path) -> None:
    site_of(SITE, tmp_path)
    first = proposals(site_of(SITE, tmp_path))[0]
    made = work_out(first.text, "shelf.toml", "shelf", folder=str(tmp_path))
    assert [f for f in made.findings if f.level is Level.FAIL] == []


def test_with_the_pipe_it_fouls_and_the_pipeline_says_where_to(
    told: tuple[Path, Proposal, Site, tuple[Proposal, ...]],
) -> None:
    folder, first, _, _ = told
    made = work_out(first.text, "shelf.toml", "shelf", folder=str(folder))
    failed = [f for f in made.findings if f.level is Level.FAIL]
    assert [f.rule for f in failed] == ["gap"]
    assert "charge-air pipe" in failed[0].subject
    assert re.search(r"move the part there by \d+(\.\d+)? mm along \(", failed[0].remedy)


def test_the_move_it_names_is_enough(told: tuple[Path, Proposal, Site, tuple[Proposal, ...]]) -> None:
    folder, first, site, _ = told
    closest = closest_of(first.placed, site)
    assert closest is not None and closest.margin_mm < 0.0
    found = re.search(r"by ([\d.]+) mm along \(([-\d.]+), ([-\d.]+), ([-\d.]+)\)", closest.mend)
    assert found is not None
    size, *way = (float(v) for v in found.groups())
    move = size * np.array(way)
    # The part stays, the pipe makes way the other way: the gap is the same.
    old = np.array(site.document.neighbours["charge-air pipe"].points[0])  # type: ignore[union-attr]
    y, z = (old - move)[1:]
    moved = site_of(SITE + PIPE.format(y=float(y), z=float(z), d=16), folder)
    after = closest_of(first.placed, moved)
    site_of(SITE + pipe_through(first), folder)
    # Its direction is told with two digits.
    assert after is not None and after.margin_mm > -0.01 * size - 0.05


def test_the_next_one_clears(told: tuple[Path, Proposal, Site, tuple[Proposal, ...]]) -> None:
    folder, first, _, after = told
    best = after[0]
    assert not best.fouls
    assert best.closest is not None and best.closest.margin_mm >= 0.0
    made = work_out(best.text, "shelf.toml", "shelf", folder=str(folder))
    assert [f for f in made.findings if f.level is Level.FAIL] == []
    assert (best.kind, round(best.mass_kg, 2)) != (first.kind, round(first.mass_kg, 2))


def test_nothing_was_cut(told: tuple[Path, Proposal, Site, tuple[Proposal, ...]]) -> None:
    folder, first, _, _ = told
    (folder / "shelf.toml").write_text(first.text_beside("shelf.site.toml"), encoding="utf-8")
    ended = run("make", str(folder / "shelf.toml"), "--out", str(folder / "out"))
    assert ended.code == 1
    assert "charge-air pipe" in ended.out
    assert not list(folder.rglob("*.dxf"))


def test_what_fouls_stands_behind_what_clears(told: tuple[Path, Proposal, Site, tuple[Proposal, ...]]) -> None:
    *_, after = told
    fouled = [p.fouls for p in after]
    assert fouled == sorted(fouled)
    for p in after:
        if p.fouls:
            assert "charge-air pipe" in p.reasons[0]
