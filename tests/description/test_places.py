"""Places of keys and values: random documents whose writer notes where it put each piece, and faulty texts."""

from __future__ import annotations

import random
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bracketgen.description.text import Path, Places, syntax_fault

SAMPLE = """\
title = "Filter head bracket"  # a comment
units = "mm"

[stock]
thickness = '3 mm'
grain . "angle to" = 90

[[panel]]
size = [ "62 mm",   # wide
         [1, 2] ]
[[panel]]
hole = {at = [3, 4], size = {bolt = "M8"}}
  [panel.edge]
  radius = 3
"""


@pytest.mark.parametrize(
    ("path", "key", "value"),
    [
        (("title",), (1, 1), (1, 9)),
        (("units",), (2, 1), (2, 9)),
        (("stock",), (4, 2), (4, 1)),
        (("stock", "thickness"), (5, 1), (5, 13)),
        (("stock", "grain"), (6, 1), (6, 1)),
        (("stock", "grain", "angle to"), (6, 9), (6, 22)),
        (("panel",), (8, 3), (8, 1)),
        (("panel", 0), (8, 3), (8, 1)),
        (("panel", 0, "size"), (9, 1), (9, 8)),
        (("panel", 0, "size", 0), (9, 10), (9, 10)),
        (("panel", 0, "size", 1), (10, 10), (10, 10)),
        (("panel", 0, "size", 1, 1), (10, 14), (10, 14)),
        (("panel", 1), (11, 3), (11, 1)),
        (("panel", 1, "hole"), (12, 1), (12, 8)),
        (("panel", 1, "hole", "at", 1), (12, 18), (12, 18)),
        (("panel", 1, "hole", "size", "bolt"), (12, 30), (12, 37)),
        (("panel", 1, "edge"), (13, 10), (13, 3)),
        (("panel", 1, "edge", "radius"), (14, 3), (14, 12)),
    ],
)
def test_places_counted_by_hand(path: Path, key: tuple[int, int], value: tuple[int, int]) -> None:
    places = Places.of(SAMPLE)
    assert places.knows(path)
    assert (places.key(path), places.value(path)) == (key, value)


def test_what_is_not_there_is_placed_at_its_nearest_ancestor() -> None:
    places = Places.of(SAMPLE)
    assert places.value(("stock", "process")) == (4, 1)
    assert places.key(("panel", 1, "hole", "at", 7, "x")) == (12, 9)
    assert places.value(("nowhere", 3)) == (1, 1)
    assert places.key(()) == (1, 1)
    assert not places.knows(("stock", "process"))


def test_a_table_written_out_outranks_one_made_by_the_way() -> None:
    places = Places.of("[a.b]\nx = 1\n[a]\ny = 2\n")
    assert places.key(("a",)) == (3, 2)
    assert places.key(("a", "b")) == (1, 4)


def test_a_byte_order_mark_is_not_counted() -> None:
    assert Places.of("\ufefftitle = 1").value(("title",)) == (1, 9)


# -- random documents, from a writer that notes its offsets

SCALARS = ["1", "-17", "1_000", "0xff", "3.5", "1e3", "inf", "-nan", "true", "false", "''", '""', "'}, ='"]
SCALARS += ["1979-05-27", "1979-05-27T07:32:00Z", "1979-05-27 07:32:00", "07:32:00", '"a # b"', '"q\\"x]"', '"µ½"']
SCALARS += ["'lit \"#['", '"\\\\"', '"""m\nl"""', '"""x""""', '"""x"""""', '""""""', "'''y'\n'z'''", "''''''"]
SCALARS += ["'''y''''", '"""\\\n  z"""', '"""a\\"""b"""']
KEYS = ["a", "b", "c", "size", "x-1", "007", "_"]
ODD_KEYS = [
    ("two words", '"two words"'),
    ("d.ot", "'d.ot'"),
    ("é", '"\\u00e9"'),
    ('q"', '"q\\""'),
    ("", '""'),
    ("#]", "'#]'"),
]


