"""The folded part's metal as solids in the site's frame."""

from __future__ import annotations

from bracketgen.bending.fold import Folded, strip_frame
from bracketgen.geometry.space import Frame
from bracketgen.part.part import Bend, Way
from bracketgen.vehicle.near.gaps.solids import Bow, Plate


def metal_solids(folded: Folded, frame: Frame) -> tuple[tuple[str, Plate | Bow], ...]:
    """Every panel's flat metal by the panel's id, then every bend's by the bend's, mm.

    `frame` is the first panel's frame in the site. A plate reaches to the tangent lines of its bends.
    """
    t = folded.part.stock.thickness_mm
    plates: list[tuple[str, Plate | Bow]] = []
    for panel in folded.part.panels:
        own = folded.frames[panel.id].within(frame)
        plates.append((panel.id, Plate(own, panel.outline, tuple(h.cut for h in panel.holes), -t, 0.0)))
    bows = [(b.id, bow_of(b, strip_frame(b, folded.frames[b.parent]).within(frame), t)) for b in folded.part.bends]
    return (*plates, *bows)


def bow_of(bend: Bend, strip: Frame, thickness_mm: float) -> Bow:
    """The bend's metal; `strip` stands on the parent's tangent line, x along the bend, y toward the child.

    The axis lies on the inside: above the described face when the bend is up, below the back when it is down.
    """
    r = bend.inside_radius_mm
    if bend.way is Way.UP:
        axis = Frame((0.0, 0.0, r))
    else:
        # The parent's tangent line then stands above the axis: x and z are turned round, y stays.
        axis = Frame((bend.width_mm, 0.0, -thickness_mm - r), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0))
    return Bow(axis.within(strip), bend.width_mm, r, r + thickness_mm, bend.turn_deg)
