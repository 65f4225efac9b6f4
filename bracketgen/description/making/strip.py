"""A bent strip opened up into panels."""

from __future__ import annotations

from typing import Any

from bracketgen.description.making.collect import Collector
from bracketgen.description.model.document import BentStrip
from bracketgen.description.model.panels import BendOfPanel, PanelTable, RectangleOutline
from bracketgen.description.read import Path


def strip_panels(strip: BentStrip, faults: Collector) -> tuple[dict[str, PanelTable], dict[str, Path]]:
    """The legs of a strip as panels, each bent from the top edge of the one before; and their paths in the file."""
    names = [leg.name or f"leg {i}" for i, leg in enumerate(strip.legs, start=1)]
    panels: dict[str, PanelTable] = {}
    paths: dict[str, Path] = {}
    for i, leg in enumerate(strip.legs):
        if names[i] in paths:
            path: Path = ("strip", "legs", i, "name")
            faults.add(path, f"two legs are named '{names[i]}'", "give each its own name")
            # Any other name lets the rest be looked at.
            names[i] = f"{names[i]} {i + 1} of {len(names)}"
        end = i in (0, len(strip.legs) - 1)
        outline = RectangleOutline.model_construct(
            shape="rectangle",
            width=strip.width if i == 0 else None,
            height=leg.length,
            left=None,
            corner_radius=leg.corner_radius if end else 0.0,
            chamfer=0.0,
        )
        panels[names[i]] = PanelTable.model_construct(
            outline=outline,
            origin="left",
            holes=leg.holes,
            cutouts=leg.cutouts,
            saddles=leg.saddles,
            marks=leg.marks,
            welds=leg.welds,
            bend=_bend(strip, names, i) if i else None,
            joggle=None,
            pad=None,
        )
        paths[names[i]] = ("strip", "legs", i)
    return panels, paths


def _bend(strip: BentStrip, names: list[str], i: int) -> BendOfPanel:
    bend = strip.bends[i - 1]
    values: dict[str, Any] = {
        "from": names[i - 1],
        "edge": "top",
        "line": None,
        "way": bend.way,
        "sizes": strip.sizes,
        "shift": 0.0,
        "inside_radius": None,
        "relief": None,
        "turn": bend.turn_deg,
        "between": None,
    }
    return BendOfPanel.model_construct(None, **values)
