"""The rules that hold only at a site: what they are called. What they find is found in the room for fitting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.rules.rule import NO_SOURCE


@dataclass(frozen=True, slots=True)
class SiteRule:
    """One thing that can be wrong with a part in its place; `id` is what a waiver names."""

    id: str
    title: str
    source: str


MISFIT: Final = SiteRule(
    "misfit", "Every bolt goes into both of its holes where they are", "the readings; plane geometry; fastener table"
)
HOLE_AXIS: Final = SiteRule(
    "hole-axis", "Every hole's axis is parallel to the hole it meets, and the right side touches", NO_SOURCE
)
HOLE_STEP: Final = SiteRule(
    "hole-step", "Bolting down does not bend the part beyond its yield stress", "beam theory, small deflections"
)
GAP: Final = SiteRule("gap", "Part, bolts and what is carried keep their distance, also when things move", "gap table")
HEAT: Final = SiteRule("heat", "Rubber, plastic and wires stay cool enough; every hot surface is known", "heat table")
TWO_BODIES: Final = SiteRule(
    "two-bodies",
    "A bracket joins two bodies that move or grow against each other only through something that gives that far",
    NO_SOURCE,
)
DRIP: Final = SiteRule("drip", "Nothing flammable can drip or spray on something hot", "vehicle regulations; gap table")
REMOVAL: Final = SiteRule("removal", "What is taken away for service has its way free", "solid geometry")
HAND_ROOM: Final = SiteRule(
    "hand-room", "What is unscrewed by hand or strap leaves room for the hand while it turns", "table of tool rooms"
)
GROWTH: Final = SiteRule("growth", "A hot pipe is checked cold and hot; its held end is known", "hot expansion table")
TRAVEL: Final = SiteRule("travel", "How far bodies move is known", "travel table")
CARRIED: Final = SiteRule("carried-place", "What is carried hangs where it was wished", "the site file")
ACCESS: Final = SiteRule(
    "tool-access", "A socket or a spanner gets onto every bolt and nut, and can turn", "tables of sockets and spanners"
)
HOSE: Final = SiteRule(
    "hose", "A hose reaches where travel takes its ends, does not kink, and is clamped", "aircraft hose practice"
)
ODDS: Final = SiteRule(
    "odds", "At least 99 builds of 100 bolt up", "simulated builds: readings, cutting, bending, play in the holes"
)

SITE_RULES: Final = tuple(
    sorted(
        (
            MISFIT,
            HOLE_AXIS,
            HOLE_STEP,
            GAP,
            HEAT,
            TWO_BODIES,
            DRIP,
            REMOVAL,
            HAND_ROOM,
            GROWTH,
            TRAVEL,
            CARRIED,
            ACCESS,
            HOSE,
            ODDS,
        ),
        key=lambda rule: rule.id,
    )
)
