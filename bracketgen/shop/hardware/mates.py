"""What the holes of a part are bolted to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bracketgen.fit.in_place import InPlace


@dataclass(frozen=True, slots=True)
class Mate:
    """What a hole is bolted to: its thickness in mm (None = not known), and whether it holds the thread itself.

    `between_mm` is what lies between it and the part besides an isolator: washers, or a step.
    """

    thickness_mm: float | None = None
    threaded: bool = False
    between_mm: float = 0.0


def mates_in_place(place: InPlace | None) -> dict[str, Mate]:
    """What each hole is bolted to, as far as the part's site says."""
    if place is None:
        return {}
    # Only a part with a site loads the rooms that know it.
    from bracketgen.fit.seating.hardware import lift_mm
    from bracketgen.fit.seating.mates import CARRIED

    mates, faces, part = {}, place.site.document.faces, place.placed.folded.part
    rubbers = {hole.id: hole.isolator for panel in part.panels for hole in panel.holes}
    for bolt in place.placed.bolts:
        rubber = rubbers[bolt.part_hole]
        stands = rubber.stand_mm(part.stock.thickness_mm) if rubber else 0.0
        between = max(0.0, round(lift_mm(bolt) - stands, 1))
        face, _, hole = bolt.mate.partition(".")
        if bolt.mate.startswith(CARRIED):
            # Whether the carried thing holds the thread isn't said: its holes are taken as threads, the shorter bolt.
            mates[bolt.part_hole] = Mate(None, True, between)
        else:
            threaded = faces[face].holes[hole].thread is not None
            mates[bolt.part_hole] = Mate(faces[face].thickness, threaded, between)
    return mates
