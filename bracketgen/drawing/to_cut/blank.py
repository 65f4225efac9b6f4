"""The flat as the cutting machine sees it."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from bracketgen.bending.flat import Flat
from bracketgen.drawing.to_cut.cut_sheet import Chain, Closure, CutSheet, Layer, Round
from bracketgen.geometry.combine import tidy
from bracketgen.geometry.contour import Circle, Contour, Cut
from bracketgen.geometry.edge import Line


class Extra(StrEnum):
    """What the cut file holds beyond the cuts, when the description asks for it."""

    MARKS = "marks"
    BENDS = "bends"


def chain_of(contour: Contour) -> Chain:
    """The contour as a closed chain of points with bulges."""
    edges = tidy(contour).edges
    return Chain(tuple((e.start.x, e.start.y, e.bulge) for e in edges), Closure.CLOSED, Layer.CUT)


def items_of(cuts: Iterable[Cut]) -> tuple[list[Round], list[Chain]]:
    """Circles, which a machine cuts as such, and everything else as closed chains."""
    rounds: list[Round] = []
    chains: list[Chain] = []
    for cut in cuts:
        if isinstance(cut, Circle):
            rounds.append(Round(cut.centre.x, cut.centre.y, cut.radius))
        else:
            chains.append(chain_of(cut))
    return rounds, chains


def cut_sheet(flat: Flat, extras: Iterable[Extra] = ()) -> CutSheet:
    """Outline and holes at nominal size; marks and bend centre lines only on request."""
    rounds, chains = items_of([flat.outline, *flat.cuts()])
    wanted = set(extras)
    if Extra.MARKS in wanted:
        for panel in flat.part.panels:
            chains += [_line(mark.moved(flat.placements[panel.id]), Layer.MARK) for mark in panel.marks]
    if Extra.BENDS in wanted:
        chains += [_line(strip.centre_line, Layer.BEND) for strip in flat.strips]
    return CutSheet(flat.part.name, tuple(rounds), tuple(chains))


def _line(line: Line, layer: Layer) -> Chain:
    (ax, ay), (bx, by) = line.start, line.end
    return Chain(((ax, ay, 0.0), (bx, by, 0.0)), Closure.OPEN, layer)
