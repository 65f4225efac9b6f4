"""TOML text with the place of each key and value, and where a text that is no TOML goes wrong."""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final, NamedTuple

from bracketgen.errors import Fault, InputFaults, Place

#: A key path as tomllib nests it: names of tables and keys, indices of arrays.
Path = tuple[str | int, ...]

_BLANK: Final = re.compile(r"(?:[ \t\r\n]++|#[^\n]*+)*+")
_GAP: Final = re.compile(r"[ \t]*+")
_KEY_PART: Final = re.compile(r"""[A-Za-z0-9_-]++|"(?:[^"\\\n]++|\\.)*+"|'[^'\n]*+'""")
_ONE_KEY: Final = re.compile(r"([A-Za-z0-9_-]++)[ \t]*+(?=[=\]])")
_SCALAR: Final = re.compile(
    r'"""(?:[^"\\]++|\\.|"(?!""))*+"""(?:""?)?'
    r"|'''(?:[^']++|'(?!''))*+'''(?:''?)?"
    r'|"(?:[^"\\\n]++|\\.)*+"'
    r"|'[^'\n]*+'"
    r"|[0-9]{4}-[0-9]{2}-[0-9]{2} [0-9]{2}:[^\s,\]}#]*+"
    r"|[^\s,\[\]{}#\"']++",
    re.DOTALL,
)


class _Unreadable(Exception):
    """The text is no TOML from here on; what was found so far stands."""


@dataclass(frozen=True, slots=True)
class Statement:
    """A key with its value, or a table header: its path and offsets, `end` just after it."""

    path: Path
    start: int
    end: int


class Places:
    """Line and column, both counted from 1, of each key and value of one TOML text.

    Columns count characters, and a tab as one. A byte order mark at the very beginning is not counted.
    """

    __slots__ = ("_explicit", "_keys", "_line_starts", "_newest", "_text", "_values", "statements")

    def __init__(self, text: str) -> None:
        self._text = text.removeprefix("\ufeff")
        self._line_starts = [0, *(found.end() for found in re.finditer("\n", self._text))]
        self._keys: dict[Path, int] = {}
        self._values: dict[Path, int] = {}
        self._explicit: set[Path] = set()
        self._newest: dict[Path, int] = {}
        #: In the order in which they end.
        self.statements: list[Statement] = []

    @classmethod
    def of(cls, text: str) -> Places:
        """The places in `text`; where it stops being TOML, those before. Never raises."""
        places = cls(text)
        with suppress(_Unreadable, RecursionError):
            places._read()
        return places

    # -- asking

    def key(self, path: Path) -> tuple[int, int]:
        """Line and column of the key of `path`, or of its nearest known ancestor, (1, 1) when there is none.

        An element of an array has no key; its own beginning is given.
        """
        return self._place(self._keys, path)

    def value(self, path: Path) -> tuple[int, int]:
        """Line and column where the value of `path` begins, or of its nearest known ancestor.

        The value of a table begins at its header, that of a table made by dotted keys at the first of them.
        """
        return self._place(self._values, path)

    def knows(self, path: Path) -> bool:
        """Whether the text has `path`."""
        return path in self._values

    def line_and_column(self, offset: int) -> tuple[int, int]:
        """Where the character at `offset` stands."""
        line = bisect_right(self._line_starts, offset)
        return line, offset - self._line_starts[line - 1] + 1

    def offset(self, line: int, column: int) -> int:
        """The offset of a place."""
        return self._line_starts[min(line, len(self._line_starts)) - 1] + column - 1

    def last_value(self) -> int:
        """The offset of the value that begins last, 0 when there is none."""
        return max(self._values.values(), default=0)

    def _place(self, offsets: dict[Path, int], path: Path) -> tuple[int, int]:
        for length in range(len(path), 0, -1):
            offset = offsets.get(path[:length])
            if offset is not None:
                return self.line_and_column(offset)
        return 1, 1

    # -- reading: each method takes an offset and returns the one after what it read

    def _read(self) -> None:
        text = self._text
        table: Path = ()
        at = self._skip(_BLANK, 0)
        while at < len(text):
            if text[at] == "[":
                at, table = self._header(at)
            else:
                at = self._pair(at, table)
            at = self._skip(_GAP, at)
            if at < len(text) and text[at] not in "#\r\n":
                raise _Unreadable
            at = self._skip(_BLANK, at)

    def _skip(self, pattern: re.Pattern[str], at: int) -> int:
        found = pattern.match(self._text, at)
        if found is None:
            raise _Unreadable
        return found.end()

    def _after(self, mark: str, at: int) -> int:
        if not self._text.startswith(mark, at):
            raise _Unreadable
        return at + len(mark)

    def _header(self, start: int) -> tuple[int, Path]:
        mark = "[[" if self._text.startswith("[[", start) else "["
        (*outer, (name, offset)), at = self._key_path(start + len(mark))
        path: Path = ()
        for outer_name, outer_offset in outer:
            path = (*path, outer_name)
            self._imply(path, outer_offset, start)
            path = (*path, self._newest[path]) if path in self._newest else path
        path = (*path, name)
        if mark == "[[":
            path = self._next_element(path, offset, start)
        self._state(path, offset, start)
        at = self._after("]]" if mark == "[[" else "]", at)
        self.statements.append(Statement(path, start, at))
        return at, path

    def _next_element(self, path: Path, offset: int, start: int) -> Path:
        """The path of the next table in an array of tables."""
        self._state(path, offset, start)
        self._newest[path] = self._newest.get(path, -1) + 1
        return (*path, self._newest[path])

    def _state(self, path: Path, key: int, value: int) -> None:
        """Written out at these offsets; the first time counts."""
        if path not in self._explicit:
            self._explicit.add(path)
            self._keys[path], self._values[path] = key, value

    def _imply(self, path: Path, key: int, value: int) -> None:
        """Only made by the way, in `[a.b]` or `a.b = 1`; gives way to where it is written out."""
        self._keys.setdefault(path, key)
        self._values.setdefault(path, value)

    def _pair(self, start: int, table: Path) -> int:
        """A key path, the equals sign, and the value."""
        (*outer, (name, offset)), at = self._key_path(start)
        path = table
        for outer_name, outer_offset in outer:
            path = (*path, outer_name)
            self._imply(path, outer_offset, start)
        path = (*path, name)
        at = self._skip(_GAP, self._after("=", at))
        self._state(path, offset, at)
        at = self._value(at, path)
        self.statements.append(Statement(path, start, at))
        return at

    def _key_path(self, at: int) -> tuple[list[tuple[str, int]], int]:
        """The parts of a dotted key with their offsets, and the offset after it and any gap."""
        plain = _ONE_KEY.match(self._text, at)
        if plain:
            return [(plain[1], at)], plain.end()
        parts: list[tuple[str, int]] = []
        while True:
            at = self._skip(_GAP, at)
            end = self._skip(_KEY_PART, at)
            parts.append((_unquoted(self._text[at:end]), at))
            at = self._skip(_GAP, end)
            if not self._text.startswith(".", at):
                return parts, at
            at += 1

    def _value(self, at: int, path: Path) -> int:
        first = self._text[at : at + 1]
        if first == "[":
            return self._array(at + 1, path)
        if first == "{":
            return self._inline_table(at + 1, path)
        return self._skip(_SCALAR, at)

    def _array(self, at: int, path: Path) -> int:
        index = 0
        at = self._skip(_BLANK, at)
        while not self._text.startswith("]", at):
            element = (*path, index)
            self._state(element, at, at)
            at = self._skip(_BLANK, self._value(at, element))
            index += 1
            if self._text.startswith(",", at):
                at = self._skip(_BLANK, at + 1)
            elif not self._text.startswith("]", at):
                raise _Unreadable
        return at + 1

    def _inline_table(self, at: int, path: Path) -> int:
        at = self._skip(_BLANK, at)
        while not self._text.startswith("}", at):
            at = self._skip(_BLANK, self._pair(at, path))
            if self._text.startswith(",", at):
                at = self._skip(_BLANK, at + 1)
            elif not self._text.startswith("}", at):
                raise _Unreadable
        return at + 1


