"""The sheet of the part in its place, with neighbours and gaps, seen from above and in space; and its model."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks.lettering import one_line
from bracketgen.drawing.picture.head_and_foot import INNER, band, foot, framed, head
from bracketgen.drawing.sheet import DESCRIBED_FACE, FAIL, WHITE, Sheet
from bracketgen.drawing.site.scene import Body, GapMark, Relation, Severity, Thing, body_of, gap_list, worst_first
from bracketgen.drawing.site.view import COARSE_MM, Assembly, best_look, from_above, site_picture
from bracketgen.drawing.solid.mesh import Finish, Mesh
from bracketgen.drawing.solid.skin import skin_of
from bracketgen.drawing.solid.solid_mesh import part_meshes, solid_mesh
from bracketgen.findings import Level
from bracketgen.geometry.space import Vector, scaled, unit
from bracketgen.part.mark import mark_words
from bracketgen.units import plain
from bracketgen.vehicle.in_place import InPlace
from bracketgen.vehicle.near.clearance import PairCheck, pair_findings
from bracketgen.vehicle.near.scene import Role
from bracketgen.vehicle.seating.bolts import Placed

#: How far the model's triangles may lie from the true surface, mm.
CHORD_MM: Final = 0.1
_BETWEEN_MM: Final = 5.0
#: Share of the width that the view in space takes.
_WIDE_SHARE: Final = 0.56
_MOST_LIST_MM: Final = 32.0
#: How far the triangles of things may lie from the true surface, mm.
_CHORD_MM: Final = 0.15
#: The same where only the eye's place is looked for.
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
    shown: Sequence[Thing],
    gaps: Sequence[GapMark],
    *,
    site_title: str,
    site_mark: str = "",
    down: Vector = (0.0, 0.0, -1.0),
) -> Sheet:
    """One page that shows the part where it will be bolted, what stands near, and how near.

    `shown` are the things beside the part, in the site's frame; gaps name things or the part. `down` is the way
    things fall, in the site's frame: the view from above looks along it.
    """
    part, up = placed.folded.part, (-down[0], -down[1], -down[2])
    # The folded part with all its frames given in the site.
    folded = Folded(part, {name: f.within(placed.frame) for name, f in placed.folded.frames.items()})
    bodies = _bodies(placed, shown, _CHORD_MM)
    worst = tuple(worst_first(tuple(gaps)))
    scene = Assembly(skin_of(folded), part.stock.thickness_mm, bodies, worst, placed.bolts)
    marked = mark_words(part.mark, ("site", site_mark))
    said = (one_line(part.name), f"in its place: {one_line(site_title)}", marked)
    line = ("place", "  ·  ".join(w for w in said if w))
    marks, y = head(part.title or part.name, line, ("least margin", *_margin_words(worst)), INNER)
    failed = sum(g.severity is Severity.FAIL for g in worst)
    what = "a gap is" if failed == 1 else f"{failed} gaps are"
    warning = f"DO NOT FIT: {what} too small or not known, see the list below" if failed else ""
    banner, y = band(warning, FAIL, WHITE, (*INNER[:3], y - 1.2))
    listed = gap_list(worst, INNER[2] - INNER[0], _MOST_LIST_MM)
    below, low = foot(listed, _NOTES, INNER, part.cautions)
    coarse = _bodies(placed, shown, _COARSE_MM)
    look = best_look(scene.part_facets(COARSE_MM), coarse, worst, placed.bolts, up)
    split = INNER[0] + _WIDE_SHARE * (INNER[2] - INNER[0])
    space = site_picture(scene, look, "IN PLACE", (INNER[0], low, split, y - 1.0))
    plan = site_picture(scene, from_above(up), "PLAN, from above", (split + _BETWEEN_MM, low, INNER[2], y - 1.0))
    return framed((*marks, *banner, *space, *plan, *below))


def _bodies(placed: Placed, shown: Sequence[Thing], chord_mm: float) -> tuple[Body, ...]:
    """The things' meshes, walls larger than all else."""
    centre = placed.frame.origin
    made = [body_of(s, centre, 1.0, chord_mm) for s in shown]
    ends = [p for b in made if not b.endless for m in b.meshes for p in m.points]
    ends += [placed.frame.point(f.origin) for f in placed.folded.frames.values()]
    reach = _WALL_SHARE * max(_LEAST_WALL_MM, *(math.dist(p, centre) for p in ends))
    return tuple(body_of(b.thing, centre, reach, chord_mm) if b.endless else b for b in made)


def _margin_words(gaps: Sequence[GapMark]) -> tuple[str, str]:
    """The least margin, large, and whose it is."""
    known = [g for g in gaps if g.margin_mm is not None]
    if not known:
        return "no gap known", f"{len(gaps)} asked for"
    least = min(known, key=lambda g: g.margin_mm or 0.0)
    margin = least.margin_mm or 0.0
    words = f"least margin {plain(margin, 1)} mm" if margin >= 0.0 else f"{plain(-margin, 1)} mm too near"
    return words, f"{len(gaps)} gap{'s' * (len(gaps) != 1)} looked at"


# -- from the part in its place to its sheet and its model


def site_page(place: InPlace) -> Sheet:
    """The sheet of the part in its place."""
    return site_sheet(
        place.placed,
        things_of(place),
        [gap_mark(pair) for pair in place.pairs],
        site_title=place.site.document.title,
        site_mark=place.mark,
        down=unit(place.site.document.down),
    )


def site_meshes(place: InPlace) -> list[Mesh]:
    """The part, its bolts and everything near as meshes in the site's frame; rooms of moving things as ghosts."""
    meshes = part_meshes(place.placed.folded, place.placed.frame, DESCRIBED_FACE, chord_mm=CHORD_MM)
    for thing in things_of(place):
        finish = Finish.GHOST if thing.relation is Relation.ENVELOPE else Finish.SOLID
        for n, solid in enumerate(thing.solids, 1):
            name = thing.name if len(thing.solids) == 1 else f"{thing.name} {n}"
            meshes.append(solid_mesh(solid, name, thing.colour, chord_mm=CHORD_MM, finish=finish))
    return meshes


def site_up(place: InPlace) -> Vector:
    """Upward at the site."""
    return scaled(unit(place.site.document.down), -1.0)


def things_of(place: InPlace) -> list[Thing]:
    """Neighbours, what is carried, bolts, and pipes where they stand hot."""
    shown: list[Thing] = []
    for thing in place.scene.things:
        relation = Relation.CARRIED if thing.role is Role.CARRIED else Relation.NEIGHBOUR
        shown.append(Thing(thing.title, thing.kind.matter, thing.solids, relation))
    for bolt in place.scene.bolts:
        solids = tuple(solid for _, solid in bolt.all)
        shown.append(Thing(f"{bolt.bolt.size} at {bolt.bolt.part_hole}", "metal", solids, Relation.BOLT))
    for thing in place.scene.things:
        if thing.growth is not None:
            hot = tuple(thing.states[-1][1])
            shown.append(Thing(f"{thing.title}, hot", thing.kind.matter, hot, Relation.ENVELOPE))
    return shown


def gap_mark(pair: PairCheck) -> GapMark:
    """One pair as the sheet shows it: what is asked is the larger of gap and heat."""
    asked = [n.mm for n in (pair.needed, pair.heat) if n is not None and n.mm is not None]
    failed = any(f.level is Level.FAIL for f in pair_findings(pair))
    required = max(asked) if asked and pair.needed.mm is not None else None
    return GapMark(pair.a, pair.b, pair.least.gap, required, Severity.FAIL if failed else Severity.CLEAR)
