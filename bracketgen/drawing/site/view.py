"""One view of the part in its place: what is seen, what moves, the gaps with their arrows, and the names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from bracketgen.bending.fold import Folded
from bracketgen.drawing.marks.legend import axis_arrows, bar_length_mm, scale_bar
from bracketgen.drawing.model.mesh_of import solid_mesh
from bracketgen.drawing.paper.free_room import FreeRoom
from bracketgen.drawing.paper.lettering import LEADING, Weight, one_line, shortened, wrapped
from bracketgen.drawing.paper.palette import FAINT, INK, PAPER, Colour, mixed
from bracketgen.drawing.paper.trace import arrow_head, closed, disc_points
from bracketgen.drawing.picture.callouts import Callout, Leader, Target, padded, place_callout
from bracketgen.drawing.sheet import Fill, Label, Mark, Stroke
from bracketgen.drawing.site.bodies import Body
from bracketgen.drawing.site.gap_words import VERDICT_COLOUR, VERDICT_LINE, short_words
from bracketgen.drawing.site.looking import PART, body_facets, hiding, part_facets
from bracketgen.drawing.site.scene import GapMark, Role, marked
from bracketgen.drawing.solid.covering import corners_of, covered, middle_of, seen_area
from bracketgen.drawing.solid.depth_order import clipped, far_to_near
from bracketgen.drawing.solid.facet import CUT, Facet, Pen
from bracketgen.drawing.solid.silhouette import Ring, belt, cropped, inside, outer_dashes
from bracketgen.drawing.solid.viewpoint import Viewpoint
from bracketgen.fit.seating.placed import Bolted
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.line import Box
from bracketgen.geometry.point import Point
from bracketgen.geometry.vector import dot, plus

_HEAD_MM: Final = 7.0
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
_SEAM_MM: Final = 0.3
#: A gap that looks shorter than this on the paper gets a ring instead of an arrow.
_SHORT_MM: Final = 2.2
_GHOST_DASH: Final = (1.6, 1.1)
_MOST_PLACES: Final = 10
_NEAR_MM: Final = 0.1
#: A bolt is named where its axis looks to the eye by this much at least (its cosine).
_LEAST_TURNED: Final = 0.25


@dataclass(frozen=True, slots=True)
class Scene:
    """All that is to be seen, in the site's frame; gaps stand worst first."""

    folded: Folded
    bodies: tuple[Body, ...]
    gaps: tuple[GapMark, ...]
    bolts: tuple[Bolted, ...]


@dataclass(frozen=True, slots=True)
class Window:
    """How a view falls on the paper: its eye, scale, shift, and the paper it may use."""

    view: Viewpoint
    scale: float
    shift: Point
    area: Box

    def point(self, v: Vector) -> Point:
        """Where a point of the site comes to lie."""
        return self.view.flat(v).scaled(self.scale).plus(self.shift)

    def planes(self) -> list[tuple[Vector, float]]:
        """What lies above all these planes (normal, offset) falls within the area."""
        made: list[tuple[Vector, float]] = []
        for axis, way in enumerate((self.view.right, self.view.up)):
            low, high = ((self.area[axis + k] - self.shift[axis]) / self.scale for k in (0, 2))
            made += [(way, low), ((-way[0], -way[1], -way[2]), -high)]
        return made


def site_picture(scene: Scene, view: Viewpoint, title: str, box: Box) -> list[Mark]:
    """The view inside `box`."""
    head = Label(title, Point(box[0], box[3] - 4.6), 4.0, INK, Weight.BOLD, shows="view")
    window = _window(scene, view, (box[0], box[1] + _FOOT_MM, box[2], box[3] - _HEAD_MM))
    away = hiding(scene.folded, scene.bodies, view)
    solid = [b for b in scene.bodies if b.shown.role is not Role.ENVELOPE and b.shown.name not in away]
    hinted = [b for b in scene.bodies if b not in solid]
    facets = part_facets(scene.folded, view, 0.06 / window.scale)
    facets += [f for b in solid for f in body_facets(b, view)]
    layers = far_to_near(clipped(facets, window.planes()))
    # A wall that would hide the part has no outline of its own to hint at.
    hinted = [b for b in hinted if not b.endless]
    rings = {b.shown.name: _rings(b, window) for b in hinted}
    marks: list[Mark] = []
    for body in hinted:
        marks += _tint(body, rings[body.shown.name])
    marks += _surfaces(layers, window)
    outlines = {b.shown.name: _outline(b, rings[b.shown.name], window) for b in hinted}
    marks += [m for drawn in outlines.values() for m in drawn]
    flat = [f for layer in layers for f in layer]
    words, missing = _words(scene, flat, outlines, window)
    return [head, *marks, *_frame(window.area), *_foot(window, missing), *words]


