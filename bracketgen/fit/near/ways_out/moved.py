"""Solids carried along by a frame."""

from __future__ import annotations

from dataclasses import replace

from bracketgen.fit.near.gaps.solids import Block, Bow, Capsule, Drum, Plate, Solid, Wall
from bracketgen.geometry.frame import Frame


def moved(solid: Solid, frame: Frame) -> Solid:
    """The solid, given in `frame`, as seen from outside of it."""
    match solid:
        case Capsule() | Drum():
            return replace(solid, a=frame.point(solid.a), b=frame.point(solid.b))
        case Wall():
            return Wall(frame.point(solid.point), frame.direction(solid.normal))
        case Block() | Plate() | Bow():
            return replace(solid, frame=solid.frame.within(frame))