class Writer:
    """Writes a random document and notes at which offset each key and value begins."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.text = ""
        self.line_end = rng.choice(("\n", "\r\n"))
        self.keys: dict[Path, int] = {}
        self.values: dict[Path, tuple[int, str]] = {}

    def put(self, text: str) -> None:
        self.text += text.replace("\n", self.line_end)

    def gap(self) -> None:
        self.put(self.rng.choice(("", "", " ", "  ", "\t")))

    def rest_of_line(self) -> None:
        self.gap()
        self.put(
            self.rng.choice(("", "", "# note = [1]", "#")) + "\n" + self.rng.choice(("", "", "\n", "  # [x]\n", "\t"))
        )

    def fresh_keys(self, most: int) -> list[tuple[str, str]]:
        """Names with the way in which they are written."""
        plain = [(key, self.rng.choice((key, key, f'"{key}"', f"'{key}'"))) for key in KEYS]
        return self.rng.sample(plain + ODD_KEYS, self.rng.randint(0, most))

    def table(self, path: Path, headers: tuple[str, ...], deep: int) -> None:
        """The contents of a table under its header: pairs first, then the tables below it."""
        below = []
        for name, written in self.fresh_keys(4):
            if deep and self.rng.random() < 0.4:
                below.append((name, written))
            else:
                self.pair((*path, name), [((*path, name), written)], deep)
                self.rest_of_line()
        for name, written in below:
            self.header((*path, name), (*headers, written), deep - 1)

    def header(self, path: Path, headers: tuple[str, ...], deep: int) -> None:
        if deep and self.rng.random() < 0.15:
            self.header((*path, "within"), (*headers, "within"), deep - 1)  # its own header left out
            return
        many = self.rng.random() < 0.5
        for index in range(self.rng.randint(1, 3) if many else 1):
            start = len(self.text)
            self.put("[[" if many else "[")
            for number, part in enumerate(headers):
                self.gap()
                if number:
                    self.put(".")
                    self.gap()
                place = len(self.text)
                self.put(part)
            self.gap()
            self.put("]]" if many else "]")
            here = (*path, index) if many else path
            self.keys[here], self.values[here] = place, (start, "[")
            if index == 0:
                self.keys[path], self.values[path] = place, (start, "[")
            self.rest_of_line()
            self.table(here, headers, deep)

    def pair(self, path: Path, parts: list[tuple[Path, str]], deep: int) -> None:
        """`key = value`, or, by chance, the dotted keys of a whole table."""
        if deep and self.rng.random() < 0.2:
            inner = self.fresh_keys(2)
            for number, (name, written) in enumerate(inner):
                self.pair((*path, name), [*parts, ((*path, name), written)], deep - 1)
                if number < len(inner) - 1:
                    self.between_pairs()
            if inner:
                return
        for number, (part_path, written) in enumerate(parts):
            if number:
                self.gap()
                self.put(".")
                self.gap()
            self.keys.setdefault(part_path, len(self.text))
            self.put(written)
        self.gap()
        self.put("=")
        self.gap()
        self.value(path, deep)

    def between_pairs(self) -> None:
        """What parts two pairs: a line end, or a comma within an inline table."""
        if self.inline:
            self.put(",")
            self.gap()
        else:
            self.rest_of_line()

    inline = 0

    def value(self, path: Path, deep: int) -> None:
        start = len(self.text)
        choice = self.rng.random() if deep else 0.0
        if choice < 0.5:
            self.put(self.rng.choice(SCALARS))
        elif choice < 0.75:
            self.array(path, deep)
        else:
            self.inline_table(path, deep)
        self.values[path] = (start, self.text[start:])

    def array(self, path: Path, deep: int) -> None:
        self.put("[")
        count = self.rng.randint(0, 3)
        outside, self.inline = self.inline, 0
        for index in range(count):
            self.array_gap()
            self.keys[(*path, index)] = len(self.text)
            self.value((*path, index), deep - 1)
            self.array_gap()
            if index < count - 1 or self.rng.random() < 0.3:
                self.put(",")
        self.array_gap()
        self.put("]")
        self.inline = outside

    def array_gap(self) -> None:
        self.put(self.rng.choice(("", " ", "\n  ", " # ], {\n\t", "\n\n")))

    def inline_table(self, path: Path, deep: int) -> None:
        self.put("{")
        self.gap()
        outside, self.inline = self.inline, 1
        names = self.fresh_keys(3)
        for number, (name, written) in enumerate(names):
            self.pair((*path, name), [((*path, name), written)], deep - 1)
            if number < len(names) - 1:
                self.between_pairs()
        self.gap()
        self.put("}")
        self.inline = outside


def written(seed: int) -> Writer:
    writer = Writer(random.Random(seed))
    writer.put(writer.rng.choice(("", "\n", "# first\n\n")))
    writer.table((), (), 3)
    return writer


def paths_of(value: Any, path: Path = ()) -> list[Path]:
    """Every path that tomllib nests."""
    items: list[tuple[str | int, Any]] = []
    if isinstance(value, dict):
        items = list(value.items())
    elif isinstance(value, list):
        items = list(enumerate(value))
    return [found for key, inner in items for found in ((*path, key), *paths_of(inner, (*path, key)))]


def counted(text: str, offset: int) -> tuple[int, int]:
    """Line and column the slow way."""
    lines = text[:offset].split("\n")
    return len(lines), len(lines[-1]) + 1


@settings(max_examples=400, deadline=None)
@given(st.integers(0, 2**32))
def test_every_key_and_value_of_a_random_document_is_placed(seed: int) -> None:
    writer = written(seed)
    text = writer.text
    places = Places.of(text)
    paths = paths_of(tomllib.loads(text))
    assert set(writer.values) <= set(paths)
    for path in paths:
        assert places.knows(path), path
    for path, (offset, value) in writer.values.items():
        line, column = places.value(path)
        assert (line, column) == counted(text, offset), path
        assert "\n".join(text.split("\n")[line - 1 :])[column - 1 :].startswith(value)
    for path, offset in writer.keys.items():
        assert places.key(path) == counted(text, offset), path


def test_the_random_documents_are_rich() -> None:
    texts = [written(seed).text for seed in range(200)]
    for feature in ("[[", "{", "'''", '"""', "\r\n", " . ", "[\n", "# ]", "\\u00e9"):
        assert sum(feature in text for text in texts) > 3, feature
    assert sum(len(paths_of(tomllib.loads(text))) for text in texts) > 2000


