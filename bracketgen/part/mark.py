"""The mark of a part: a short fingerprint of every value that reaches it, printed on each of its papers.

Two papers of one part belong together when their marks are equal. A remark, the order of keys, a unit that was written
differently or the size of the paper change nothing; a hole moved by a thousandth of a millimetre changes the mark.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any, Final

#: No letters that are read for figures or for each other: I, O, 0 and 1 are left out.
_ALPHABET: Final = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
#: Eight letters of 32: among a thousand states of one part two are alike once in two million. Own choice.
_LETTERS: Final = 8
#: Decimals of mm and degrees that count: far below any tool, far above the noise of arithmetic. Own choice.
_DECIMALS: Final = 6


def mark_of(*values: Any, without: frozenset[str] = frozenset()) -> str:
    """The mark of plain values, sequences, mappings, dataclasses and checked tables of such, as 'K7M3-Q2PD'.

    Mappings count without their order; what stands under a key or in a field named in `without` is left out. Raises
    TypeError for anything else.
    """
    digest = int.from_bytes(hashlib.sha256("\x1f".join(_told(values, without)).encode()).digest())
    letters = ""
    for _ in range(_LETTERS):
        digest, place = divmod(digest, len(_ALPHABET))
        letters += _ALPHABET[place]
    return f"{letters[:4]}-{letters[4:]}"


def _told(value: Any, without: frozenset[str]) -> Iterator[str]:
    """The value as words; brackets keep apart what belongs to different things."""
    match value:
        case None | bool() | str() | Enum():
            yield str(value)
        case int() | float():
            yield repr(round(float(value), _DECIMALS) + 0.0)
        case dict():
            yield "{"
            for key in sorted(value.keys() - without, key=str):
                yield str(key)
                yield from _told(value[key], without)
            yield "}"
        case set() | frozenset():
            yield from _told(sorted(value, key=str), without)
        case list() | tuple():
            yield "["
            for one in value:
                yield from _told(one, without)
            yield "]"
        case _ if is_dataclass(value):
            yield type(value).__name__
            for field in fields(value):
                if field.name not in without:
                    yield from _told(getattr(value, field.name), without)
        case _ if hasattr(type(value), "model_fields"):
            yield from _told(vars(value), without)
        case _:
            raise TypeError(f"no mark for {type(value).__name__}")


#: The mark of what else a paper was made from, after its name ('site'); None for a paper of the part alone.
Second = tuple[str, str] | None


def mark_words(mark: str, second: Second = None) -> str:
    """As it is printed: 'mark K7M3-Q2PD, site 9FQ2-XXAB'; '' for a part without one."""
    return "" if not mark else f"mark {mark}" + (f", {second[0]} {second[1]}" if second else "")


# -- the mark as it stands in a file, in plain letters that one search finds in every format


_STAMP: Final = re.compile(rb"bracketgen-mark ([0-9A-Z-]{9})(?: ([a-z]+) ([0-9A-Z-]{9}))?")


def stamp(mark: str, second: Second = None) -> str:
    """The words that a file carries."""
    return "" if not mark else f"bracketgen-mark {mark}" + (f" {second[0]} {second[1]}" if second else "")


def stamped(data: bytes) -> tuple[str, Second]:
    """The mark that a file carries, and the second one with its name. '' and None where it has none."""
    found = _STAMP.search(data)
    if found is None:
        return "", None
    mark, name, second = (group.decode() if group else "" for group in found.groups())
    return mark, (name, second) if name else None
