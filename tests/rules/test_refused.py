"""Parts whose failure kills are known by their names; what else the same words can mean is asked for or passed."""

from __future__ import annotations

import csv
import json
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from command_line import PLATE, names, run, words, written
from sample_parts import SHAPES

from bracketgen.findings import Finding, Level
from bracketgen.part.part import Waiver
from bracketgen.pipeline import Made, work_out
from bracketgen.rules.engine import run_rules
from bracketgen.standards.refused import (
    REFUSED_PART,
    RefusedRow,
    Verdict,
    means_clears,
    refused_kinds,
    refused_rows,
    suspects,
)


def judged(name: str, of_a_face: bool = False) -> str:
    found = suspects(name, of_a_face)
    return "no" if not found else "yes" if found[0].certain else "ask"


def gathered(file: str) -> Counter[tuple[str, str]]:
    """How often names that a person judged before there was a table (yes, ask, no) came out as what."""
    with (Path(__file__).parent / file).open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    return Counter((row["refused"], judged(row["text"], row["place"] in ("panel", "hole"))) for row in rows)


def test_the_gathered_names_come_out_as_a_person_judged_them() -> None:
    assert gathered("refused_names.csv") == {("yes", "yes"): 34, ("ask", "ask"): 12, ("no", "no"): 34}


def test_names_that_the_table_was_not_made_with_show_how_wide_its_net_is() -> None:
    """Add no words for these: they tell what the table misses of names that nobody thought of."""
    assert gathered("refused_names_unseen.csv") == {
        **{("yes", "yes"): 8, ("yes", "ask"): 4, ("yes", "no"): 5},
        **{("ask", "ask"): 2, ("ask", "no"): 4},
        **{("no", "ask"): 8, ("no", "no"): 9},
    }


# -- the table


def test_every_kind_has_words_a_reason_and_a_verdict() -> None:
    assert len(refused_kinds()) == 16
    for row in refused_rows():
        assert row.why and all(word.strip() == word and word for word in row.words.split("; ")), row
    assert all(means_clears(kind) for kind in ("towing or coupling", "seat"))


@pytest.mark.parametrize("row", [r for r in refused_rows() if r.verdict is Verdict.REFUSED], ids=lambda r: r.kind)
def test_each_word_of_a_refused_row_is_refused(row: RefusedRow) -> None:
    """An entry that a longer one with another meaning swallows would stand in the table for nothing."""
    texts = [text.replace(" &", "").replace(" +", " bracket") for text in row.words.split("; ")]
    assert [text for text in texts if judged(text) != "yes"] == []


@pytest.mark.parametrize("row", [r for r in refused_rows() if r.verdict is Verdict.PASSED], ids=lambda r: r.kind)
def test_each_word_of_a_passed_row_is_passed(row: RefusedRow) -> None:
    assert [text for text in row.words.split("; ") if judged(text) == "yes"] == []


@pytest.mark.parametrize(
    "name",
    [
        "Roll cage foot",
        "ROLLCAGE-FEET",
        "RollCage foot",
        "roll_cage_foot",
        "foot, roll-cages",
        "rollcagefoot",
        "Röll cäge",
    ],
)
def test_case_hyphen_plural_joined_or_split(name: str) -> None:
    assert judged(name) == "yes"


def test_a_slip_of_the_pen_is_read_over_in_long_words_alone() -> None:
    assert judged("suspensoin arm") == judged("steerring arm") == "yes"
    assert judged("tox") == judged("peddle") == "no"


def test_a_head_makes_it_milder_by_a_step() -> None:
    assert [judged(n) for n in ("Tow bar bracket", "Tow bar light bracket", "Brake bracket", "Brake lamp bracket")] == [
        *("yes", "ask", "yes", "no")
    ]
    assert [judged(n) for n in ("Amplifier bracket on the roll cage", "Lamp bracket on the roll cage")] == [
        "yes",
        "ask",
    ]
    assert judged("Amplifier bracket beside the roll cage") == "ask"


@pytest.mark.parametrize("name", ["seat", "seat-1", "jack screw"])
def test_a_face_of_the_part_may_bear_a_word_of_the_trade(name: str) -> None:
    assert judged(name, of_a_face=True) == "no"
    assert judged("belt anchor", of_a_face=True) == "yes"


# -- through a description


def titled(title: str, means: str = "", more: str = "") -> str:
    head = f'title = "{title}"\n' + (f'means = "{means}"\n' if means else "")
    return PLATE.replace('title = "Plain plate"\n', head) + more


def made(text: str) -> Made:
    return work_out(text, "part.toml", "part")


def found(text: str) -> list[Finding]:
    return [f for f in made(text).findings if f.rule in (REFUSED_PART, "means-taken")]


def test_the_finding_names_word_place_kind_codes_and_whom_to_ask() -> None:
    (one,) = found(titled("Tow bar, left half"))
    assert (one.level, one.subject, one.waived) == (Level.FAIL, "title", None)
    assert "'tow bar' in the title \"Tow bar, left half\"" in one.remedy and "towing or coupling" in one.remedy
    assert "certifying engineer" in one.remedy and "means =" not in one.remedy
    assert "Low Volume Vehicle Certification Threshold Schedule" in one.source


