"""What can be changed at one hole of the part, and how it is written into the description."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, degrees, floor, radians, sin
from typing import Final

import numpy as np
import numpy.typing as npt

from bracketgen.fit.odds.draws import across_axes, hole_of
from bracketgen.fit.odds.trial import HolePlay
from bracketgen.fit.seating.placed import Bolted, Placed
from bracketgen.part.hole import Hole, HoleShape, Purpose
from bracketgen.standards.fasteners import Fit, clearance_hole, fastener
from bracketgen.standards.table import LookupFault

Floats = npt.NDArray[np.float64]

#: Longest slot, end to end, in bolt diameters. Source: AISC 360-16, table J3.3, long slots (from memory).
LONGEST_PER_BOLT: Final = 2.5
#: Slots come in steps of this length, end to end, so that a drawing reads well.
LENGTH_STEP_MM: Final = 0.5


@dataclass(frozen=True, slots=True)
class HoleForm:
    """A hole as it is or is to be: diameter (or slot width), fit if it was changed, slot over all, its direction.

    `direction_deg` is anticlockwise from +x of the panel, seen on its described face; None where it is round.
    """

    diameter_mm: float
    fit: Fit | None = None
    length_mm: float | None = None
    direction_deg: float | None = None

    @property
    def slot_play_mm(self) -> float:
        """What the slot gives to both sides beyond its width."""
        return 0.0 if self.length_mm is None else (self.length_mm - self.diameter_mm) / 2.0


@dataclass(frozen=True, slots=True)
class BoltedHole:
    """One bolt's hole: what is drawn now, and what the bolt and panel allow."""

    number: int
    bolt: Bolted
    hole: Hole
    now: HoleForm
    panel_x: Floats
    panel_y: Floats

    @property
    def may_change(self) -> bool:
        """Tapped, dowel and rivet nut holes must stay as they are, and a hole that is an isolator's."""
        if self.hole.isolator is not None and self.hole.isolator.hole_mm is not None:
            return False
        return self.hole.purpose in (Purpose.CLEARANCE, Purpose.PLAIN) and self.hole.shape is not HoleShape.OUTLINE

    def next_fit(self, form: HoleForm) -> HoleForm | None:
        """The next roomier clearance hole; None when there is none. Source: clearance hole tables."""
        if not self.may_change or self.hole.purpose is not Purpose.CLEARANCE:
            return None
        for fit in Fit:
            try:
                wider = clearance_hole(self.bolt.size, fit).diameter_mm
            except LookupFault:
                continue
            if wider > form.diameter_mm + 1e-6:
                length = None if form.length_mm is None else form.length_mm + wider - form.diameter_mm
                return replace(form, diameter_mm=wider, fit=fit, length_mm=length)
        return None

    def longest_slot_mm(self, form: HoleForm) -> float:
        """The longest slot over all, in whole steps; the hole's own length where that is longer already."""
        most = LONGEST_PER_BOLT * fastener(self.bolt.size).diameter_mm
        return max(floor(most / LENGTH_STEP_MM) * LENGTH_STEP_MM, form.length_mm or 0.0)

    def slot(self, form: HoleForm, way: Floats, length_mm: float) -> HoleForm | None:
        """A slot along a direction of the site, in whole degrees; a slot that is there already keeps its direction."""
        if not self.may_change or length_mm <= max(form.diameter_mm, form.length_mm or 0.0) + 1e-6:
            return None
        direction = self.now.direction_deg
        if direction is None:
            direction = round(degrees(atan2(float(way @ self.panel_y), float(way @ self.panel_x)))) % 180
        return replace(form, length_mm=length_mm, direction_deg=float(direction))

    def way(self, direction_deg: float) -> Floats:
        """A direction of the panel in the site's frame, unit."""
        a = radians(direction_deg)
        found: Floats = cos(a) * self.panel_x + sin(a) * self.panel_y
        return found

    def put(self, holes: HolePlay, form: HoleForm) -> HolePlay:
        """The holes with this one as `form` says."""
        wider = (form.diameter_mm - self.now.diameter_mm) / 2.0
        play = holes.play.copy()
        play[self.number] = self.bolt.play_mm + wider
        holes = replace(holes, play=play)
        if form.direction_deg is None:
            return holes.slotted(self.number, 0.0, across_axes(np.array(self.bolt.axis), None)[0])
        longer = form.slot_play_mm - self.now.slot_play_mm
        return holes.slotted(self.number, self.bolt.slot_play_mm + longer, self.way(form.direction_deg))


def bolted_holes(placed: Placed) -> tuple[BoltedHole, ...]:
    """Every bolt's hole with its panel's directions in the site."""
    found = []
    for number, bolt in enumerate(placed.bolts):
        hole = hole_of(placed, bolt)
        now = HoleForm(hole.diameter_mm or 0.0)
        if hole.shape is HoleShape.SLOT:
            now = replace(now, length_mm=hole.length_mm, direction_deg=hole.direction_deg)
        panel = placed.folded.frames[bolt.panel].within(placed.frame)
        found.append(BoltedHole(number, bolt, hole, now, np.array(panel.x), np.array(panel.y)))
    return tuple(found)


def as_written(form: HoleForm, now: HoleForm) -> str:
    """The keys that make the change, to be put into the hole's own table of the description."""
    lines = []
    if form.fit is not None:
        lines.append(f'fit = "{form.fit}"')
    if form.length_mm is not None and (form.length_mm, form.direction_deg) != (now.length_mm, now.direction_deg):
        lines.append(f'slot = {{ length = "{form.length_mm:g} mm", direction = "{form.direction_deg:g} deg" }}')
    return "\n".join(lines)
