"""What can be changed at one hole of the part, and how it is written into the description."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, degrees, floor
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.part.hole import Hole, HoleShape, Purpose
from bracketgen.standards.fasteners import Fit, clearance_hole, fastener
from bracketgen.standards.table import LookupFault
from bracketgen.vehicle.odds.draws import hole_of
from bracketgen.vehicle.odds.trial import HolePlay
from bracketgen.vehicle.seating.mates import Bolted, Placed, own_play_mm

#: Longest slot, end to end, in bolt diameters. Source: AISC 360-16, table J3.3, long slots (from memory).
LONGEST_PER_BOLT: Final = 2.5
#: Slots come in steps of this length, end to end, so that a drawing reads well.
LENGTH_STEP_MM: Final = 0.5


@dataclass(frozen=True, slots=True)
class HoleForm:
    """A hole as it is or is to be, in its panel's frame, and its fit if that was changed."""

    shape: HoleShape
    fit: Fit | None = None


@dataclass(frozen=True, slots=True)
class BoltedHole:
    """One bolt's hole: what is drawn now, and what the bolt and panel allow."""

    number: int
    bolt: Bolted
    hole: Hole
    now: HoleForm
    own_play_mm: float
    panel_x: Floats
    panel_y: Floats

    @property
    def may_change(self) -> bool:
        """Tapped, dowel and rivet nut holes must stay as they are, and a hole that is an isolator's."""
        if self.hole.isolator is not None and self.hole.isolator.hole_mm is not None:
            return False
        return self.hole.purpose in (Purpose.CLEARANCE, Purpose.PLAIN) and self.hole.shape.core is not None

    def next_fit(self, form: HoleForm) -> HoleForm | None:
        """The next roomier clearance hole; None when there is none. Source: clearance hole tables."""
        if not self.may_change or self.hole.purpose is not Purpose.CLEARANCE:
            return None
        for fit in Fit:
            try:
                wider = clearance_hole(self.bolt.size, fit).diameter_mm
            except LookupFault:
                continue
            if wider > (form.shape.width_mm or 0.0) + 1e-6:
                shape = form.shape.with_width(wider)
                return None if shape is None else HoleForm(shape, fit)
        return None

    def longest_slot_mm(self, form: HoleForm) -> float:
        """The longest slot over all, in whole steps; the hole's own length where that is longer already."""
        most = LONGEST_PER_BOLT * fastener(self.bolt.size).diameter_mm
        return max(floor(most / LENGTH_STEP_MM) * LENGTH_STEP_MM, form.shape.length_mm or 0.0)

    def slot(self, form: HoleForm, way: Floats, length_mm: float) -> HoleForm | None:
        """A slot along a direction of the site, in whole degrees; a slot that is there already keeps its direction."""
        if not self.may_change or length_mm <= max(form.shape.width_mm or 0.0, form.shape.length_mm or 0.0) + 1e-6:
            return None
        direction = round(degrees(atan2(float(way @ self.panel_y), float(way @ self.panel_x)))) % 180
        shape = form.shape.slotted(length_mm, float(direction))
        return None if shape is None else replace(form, shape=shape)

    def put(self, holes: HolePlay, form: HoleForm) -> HolePlay:
        """The holes with this one as `form` says."""
        wider = ((form.shape.width_mm or 0.0) - (self.now.shape.width_mm or 0.0)) / 2.0
        before, after = self.now.shape.play(self.own_play_mm), form.shape.play(self.own_play_mm + wider)
        # What a hole takes of its width so that the bolt can slide is none where it is straight.
        taken = (self.own_play_mm + wider - after.across_mm) - (self.own_play_mm - before.across_mm)
        play = holes.play.copy()
        play[self.number] = self.bolt.play_mm + wider - taken
        holes = replace(holes, play=play)
        if after.way is None:
            return holes
        slide = after.along_mm if before.way is None else self.bolt.slot_play_mm + (after.along_mm - before.along_mm)
        return holes.slotted(self.number, slide, after.way.x * self.panel_x + after.way.y * self.panel_y)


def bolted_holes(placed: Placed) -> tuple[BoltedHole, ...]:
    """Every bolt's hole with its panel's directions in the site."""
    found = []
    for number, bolt in enumerate(placed.bolts):
        hole = hole_of(placed, bolt)
        own = own_play_mm(hole, fastener(bolt.size), placed.folded.part.stock)
        panel = placed.folded.frames[bolt.panel].within(placed.frame)
        found.append(BoltedHole(number, bolt, hole, HoleForm(hole.shape), own, np.array(panel.x), np.array(panel.y)))
    return tuple(found)


def as_written(form: HoleForm, now: HoleForm) -> str:
    """The keys that make the change, to be put into the hole's own table of the description."""
    lines = []
    if form.fit is not None:
        lines.append(f'fit = "{form.fit}"')
    if form.shape.keys != now.shape.keys:
        lines.append(form.shape.keys)
    return "\n".join(lines)
