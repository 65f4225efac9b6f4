"""`span` from the command line: proposals, picture, the chosen description, exit codes; and the sheet of proposals."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import names, run, words
from span_sites import known_site
from test_span_story import PIPE, SITE

from bracketgen.drawing.picture.span_sheet import span_sheet
from bracketgen.drawing.sheet import HEIGHT_MM, WIDTH_MM, Fill, Label
from bracketgen.vehicle.span.practice import Practice
from bracketgen.vehicle.span.span import SpanRequest, span


def written(folder: Path, text: str = SITE) -> Path:
    path = folder / "shelf.site.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_it_tells_the_proposals_and_draws_them(tmp_path: Path) -> None:
    ended = run("span", written(tmp_path), "--out", tmp_path / "out")
    assert ended.code == 0, ended.err
    assert names(tmp_path / "out") == {"shelf-span.png"}
    told = words(ended.out)
    assert "joins rail (2), carried (2)" in told
    assert "one bend" in told and "the lightest of these" in told
    assert "Stiffness is that of a strip" in told and "no proof of strength" in told


@pytest.mark.sweep
def test_the_chosen_one_is_a_description_that_makes_a_part(tmp_path: Path) -> None:
    site = written(tmp_path)
    ended = run("span", site, "--choose", "1", "--out", tmp_path / "out")
    assert ended.code == 0, ended.err
    part = tmp_path / "shelf.toml"
    assert part.is_file()
    assert "keeps all rules, also in its place" in words(ended.out)
    made = run("make", part, "--only", "dxf", "--out", tmp_path / "made")
    assert made.code == 0, made.out + made.err
    assert "shelf.dxf" in names(tmp_path / "made")


def test_it_never_writes_over_what_is_there(tmp_path: Path) -> None:
    site = written(tmp_path)
    mine = tmp_path / "shelf.toml"
    mine.write_text("my own changes", encoding="utf-8")
    ended = run("span", site, "--choose", "1", "--out", tmp_path / "out")
    assert ended.code == 2
    assert "it is there already" in ended.err
    assert mine.read_text(encoding="utf-8") == "my own changes"


@pytest.mark.sweep
def test_a_description_elsewhere_finds_its_site(tmp_path: Path) -> None:
    site = written(tmp_path)
    (tmp_path / "parts").mkdir()
    part = tmp_path / "parts" / "mine.toml"
    ended = run("span", site, "--choose", "2", "--write", part, "--out", tmp_path / "out")
    assert ended.code == 0, ended.err
    assert 'file = "../shelf.site.toml"' in part.read_text(encoding="utf-8")
    assert run("check", part).code == 0


def test_sheet_and_tooling_are_options(tmp_path: Path) -> None:
    options = ("--metal", "DC01", "--thickness", "2 mm", "--die", "16", "--process", "waterjet")
    ended = run("span", written(tmp_path), *options, "--choose", "1", "--out", tmp_path / "out")
    assert ended.code == 0, ended.err
    text = (tmp_path / "shelf.toml").read_text(encoding="utf-8")
    for line in ('metal = "DC01"', 'thickness = "2 mm"', 'process = "waterjet"', "die = 16"):
        assert line in text


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--metal", "S2355"), "S235"),
        (("--die", "33"), "V opening"),
        (("--thickness", "soft"), "--thickness"),
        (("--face", "rial"), "no face 'rial'"),
        (("--choose", "99"), "there is no proposal 99"),
    ],
)
def test_slips_are_input_faults(tmp_path: Path, options: tuple[str, ...], told: str) -> None:
    ended = run("span", written(tmp_path), *options, "--out", tmp_path / "out")
    assert ended.code == 2
    assert told in ended.err


def test_where_nothing_clears_the_exit_code_says_so(tmp_path: Path) -> None:
    # A pipe right before the carried holes, as long as the truck is wide.
    text = SITE + PIPE.format(y=90, z=70, d=30)
    ended = run("span", written(tmp_path, text), "--out", tmp_path / "out")
    assert ended.code == 1
    assert "charge-air pipe" in words(ended.out)


# -- the sheet


def test_the_sheet_shows_every_proposal_within_the_page() -> None:
    known = known_site(1)
    found = span(known.site, known.located, SpanRequest(practice=Practice(thickness_mm=known.thickness_mm)))
    sheet = span_sheet(found, "Known site")
    for n, proposal in enumerate(found, 1):
        (name,) = (m for m in sheet.showing(f"proposal {n}") if isinstance(m, Label))
        assert name.text == f"{n}   {proposal.kind}"
        facts = [m.text for m in sheet.showing(f"facts {n}") if isinstance(m, Label)]
        assert f"{proposal.mass_kg:.2f}".rstrip("0").rstrip(".") in facts[0]
    for label in sheet.labels:
        x0, y0, x1, y1 = label.box
        assert x0 >= 0 and y0 >= 0 and x1 <= WIDTH_MM and y1 <= HEIGHT_MM
    assert sum(isinstance(m, Fill) for m in sheet.marks) >= 2 * len(found)


@pytest.mark.parametrize("count", [1, 2, 4, 5])
def test_tiles_don_t_overlap(count: int) -> None:
    known = known_site(1)
    found = span(known.site, known.located, SpanRequest(practice=Practice(thickness_mm=known.thickness_mm)))[:count]
    sheet = span_sheet(found, "Known site")
    boxes = [m.box for m in sheet.labels]
    for i, a in enumerate(boxes):
        for b in boxes[:i]:
            apart = a[2] <= b[0] + 1e-6 or b[2] <= a[0] + 1e-6 or a[3] <= b[1] + 1e-6 or b[3] <= a[1] + 1e-6
            assert apart