def _unquoted(part: str) -> str:
    """The name that one part of a key spells."""
    if part[0] == '"' and "\\" in part:
        try:
            return str(tomllib.loads(f"key = {part}")["key"])
        except tomllib.TOMLDecodeError:
            raise _Unreadable from None
    return part[1:-1] if part[0] in "\"'" else part


# -- a text that is no TOML


_PLACE: Final = re.compile(r"(.*) \(at (?:line ([0-9]+), column ([0-9]+)|end of document)\)", re.DOTALL)
_LONG_INTEGER: Final = re.compile(r"[0-9_]{1000,}")
_TWICE: Final = re.compile(r"Cannot (?:overwrite|declare|mutate|redefine)|Duplicate inline table key")
_BARE_TEXT: Final = re.compile(r"\s*[A-Za-z½¼¾⅓⅔⅛⅜⅝⅞'/°-]")

_QUOTES: Final = 'a size with a unit, or any text, stands in quotes: "12.7 mm"'
_INCH_MARK: Final = 'with an inch mark inside, put single quotes around: \'3/8"\', or write "3/8 in"'

#: Beginning of what tomllib says, what to say instead, what to write.
_ADVICE: Final = (
    ("Invalid value", "this can't be read as a value", _QUOTES),
    ("Expected newline", "something follows the value", "one `name = value` on a line"),
    ("Expected '=' after a key", "no = follows the name", "write name = value"),
    ("Invalid initial character for a key", "a name is missing, or begins with a sign", "write name = value"),
    ("Invalid statement", "a line begins with a sign that has no meaning", "write name = value, [table] or # comment"),
    ("Unclosed array", "a list is not closed, or lacks a comma", "put commas between the values and ] at the end"),
    ("Unclosed inline table", "{ is not closed, or lacks a comma", "put commas between, and } on the same line"),
    ("Expected ']'", "the header of a table is not closed", "write [name]"),
    ("Expected ']]'", "the header of a table is not closed", "write [[name]]"),
    ("Unterminated string", "the quotes are not closed", _INCH_MARK),
    ("Expected \"'", "the quotes are not closed", "put the same quote at the end"),
    ("Illegal character '\\n'", "the quotes are not closed on this line", _INCH_MARK),
    ("Found invalid character '\\n'", "the quotes are not closed on this line", "put the same quote at the end"),
    ("Unescaped", "a backslash in double quotes", "put single quotes around the text"),
    ("Invalid date", "there is no such date", "put quotes around a text"),
)


