"""The sheet of the part in its place: seen from above and folded in space, with neighbours and gaps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.paper.lettering import one_line
from bracketgen.drawing.paper.palette import FAIL, HAIR, INK, WHITE
from bracketgen.drawing.picture.findings_list import small_print
from bracketgen.drawing.picture.header import band, head
from bracketgen.drawing.picture.preview import HEIGHT_MM, WIDTH_MM
from bracketgen.drawing.sheet import Mark, Sheet, Stroke
from bracketgen.drawing.site.bodies import Body, body_of, placed_folded
from bracketgen.drawing.site.gap_words import gap_list
from bracketgen.drawing.site.looking import best_look, from_above
from bracketgen.drawing.site.scene import GapMark, Shown, Verdict, worst_first
from bracketgen.drawing.site.view import Scene, site_picture
from bracketgen.fit.seating.placed import Placed
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.line import Box
from bracketgen.geometry.point import Point

_EDGE_MM: Final = 8.0
_BETWEEN_MM: Final = 5.0
#: Share of the width that the view in space takes.
_WIDE_SHARE: Final = 0.56
_MOST_LIST_MM: Final = 32.0
#: How far the triangles of things may lie from the true surface, mm.
_CHORD_MM: Final = 0.15
_COARSE_MM: Final = 3.0
#: How far walls reach beyond all else, as a share of its size.
_WALL_SHARE: Final = 1.5
_LEAST_WALL_MM: Final = 200.0

_NOTES: Final = (
    "Gaps are between nominal shapes, without what a reading or a bend may be off. Dashed: room that a moving thing "
    "takes, or a thing drawn open because it would hide the part. Look at every gap on the vehicle again before use.",
)


def site_sheet(
    placed: Placed,
    shown: Sequence[Shown],
    gaps: Sequence[GapMark],
    *,
    site_title: str,
    down: Vector = (0.0, 0.0, -1.0),
) -> Sheet:
    """One page that shows the part where it will be bolted, what stands near, and how near.

    `shown` are the things beside the part, in the site's frame; gaps name things or the part. `down` is the way
    things fall, in the site's frame: the view from above looks along it.
    """
    part, up = placed.folded.part, (-down[0], -down[1], -down[2])
    scene = _scene(placed, shown, gaps)
    edge = (_EDGE_MM, _EDGE_MM, WIDTH_MM - _EDGE_MM, HEIGHT_MM - _EDGE_MM)
    line = ("place", f"{one_line(part.name)}  ·  in its place: {one_line(site_title)}")
    marks, y = head(part.title or part.name, line, ("least margin", *_margin_words(scene.gaps)), edge)
    banner, y = _banner(scene.gaps, (edge[0], edge[1], edge[2], y - 1.2))
    split = edge[0] + _WIDE_SHARE * (edge[2] - edge[0])
    low, bottom = _bottom(scene.gaps, part.cautions, edge)
    look = best_look(scene.folded, _bodies(placed, shown, _COARSE_MM), scene.gaps, placed.bolts, up)
    space = site_picture(scene, look, "IN PLACE", (edge[0], low + 3.0, split, y - 1.0))
    plan = site_picture(scene, from_above(up), "PLAN, from above", (split + _BETWEEN_MM, low + 3.0, edge[2], y - 1.0))
    marks += [*banner, *space, *plan, *bottom]
    marks.append(Stroke((Point(edge[0], low + 1.5), Point(edge[2], low + 1.5)), 0.3, HAIR))
    return Sheet(WIDTH_MM, HEIGHT_MM, (_border(), *marks))


def _scene(placed: Placed, shown: Sequence[Shown], gaps: Sequence[GapMark]) -> Scene:
    bodies = _bodies(placed, shown, _CHORD_MM)
    return Scene(placed_folded(placed), bodies, tuple(worst_first(tuple(gaps))), placed.bolts)


def _bodies(placed: Placed, shown: Sequence[Shown], chord_mm: float) -> tuple[Body, ...]:
    """The things' meshes, walls larger than all else."""
    centre = placed.frame.origin
    made = [body_of(s, centre, 1.0, chord_mm) for s in shown]
    ends = [p for b in made if not b.endless for m in b.meshes for p in m.points]
    ends += [placed.frame.point(f.origin) for f in placed.folded.frames.values()]
    reach = _WALL_SHARE * max(_LEAST_WALL_MM, *(math.dist(p, centre) for p in ends))
    return tuple(body_of(b.shown, centre, reach, chord_mm) if b.endless else b for b in made)


def _margin_words(gaps: Sequence[GapMark]) -> tuple[str, str]:
    """The least margin, large, and whose it is."""
    known = [g for g in gaps if g.margin_mm is not None]
    if not known:
        return "no gap known", f"{len(gaps)} asked for"
    least = min(known, key=lambda g: g.margin_mm or 0.0)
    margin = least.margin_mm or 0.0
    words = f"least margin {plain(margin, 1)} mm" if margin >= 0.0 else f"{plain(-margin, 1)} mm too near"
    return words, f"{len(gaps)} gap{'s' * (len(gaps) != 1)} looked at"


def _banner(gaps: Sequence[GapMark], box: Box) -> tuple[list[Mark], float]:
    failed = sum(g.verdict is Verdict.FAIL for g in gaps)
    if not failed:
        return [], box[3]
    what = "a gap is" if failed == 1 else f"{failed} gaps are"
    return band(f"DO NOT FIT: {what} too small or not known, see the list below", FAIL, WHITE, box)


def _bottom(gaps: Sequence[GapMark], cautions: Sequence[str], edge: Box) -> tuple[float, list[Mark]]:
    """The list of gaps and the small print at the foot: the y where they begin, and their marks."""
    small = small_print((*cautions, *_NOTES), edge[2] - edge[0])
    block = gap_list(gaps, edge[2] - edge[0], _MOST_LIST_MM)
    top = edge[1] + small.height_mm + 1.0 + block.height_mm
    return top, block.at(Point(edge[0], top)) + small.at(Point(edge[0], edge[1] + small.height_mm))


def _border() -> Mark:
    x0, y0, x1, y1 = 2.5, 2.5, WIDTH_MM - 2.5, HEIGHT_MM - 2.5
    return Stroke((Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1), Point(x0, y0)), 0.5, INK)
