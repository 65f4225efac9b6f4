"""One view of the part in its place: what is seen, what moves, the gaps with their arrows, and the names."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from bracketgen.drawing.columns import set_lines
from bracketgen.drawing.marks.callouts import Callout, Leader, Target, ink_marks, place_callout
from bracketgen.drawing.marks.dimensions import axis_arrows, bar_length_mm, scale_bar
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.lettering import LEADING, Weight, one_line, shortened, wrapped
from bracketgen.drawing.picture.head_and_foot import VIEW_TITLE_MM, view_title
from bracketgen.drawing.sheet import (
    FAINT,
    INK,
    PAPER,
    Colour,
    Fill,
    Label,
    Mark,
    Stroke,
    arrow_head,
    belt,
    border,
    closed,
    corners_of,
    cropped,
    disc_points,
    mixed,
    padded,
)
from bracketgen.drawing.site.scene import (
    SEVERITY_COLOUR,
    SEVERITY_LINE,
    Body,
    GapMark,
    Relation,
    Severity,
    marked,
    short_words,
)
from bracketgen.drawing.solid.facets import Facet, clipped, skin_facets
from bracketgen.drawing.solid.skin import Skin
from bracketgen.drawing.solid.solid_mesh import frame_along, solid_mesh
from bracketgen.drawing.solid.visible import Projection, Viewpoint, Window, painted
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point, midpoint
from bracketgen.geometry.space import Vector, cross, dot, plus, unit
from bracketgen.vehicle.seating.bolts import CARRIED, Bolted

PART: Final = "part"
#: Chord error of the part when only what hides it is looked for, mm.
COARSE_MM: Final = 1.0
_FOOT_MM: Final = 15.0
#: The site's axes are drawn this much smaller than those of a flat.
_AXIS: Final = 0.7
_MOST_SCALE: Final = 3.0
#: The part, what it carries and the gaps take this share of a view's width and height; the rest shows neighbours.
_CORE_SHARE: Final = 0.78
_TEXT_MM: Final = 3.2
_SMALL_MM: Final = 2.9
_LONGEST_NAME_MM: Final = 60.0
_HALO_MM: Final = 0.9
#: A gap that looks shorter than this on the paper gets a ring instead of an arrow.
_SHORT_MM: Final = 2.2
_GHOST_DASH: Final = (1.6, 1.1)
_MOST_PLACES: Final = 10
#: So many places of one surface are thought of.
_A_SURFACE: Final = 4
#: From a place to the lower left corner of what must be free for it to be pointed at.
_LOW: Final = Point(-1.0, -1.0)
#: What must be in the picture whole.
_CORE: Final = (Relation.CARRIED, Relation.BOLT)
_NEAR_MM: Final = 0.1
#: A bolt is named where its axis looks to the eye by this much at least (its cosine).
_LEAST_TURNED: Final = 0.25


#: A convex outline on the paper, anticlockwise.
Ring = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Assembly:
    """All that is to be seen, in the site's frame; gaps stand worst first."""

    skin: Skin
    thickness_mm: float
    bodies: tuple[Body, ...]
    gaps: tuple[GapMark, ...]
    bolts: tuple[Bolted, ...]

    def part_facets(self, chord_mm: float) -> list[Facet]:
        """The part's own surfaces."""
        return [replace(f, shows=PART) for f in skin_facets(self.skin, chord_mm)]


