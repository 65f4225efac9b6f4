"""Parts whose failure kills: the table of their words, and how a name is read for them.

A name is split into words in small letters without plurals, joined words into the words of the table. The longest
entry that fits decides; a head of the compound such as 'switch' or 'cover' makes it one step milder, and so does a
preposition that only says where a thing stands.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Final

from bracketgen.standards.table import rows

#: The rule that tells of such a part. No waiver may name it.
REFUSED_PART: Final = "refused-part"


class Verdict(StrEnum):
    """What an entry of the table does; the value stands in the table."""

    REFUSED = "refused"
    ASKED = "asked"
    PASSED = "passed"
    FACE = "passed as the name of a face"
    LOWERS = "lowers"
    CLEARS = "clears"
    HOLDS = "holds"
    BESIDE = "beside"


@dataclass(frozen=True, slots=True)
class RefusedRow:
    """One row: a kind of part, what its words do, the words with '; ' between, why, and the public texts."""

    kind: str
    verdict: Verdict
    words: str
    why: str
    source: str
    how: str


@dataclass(frozen=True, slots=True)
class Suspect:
    """Words of a name that tell of a kind of part; `certain` where the user's own word can't clear them."""

    words: str
    row: RefusedRow
    certain: bool


_PREPOSITIONS: Final = frozenset(("for", "of", "on", "onto", "to", "in", "into", "at", "from", "with", "and", ","))
_LITTLE: Final = frozenset(("the", "an", "its", "my", "our"))
_SPELT: Final = {
    "calliper": "caliper", "adaptor": "adapter", "tyre": "tire", "stabiliser": "stabilizer", "centre": "center",
    "organiser": "organizer", "vapour": "vapor", "equaliser": "equalizer",
}  # fmt: skip
#: Figures that make part of a word.
_FIGURES: Final = {r"\b5th\b": "fifth", r"\b4[ -]?link": "four link", r"\bco2": "co "}
#: Rows whose words are looked up one name at a time, not looked for.
_SETS: Final = (Verdict.FACE, Verdict.LOWERS, Verdict.CLEARS, Verdict.HOLDS, Verdict.BESIDE)
#: Joined words are split into words of the table of no fewer letters.
_LEAST_LETTERS: Final = 3
#: Shorter words are not taken for misspelt ones. Own choice.
_LONG_LETTERS: Final = 6


@dataclass(frozen=True, slots=True)
class _Entry:
    """One entry of the table: words in a row, or sets of words that stand anywhere; whether a holding word follows."""

    row: RefusedRow
    key: tuple[str, ...]
    anywhere: bool
    held: bool


def suspects(name: str, of_a_face: bool = False) -> tuple[Suspect, ...]:
    """What a name tells of, the certain first. `of_a_face`: it names a panel or a hole of the part."""
    words = tuple(_words(name))
    return () if of_a_face and words in _entries().faces else _suspects(words)


# Holes of a pattern have the same words.
@cache
def _suspects(words: tuple[str, ...]) -> tuple[Suspect, ...]:
    found: list[tuple[int, int, int, _Entry]] = []
    for entry in _entries().entries:
        found += [(*span, entry) for span in _spans(entry, words)]
    longest = [one for one in found if not any(_inside(one, other) for other in found)]
    told: dict[str, Suspect] = {}
    for start, end, step, entry in longest:
        level = step - _lowered(words, start, end)
        if level > 0:
            suspect = Suspect(
                " ".join(words[start:end]) if not entry.anywhere else " ".join(entry.key), entry.row, level > 1
            )
            known = told.get(entry.row.kind)
            if known is None or suspect.certain > known.certain:
                told[entry.row.kind] = suspect
    return tuple(sorted(told.values(), key=lambda s: not s.certain))


def _inside(one: tuple[int, int, int, _Entry], other: tuple[int, int, int, _Entry]) -> bool:
    """Whether an entry's words lie among those of a longer entry."""
    (start, end, _, _), (first, last, step, entry) = one, other
    if entry.anywhere:
        return False
    # What begins inside words that mean another thing is another thing: 'strut mount' in 'gas strut mount'.
    if step == 0 and first < start < last:
        return True
    return first <= start and end <= last and end - start < last - first


def _lowered(words: Sequence[str], start: int, end: int) -> int:
    """By how many steps what stands around the words makes them milder."""
    steps = _head_steps(_until_preposition(words[end:]))
    first = _until_preposition(words)
    if len(first) < start:
        content = [w for w in first if w not in _entries().holding]
        beside = bool(content) and any(w in _entries().beside for w in words[:start])
        steps = max(steps, _head_steps(first) + beside)
    return steps


def _head_steps(words: Sequence[str]) -> int:
    """2 for a head that clears, 1 for one that lowers, 0 for none."""
    heads = _entries().heads
    pieces = (tuple(words[i:j]) for i in range(len(words)) for j in range(i + 1, len(words) + 1))
    return max((heads.get(piece, 0) for piece in pieces), default=0)


def _until_preposition(words: Sequence[str]) -> list[str]:
    stop = next((i for i, w in enumerate(words) if w in _PREPOSITIONS or w in _entries().beside), len(words))
    return list(words[:stop])


