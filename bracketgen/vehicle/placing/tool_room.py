"""Room for the tools on the bolts, while there is no bracket yet."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from bracketgen.geometry.space import Frame, Vector, plus
from bracketgen.rules.rule import NO_SOURCE
from bracketgen.standards.fasteners import fastener, fastener_sizes, washer_thickness_mm
from bracketgen.vehicle.access.access import Named
from bracketgen.vehicle.access.end import End, end_frame
from bracketgen.vehicle.access.margin import Spare, most_spare, still_spare
from bracketgen.vehicle.locate.located import Located, LocatedHole
from bracketgen.vehicle.near.gaps.solids import moved
from bracketgen.vehicle.near.site_solids import solids_of
from bracketgen.vehicle.placing.margin import Margin, Reason
from bracketgen.vehicle.seating.mates import carried_holes
from bracketgen.vehicle.site.tables import CarriedTable, SiteDocument

_ALONG: Final = (1.0, 0.0, 0.0)
#: A tool with this much to spare around it and its swing is as good as free; common practice, no source.
FREE_MM: Final = 5.0


@dataclass(frozen=True, slots=True)
class ToolRoom:
    """The heads on the carried thing's holes (in its frame) and on the vehicle's, and what may be in the way."""

    hung: tuple[End, ...]
    old: tuple[End, ...]
    things: tuple[Named, ...]
    neighbours: tuple[Named, ...]
    #: What fitted each bolt last: asked first, since it mostly still does. It changes no answer.
    last: dict[str, Spare] = field(default_factory=dict, compare=False)

    @staticmethod
    def of(site: SiteDocument, carried: CarriedTable, located: Located | None, metal_mm: float) -> ToolRoom:
        """Every head lies on `metal_mm` of bracket and a washer. Raises ShapeFault, LookupFault."""
        hung = [_end(h.id, h.size or "", h.centre, h.normal, metal_mm) for h in carried_holes(carried).values()]
        old = [
            _end(h.id, size, h.centre, h.normal, metal_mm)
            for h in (located.holes if located is not None else ())
            if (size := _size(h)) is not None
        ]
        return ToolRoom(
            tuple(hung),
            tuple(old),
            tuple((f"carried {n}", s) for n, t in carried.things.items() for s in solids_of(t)),
            tuple((n, s) for n, t in site.neighbours.items() for s in solids_of(t)),
        )

    def margins(self, frame: Frame) -> list[Margin]:
        """What the best tool has to spare on every bolt, the carried thing in `frame`; none where one is free."""
        ends, around = self._seen(frame)
        found = [(end, most_spare(end, around, FREE_MM).mm) for end in ends]
        return [
            Margin(end.title, "what stands around", Reason.TOOL, mm, 0.0, NO_SOURCE)
            for end, mm in found
            if mm < FREE_MM
        ]

    def least_mm(self, frame: Frame, enough_mm: float) -> float:
        """The least of them; `enough_mm` when all have that, or are free."""
        least = enough_mm
        ends, around = self._seen(frame)
        known = [(end, self.last[end.hole]) for end in ends if end.hole in self.last]
        if len(known) == len(ends) and still_spare(known, around, min(least, FREE_MM)):
            return least
        for end in ends:
            enough = min(least, FREE_MM)
            self.last[end.hole] = spare = most_spare(end, around, enough)
            if spare.mm < enough:
                least = spare.mm
        return least

    def _seen(self, frame: Frame) -> tuple[list[End], list[Named]]:
        """All heads and all obstacles with the carried thing in `frame`."""
        around: list[Named] = [*self.neighbours, *((n, moved(s, frame)) for n, s in self.things)]
        return [*(_in_site(e, frame) for e in self.hung), *self.old], around


def _in_site(end: End, frame: Frame) -> End:
    return End(end.hole, end.what, end.frame.within(frame), end.across_flats_mm, end.height_mm, end.tip_mm)


def _end(hole: str, word: str, centre: Vector, normal: Vector, metal_mm: float) -> End:
    size = fastener(word)
    on = plus(centre, normal, metal_mm + washer_thickness_mm(size.size))
    return End(hole, "head", end_frame(on, normal, _ALONG), size.head_across_flats_mm, size.head_height_mm, 0.0)


def _size(hole: LocatedHole) -> str | None:
    """The bolt of an old hole: of its thread, else the largest metric one that goes in."""
    if hole.thread is not None:
        return hole.thread
    fits = [s for s in fastener_sizes() if s.startswith("M") and fastener(s).diameter_mm < (hole.diameter_mm or 0.0)]
    return max(fits, key=lambda s: fastener(s).diameter_mm, default=None)