def site_picture(scene: Assembly, view: Viewpoint, title: str, box: Box) -> list[Mark]:
    """The view inside `box`."""
    head = view_title(title, box, "view")
    coarse = scene.part_facets(COARSE_MM)
    core = [r for f in coarse for r in f.rings]
    core += [np.array(m.points) for b in scene.bodies if b.thing.relation in _CORE for m in b.meshes]
    core += [np.array((g.gap.here, g.gap.there)) for _, g in marked(scene.gaps)]
    area = (box[0], box[1] + _FOOT_MM, box[2], box[3] - VIEW_TITLE_MM)
    window = Window.around(np.concatenate(core), view, area, _MOST_SCALE, _CORE_SHARE)
    away = hiding(coarse, scene.bodies, view)
    solid = [b for b in scene.bodies if b.thing.relation is not Relation.ENVELOPE and b.thing.name not in away]
    # A wall that would hide the part has no outline of its own to hint at.
    hinted = [b for b in scene.bodies if b not in solid and not b.endless]
    facets = [*scene.part_facets(0.06 / window.scale), *(f for b in solid for f in b.facets)]
    seen = Projection(clipped(Projection(facets, view).facets, window.planes()), view)
    rings = {b.thing.name: _rings(b, window) for b in hinted}
    marks: list[Mark] = []
    for body in hinted:
        if body.thing.relation is Relation.ENVELOPE:
            # The room that a moving thing takes, in a colour just off the paper's; a hint gets none.
            tint = mixed(PAPER, body.thing.colour, 0.35)
            marks += [Fill((r,), tint, body.thing.name) for r in rings[body.thing.name]]
    surfaces = painted(seen.facets, window)
    outlines: dict[str, list[Stroke]] = {}
    for body in hinted:
        name, ink = body.thing.name, _ghost_ink(body.thing.colour)
        dashes = outer_dashes(rings[name], area, *_GHOST_DASH)
        outlines[name] = [Stroke(ends, 0.35, ink, shows=name) for ends in dashes]
    marks += [*surfaces, *(m for drawn in outlines.values() for m in drawn)]
    words, missing = _words(scene, seen, surfaces, outlines, window)
    return [head, *marks, border(area, 0.2, FAINT), *_foot(window, missing), *words]


def _rings(body: Body, window: Window) -> list[Ring]:
    """The outlines of the thing's solids, one by one: together they may be bent, each of them is not."""
    name, colour = body.thing.name, body.thing.colour
    meshes = [solid_mesh(s, name, colour, chord_mm=0.1 / window.scale) for s in body.thing.solids]
    made = [cropped(belt([window.point(p) for p in m.points]), window.area) for m in meshes]
    return [r for r in made if len(r) > 2]


def _ghost_ink(colour: Colour) -> Colour:
    return mixed(colour, INK, 0.55)


def _foot(window: Window, missing: Sequence[str]) -> list[Mark]:
    """The site's axes as they lie in the view, a scale bar where lengths are true, and what is out of the view."""
    x0, y0 = window.area[0], window.area[1]
    ways = (("x", (1.0, 0.0, 0.0)), ("y", (0.0, 1.0, 0.0)), ("z", (0.0, 0.0, 1.0)))
    axes = [(name, window.view.flat(v)) for name, v in ways]
    drawn = [(n, d.scaled(_AXIS)) for n, d in axes if d.length() > 0.25]
    # Letters reach 4 mm beyond the tips.
    ends = [d.scaled(8.0).plus(d.unit(), 4.0) for _, d in drawn]
    low, left = min(0.0, *(p.y for p in ends)), min(0.0, *(p.x for p in ends))
    marks = axis_arrows(drawn, Point(x0 + 1.5 - left, y0 - _FOOT_MM + 0.5 - low))
    x = x0 + 26.0
    if all(d.length() < 0.02 or d.length() > 0.98 for _, d in axes):
        marks += scale_bar(window.scale, Point(x, y0 - 5.5))
        x += bar_length_mm(window.scale) * window.scale + 6.0
    return marks + _outside(missing, (x, y0 - _FOOT_MM, window.area[2], y0))


def _outside(missing: Sequence[str], box: Box) -> list[Mark]:
    """The things that the view has no part of, as many as there is room for, the others counted."""
    for count in range(len(missing), 0, -1):
        rest = f" and {len(missing) - count} more" if count < len(missing) else ""
        lines = wrapped(f"not in this view: {', '.join(missing[:count])}{rest}", box[2] - box[0], _SMALL_MM)
        if len(lines) * _SMALL_MM * LEADING <= box[3] - box[1] - 1.0:
            first = Point(box[0], box[3] - 1.0 - _SMALL_MM)
            return list(set_lines(lines, first, _SMALL_MM, FAINT, shows="outside"))
    return []


# -- arrows and words