def _spans(entry: _Entry, words: Sequence[str]) -> Iterator[tuple[int, int, int]]:
    """Where the entry stands: first word, the word behind the last, and 0 passed, 1 asked, 2 refused."""
    step = {Verdict.REFUSED: 2, Verdict.ASKED: 1}.get(entry.row.verdict, 0)
    if entry.anywhere:
        places = [next((i for i, w in enumerate(words) if w == k), None) for k in entry.key]
        found = [p for p in places if p is not None]
        if len(found) == len(places):
            yield min(found), max(found) + 1, step
        return
    key = "".join(entry.key)
    for start in range(len(words)):
        joined = ""
        for end in range(start, len(words)):
            joined += words[end]
            if len(joined) >= len(key):
                break
        if joined != key:
            continue
        end += 1
        if not entry.held or (end < len(words) and words[end] in _entries().holding):
            yield start, end, step


@dataclass(frozen=True, slots=True)
class _WordTable:
    """The table's words, ready to be looked for."""

    entries: tuple[_Entry, ...]
    heads: Mapping[tuple[str, ...], int]
    faces: frozenset[tuple[str, ...]]
    holding: frozenset[str]
    beside: frozenset[str]
    vocabulary: frozenset[str]


@cache
def refused_rows() -> tuple[RefusedRow, ...]:
    """Every row of the table."""
    return rows("refused", RefusedRow)


@cache
def refused_kinds() -> tuple[str, ...]:
    """The kinds of parts that are refused, in the order of the table."""
    return tuple(dict.fromkeys(row.kind for row in refused_rows() if row.verdict is Verdict.REFUSED))


def means_clears(kind: str) -> bool:
    """Whether any of the kind's words can be harmless."""
    return any(row.kind == kind and row.verdict is Verdict.ASKED for row in refused_rows())


@cache
def _entries() -> _WordTable:
    entries: list[_Entry] = []
    sets: dict[Verdict, set[tuple[str, ...]]] = {one: set() for one in _SETS}
    for row in refused_rows():
        for text in row.words.split("; "):
            key = tuple(_stem(w) for w in re.findall("[a-z]+", text))
            if row.verdict in sets:
                sets[row.verdict].add(key)
            else:
                entries.append(_Entry(row, key, "&" in text, text.endswith("+")))
    heads = dict.fromkeys(sets[Verdict.LOWERS], 1) | dict.fromkeys(sets[Verdict.CLEARS], 2)
    faces = frozenset(sets[Verdict.FACE])
    holding, beside = (frozenset(w for key in sets[one] for w in key) for one in (Verdict.HOLDS, Verdict.BESIDE))
    known = {w for key in (*(e.key for e in entries), *heads) for w in key} | holding
    return _WordTable(
        tuple(entries), heads, faces, holding, beside, frozenset(w for w in known if len(w) >= _LEAST_LETTERS)
    )


def _words(name: str) -> list[str]:
    """The words of a name: small letters, no accents, no plural, joined words split where the table knows both."""
    plain = "".join(c for c in unicodedata.normalize("NFKD", name) if not unicodedata.combining(c))
    plain = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", plain).casefold().replace("'s", " ")
    for figure, spelt in _FIGURES.items():
        plain = re.sub(figure, spelt, plain)
    words: list[str] = []
    for word in re.findall("[a-z]+|,", re.sub("[():;/]", ",", plain)):
        stem = _stem(word)
        if stem not in _LITTLE:
            words += _split(stem) or _split(word) or [_mended(stem)]
    return words


def _split(word: str) -> list[str]:
    """A joined word as words of the table; empty where it is one itself or not made of them."""
    vocabulary = _entries().vocabulary
    if word in vocabulary:
        return []
    for cut in range(_LEAST_LETTERS, len(word) - _LEAST_LETTERS + 1):
        first, rest = _stem(word[:cut]), _stem(word[cut:])
        if first in vocabulary:
            others = [rest] if rest in vocabulary else _split(rest)
            if others:
                return [first, *others]
    return []


@cache
def _mended(word: str) -> str:
    """A long word with one slip of the pen (a letter too many, too few, wrong, or two swapped) as the table has it."""
    vocabulary = _entries().vocabulary
    if word in vocabulary or word in _entries().holding or len(word) < _LONG_LETTERS:
        return word
    letters = "abcdefghijklmnopqrstuvwxyz"
    cuts = [(word[:i], word[i:]) for i in range(1, len(word) + 1)]
    slips = [a + b[1:] for a, b in cuts if b] + [a + b[1] + b[0] + b[2:] for a, b in cuts if len(b) > 1]
    slips += [a + c + rest for a, b in cuts for c in letters for rest in ({b, b[1:]} if b else {b})]
    return next((slip for slip in slips if len(slip) >= _LONG_LETTERS and slip in vocabulary), word)


def _stem(word: str) -> str:
    """Without its plural, and in one spelling."""
    if len(word) > 3:
        if word.endswith("ies"):
            word = f"{word[:-3]}y"
        elif word.endswith(("sses", "xes", "ches", "shes")):
            word = word[:-2]
        elif word.endswith("s") and not word.endswith(("ss", "us", "is")):
            word = word[:-1]
    return _SPELT.get(word, word)