def _window(scene: Scene, view: Viewpoint, area: Box) -> Window:
    core = [p for f in part_facets(scene.folded, view, 1.0) for p in f.points]
    core += [p for b in scene.bodies if b.shown.role in (Role.CARRIED, Role.BOLT) for m in b.meshes for p in m.points]
    core += [p for _, g in marked(scene.gaps) for p in (g.gap.here, g.gap.there)]
    flat = [view.flat(p) for p in core]
    x0, x1 = min(p.x for p in flat), max(p.x for p in flat)
    y0, y1 = min(p.y for p in flat), max(p.y for p in flat)
    wide, high = area[2] - area[0], area[3] - area[1]
    scale = min(_MOST_SCALE, _CORE_SHARE * wide / (x1 - x0), _CORE_SHARE * high / (y1 - y0))
    centre = Point((area[0] + area[2]) / 2, (area[1] + area[3]) / 2)
    return Window(view, scale, centre.minus(Point((x0 + x1) / 2, (y0 + y1) / 2).scaled(scale)), area)


def _surfaces(layers: Sequence[Sequence[Facet]], window: Window) -> list[Mark]:
    marks: list[Mark] = []
    for layer in layers:
        drawn = [(tuple(map(window.point, f.points)), f) for f in layer]
        marks += [Fill((ring,), f.colour, f.shows) for ring, f in drawn]
        # Where the part was cut only to sort it, what lies behind would shine through the seam.
        seams = [(a, b, f) for ring, f in drawn if f.shows == PART for a, b, pen in _sides(ring, f) if pen is CUT]
        marks += [Stroke((a, b), _SEAM_MM, f.colour, shows=f.shows) for a, b, f in seams]
        lines = [(a, b, pen, f) for ring, f in drawn for a, b, pen in _sides(ring, f) if pen and pen.draws]
        marks += [Stroke((a, b), pen.width_mm, pen.colour, shows=f.shows) for a, b, pen, f in lines]
    return marks


def _sides(ring: Sequence[Point], facet: Facet) -> list[tuple[Point, Point, Pen | None]]:
    """The sides of a facet on the paper with their pens, without those that have no length there."""
    sides = zip(ring, (*ring[1:], ring[0]), facet.pens, strict=True)
    return [(a, b, pen) for a, b, pen in sides if a.distance(b) > 1e-3]


def _rings(body: Body, window: Window) -> list[Ring]:
    """The outlines of the thing's solids, one by one: together they may be bent, each of them is not."""
    name, colour = body.shown.name, body.shown.colour
    meshes = [solid_mesh(s, name, colour, chord_mm=0.1 / window.scale) for s in body.shown.solids]
    made = [cropped(belt([window.point(p) for p in m.points]), window.area) for m in meshes]
    return [r for r in made if len(r) > 2]


def _tint(body: Body, rings: Sequence[Ring]) -> list[Mark]:
    """The room that a moving thing takes, in a colour just off the paper's; what is only hinted at gets none."""
    if body.shown.role is not Role.ENVELOPE:
        return []
    return [Fill((r,), mixed(PAPER, body.shown.colour, 0.35), body.shown.name) for r in rings]


def _outline(body: Body, rings: Sequence[Ring], window: Window) -> list[Stroke]:
    colour = _ghost_ink(body.shown.colour)
    pairs = outer_dashes(rings, window.area, *_GHOST_DASH)
    return [Stroke(p, 0.35, colour, shows=body.shown.name) for p in pairs]


def _ghost_ink(colour: Colour) -> Colour:
    return mixed(colour, INK, 0.55)


def _frame(area: Box) -> list[Mark]:
    return [Stroke(closed(_corners(area)), 0.2, FAINT)]


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
            tops = [Point(box[0], box[3] - 1.0 - _SMALL_MM * (1.0 + LEADING * i)) for i in range(len(lines))]
            return [Label(t, at, _SMALL_MM, FAINT, shows="outside") for t, at in zip(lines, tops, strict=True)]
    return []


# -- arrows and words


def _words(
    scene: Scene, facets: Sequence[Facet], outlines: dict[str, list[Stroke]], window: Window
) -> tuple[list[Mark], list[str]]:
    room = FreeRoom(padded(window.area, -0.6))
    # Words may cover the lines of what stands near, but hardly those of the part and of what it carries.
    dear = {PART, *(b.shown.name for b in scene.bodies if b.shown.role is Role.CARRIED)}
    for f in (f for f in facets if f.shows in dear):
        for a, b, pen in _sides(tuple(map(window.point, f.points)), f):
            if pen and pen.draws:
                room.ink_line((a, b))
    marks: list[Mark] = []
    gaps = marked(scene.gaps)
    for number, mark in gaps:
        marks += _arrow(room, window, number, mark)
    for number, mark in gaps:
        target = Target(_middle(window, mark), 1.6)
        for text in (short_words(number, mark), str(number)):
            words = Callout(text, (target,), _TEXT_MM, f"gap {number}", VERDICT_COLOUR[mark.verdict], away_mm=4.0)
            if placed := place_callout(room, words):
                marks += _on_paper(placed)
                break
    names, missing = _names(scene, facets, outlines, window)
    for callout in names:
        marks += _on_paper(place_callout(room, _free_targets(room, callout)))
    return marks, missing


