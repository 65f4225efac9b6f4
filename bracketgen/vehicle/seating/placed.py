"""The part where it will be bolted."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bracketgen.bending.fold import Folded
from bracketgen.geometry.space import Frame, Vector


class Touching(StrEnum):
    """Which side of a panel lies on the mating face."""

    FACE = "face"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class Bolted:
    """One bolt: a hole of the part on an old hole ('left.A') or on a hole of the carried thing ('carried.head-1').

    `at` is the centre of the part's hole on the side that touches, in the site's frame; `wanted` where the mating
    hole is, `shim_mm` of washers or rubber above its face; `axis` (unit) runs from the mating face out through the
    part. `play_mm` is what the bolt may move in the two holes together, to each side; a slot adds `slot_play_mm` along
    `slot_axis`.
    """

    part_hole: str
    mate: str
    panel: str
    touching: Touching
    size: str
    at: Vector
    wanted: Vector
    axis: Vector
    play_mm: float
    slot_play_mm: float = 0.0
    slot_axis: Vector | None = None
    shim_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Placed:
    """The folded part in the site: `frame` is the first panel's frame there; `carried` that of the carried thing."""

    folded: Folded
    frame: Frame
    bolts: tuple[Bolted, ...]
    carried: Frame | None
