"""Letters that papers can't show are told, at the place where a person wrote them."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import run, written

from bracketgen.drawing.marks.lettering import Weight, drawable, letter_notes, text_width_mm, texts_of, undrawable
from bracketgen.findings import Level
from bracketgen.pipeline import work_out

TAB = (Path(__file__).parents[2] / "shapes" / "hanger-tab.toml").read_text(encoding="utf-8")


def titled(title: str) -> str:
    line = next(row for row in TAB.splitlines() if row.startswith("title"))
    return TAB.replace(line, f'title = "{title}"')


@pytest.mark.parametrize("title", ["Halter für Öl", "Жгут левый", "Βάση Ø8", "4 × M8 ≤ ½ in – left"])
def test_letters_of_the_font_are_no_matter(title: str) -> None:
    assert undrawable(title) == ""
    assert not [f for f in work_out(titled(title), "a.toml", "a").findings if f.rule == "letters"]


def test_the_note_names_the_key_and_the_letters() -> None:
    (note,) = [f for f in work_out(titled("刹车 tab 刹"), "a.toml", "a").findings if f.rule == "letters"]
    assert (note.level, note.subject) == (Level.NOTE, "title")
    # The Unicode standard's numbers of both letters, each told once.
    assert "'刹' (U+5239), '车' (U+8F66) can't be drawn" in note.remedy


def test_texts_of_a_file_come_with_their_keys() -> None:
    table = {"title": "a", "panels": {"base": {"holes": [{"name": "b"}, {"name": "c", "size": 4}]}}}
    assert [t for t in texts_of(table) if t[0].endswith(("title", "name")) and t[1] not in ("title", "name")] == [
        ("title", "a"),
        ("panels.base.holes 1.name", "b"),
        ("panels.base.holes 2.name", "c"),
    ]
    assert [n.subject for n in letter_notes(texts_of({"neighbours": {"車": {"kind": "pipe"}}}))] == ["neighbours.車"]


def test_many_letters_are_counted() -> None:
    (note,) = letter_notes([("title", "一二三四五六")])
    assert "(U+4E00)" in note.remedy and "and 2 more" in note.remedy


@pytest.mark.parametrize("weight", list(Weight))
def test_the_stand_in_takes_its_own_room(weight: Weight) -> None:
    assert drawable("線 Ж", weight) == "? Ж"
    assert text_width_mm("線 Ж", 3.0, weight) == pytest.approx(text_width_mm("? Ж", 3.0, weight))


@pytest.mark.parametrize("command", ["make", "check", "template", "sheets"])
def test_commands_that_draw_a_title_tell_it(tmp_path: Path, command: str) -> None:
    (path,) = written(tmp_path, a=titled("刹车 tab"))
    done = run(command, path, *(() if command == "check" else ("--out", tmp_path)))
    assert "letters: title" in done.out and "U+5239" in done.out
