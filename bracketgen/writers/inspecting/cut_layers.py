"""Which layers of a file from anyone are cut through, as far as their names tell."""

from __future__ import annotations

from typing import Final

#: A layer with one of these in its name is not cut: what is bent, marked, or only told. Trade words; own choice.
_NOT_CUT: Final = (
    "MARK", "BEND", "FOLD", "ETCH", "ENGRAV", "SCRIBE", "CENTER", "CENTRE", "CONSTRUCT", "DIMENSION", "DEFPOINTS",
    "NOTE", "TEXT", "LABEL", "HIDDEN",
)  # fmt: skip


def is_cut(layer: str) -> bool:
    """Whether what is on the layer is taken as cut."""
    name = layer.upper()
    return not any(word in name for word in _NOT_CUT)
