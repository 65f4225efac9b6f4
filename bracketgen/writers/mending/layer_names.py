"""Layer names that every program reads: plain capitals."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from bracketgen.writers.inspecting.cut_layers import is_cut

_LONGEST = 31


def cleaned_names(names: Iterable[str]) -> dict[str, str]:
    """A clean name for each layer: capitals, digits and underscores, different ones kept apart.

    Layer 0, which belongs to nothing in particular, becomes CUT. A name never changes from cut to not cut.
    """
    found: dict[str, str] = {}
    for name in sorted(set(names)):
        clean = _cleaned(name)
        if is_cut(clean) != is_cut(name):
            clean = "CUT" if is_cut(name) else "MARK"
        # Layer 0 may well share a name: drawn on by habit, it belongs to the layer CUT.
        taken, number = {new for old, new in found.items() if old != "0"} if name != "0" else set(), 2
        unique = clean
        while unique in taken:
            unique = f"{clean[: _LONGEST - 4]}_{number}"
            number += 1
        found[name] = unique
    return found


def _cleaned(name: str) -> str:
    if name == "0":
        return "CUT"
    plain = unicodedata.normalize("NFKD", name.upper()).encode("ascii", "ignore").decode("ascii")
    plain = re.sub(r"[^A-Z0-9]+", "_", plain).strip("_")
    if not plain:
        return "LAYER"
    plain = plain if plain[0].isalpha() else f"L_{plain}"
    return plain[:_LONGEST]
