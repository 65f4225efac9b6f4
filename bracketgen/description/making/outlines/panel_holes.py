"""The holes of one panel, each with a name of its own and its place in the description."""

from __future__ import annotations

from dataclasses import dataclass, field

from bracketgen.description.making.collect import Collector, PlacedFault
from bracketgen.description.making.outlines.holes import make_holes, pads_of
from bracketgen.description.model.panels import ArmsOutline, BeltOutline, PanelTable
from bracketgen.description.model.quantities import MOST_HOLES
from bracketgen.description.model.words import what_and_cure
from bracketgen.description.read import Path
from bracketgen.part.hole import Hole
from bracketgen.part.part import Pad, Stock
from bracketgen.standards.fasteners import EdgeRule
from bracketgen.standards.table import LookupFault


@dataclass(slots=True)
class PanelHoles:
    """Holes, the metal around them where the outline is made of it, and the path of each hole's table by id."""

    holes: list[Hole] = field(default_factory=list)
    pads: list[Pad] = field(default_factory=list)
    paths: dict[str, Path] = field(default_factory=dict)


def panel_holes(
    panel: str, table: PanelTable, path: Path, stock: Stock, rule: EdgeRule, faults: Collector
) -> PanelHoles:
    """The holes of a panel's table; what is wrong with one goes to `faults`. Stops when there are too many."""
    found = PanelHoles()
    for n, hole_table in enumerate(table.holes):
        if len(found.holes) > MOST_HOLES:
            break
        here = (*path, "holes", n)
        with faults.at(here):
            made = make_holes(hole_table, stock, f"{panel}/{hole_table.name or f'h{n + 1}'}", here)
            found.holes += made
            for hole in made:
                _name(hole.id, panel, here, found.paths, faults)
            if isinstance(table.outline, BeltOutline | ArmsOutline):
                found.pads += _pads(made, hole_table.pad or table.pad, rule, here)
    for n, cutout in enumerate(table.cutouts):
        _name(f"{panel}/{cutout.name or f'cutout-{n + 1}'}", panel, (*path, "cutouts", n), found.paths, faults)
    return found


def _pads(holes: list[Hole], own_mm: float | None, rule: EdgeRule, path: Path) -> list[Pad]:
    try:
        return pads_of(holes, own_mm, rule)
    except LookupFault as error:
        cure = "give pad, the radius of the metal around the hole, or another edge_distance rule"
        raise PlacedFault(path, what_and_cure(error)[0], cure) from None


def _name(id_: str, panel: str, path: Path, names: dict[str, Path], faults: Collector) -> None:
    """Keeps where a name was given; a finding about it must point to one thing only."""
    if id_ in names and names[id_] != path:
        short = id_.removeprefix(f"{panel}/")
        faults.add((*path, "name"), f"the name '{short}' is given twice on panel '{panel}'", "give it another name")
    names.setdefault(id_, path)
