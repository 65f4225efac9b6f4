"""Contours made again: facets as true arcs, circles in pieces as whole ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, hypot, tan

from bracketgen.drawing.to_cut.cut_sheet import Chain, Closure, Round
from bracketgen.writers.cut_file.cut_geometry_lint import crossing_findings
from bracketgen.writers.inspecting.chain_checks import one_circle
from bracketgen.writers.mending.deed import Deed
from bracketgen.writers.readback.circle_fit import arcs_round, stray_mm
from bracketgen.writers.readback.contours import Chains, Contour
from bracketgen.writers.readback.edges import Edge, circle
from bracketgen.writers.readback.facets import FacetRun, facet_runs


@dataclass(frozen=True, slots=True)
class Remade:
    """A contour in its new form, what was done to it and what was left."""

    item: Round | Chain
    done: tuple[Deed, ...] = ()
    left: tuple[Deed, ...] = ()


def remade(contour: Contour, most_mm: float) -> Remade:
    """The contour with runs of facets as arcs where these stray by no more than `most_mm`, and whole circles."""
    edges, runs = facet_runs(contour.edges)
    good = [run for run in runs if run.deviation_mm <= most_mm]
    left = [
        Deed(f"short lines for an arc of radius {run.radius_mm:.4g} mm left: {run.deviation_mm:.4f} mm off it")
        for run in runs
        if run.deviation_mm > most_mm
    ]
    new = _with_arcs(edges, good)
    if good and not _sound(Contour(new, contour.line), contour, good):
        new, good = contour.edges, []
        left.append(Deed("short lines for an arc left: the arc would cross its neighbours"))
    done = [Deed("short lines made into a true arc or circle", 1, run.deviation_mm) for run in good]
    if len(new) > 1 and one_circle(new):
        whole = _whole_circle(new)
        done.append(Deed("circle in pieces made whole", 1, _off(new, whole)))
        new = (whole,)
    return Remade(_item(new), tuple(done), tuple(left))


def _with_arcs(edges: Sequence[Edge], runs: Sequence[FacetRun]) -> tuple[Edge, ...]:
    made: list[Edge] = []
    at = 0
    for run in runs:
        made += edges[at : run.first]
        at = run.first + run.count
        start, end = edges[run.first].start, edges[at - 1].end
        if start == end:
            made.append(circle(run.centre, run.radius_mm))
        else:
            made += arcs_round(run.centre, run.radius_mm, start, end, run.sweep_rad)
    return (*made, *edges[at:])


def _sound(new: Contour, old: Contour, runs: Sequence[FacetRun]) -> bool:
    """Whether the area changed by no more than the lines moved, and the contour still keeps clear of itself."""
    moved = fsum(run.deviation_mm * run.radius_mm * abs(run.sweep_rad) for run in runs)
    if abs(new.area_mm2 - old.area_mm2) > 1.01 * moved + 1e-9:
        return False
    return _crossings(new) <= _crossings(old)


def _crossings(contour: Contour) -> int:
    return sum(1 for _ in crossing_findings(Chains((contour,), (), (), ())))


def _whole_circle(edges: Sequence[Edge]) -> Edge:
    length = fsum(e.length_mm for e in edges)
    x, y, r = (fsum(v * e.length_mm for v, e in zip(values, edges, strict=True)) / length for values in _sizes(edges))
    return circle((x, y), r)


def _sizes(edges: Sequence[Edge]) -> tuple[list[float], list[float], list[float]]:
    return [e.centre[0] for e in edges], [e.centre[1] for e in edges], [e.radius_mm for e in edges]


def _off(edges: Sequence[Edge], whole: Edge) -> float:
    """How far arcs stray from the circle that takes their place: no more than their centres and radii differ."""
    ends = stray_mm([p for e in edges for p in (e.start, e.middle)], whole.centre, whole.radius_mm)
    return max(
        ends,
        *(
            hypot(e.centre[0] - whole.centre[0], e.centre[1] - whole.centre[1]) + abs(e.radius_mm - whole.radius_mm)
            for e in edges
        ),
    )


def _item(edges: Sequence[Edge]) -> Round | Chain:
    if len(edges) == 1 and edges[0].is_circle:
        return Round(*edges[0].centre, edges[0].radius_mm)
    return chain_of(edges, Closure.CLOSED)


def chain_of(edges: Sequence[Edge], closure: Closure) -> Chain:
    """Edges in order as a chain of points and bulges; all arcs are under a half circle."""
    points = [(*e.start, tan(0.25 * e.sweep_rad) if not e.is_line else 0.0) for e in edges]
    if closure is Closure.OPEN:
        points.append((*edges[-1].end, 0.0))
    return Chain(tuple(points), closure)