def _words(
    scene: Assembly, seen: Projection, surfaces: Sequence[Mark], outlines: dict[str, list[Stroke]], window: Window
) -> tuple[list[Mark], list[str]]:
    room = FreeRoom(padded(window.area, -0.6))
    # Words may cover the lines of what stands near, but hardly those of the part and of what it carries.
    dear = {PART, *(b.thing.name for b in scene.bodies if b.thing.relation is Relation.CARRIED)}
    ink_marks(room, (m for m in surfaces if m.shows in dear))
    marks: list[Mark] = []
    gaps = marked(scene.gaps)
    for number, mark in gaps:
        marks += _arrow(room, window, number, mark)
    for number, mark in gaps:
        target = Target(midpoint(window.point(mark.gap.here), window.point(mark.gap.there)), 1.6)
        for text in (short_words(number, mark), str(number)):
            words = Callout(text, (target,), _TEXT_MM, f"gap {number}", SEVERITY_COLOUR[mark.severity], away_mm=4.0)
            if placed := place_callout(room, words):
                marks += _on_paper(placed)
                break
    names, missing = _names(scene, seen, outlines, window)
    for callout in names:
        # Without the targets that words already cover, if that leaves any.
        free = tuple(t for t in callout.targets if room.free((*t.centre.plus(_LOW), t.centre.x, t.centre.y + 1.0)))
        marks += _on_paper(place_callout(room, replace(callout, targets=free or callout.targets)))
    return marks, missing


def _on_paper(marks: list[Mark] | None) -> list[Mark]:
    """A label with a patch of paper below it, so that it can be read over a surface."""
    if not marks:
        return []
    label = next(m for m in marks if isinstance(m, Label))
    patch = corners_of(padded(label.box, 0.5))
    return [*(m for m in marks if m is not label), Fill((patch,), PAPER, label.shows), label]


def _arrow(room: FreeRoom, window: Window, number: int, mark: GapMark) -> list[Mark]:
    """A line from one thing to the other with a head at each end, bright-edged so that it is seen on any ground."""
    a, b = window.point(mark.gap.here), window.point(mark.gap.there)
    colour, shows = SEVERITY_COLOUR[mark.severity], f"gap {number}"
    width, dash = SEVERITY_LINE[mark.severity]
    if a.distance(b) < _SHORT_MM:
        centre = midpoint(a, b)
        ring = closed(disc_points(centre, 1.6))
        room.take(padded((*centre, *centre), 2.2))
        return [Stroke(ring, width + _HALO_MM, PAPER), Stroke(ring, width, colour, shows=shows)]
    room.take_line((a, b))
    way = b.minus(a).unit()
    reach = min(2.6, a.distance(b) * 0.42)
    heads = [arrow_head(b, way, reach), arrow_head(a, way.scaled(-1.0), reach)]
    return [
        Stroke((a, b), width + _HALO_MM, PAPER),
        *(Stroke(closed(h), _HALO_MM, PAPER) for h in heads),
        Stroke((a.plus(way, reach * 0.8), b.plus(way, -reach * 0.8)), width, colour, dash, shows),
        *(Fill((h,), colour, shows) for h in heads),
    ]


