"""The mended drawing as a file: R2000, circles and polylines, millimetres, layers with clean names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bracketgen.drawing.to_cut.cut_sheet import Chain, CutSheet, Round, canonical
from bracketgen.writers.cut_file.dxf import layered_dxf


@dataclass(frozen=True, slots=True)
class OnLayer:
    """A circle or chain, and the name of its layer."""

    item: Round | Chain
    layer: str


def mended_bytes(items: Sequence[OnLayer]) -> bytes:
    """The file's bytes; the same for the same drawing. GeometryFault for an empty one."""
    layers = {name: canonical(_sheet(items, {name})) for name in sorted({one.layer for one in items})}
    return layered_dxf({name: own.items for name, own in layers.items()}, _sheet(items, set(layers)).bounds_mm)


def _sheet(items: Sequence[OnLayer], layers: set[str]) -> CutSheet:
    own = [one.item for one in items if one.layer in layers]
    rounds = tuple(item for item in own if isinstance(item, Round))
    return CutSheet("mended", rounds, tuple(item for item in own if isinstance(item, Chain)))
