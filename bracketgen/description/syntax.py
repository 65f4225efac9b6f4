"""A text that is no TOML: where it goes wrong, and what to write, in the words of the workshop."""

from __future__ import annotations

import re
from typing import Final, NamedTuple

from bracketgen.description.places import Path, Places, Statement

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
    places = Places.of(text)
    found = _PLACE.fullmatch(str(fault))
    if found is None:
        return _unplaced(fault, text, places)
    said = found[1]
    offset = places.offset(int(found[2]), int(found[3])) if found[2] else len(text.removeprefix("\ufeff"))
    if _TWICE.match(said):
        statement = _statement_at(places.statements, offset)
        if statement:
            return _given_twice(statement, places)
    what, cure = _advice(said, text.removeprefix("\ufeff"), offset)
    line, column = places.line_and_column(_better_offset(said, text.removeprefix("\ufeff"), offset, places))
    return SyntaxFault(line, column, what, cure)


def _unplaced(fault: ValueError, text: str, places: Places) -> SyntaxFault:
    long = _LONG_INTEGER.search(text.removeprefix("\ufeff"))
    if long:
        return SyntaxFault(*places.line_and_column(long.start()), "an endless number", "write fewer digits")
    return SyntaxFault(1, 1, str(fault), "look at the whole file")


def _better_offset(said: str, text: str, offset: int, places: Places) -> int:
    """An open quote at the end of the text is placed where it begins, anything else after the last character."""
    if offset < len(text):
        return offset
    if said.startswith(("Unterminated", "Expected \"'")):
        return places.last_value()
    return len(text.rstrip())


def _advice(said: str, text: str, offset: int) -> tuple[str, str]:
    what, cure = next(((what, cure) for start, what, cure in _ADVICE if said.startswith(start)), (said, "look here"))
    rest = text[offset:]
    if said.startswith("Invalid value"):
        return _value_advice(rest, what, cure)
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


def _value_advice(rest: str, what: str, cure: str) -> tuple[str, str]:
    word = re.match(r"[A-Za-z]*", rest)
    if word and word[0].lower() in ("true", "false"):
        return f"{word[0]} has large letters", f"write {word[0].lower()}"
    return ("no value follows the =", cure) if not rest.strip() or rest[0] in "\r\n#" else (what, cure)


# -- given twice


def _statement_at(statements: list[Statement], offset: int) -> Statement | None:
    """The statement that ends at `offset`, or the header that `offset` stands in."""
    for statement in statements:
        if statement.end == offset or statement.start <= offset < statement.end:
            return statement
    return None


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
