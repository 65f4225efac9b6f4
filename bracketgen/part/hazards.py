"""What about a part can hurt: told from its metal, coating, process, welds and names, and from what stands around it.

What the user typed stands beside it; it can add a hazard, never take one away.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from bracketgen.part.hole import Purpose
from bracketgen.part.part import Part
from bracketgen.standards.cautions import printed_cautions, told_by
from bracketgen.standards.fasteners import is_soft

#: Coatings that are zinc, or hold it.
_ZINC: Final = re.compile(r"zinc|galvani|zn\b", re.IGNORECASE)
#: What a weld goes to when it goes to the structure of a vehicle.
_STRUCTURE: Final = re.compile(
    r"chassis|frame|rail|sill|cross ?member|body|pillar|floor|bulkhead|outrigger", re.IGNORECASE
)
_ALUMINIUM: Final = re.compile(r"alumin|alloy", re.IGNORECASE)
#: From here on two people lift it, or a hoist does: HSE INDG143, Manual handling at work, from memory.
HEAVY_KG: Final = 25.0


@dataclass(frozen=True, slots=True)
class SiteFacts:
    """What a site says stands around the part: matters, names of neighbours and components, what is carried, kg."""

    matters: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    carried_kg: float = 0.0
    in_vehicle: bool = False


#: A part whose description names no site.
NOWHERE: Final = SiteFacts()


def with_hazards(part: Part, around: SiteFacts = NOWHERE) -> Part:
    """The part with all its hazards, `near` as typed among them, and the cautions that go with them."""
    hazards = tuple(dict.fromkeys((*part.near, *_told(part, around))))
    return replace(part, near=hazards, cautions=printed_cautions(hazards, part.means))


def _told(part: Part, around: SiteFacts) -> Iterator[str]:
    """The hazards that facts tell of."""
    stock, welds = part.stock, part.welds
    names = (*(given.name for given in part.names), *around.names)
    yield from told_by(around.matters, names)
    if around.carried_kg > 0.0:
        yield "load"
    if around.carried_kg >= HEAVY_KG:
        yield "heavy"
    if around.in_vehicle:
        yield "vehicle"
    if welds:
        yield "weld"
        # Of stainless steel its own caution says so.
        yield from () if stock.metal.family == "stainless" else ("fume",)
        if any(_STRUCTURE.search(weld.to) for weld in welds):
            yield "structure"
        if stock.coating and is_soft(stock.coating):
            yield "paint"
        if stock.metal.family == "aluminium" and stock.metal.id.rpartition("-")[2][:1] in ("T", "H"):
            yield "temper"
    hot = bool(welds) or stock.process.thermal
    if hot and stock.metal.family == "stainless":
        yield "chromium"
    # A coating is put on after cutting; zinc of the sheet is there already.
    if (hot and _ZINC.search(stock.metal.temper)) or (welds and _ZINC.search(stock.coating)):
        yield "zinc"
    if welds and any(_ZINC.search(weld.to) for weld in welds):
        yield "zinc"
    if welds or stock.process.id == "plasma":
        yield "arc"
    aluminium = stock.metal.family == "aluminium"
    if aluminium:
        yield "aluminium"
    bolted = any(
        hole.purpose in (Purpose.CLEARANCE, Purpose.TAPPED, Purpose.RIVET_NUT) for p in part.panels for hole in p.holes
    )
    if bolted and (aluminium or any(_ALUMINIUM.search(name) for name in names)):
        yield "corrosion"
