"""Every caution that stands on an output: its words, what a hazard is told by, and on whose word."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from bracketgen.standards.table import rows

#: Stands first on every output.
CODES = "codes"
#: Stands last on every output of a part.
EDGES = "edges"


@dataclass(frozen=True, slots=True)
class Caution:
    """One row: what it is printed on, what tells of it, its text, the public text as named behind it."""

    id: str
    on: str
    matters: tuple[str, ...]
    words: tuple[str, ...]
    text: str
    named: str
    source: str
    how: str

    @property
    def printed(self) -> str:
        """The text with the public text behind it, where there is one."""
        return f"{self.text.removesuffix('.')} ({self.named})." if self.named else self.text


@cache
def cautions() -> dict[str, Caution]:
    """Every caution by its id, in the order in which they are printed."""
    return {row.id: row for row in rows("cautions", Caution)}


def caution(id_: str) -> str:
    """The printed text of one. KeyError for an unknown id."""
    return cautions()[id_].printed


def printed_cautions(hazards: Iterable[str], means: str = "") -> tuple[str, ...]:
    """The cautions of a part with these hazards, each once: local codes first, then the user's own word."""
    wanted = {CODES, EDGES, *hazards}
    said = [row.printed for row in cautions().values() if row.on == "part" and row.id in wanted]
    word = [f"On the user's word, seen by nobody here: this part {means}."] if means else []
    return (said[0], *word, *said[1:])


def told_by(matters: Iterable[str], names: Iterable[str]) -> tuple[str, ...]:
    """The hazards that matters and words in names tell of."""
    there = frozenset(matters)
    words = {form for name in names for word in re.findall("[a-z]+", name.casefold()) for form in (word, word[:-1])}
    return tuple(
        row.id for row in cautions().values() if not there.isdisjoint(row.matters) or not words.isdisjoint(row.words)
    )
