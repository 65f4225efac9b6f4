"""Names of parts: they become file names, so they have to hold on every machine."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

#: Longest part name; room is left for a prefix, an ending and a folder (own choice).
LONGEST: Final = 80

_SAFE: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_OTHER_LETTERS: Final = str.maketrans({"ß": "ss", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L"})
#: Names that Windows keeps for devices, whatever their ending (from memory).
_DEVICES: Final = frozenset(
    ("con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10)))
)


def part_name(stem: str) -> str:
    """The nearest name in plain letters, digits, `.`, `_` and `-`; '' when nothing of `stem` can be kept."""
    plain = unicodedata.normalize("NFKD", stem.translate(_OTHER_LETTERS)).encode("ascii", "ignore").decode()
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", plain)
    name = plain.strip("-._")[:LONGEST].rstrip("-._")
    return "" if name_trouble(name) else name


def name_trouble(name: str) -> str:
    """Why a text can't be a part's name; '' when it can."""
    if not name:
        return "the name is empty"
    if len(name) > LONGEST:
        return f"the name is longer than {LONGEST} letters"
    if not _SAFE.fullmatch(name) or name.endswith("."):
        return f"the name {name!r} has letters that don't fit every file name"
    if name.split(".")[0].lower() in _DEVICES:
        return f"the name {name!r} is kept for a device on some machines"
    return ""
