"""From the part to where every panel stands in space.

A bend turns the child about an axis that lies on the inside of the bend: at z = +R for a bend up (the described face is
the inside), at z = -t - R for a bend down (the described face is the outside).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bracketgen.geometry.plane import Placement, Point, cos_sin_deg
from bracketgen.geometry.space import Frame, Vector
from bracketgen.part.part import Bend, Part, Way


@dataclass(frozen=True, slots=True)
class Folded:
    """The part after bending: the frame of every panel, in the first panel's frame, mm."""

    part: Part
    frames: dict[str, Frame]

    def point(self, panel_id: str, p: Point, depth_mm: float = 0.0) -> Vector:
        """A point of a panel, `depth_mm` below its described face, in the part's frame."""
        return self.frames[panel_id].point((p.x, p.y, -depth_mm))

    def normal(self, panel_id: str) -> Vector:
        """Unit normal out of the panel's described face."""
        return self.frames[panel_id].z


def turned_frame(bend: Bend, thickness_mm: float, turned_deg: float) -> Frame:
    """The frame beyond the bend after turning `turned_deg` of it, given in the frame of the strip.

    The strip's frame has x along the bend and y toward the child; the result has its origin on the tangent line.
    """
    c, s = cos_sin_deg(turned_deg)
    if bend.way is Way.UP:
        r = bend.inside_radius_mm
        return Frame.about_x(turned_deg, (0.0, r * s, r * (1.0 - c)))
    r = bend.inside_radius_mm + thickness_mm
    return Frame.about_x(-turned_deg, (0.0, r * s, -r * (1.0 - c)))


def strip_frame(bend: Bend, parent: Frame) -> Frame:
    """The frame on the parent's tangent line, x along the bend and y toward the child, in the part's frame."""
    return Frame.in_plane(Placement.along(bend.parent_line.start, bend.parent_line.end)).within(parent)


def fold(part: Part) -> Folded:
    """The folded part."""
    frames = {part.panels[0].id: Frame()}
    for bend in part.bends:
        beyond = turned_frame(bend, part.stock.thickness_mm, bend.turn_deg)
        own = Placement.along(bend.child_line.start, bend.child_line.end).inverse()
        child = Frame.in_plane(own).within(beyond)
        frames[bend.child] = child.within(strip_frame(bend, frames[bend.parent]))
    return Folded(part, frames)


def folded_line(bend: Bend, folded: Folded) -> tuple[Vector, Vector]:
    """The bend's centre line on the described face, half way through the turn, in the part's frame."""
    middle = turned_frame(bend, folded.part.stock.thickness_mm, bend.turn_deg / 2)
    frame = middle.within(strip_frame(bend, folded.frames[bend.parent]))
    return frame.point((0.0, 0.0, 0.0)), frame.point((bend.width_mm, 0.0, 0.0))


def folded_volume_mm3(part: Part) -> float:
    """Volume of the folded metal with its finished holes: plates plus cylindrical sectors."""
    t = part.stock.thickness_mm
    plates = math.fsum(p.outline.area - math.fsum(abs(h.cut.area) for h in p.holes) for p in part.panels)
    sectors = math.fsum(
        b.width_mm * math.radians(b.turn_deg) / 2 * ((b.inside_radius_mm + t) ** 2 - b.inside_radius_mm**2)
        for b in part.bends
    )
    return plates * t + sectors
