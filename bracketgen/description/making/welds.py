"""From weld tables to welds along the true edges of a finished panel."""

from __future__ import annotations

import math
from collections.abc import Sequence

from bracketgen.description.making.cutouts import saddle
from bracketgen.description.making.faults import PlacedFault
from bracketgen.description.making.outline import FirstOutline
from bracketgen.description.model.panels import PanelTable, WeldTable
from bracketgen.description.model.values import ALL_ROUND
from bracketgen.description.text import Path
from bracketgen.geometry.contour import Circle, Contour, Edge
from bracketgen.geometry.edge import Arc, Line
from bracketgen.part.part import Run, Weld, WeldSide

#: An edge this near to the line or round it came from lies on it: far above noise, far below any tool.
_ON_IT_MM = 1e-6


def make_weld(table: WeldTable, number: int, panel: str, path: Path, around: tuple[PanelTable, FirstOutline],
              openings: Sequence[Contour | Circle], body: Contour) -> Weld:  # fmt: skip
    """The weld of one table at `path`. `around` is its panel's table and first outline. Raises PlacedFault."""
    where, runs = _runs(table, path, around, openings, body)
    return Weld(
        f"{panel}/weld-{number}",
        where,
        table.to,
        table.throat if table.throat is not None else (table.leg or 0.0) / math.sqrt(2.0),
        WeldSide[table.sides.upper()],
        _shortened(runs, table.length, where, path),
    )


def _runs(table: WeldTable, path: Path, around: tuple[PanelTable, FirstOutline],
          openings: Sequence[Contour | Circle], body: Contour) -> tuple[str, list[tuple[Edge, ...]]]:  # fmt: skip
    """Along what, in words, and the edges of the finished panel that are left there, end to end."""
    panel, first = around
    if table.edge == ALL_ROUND:
        return "the outline all round", [body.edges]
    if table.edge is not None:
        line = first.edges.get(table.edge)
        if line is None:
            known = ", ".join(map(str, first.edges)) or "none by name: give 'all round' or a saddle"
            raise PlacedFault((*path, "edge"), f"this outline has no edge {table.edge!r}", f"its edges: {known}")
        found = _joined([e for e in body.edges if isinstance(e, Line) and _lies_on(e, line)])
        if not found:
            cure = "weld another edge, or where the bent panel ends"
            raise PlacedFault((*path, "edge"), "nothing is left of this edge: it is bent or cut away", cure)
        return f"edge {table.edge}", found
    number = table.saddle or 0
    if number > len(panel.saddles):
        has = f"it has {len(panel.saddles)}" if panel.saddles else "it has none"
        raise PlacedFault((*path, "saddle"), f"the panel has no saddle {number}", f"{has}; count from 1")
    bite = saddle(panel.saddles[number - 1], "").cut
    assert isinstance(bite, Circle)
    chains = [body, *(o.contour() for o in openings)]
    found = [run for c in chains for run in _joined([e for e in c.edges if isinstance(e, Arc) and _is_of(e, bite)])]
    return f"saddle {number}", found


def _lies_on(edge: Line, line: Line) -> bool:
    """Whether an edge of the finished outline is a piece of the line it began as."""
    way = line.end.minus(line.start).unit()
    return all(
        abs(way.cross(p.minus(line.start))) < _ON_IT_MM and -_ON_IT_MM < line.along(p) < line.length + _ON_IT_MM
        for p in (edge.start, edge.end)
    )


def _is_of(edge: Arc, bite: Circle) -> bool:
    return edge.centre.distance(bite.centre) < _ON_IT_MM and abs(edge.radius - bite.radius) < _ON_IT_MM


def _joined(edges: Sequence[Edge]) -> list[tuple[Edge, ...]]:
    """Edges that go on from each other as one run; the chain's own beginning parts nothing."""
    runs: list[list[Edge]] = []
    for edge in edges:
        if runs and runs[-1][-1].end == edge.start:
            runs[-1].append(edge)
        else:
            runs.append([edge])
    if len(runs) > 1 and runs[-1][-1].end == runs[0][0].start:
        runs[0] = runs.pop() + runs[0]
    return [tuple(run) for run in runs]


def _shortened(runs: Sequence[tuple[Edge, ...]], length_mm: float | None, where: str, path: Path) -> tuple[Run, ...]:
    made = tuple(Run(run, math.fsum(e.length for e in run)) for run in runs)
    if length_mm is None:
        return made
    if len(made) > 1:
        what = f"{where} is cut into {len(made)} pieces: a length of one weld says nothing"
        raise PlacedFault((*path, "length"), what, "leave length out: each piece is welded whole")
    if length_mm > made[0].length_mm + _ON_IT_MM:
        what = f"a weld of {length_mm:g} mm is longer than {where}, which has {made[0].length_mm:.2f} mm"
        raise PlacedFault((*path, "length"), what, "give less, or leave length out for all of it")
    return (Run(made[0].edges, length_mm),)
