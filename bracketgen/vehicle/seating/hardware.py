"""Bolts, washers and nuts as solids."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.geometry.space import dot, minus, plus
from bracketgen.part.hole import IsolatorKind, Purpose
from bracketgen.standards.fasteners import Fastener, fastener, washer_thickness_mm
from bracketgen.vehicle.near.gaps.solids import Drum
from bracketgen.vehicle.seating.mates import CARRIED, Bolted, Placed
from bracketgen.vehicle.site import SiteDocument

#: How many pitches of thread look out of a nut; common practice, no source.
TIP_PITCHES: Final = 2.0
#: How deep a bolt goes into a thread of the vehicle or the carried thing, in diameters; common practice, no source.
DEPTH_DIAMETERS: Final = 1.5


@dataclass(frozen=True, slots=True)
class BoltSolids:
    """One bolt's solids: what stands on the part's free side, and what stands behind the mating face."""

    bolt: Bolted
    over: tuple[tuple[str, Drum], ...]
    behind: tuple[tuple[str, Drum], ...]

    @property
    def all(self) -> tuple[tuple[str, Drum], ...]:
        """All of them, by name."""
        return (*self.over, *self.behind)


def hardware(placed: Placed, site: SiteDocument) -> tuple[BoltSolids, ...]:
    """Every bolt's head, washers, nut, shank and tip; hexagons as the round of their corners.

    The head lies on the part's free side, the nut behind the mating face; where the part holds the thread it is
    the other way round. Behind a face whose thickness is not given the metal counts as thick as the part.
    """
    return tuple(_bolt(placed, site, b) for b in placed.bolts)


def _bolt(placed: Placed, site: SiteDocument, bolt: Bolted) -> BoltSolids:
    size = fastener(bolt.size)
    hole = next(h for h in placed.folded.part.panel(bolt.panel).holes if h.id == bolt.part_hole)
    thickness = placed.folded.part.stock.thickness_mm
    up = thickness + lift_mm(bolt)
    if hole.isolator is not None and hole.isolator.kind is IsolatorKind.BUSH:
        # The head lies on the bush (or its sleeve), which stands out of the part.
        up = max(up, up - thickness + hole.isolator.grip_mm(thickness) - hole.isolator.stand_mm(thickness))
    stack = _Stack(bolt, up, _behind_mm(placed, site, bolt))
    if hole.purpose in (Purpose.TAPPED, Purpose.RIVET_NUT):
        over = stack.tip_over(size, hole.shape.width_mm or 0.0, hole.purpose)
        return BoltSolids(bolt, over, stack.head_behind(size))
    threaded = bolt.mate.startswith(CARRIED) or _is_threaded(site, bolt.mate)
    return BoltSolids(bolt, stack.head_over(size), stack.thread(size) if threaded else stack.nut(size))


def lift_mm(bolt: Bolted) -> float:
    """Washers between face and part, or a step: how far the part stands off its mating hole's face."""
    return max(0.0, bolt.shim_mm + dot(minus(bolt.at, bolt.wanted), bolt.axis))


def _is_threaded(site: SiteDocument, mate: str) -> bool:
    face, _, hole = mate.partition(".")
    return site.faces[face].holes[hole].thread is not None


def _behind_mm(placed: Placed, site: SiteDocument, bolt: Bolted) -> float:
    if bolt.mate.startswith(CARRIED):
        return 0.0
    given = site.faces[bolt.mate.partition(".")[0]].thickness
    return placed.folded.part.stock.thickness_mm if given is None else given


@dataclass(frozen=True, slots=True)
class _Stack:
    """Solids along the bolt's axis, from the mating face: up through the part (`up_mm`), down through `down_mm`."""

    bolt: Bolted
    up_mm: float
    down_mm: float

    def drum(self, low: float, high: float, radius: float) -> Drum:
        foot, axis = plus(self.bolt.wanted, self.bolt.axis, -self.bolt.shim_mm), self.bolt.axis
        return Drum(plus(foot, axis, low), plus(foot, axis, high), radius)

    def head_over(self, size: Fastener) -> tuple[tuple[str, Drum], ...]:
        washer, on = washer_thickness_mm(size.size), self.up_mm
        head = size.head_height_mm
        return (
            ("washer", self.drum(on, on + washer, _washer_radius(size))),
            ("head", self.drum(on + washer, on + washer + head, size.head_across_corners_mm / 2)),
        )

    def nut(self, size: Fastener) -> tuple[tuple[str, Drum], ...]:
        washer, down = washer_thickness_mm(size.size), -self.down_mm
        low = down - washer - size.nut_height_mm
        return (
            ("washer behind", self.drum(down - washer, down, _washer_radius(size))),
            ("nut", self.drum(low, down - washer, _nut_radius(size))),
            ("tip", self.drum(low - TIP_PITCHES * size.pitch_mm, low, size.diameter_mm / 2)),
        )

    def thread(self, size: Fastener) -> tuple[tuple[str, Drum], ...]:
        return (("thread", self.drum(-DEPTH_DIAMETERS * size.diameter_mm, 0.0, size.diameter_mm / 2)),)

    def tip_over(self, size: Fastener, hole_mm: float, purpose: Purpose) -> tuple[tuple[str, Drum], ...]:
        tip = TIP_PITCHES * size.pitch_mm
        if purpose is Purpose.TAPPED:
            return (("tip", self.drum(self.up_mm, self.up_mm + tip, size.diameter_mm / 2)),)
        body = DEPTH_DIAMETERS * size.diameter_mm
        return (("rivet nut", self.drum(self.up_mm, self.up_mm + body, max(hole_mm, size.diameter_mm) / 2)),)

    def head_behind(self, size: Fastener) -> tuple[tuple[str, Drum], ...]:
        washer, down = washer_thickness_mm(size.size), -self.down_mm
        low = down - washer
        return (
            ("washer behind", self.drum(low, down, _washer_radius(size))),
            ("head behind", self.drum(low - size.head_height_mm, low, size.head_across_corners_mm / 2)),
        )


def _washer_radius(size: Fastener) -> float:
    return (size.washer_od_mm or size.head_across_corners_mm) / 2


def _nut_radius(size: Fastener) -> float:
    # Across corners of a regular hexagon: across flats times 2 / sqrt 3.
    return size.nut_across_flats_mm / 3**0.5