def test_where_a_word_can_be_harmless_the_line_to_paste_is_given() -> None:
    (one,) = found(titled("Tow bar light bracket"))
    assert one.level is Level.FAIL and 'means = "holds the ...' in one.remedy


@pytest.mark.parametrize(
    ("title", "means", "levels"),
    [
        ("Tow bar light bracket", "holds the light, not the bar", [Level.WARN]),
        ("Tow bar bracket", "holds the light, not the bar", [Level.FAIL]),
        ("Tow bar light bracket", "holds the belt anchor", [Level.FAIL, Level.WARN]),
        ("Lamp bracket", "holds the light, not the bar", [Level.NOTE]),
    ],
)
def test_the_users_word_clears_only_what_can_be_harmless(title: str, means: str, levels: list[Level]) -> None:
    assert [f.level for f in found(titled(title, means))] == levels


@pytest.mark.parametrize(
    "old_new",
    [("panels.plate", 'panels."winch plate"'), ("diameter =", 'name = "belt anchor"\ndiameter =')],
)
def test_names_of_panels_and_holes_are_read(old_new: tuple[str, str]) -> None:
    (one,) = found(PLATE.replace(*old_new))
    assert one.subject in ("panel", "hole") and one.level is Level.FAIL


def test_a_weld_is_read_for_what_it_goes_to() -> None:
    weld = '[[panels.plate.welds]]\nedge = "top"\nthroat = 3\nto = "roll cage"\n'
    (one,) = found(PLATE + weld)
    assert one.subject == "weld"


def test_a_file_name_is_read_for_certain_words_alone() -> None:
    assert [f.rule for f in work_out(PLATE, "seat.toml", "seat").findings] == []
    assert REFUSED_PART in [f.rule for f in work_out(PLATE, "x.toml", "roll-cage-foot").findings]


def test_no_waiver_reaches_it() -> None:
    """Not one in the description, which is a fault, and not one that gets past the description."""
    one = made(titled("Winch plate"))
    flat = replace(one.flat, part=replace(one.flat.part, waivers=(Waiver(REFUSED_PART, "*", "because I want"),)))
    again = run_rules(flat, one.folded)
    assert [f.waived for f in again if f.rule == REFUSED_PART] == [None]


# -- on the command line


@pytest.fixture
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.mark.usefixtures("_own_folder")
@pytest.mark.parametrize("command", ["make", "sheets", "template"])
def test_nothing_is_written_even_if_asked(tmp_path: Path, command: str) -> None:
    written(tmp_path, plate=titled("Winch plate"))
    done = run(command, "plate.toml", "--even-if-failed")
    assert done.code == 1 and not (tmp_path / "out").exists()
    assert "not made here; --even-if-failed does not change that" in words(done.out)


@pytest.mark.usefixtures("_own_folder")
def test_a_waiver_that_names_it_is_a_fault(tmp_path: Path) -> None:
    waiver = '[[waivers]]\nrule = "refused-part"\nreason = "it will hold"\n'
    written(tmp_path, plate=titled("Winch plate", more=waiver))
    done = run("make", "plate.toml", "--even-if-failed")
    assert done.code == 2 and "no waiver reaches 'refused-part'" in words(done.err)


@pytest.mark.usefixtures("_own_folder")
def test_the_users_word_stands_in_the_report_and_in_check(tmp_path: Path) -> None:
    said = "holds the light, not the bar"
    written(tmp_path, plate=titled("Tow bar light bracket", said))
    assert said in words(run("check", "plate.toml").out)
    assert run("make", "plate.toml", "--only", "json").code == 0
    report = json.loads((tmp_path / "out/plate.json").read_text(encoding="utf-8"))
    assert report["means"] == said and any(said in caution for caution in report["cautions"])
    assert report["refused_kinds"] == list(refused_kinds())
    assert names(tmp_path / "out") == {"plate.json"}


def test_the_table_is_shown() -> None:
    said = words(run("show", "refused").out)
    assert "roll cage" in said and "Vehicle Standards Bulletin 14" in said and "lowers" in said


# -- at a site


@pytest.fixture
def hanger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the exhaust hanger and its site, in which a winch hangs."""
    for name in ("exhaust-hanger.toml", "exhaust-hanger.site.toml"):
        text = (SHAPES / "sites" / name).read_text(encoding="utf-8")
        text = text.replace("Rear hanger rubber with its share of the exhaust", "Winch with its rope")
        (tmp_path / name).write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_what_the_site_carries_is_read(hanger: Path) -> None:
    text = (hanger / "exhaust-hanger.toml").read_text(encoding="utf-8")
    one = work_out(text, "exhaust-hanger.toml", "exhaust-hanger", folder=str(hanger))
    (refused,) = [f for f in one.findings if f.rule == REFUSED_PART]
    assert (refused.level, refused.subject) == (Level.FAIL, "carried title") and one.is_withheld(even_if_failed=True)


def test_nothing_is_proposed_for_it(hanger: Path) -> None:
    done = run("span", "exhaust-hanger.site.toml", "--write", "new.toml", "--choose", "1")
    assert done.code == 1 and "refused-part: carried title" in words(done.out)
    assert names(hanger) == {"exhaust-hanger.toml", "exhaust-hanger.site.toml"}
