"""A small picture of the folded part: shaded faces, bends as curved strips in their colours."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from bracketgen.bending.fold import Folded, strip_frame, turned_frame
from bracketgen.drawing.marks.callouts import Callout, Target, place_callout
from bracketgen.drawing.marks.free_room import FreeRoom
from bracketgen.drawing.marks.lettering import Weight
from bracketgen.drawing.picture.head_and_foot import VIEW_TITLE_MM, view_title
from bracketgen.drawing.sheet import INK, WAY_LINE, Mark, Stroke, padded
from bracketgen.drawing.solid.facets import Facet, skin_facets
from bracketgen.drawing.solid.skin import skin_of
from bracketgen.drawing.solid.visible import NEARER_MM, Projection, Viewpoint, Window, painted
from bracketgen.geometry.contour import ChainSet
from bracketgen.geometry.edge import Box
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Vector, dot
from bracketgen.part.part import Bend, Panel

_MOST_SCALE: Final = 4.0
_TEXT_MM: Final = 3.4
#: Paper kept free around the picture for its labels.
_RING_MM: Final = 7.0
#: Chord error of round edges on the paper, and of the part when only the eye's place is looked for, mm.
_CHORD_MM: Final = 0.03
_COARSE_MM: Final = 1.0
#: How high the eye stands above the first panel's described face, degrees; the first is preferred.
_RISE_DEG: Final = (33.0, 48.0)
#: Where the eye stands around it: 0 = behind -y; the first is preferred when others are hardly better.
_ROUND_DEG: Final = (-32.0, 32.0, -58.0, 58.0, -122.0, 122.0, -148.0, 148.0)
_HARDLY: Final = 1.12
#: Places looked at along each side of a panel's box.
_GRID: Final = 9
_SHARES: Final = (0.5, 0.3, 0.7, 0.12, 0.88)
#: Places this near to the one farthest from all edges are as good.
_NEARLY: Final = 0.5


def folded_view(folded: Folded, box: Box) -> list[Mark]:
    """The folded part inside `box`, with its bends numbered and the first panel's described face named."""
    title = "FOLDED" if folded.part.bends else "THE PART"
    head = view_title(title, box, "folded view")
    area = (*box[:3], box[3] - VIEW_TITLE_MM)
    skin = skin_of(folded)
    coarse = skin_facets(skin, _COARSE_MM)
    corners = np.concatenate([r for f in coarse for r in f.rings])
    views = [Viewpoint.at(a, e) for e in _RISE_DEG for a in _ROUND_DEG]
    windows = [Window.around(corners, view, padded(area, -_RING_MM), _MOST_SCALE) for view in views]
    spread = [_spread(panel) for panel in folded.part.panels]
    marks = [_worth(folded, spread, coarse, w) for w in windows]
    window = next(w for w, m in zip(windows, marks, strict=True) if m * _HARDLY >= max(marks))
    seen = Projection(skin_facets(skin, _CHORD_MM / window.scale), window.view)
    drawn = painted(seen.facets, window)
    return [head, *drawn, *_words(folded, seen, area, window, drawn)]


def _spread(panel: Panel) -> list[Point]:
    """Points of a grid over a panel that lie in its metal."""
    x0, y0, x1, y1 = panel.outline.bounds()
    shares = [(i + 0.5) / _GRID for i in range(_GRID)]
    grid = [Point(x0 + u * (x1 - x0), y0 + v * (y1 - y0)) for u in shares for v in shares]
    return [p for p, room in zip(grid, _clearances(panel, grid), strict=True) if room > 0.0]


def _worth(folded: Folded, spread: Sequence[Sequence[Point]], coarse: Sequence[Facet], window: Window) -> float:
    """How much of the panels a view shows, the first panel counting double, and how large it comes out."""
    view, thickness = window.view, folded.part.stock.thickness_mm
    places: list[Vector] = []
    weights: list[float] = []
    for n, (panel, points) in enumerate(zip(folded.part.panels, spread, strict=True)):
        turned = dot(folded.normal(panel.id), view.toward)
        places += [folded.point(panel.id, p, 0.0 if turned > 0.0 else thickness) for p in points]
        weights += [(2.0 if n == 0 else 1.0) * (0.25 + abs(turned)) / len(points)] * len(points)
    hidden = Projection(coarse, view).hide(view.seen(places))
    return float(np.array(weights)[~hidden].sum()) * math.sqrt(window.scale)


def _words(folded: Folded, seen: Projection, area: Box, window: Window, drawn: Sequence[Mark]) -> list[Mark]:
    """Bend numbers with their way, and the name of the first panel's described face."""
    room = FreeRoom(area)
    # Two faces draw the edge between them.
    for line in {tuple(sorted(m.points)): m.points for m in drawn if isinstance(m, Stroke)}.values():
        room.ink_line(line)
    # A round face is drawn as chords, which may lie a little before the true face.
    nearer = NEARER_MM + 2 * _CHORD_MM / window.scale

    def targets(places: Sequence[Vector]) -> tuple[Target, ...]:
        hidden = seen.hide(window.view.seen(places), nearer).tolist()
        free = [p for p, h in zip(places, hidden, strict=True) if not h]
        return tuple(Target(window.point(p)) for p in free or places)

    callouts: list[Callout] = []
    for number, bend in enumerate(folded.part.bends, 1):
        text, colour = f"{number} {bend.way}", WAY_LINE[bend.way]
        places = targets(_bend_places(folded, bend))
        callouts.append(Callout(text, places, _TEXT_MM, f"folded bend {number}", colour, away_mm=4.0))
    places = targets(_face_places(folded))
    callouts.append(Callout("this face up in the flat", places, _TEXT_MM, "face up", INK, Weight.PLAIN, away_mm=5.0))
    found = (place_callout(room, c) for c in callouts)
    return [m for marks in found if marks for m in marks]


def _bend_places(folded: Folded, bend: Bend) -> list[Vector]:
    """Points along the middle of a bend, on its described face, then on its other face."""
    thickness = folded.part.stock.thickness_mm
    frame = turned_frame(bend, thickness, bend.turn_deg / 2).within(strip_frame(bend, folded.frames[bend.parent]))
    return [frame.point((s * bend.width_mm, 0.0, z)) for z in (0.0, -thickness) for s in _SHARES]


def _face_places(folded: Folded) -> list[Vector]:
    """Points of the first panel's described face, well away from its edges and holes."""
    panel = folded.part.panels[0]
    x0, y0, x1, y1 = panel.outline.bounds()
    grid = [Point(x0 + u * (x1 - x0), y0 + v * (y1 - y0)) for u in _SHARES for v in _SHARES]
    rooms = list(zip(_clearances(panel, grid), grid, strict=True))
    most = max(room for room, _ in rooms)
    return [folded.point(panel.id, p) for room, p in rooms if room >= _NEARLY * most]


def _clearances(panel: Panel, points: Sequence[Point]) -> list[float]:
    """Distance of each point to the nearest edge, mm; below 0 where there is no metal."""
    cuts = [panel.outline, *(h.cut for h in panel.holes)]
    inside = ChainSet([c.contour() for c in cuts]).hold(points)
    made: list[float] = []
    for p, row in zip(points, inside, strict=True):
        to_edge = min(c.nearest(p).distance(p) for c in cuts)
        made.append(to_edge * (1.0 if row[0] and not row[1:].any() else -1.0))
    return made
