"""Parts whose failure kills: the table of their words, and how a name is read for them.

A name is split into words in small letters without plurals, joined words into the words of the table. The longest
entry that fits decides; a head of the compound such as 'switch' or 'cover' makes it one step milder, and so does a
preposition that only says where a thing stands.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
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


#: What holds a thing and is not the thing: it is read over. Own choice.
_HOLDING: Final = (
    "bracket mount mounting plate tab base holder support carrier hanger stay gusset flange fixing fixture cradle clamp "
    "strap foot leg post arm adapter angle pad tray saddle reinforcement doubler anchor brace spreader backing frame "
    "channel bridge spacer bush boss lug ear hat panel part assembly assy kit left right front rear upper lower top "
    "bottom inner outer side lh rh nearside offside spare new old big small heavy duty long short"
).split()
_PREPOSITIONS: Final = frozenset("for of on onto to in into at from with and".split())
#: What only says where a thing stands.
_BESIDE: Final = frozenset("near beside behind under underneath below above over past along by between beneath".split())
_LITTLE: Final = frozenset("the a an its my our".split())
_SPELT: Final = {
    "calliper": "caliper", "adaptor": "adapter", "tyre": "tire", "stabiliser": "stabilizer", "centre": "center",
    "organiser": "organizer", "vapour": "vapor", "equaliser": "equalizer",
}  # fmt: skip
#: Joined words are split into words of the table of no fewer letters.
_LEAST_LETTERS: Final = 3


@dataclass(frozen=True, slots=True)
class _Entry:
    """One entry of the table: words in a row, or sets of words that stand anywhere; whether a holding word follows."""

    row: RefusedRow
    key: tuple[str, ...]
    anywhere: bool
    held: bool


def suspects(name: str, of_a_face: bool = False) -> tuple[Suspect, ...]:
    """What a name tells of, the certain first. `of_a_face`: it names a panel or a hole of the part."""
    words = _words(name)
    table = _entries()
    if of_a_face and tuple(words) in table.faces:
        return ()
    found: list[tuple[int, int, int, _Entry]] = []
    for entry in table.entries:
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
    return other[0] <= one[0] and one[1] <= other[1] and one[1] - one[0] < other[1] - other[0] and not other[3].anywhere


def _lowered(words: Sequence[str], start: int, end: int) -> int:
    """By how many steps what stands around the words makes them milder."""
    table, steps = _entries(), 0
    behind = _until_preposition(words[end:])
    if _has_head(behind):
        return 1
    first = _until_preposition(words)
    if len(first) < start:
        content = [w for w in first if w not in _holding()]
        steps += bool(content) and _has_head(first)
        steps += bool(content) and any(w in _BESIDE for w in words[:start])
    return steps


def _has_head(words: Sequence[str]) -> bool:
    heads = _entries().heads
    return any(tuple(words[i:j]) in heads for i in range(len(words)) for j in range(i + 1, len(words) + 1))


def _until_preposition(words: Sequence[str]) -> list[str]:
    stop = next((i for i, w in enumerate(words) if w in _PREPOSITIONS or w in _BESIDE), len(words))
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
        if not entry.held:
            yield start, end, step
        elif end < len(words) and words[end] in _holding():
            yield start, end + 1, step


@dataclass(frozen=True, slots=True)
class _WordTable:
    """The table's words, ready to be looked for."""

    entries: tuple[_Entry, ...]
    heads: frozenset[tuple[str, ...]]
    faces: frozenset[tuple[str, ...]]
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
def _holding() -> frozenset[str]:
    return frozenset(_stem(w) for w in _HOLDING)


@cache
def _entries() -> _WordTable:
    entries: list[_Entry] = []
    sets: dict[Verdict, set[tuple[str, ...]]] = {Verdict.FACE: set(), Verdict.LOWERS: set()}
    for row in refused_rows():
        for text in row.words.split("; "):
            key = tuple(_stem(w) for w in re.findall("[a-z]+", text))
            if row.verdict in sets:
                sets[row.verdict].add(key)
            else:
                entries.append(_Entry(row, key, "&" in text, text.endswith("+")))
    heads, faces = frozenset(sets[Verdict.LOWERS]), frozenset(sets[Verdict.FACE])
    known = {w for e in entries for w in e.key} | {w for h in heads for w in h} | set(_holding())
    return _WordTable(tuple(entries), heads, faces, frozenset(w for w in known if len(w) >= _LEAST_LETTERS))


def _words(name: str) -> list[str]:
    """The words of a name: small letters, no accents, no plural, joined words split where the table knows both."""
    plain = "".join(c for c in unicodedata.normalize("NFKD", name) if not unicodedata.combining(c))
    plain = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", plain).casefold().replace("'s", " ")
    words: list[str] = []
    for word in re.findall("[a-z]+", plain):
        stem = _stem(word)
        if stem not in _LITTLE:
            words += _split(stem) or _split(word) or [stem]
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
