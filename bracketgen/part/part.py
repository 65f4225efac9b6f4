"""The bracket: panels joined by bends in one stock."""

from __future__ import annotations

from dataclasses import dataclass

from bracketgen.part.bend import Bend
from bracketgen.part.panel import Panel
from bracketgen.part.stock import Stock
from bracketgen.part.weld import Weld


@dataclass(frozen=True, slots=True)
class Waiver:
    """A rule that the user sets aside for a subject, with a reason that is printed on every output."""

    rule: str
    subject: str
    reason: str


@dataclass(frozen=True, slots=True)
class Part:
    """What a bracket is, whatever the metal's allowance in a bend may be.

    `panels[0]` is the first panel: its frame is the part's frame. Bends stand in order: a bend's parent is the
    first panel or the child of an earlier bend. `name` is the description's file name without its ending.
    `edge_rule` names the row of the edge distance table that the user works to. `near` lists the hazards that it
    carries or stands beside, as the description words them.
    """

    name: str
    title: str
    stock: Stock
    panels: tuple[Panel, ...]
    bends: tuple[Bend, ...]
    edge_rule: str
    least_outer_radius_mm: float
    waivers: tuple[Waiver, ...] = ()
    cautions: tuple[str, ...] = ()
    near: tuple[str, ...] = ()

    @property
    def welds(self) -> tuple[Weld, ...]:
        """The welds of all panels."""
        return tuple(weld for panel in self.panels for weld in panel.welds)

    def panel(self, panel_id: str) -> Panel:
        """The panel of that name; KeyError when there is none."""
        for panel in self.panels:
            if panel.id == panel_id:
                return panel
        raise KeyError(panel_id)
