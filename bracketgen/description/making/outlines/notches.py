"""Notches and saddles taken out of a panel, and which of them does what it must not."""

from __future__ import annotations

from collections.abc import Sequence

from bracketgen.description.making.bends.seat import Seat, Span, tangent_span
from bracketgen.description.making.collect import PlacedFault
from bracketgen.description.read import Path
from bracketgen.errors import GeometryFault
from bracketgen.geometry.combine import Region, combine
from bracketgen.geometry.contour import Contour

_ON_LINE_MM = 1e-6


def notched(
    body: Contour, notches: Sequence[tuple[Path, Contour]], seats: Sequence[tuple[Seat, Span]], what: str
) -> Region:
    """The panel less its notches, its bends whole. Raises PlacedFault at the first notch that spoils it."""
    regions = combine([body], [chain for _, chain in notches])
    if not _trouble(regions, seats, what):
        return regions[0]
    for n, (path, _) in enumerate(notches, start=1):
        trouble = _trouble(combine([body], [chain for _, chain in notches[:n]]), seats, what)
        if trouble:
            raise PlacedFault(path, *trouble)
    raise AssertionError("all notches together are the last that was tried")


def _trouble(regions: Sequence[Region], seats: Sequence[tuple[Seat, Span]], what: str) -> tuple[str, str] | None:
    if not regions:
        return f"it takes all of {what} away", "make it smaller, or move it"
    if len(regions) > 1:
        x, y = regions[1].outer.edges[0].start
        return f"with it {what} falls into {len(regions)} pieces, one at ({x:.2f}, {y:.2f}) mm", "leave metal between"
    for seat, span in seats:
        if not _whole(seat, span, regions[0].outer):
            return f"it cuts into {seat.bend}", "keep it clear of the tangent line, or bend two narrower panels"
    return None


def _whole(seat: Seat, span: Span, outline: Contour) -> bool:
    try:
        return tangent_span(seat, outline, span).length > span.length - _ON_LINE_MM
    except GeometryFault:
        return False
