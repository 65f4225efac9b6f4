"""What the cutting process can't make in this thickness: holes, slots and webs that are too small."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bracketgen.files.inspecting.arcs import short_arcs
from bracketgen.files.inspecting.outlines import Outlines, one_circle
from bracketgen.files.lint import Flaw, LintFinding
from bracketgen.files.readback.contours import DrawnContour, near_pairs
from bracketgen.geometry.contour import Contour
from bracketgen.geometry.contour import Edge as TrueEdge
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.facing import Side, facing_pairs
from bracketgen.geometry.gap import Gap, edge_gap
from bracketgen.geometry.plane import Point, midpoint
from bracketgen.rules.engine import cited
from bracketgen.standards.machines import Process
from bracketgen.tolerances import SAME_POINT_MM

_SLACK_MM = 1e-6


def process_findings(outlines: Outlines, process: Process, thickness_mm: float) -> Iterator[LintFinding]:
    """Every hole, slot and web under the limits of the process table, and a thickness out of its scope."""
    if process.thickness_mm and not process.thickness_mm[0] <= thickness_mm <= process.thickness_mm[1]:
        low, high = process.thickness_mm
        what = f"{thickness_mm:g} mm; {process.tolerance_table} covers {low:g} to {high:g} mm for {process.id}"
        yield LintFinding(Flaw.THICKNESS, what)
    hole, slot, web = (
        least(thickness_mm) for least in (process.minimum_hole_mm, process.minimum_slot_mm, process.minimum_web_mm)
    )
    whose = cited(process.source, process.how)
    contours = outlines.chains.contours
    true = [_true(c) for c in contours]
    for i, contour in enumerate(contours):
        inner = outlines.depth[i] % 2 == 1
        if inner and one_circle(contour.edges):
            yield from _round(contour, hole, f"{process.id} in {thickness_mm:g} mm ({whose})")
        elif len(contour.edges) > 2:
            yield from _facing(true[i], Side.INSIDE if inner else Side.OUTSIDE, (slot, web), whose)
    yield from _between(outlines, true, web, whose)


def _round(contour: DrawnContour, least: float, words: str) -> Iterator[LintFinding]:
    diameter = 2.0 * contour.edges[0].radius_mm
    if diameter < least - _SLACK_MM:
        what = f"a hole of {diameter:.4g} mm, at least {least:g} mm for {words}"
        yield LintFinding(Flaw.SMALL_HOLE, what, contour.edges[0].centre, contour.line)


def _facing(chain: Contour, open_side: Side, limits: tuple[float, float], whose: str) -> Iterator[LintFinding]:
    """Where a contour runs close to itself: over the open side it is a narrow slot, over the metal a thin web."""
    slot, web = limits
    for facing in facing_pairs(chain, max(slot, web)):
        middle = midpoint(facing.gap.here, facing.gap.there)
        over_gap = facing.side is open_side
        flaw, least, word = (Flaw.NARROW_SLOT, slot, "an opening") if over_gap else (Flaw.THIN_WEB, web, "a web")
        if SAME_POINT_MM < facing.gap.mm < least - _SLACK_MM:
            what = f"{word} of {facing.gap.mm:.4g} mm, at least {least:g} mm ({whose})"
            yield LintFinding(flaw, what, (middle.x, middle.y))


def _between(outlines: Outlines, true: Sequence[Contour], web: float, whose: str) -> Iterator[LintFinding]:
    """The least metal between each two cuts of one part."""
    owners = [(i, edge) for i, chain in enumerate(true) for edge in chain.edges]
    least: dict[tuple[int, int], Gap] = {}
    for a, b in near_pairs([edge.bounds() for _, edge in owners], web):
        (i, one), (j, two) = owners[a], owners[b]
        if i == j or outlines.outermost(i) != outlines.outermost(j):
            continue
        gap, pair = edge_gap(one, two), (min(i, j), max(i, j))
        if pair not in least or gap.mm < least[pair].mm:
            least[pair] = gap
    for gap in least.values():
        # Cuts that touch are told as such.
        if SAME_POINT_MM < gap.mm < web - _SLACK_MM:
            middle = midpoint(gap.here, gap.there)
            what = f"{gap.mm:.4g} mm of metal between two cuts, at least {web:g} mm ({whose})"
            yield LintFinding(Flaw.THIN_WEB, what, (middle.x, middle.y))


def _true(contour: DrawnContour) -> Contour:
    """The contour as the model's own edges, counter-clockwise, arcs well under a half circle."""
    edges: list[TrueEdge] = []
    for edge in contour.edges:
        if edge.length_mm <= 1e-6:
            continue
        for part in short_arcs(edge):
            start, end, centre = (Point(*p) for p in (part.start, part.end, part.centre))
            edges.append(Line(start, end) if part.is_line else Arc(start, end, centre, part.radius_mm, part.sweep_rad))
    return Contour(tuple(edges)).anticlockwise()
