"""What the holes of a part are bolted to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bracketgen.fit.in_place import InPlace


@dataclass(frozen=True, slots=True)
class Mate:
    """What a hole is bolted to: its thickness in mm (None = not known), and whether it holds the thread itself."""

    thickness_mm: float | None = None
    threaded: bool = False


def mates_in_place(place: InPlace | None) -> dict[str, Mate]:
    """What each hole is bolted to, as far as the part's site says."""
    from bracketgen.fit.seating.mates import CARRIED

    if place is None:
        return {}
    mates, faces = {}, place.site.document.faces
    for bolt in place.placed.bolts:
        face, _, hole = bolt.mate.partition(".")
        if bolt.mate.startswith(CARRIED):
            # Whether the carried thing holds the thread isn't said: its holes are taken as threads, the shorter bolt.
            mates[bolt.part_hole] = Mate(None, threaded=True)
        else:
            threaded = faces[face].holes[hole].thread is not None
            mates[bolt.part_hole] = Mate(faces[face].thickness, threaded)
    return mates
