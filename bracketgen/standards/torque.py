"""Tightening torques of bolts, from a printed table only."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Final

from bracketgen.standards.fastener import fastener
from bracketgen.standards.table import citation, load_table, number

#: What a torque must never be read without.
TORQUE_CAUTION: Final = (
    "Torques: oiled (dry threads take more of the torque and pull less), plain or galvanized steel of class 8.8 on "
    "hard washers, torque wrench, by hand; the table is for joints without dynamic load. Not for stainless steel, "
    "rubber mounts, soft or thin seats, rivet nuts or threads in aluminium. On a vehicle that shakes: locking nuts "
    "(taller: two threads must still show; their own drag comes on top), check after the first run. The makers' "
    "figures go first."
)


@dataclass(frozen=True, slots=True)
class Torque:
    """A tightening torque in N m, with its source as a full citation."""

    nm: float
    source: str


@cache
def torque_8_8(size: str) -> Torque | None:
    """The torque for a class 8.8 bolt of that size; None where no printed figure is held. Raises LookupFault."""
    wanted = fastener(size).size
    for row in load_table("bolt_torque").rows:
        if row["size"] == wanted:
            return Torque(number(row, "torque_nm"), citation(row["source"]))
    return None