class SyntaxFault(NamedTuple):
    """Where a text stops being TOML, line and column from 1; what is wrong; what to write."""

    line: int
    column: int
    what: str
    cure: str


def syntax_fault(fault: ValueError, text: str) -> SyntaxFault:
    """The fault that tomllib raised on `text`, put where a person looks for it.

    Takes TOMLDecodeError, and the plain ValueError that tomllib lets through for an endless integer.
    """
    text = text.removeprefix("\ufeff")
    places = Places.of(text)
    found = _PLACE.fullmatch(str(fault))
    if found is None:
        long = _LONG_INTEGER.search(text)
        if long:
            return SyntaxFault(*places.line_and_column(long.start()), "an endless number", "write fewer digits")
        return SyntaxFault(1, 1, str(fault), "look at the whole file")
    said = found[1]
    offset = places.offset(int(found[2]), int(found[3])) if found[2] else len(text)
    if _TWICE.match(said):
        # The statement that ends there, or the header that the place stands in.
        for statement in places.statements:
            if statement.end == offset or statement.start <= offset < statement.end:
                return _given_twice(statement, places)
    what, cure = _advice(said, text, offset)
    if offset >= len(text):
        # An open quote is placed where it begins, anything else after the last character.
        open_quote = said.startswith(("Unterminated", "Expected \"'"))
        offset = places.last_value() if open_quote else len(text.rstrip())
    return SyntaxFault(*places.line_and_column(offset), what, cure)


def _given_twice(statement: Statement, places: Places) -> SyntaxFault:
    line, column = places.line_and_column(statement.start)
    for length in range(len(statement.path), 0, -1):
        path = statement.path[:length]
        first = places.key(path)
        if places.knows(path) and first < (line, column):
            return SyntaxFault(line, column, f"{_spelt(path)} is given already in line {first[0]}", "give it once")
    return SyntaxFault(line, column, f"{_spelt(statement.path)} is given already", "give it once")


def _spelt(path: Path) -> str:
    return repr(".".join(str(part) for part in path if isinstance(part, str)))


def _advice(said: str, text: str, offset: int) -> tuple[str, str]:
    what, cure = next(((what, cure) for start, what, cure in _ADVICE if said.startswith(start)), (said, "look here"))
    rest = text[offset:]
    if said.startswith("Invalid value"):
        word = re.match(r"[A-Za-z]*", rest)
        if word and word[0].lower() in ("true", "false"):
            return f"{word[0]} has large letters", f"write {word[0].lower()}"
        return ("no value follows the =", cure) if not rest.strip() or rest[0] in "\r\n#" else (what, cure)
    if not said.startswith("Expected newline"):
        return what, cure
    before = text[:offset].rstrip(" \t")[-1:]
    if before in "\"'" and rest[:1] == '"':
        return "an inch mark ends the quotes", _INCH_MARK
    if rest[:1] == "," and before.isdigit():
        return "a comma in a number", "write decimals with a point: 12.7"
    if before.isdigit() and (rest[:1] == '"' or _BARE_TEXT.match(rest) or rest[:1].isdigit()):
        return "a unit or a fraction without quotes", _QUOTES
    return what, cure


# -- the whole text


@dataclass(frozen=True)
class Source:
    """A description's text with the place of every key, for faults found at any later stage."""

    file: str
    raw: dict[str, Any]
    text: str

    @cached_property
    def places(self) -> Places:
        """Where everything stands; looked for only once something is to be told of it."""
        return Places.of(self.text)

    def at(self, path: Path) -> Place:
        """Where the value of a path stands."""
        return Place(self.file, *self.places.value(path))

    def at_key(self, path: Path) -> Place:
        """Where the key of a path stands."""
        return Place(self.file, *self.places.key(path))

    def pointed(self, path: Path) -> Place:
        """Where a person looks for a path: the key of a table, else the value."""
        here: Any = self.raw
        for step in path:
            try:
                here = here[step]
            except (KeyError, IndexError, TypeError):
                break
        return self.at_key(path) if isinstance(here, dict) else self.at(path)


def parse(text: str, file: str) -> Source:
    """The TOML text as nested tables with places. Raises InputFaults for faulty TOML."""
    # Some editors begin a file with a byte order mark; it is no part of the text.
    text = text.removeprefix("\ufeff")
    try:
        raw = tomllib.loads(text)
    except ValueError as error:
        wrong = syntax_fault(error, text)
        raise InputFaults([Fault(Place(file, wrong.line, wrong.column), wrong.what, wrong.cure)]) from None
    except RecursionError:
        raise InputFaults([Fault(Place(file, 1, 1), "brackets are nested too deeply")]) from None
    return Source(file, raw, text)