def _free_targets(room: FreeRoom, callout: Callout) -> Callout:
    """The callout without the targets that words already cover, if that leaves any."""
    free = [t for t in callout.targets if room.free((t.centre.x - 1.0, t.centre.y - 1.0, t.centre.x, t.centre.y + 1.0))]
    return replace(callout, targets=tuple(free)) if free else callout


def _on_paper(marks: list[Mark] | None) -> list[Mark]:
    """A label with a patch of paper below it, so that it can be read over a surface."""
    if not marks:
        return []
    label = next(m for m in marks if isinstance(m, Label))
    patch = _corners(padded(label.box, 0.5))
    return [*(m for m in marks if m is not label), Fill((patch,), PAPER, label.shows), label]


def _middle(window: Window, mark: GapMark) -> Point:
    a, b = window.point(mark.gap.here), window.point(mark.gap.there)
    return Point((a.x + b.x) / 2, (a.y + b.y) / 2)


def _arrow(room: FreeRoom, window: Window, number: int, mark: GapMark) -> list[Mark]:
    """A line from one thing to the other with a head at each end, bright-edged so that it is seen on any ground."""
    a, b = window.point(mark.gap.here), window.point(mark.gap.there)
    colour, shows = VERDICT_COLOUR[mark.verdict], f"gap {number}"
    width, dash = VERDICT_LINE[mark.verdict]
    if a.distance(b) < _SHORT_MM:
        centre = _middle(window, mark)
        ring = closed(disc_points(centre, 1.6))
        room.take((centre.x - 2.2, centre.y - 2.2, centre.x + 2.2, centre.y + 2.2))
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
    scene: Scene, facets: Sequence[Facet], outlines: dict[str, list[Stroke]], window: Window
) -> tuple[list[Callout], list[str]]:
    """What is to be named, the part first, each with places where it is in sight; and what is nowhere in the view."""
    places = _places(facets, window)
    callouts = [_name("the part", places.get(PART, []), PART, INK, Weight.BOLD)]
    callouts += _bolt_names(scene, facets, window)
    missing: list[str] = []
    for shown in sorted((b.shown for b in scene.bodies), key=lambda t: t.role is not Role.CARRIED):
        hinted = [dash.points[0] for dash in outlines.get(shown.name, [])]
        found = places.get(shown.name) or hinted[:: max(1, len(hinted) // _MOST_PLACES)]
        if not found and not any(f.shows == shown.name for f in facets):
            missing.append(shown.name)
        elif found and shown.role is not Role.BOLT:
            words = shown.label + (", cut away" if hinted and shown.role is not Role.ENVELOPE else "")
            callouts.append(_name(words, found, shown.name, _ghost_ink(shown.colour), Weight.PLAIN))
    return [c for c in callouts if c.targets], missing


def _name(text: str, places: Sequence[Point], shows: str, colour: Colour, weight: Weight) -> Callout:
    targets = tuple(Target(p) for p in places)
    text = shortened(one_line(text), _LONGEST_NAME_MM, _SMALL_MM, weight)
    return Callout(text, targets, _SMALL_MM, shows, colour, weight, Leader.ALWAYS, away_mm=3.0)


def _places(facets: Sequence[Facet], window: Window) -> dict[str, list[Point]]:
    """Points of every thing that nothing hides, its largest surfaces first."""
    by_name: dict[str, list[Facet]] = {}
    for f in facets:
        by_name.setdefault(f.shows, []).append(f)
    triangles = corners_of(facets)
    made: dict[str, list[Point]] = {}
    for name, own in by_name.items():
        large = sorted(own, key=lambda f: -seen_area(f, window.view))[: 2 * _MOST_PLACES]
        middles = [middle_of(f) for f in large]
        hidden = covered(middles, triangles, window.view)
        seen = [window.point(m) for m, h in zip(middles, hidden.tolist(), strict=True) if not h]
        made[name] = seen[:_MOST_PLACES]
    return {name: points for name, points in made.items() if points}


def _bolt_names(scene: Scene, facets: Sequence[Facet], window: Window) -> list[Callout]:
    """Where each bolt in sight goes, such as 'M10 in rail.A'."""
    heads = {b.shown.name for b in scene.bodies if b.shown.role is Role.BOLT}
    before = corners_of([f for f in facets if f.shows not in heads])
    t = scene.folded.part.stock.thickness_mm
    turned = [b for b in scene.bolts if dot(b.axis, window.view.toward) > _LEAST_TURNED]
    tops = [plus(b.at, b.axis, t + _NEAR_MM) for b in turned]
    hidden = covered(tops, before, window.view).tolist()
    places = [window.point(p) for p in tops]
    return [
        _name(f"{b.size} in {b.mate}", [p], f"bolt {b.mate}", FAINT, Weight.PLAIN)
        for b, p, h in zip(turned, places, hidden, strict=True)
        if not h and inside(_corners(window.area), p, 1.0)
    ]


def _corners(box: Box) -> Ring:
    x0, y0, x1, y1 = box
    return (Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1))