# -- texts that are no TOML

FAULTY = [
    ("a = 1\nb = 2 1/2 in\n", (2, 7), "without quotes", "12.7 mm"),
    ("a = 3 mm", (1, 7), "without quotes", "12.7 mm"),
    ("a = 3/8 in\n", (1, 6), "without quotes", "12.7 mm"),
    ("a = mm\n", (1, 5), "can't be read", "quotes"),
    ('a = "3/8""\n', (1, 10), "inch mark", "'3/8\"'"),
    ("a = 12,7\n", (1, 7), "comma", "12.7"),
    ("a = True\n", (1, 5), "True has large letters", "write true"),
    ("a = \n", (1, 5), "no value", "quotes"),
    ("a\n", (1, 2), "no = ", "name = value"),
    ("a = 1\n= 3\n", (2, 1), "sign", "name = value"),
    ("a = [1, 2\nb = 3\n", (2, 1), "not closed", "]"),
    ("a = [1, 2\n\n", (1, 10), "not closed", "]"),
    ("a = {x = 1\n", (1, 11), "not closed", "}"),
    ("[a\nb = 1", (1, 3), "header", "[name]"),
    ("[[a]\nb = 1", (1, 4), "header", "[[name]]"),
    ('x = 1\na = "abc\n', (2, 9), "not closed on this line", "quotes"),
    ('x = 1\na = """abc\n\nb = 2\n', (2, 5), "not closed", "quotes"),
    ("x = 1\na = 'abc", (2, 5), "not closed", "same quote"),
    ('a = "\\q"\n', (1, 8), "backslash", "single quotes"),
    ("a = " + "9" * 5000, (1, 5), "endless", "fewer"),
    # Given twice: placed at the second, telling where the first is.
    ("a = 1\nb = 2\na = 3", (3, 1), "'a' is given already in line 1", "once"),
    ("a = [\n1]\r\nb = 2\r\n  a = [\r\n3,\r\n]\r\n", (4, 3), "'a' is given already in line 1", "once"),
    ("[a]\nx = 1\n[b]\n[a]\n", (4, 1), "'a' is given already in line 1", "once"),
    ("a = 1\n[a.b]\n", (2, 1), "'a' is given already in line 1", "once"),
    ("[a]\n[[a]]\n", (2, 1), "'a' is given already in line 1", "once"),
    ("[[a]]\n[[a]]\nx = 1\nx = 2\n", (4, 1), "'a.x' is given already in line 3", "once"),
    ("a = {x = 1, x = 2}\n", (1, 13), "'a.x' is given already in line 1", "once"),
    ("a = {x = 1}\na.y = 2\n", (2, 1), "'a' is given already in line 1", "once"),
    ("[a.b]\nx = 1\n[a]\nb.y = 2\n", (4, 1), "'a.b' is given already in line 1", "once"),
    ("a = [1]\n[[a]]\n", (2, 1), "'a' is given already in line 1", "once"),
    ('"é" = 1\n"\\u00e9" = 2\n', (2, 1), "'é' is given already in line 1", "once"),
]


@pytest.mark.parametrize(("text", "place", "what", "cure"), FAULTY)
def test_faulty_texts(text: str, place: tuple[int, int], what: str, cure: str) -> None:
    with pytest.raises(ValueError) as fault:
        tomllib.loads(text)
    found = syntax_fault(fault.value, text)
    assert (found.line, found.column) == place
    assert what in found.what
    assert cure in found.cure


def damaged(text: str, rng: random.Random) -> str:
    at = rng.randint(0, len(text))
    piece = rng.choice(("", "", "[", "]", '"', "'", "=", ",", "{", "\n", "\\", "a = 1\n", "\x01", '"""'))
    return text[:at] + piece + text[at + rng.randint(0, 3) :]


@settings(max_examples=400, deadline=None)
@given(st.integers(0, 2**32))
def test_damage_is_always_placed_inside_the_text(seed: int) -> None:
    rng = random.Random(seed)
    text = damaged(written(seed).text, rng)
    Places.of(text)
    try:
        tomllib.loads(text)
    except ValueError as fault:
        found = syntax_fault(fault, text)
        lines = text.split("\n")
        assert 1 <= found.line <= len(lines)
        assert 1 <= found.column <= len(lines[found.line - 1]) + 1
        assert found.what
        assert found.cure


def test_deep_nesting_never_raises() -> None:
    places = Places.of("a = " + "[" * 100_000)
    assert places.key(("a",)) == (1, 1)
