"""The rules that hold only where a part is in its place; what they find is found in the room for vehicles."""

from __future__ import annotations

from typing import Final

from bracketgen.rules.engine import NO_SOURCE, Rule

MISFIT: Final = Rule(
    "misfit", "Every bolt goes into both of its holes where they are", "the readings; plane geometry; fastener table"
)
HOLE_AXIS: Final = Rule(
    "hole-axis", "Every hole's axis is parallel to the hole it meets, and the right side touches", NO_SOURCE
)
HOLE_STEP: Final = Rule(
    "hole-step", "Bolting down does not bend the part beyond its yield stress", "beam theory, small deflections"
)
GAP: Final = Rule("gap", "Part, bolts and what is carried keep their distance, also when things move", "gap table")
HEAT: Final = Rule("heat", "Rubber, plastic and wires stay cool enough; every hot surface is known", "heat table")
TWO_BODIES: Final = Rule(
    "two-bodies",
    "A bracket joins two bodies that move or grow against each other only through something that gives that far",
    NO_SOURCE,
)
DRIP: Final = Rule("drip", "Nothing flammable can drip or spray on something hot", "vehicle regulations; gap table")
REMOVAL: Final = Rule("removal", "What is taken away for service has its way free", "solid geometry")
HAND_ROOM: Final = Rule(
    "hand-room", "What is unscrewed by hand or strap leaves room for the hand while it turns", "table of tool rooms"
)
GROWTH: Final = Rule("growth", "A hot pipe is checked cold and hot; its held end is known", "hot expansion table")
TRAVEL: Final = Rule("travel", "How far bodies move is known", "travel table")
CARRIED: Final = Rule("carried-place", "What is carried hangs where it was wished", "the site file")
ACCESS: Final = Rule(
    "tool-access", "A socket or a spanner gets onto every bolt and nut, and can turn", "tables of sockets and spanners"
)
HOSE: Final = Rule(
    "hose", "A hose reaches where travel takes its ends, does not kink, and is clamped", "aircraft hose practice"
)
ODDS: Final = Rule(
    "odds", "At least 99 builds of 100 bolt up", "simulated builds: readings, cutting, bending, play in the holes"
)