def _names(
    scene: Assembly, seen: Projection, outlines: dict[str, list[Stroke]], window: Window
) -> tuple[list[Callout], list[str]]:
    """What is to be named, the part first, each with places where it is in sight; and what is nowhere in the view."""
    places = _places(seen, window)
    callouts = [_name("the part", places.get(PART, []), PART, INK, Weight.BOLD)]
    callouts += _bolt_names(scene, seen, window)
    missing: list[str] = []
    for shown in sorted((b.thing for b in scene.bodies), key=lambda t: t.relation is not Relation.CARRIED):
        hinted = [dash.points[0] for dash in outlines.get(shown.name, [])]
        found = places.get(shown.name) or hinted[:: max(1, len(hinted) // _MOST_PLACES)]
        if not found and not any(f.shows == shown.name for f in seen.facets):
            missing.append(shown.name)
        elif found and shown.relation is not Relation.BOLT:
            words = shown.label + (", cut away" if hinted and shown.relation is not Relation.ENVELOPE else "")
            callouts.append(_name(words, found, shown.name, _ghost_ink(shown.colour), Weight.PLAIN))
    return [c for c in callouts if c.targets], missing


def _name(text: str, places: Sequence[Point], shows: str, colour: Colour, weight: Weight) -> Callout:
    targets = tuple(Target(p) for p in places)
    text = shortened(one_line(text), _LONGEST_NAME_MM, _SMALL_MM, weight)
    return Callout(text, targets, _SMALL_MM, shows, colour, weight, Leader.ALWAYS, away_mm=3.0)


def _places(seen: Projection, window: Window) -> dict[str, list[Point]]:
    """Points of every thing that nothing hides, its largest surfaces first."""
    places, facet, areas = seen.places()
    free = ~seen.hide(places)
    whole = np.bincount(facet, areas, len(seen.facets))
    made: dict[str, list[Point]] = {}
    for i in np.argsort(-whole, kind="stable").tolist():
        found = made.setdefault(seen.facets[i].shows, [])
        own = np.flatnonzero((facet == i) & free)[: _MOST_PLACES * _MOST_PLACES]
        if len(found) < _MOST_PLACES and len(own):
            xy = places[own[:: max(1, len(own) // _A_SURFACE)], :2] * window.scale + window.shift
            found += [Point(x, y) for x, y in xy.tolist()]
    return {name: points for name, points in made.items() if points}


def _bolt_names(scene: Assembly, seen: Projection, window: Window) -> list[Callout]:
    """Where each bolt in sight goes, such as 'M10 in rail.A'."""
    heads = {b.thing.name for b in scene.bodies if b.thing.relation is Relation.BOLT}
    before = Projection([f for f in seen.facets if f.shows not in heads], window.view)
    turned = [b for b in scene.bolts if dot(b.axis, window.view.toward) > _LEAST_TURNED]
    tops = [plus(b.at, b.axis, scene.thickness_mm + _NEAR_MM) for b in turned]
    hidden = before.hide(window.view.seen(tops)).tolist()
    places = [window.point(p) for p in tops]
    return [
        _name(f"{b.size} in {b.mate}", [p], f"bolt {b.mate}", FAINT, Weight.PLAIN)
        for b, p, h in zip(turned, places, hidden, strict=True)
        if not h and inside(corners_of(window.area), p, 1.0)
    ]


# -- the outline of convex solids on the paper, for things that are only hinted at


def inside(ring: Ring, p: Point, by_mm: float) -> bool:
    """Whether a point lies in a convex ring, at least `by_mm` from its edge."""
    return len(ring) > 2 and all(
        b.minus(a).cross(p.minus(a)) > by_mm * a.distance(b) for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
    )


def outer_dashes(rings: Sequence[Ring], box: Box, dash_mm: float, gap_mm: float) -> Iterator[tuple[Point, Point]]:
    """Dashes along the common outline of convex rings that overlap, within the box and off its edge."""
    seen = [cropped(r, box) for r in rings]
    for i, ring in enumerate(seen):
        others = [r for k, r in enumerate(seen) if k != i]
        for a, b in _dashes(ring, dash_mm, gap_mm):
            m = midpoint(a, b)
            rim = min(m.x - box[0], box[2] - m.x, m.y - box[1], box[3] - m.y) < 0.05
            if not rim and not any(inside(r, m, 0.05) for r in others):
                yield a, b


def _dashes(ring: Ring, dash_mm: float, gap_mm: float) -> Iterator[tuple[Point, Point]]:
    """Short straight pieces that together are dashes running round the ring, bent at its corners."""
    step = dash_mm + gap_mm
    gone = 0.0
    for a, b in zip(ring, (*ring[1:], *ring[:1]), strict=True):
        length, way = a.distance(b), b.minus(a)
        for n in range(math.floor(gone / step), math.floor((gone + length) / step) + 1):
            start, end = max(n * step - gone, 0.0), min(n * step + dash_mm - gone, length)
            if end > start:
                yield a.plus(way, start / length), a.plus(way, end / length)
        gone += length


# -- from where the part in its place is seen: from above, and from where most of it and of its gaps is in sight


_RISES_DEG: Final = (30.0, 50.0)
_ROUNDS_DEG: Final = tuple(30.0 * i + 15.0 for i in range(12))
#: A neighbour that hides more than this share of the part, or of what it carries, is only hinted at.
_TOO_MUCH: Final = 0.25
_TOO_MUCH_CARRIED: Final = 0.5
#: What seeing a gap's arrow at its full length is worth, against seeing all of the part.
_GAP_WORTH: Final = 0.5
_FAIL_COUNTS: Final = 4.0
#: What a view counts for each thing that has to be drawn open in it.
_OPEN: Final = 0.6
#: What a view from behind the vehicle's faces counts.
_BEHIND: Final = 0.2


def from_above(up: Vector) -> Viewpoint:
    """Looking down, with the site's x to the right where it lies level, else its y."""
    toward = unit(up)
    level = (1.0, 0.0, 0.0) if abs(toward[0]) < 0.9 else (0.0, 1.0, 0.0)
    right = unit(plus(level, toward, -dot(level, toward)))
    return Viewpoint(right, cross(toward, right), toward)


def best_look(
    part: Sequence[Facet], bodies: Sequence[Body], gaps: Sequence[GapMark], bolts: Sequence[Bolted], up: Vector
) -> Viewpoint:
    """Of two dozen places above and around, the one that shows most of the part and of the gaps.

    Places behind the faces that the part is bolted to are taken only when nothing else shows anything: there the
    vehicle is in the way.
    """
    turned = frame_along((0.0, 0.0, 0.0), up).direction
    eyes = (Viewpoint.at(a, e) for e in _RISES_DEG for a in _ROUNDS_DEG)
    views = [Viewpoint(turned(v.right), turned(v.up), turned(v.toward)) for v in eyes]
    shown = [_in_sight(part, bodies, v) for v in views]
    most = max(shown) or 1.0
    # Out of the faces of the vehicle that the part lies on, taken together.
    own = [b.axis for b in bolts if not b.mate.startswith(CARRIED)]
    out = (sum(a[0] for a in own), sum(a[1] for a in own), sum(a[2] for a in own))
    marks = [
        (s / most + _GAP_WORTH * _gaps_in_sight(gaps, v)) * (_BEHIND if dot(out, v.toward) < 0.0 else 1.0)
        for s, v in zip(shown, views, strict=True)
    ]
    return views[marks.index(max(marks))]


def hiding(part: Sequence[Facet], bodies: Sequence[Body], view: Viewpoint) -> set[str]:
    """The neighbours that stand before too much of the part, or of what it carries."""
    carried = [(b.facets, _TOO_MUCH_CARRIED) for b in bodies if b.thing.relation is Relation.CARRIED]
    wanted = [(Projection(f, view).places(), most) for f, most in ((part, _TOO_MUCH), *carried)]
    found: set[str] = set()
    for body in (b for b in bodies if b.thing.relation is Relation.NEIGHBOUR):
        before = Projection(body.facets, view)
        if any(areas[before.hide(places)].sum() > most * areas.sum() for (places, _, areas), most in wanted):
            found.add(body.thing.name)
    return found


def _in_sight(part: Sequence[Facet], bodies: Sequence[Body], view: Viewpoint) -> float:
    """The area of the part that is seen, mm2 as it falls on the paper."""
    # What hides too much is only hinted at, so that it hides nothing.
    away = hiding(part, bodies, view)
    others = [f for b in bodies if b.thing.name not in away for f in b.facets]
    places, _, areas = Projection(part, view).places()
    hidden = Projection([*part, *others], view).hide(places)
    return float(areas[~hidden].sum()) * _OPEN ** len(away)


def _gaps_in_sight(gaps: Sequence[GapMark], view: Viewpoint) -> float:
    """How long the gaps' arrows look, as a share of their true length; the mean, failing gaps counting more."""
    total = weight = 0.0
    for g in gaps:
        length = math.dist(g.gap.here, g.gap.there)
        if length > 0.0:
            counts = _FAIL_COUNTS if g.severity is Severity.FAIL else 1.0
            total += counts * view.flat(g.gap.here).distance(view.flat(g.gap.there)) / length
            weight += counts
    return total / weight if weight else 0.0
