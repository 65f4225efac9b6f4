"""Parts of many kinds, built by hand, for tests of the preview."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from parts import l_part, plate, round_hole, stock

from bracketgen.bending.allowance import KFactor, bend_metal
from bracketgen.bending.flat import Flat, unfold
from bracketgen.bending.fold import Folded, fold
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Circle, Contour, box_contour, closed_chain
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Point, polar
from bracketgen.geometry.rounding import Corner, CornerFit, round_corners
from bracketgen.part.hole import Hole, Opening, Purpose, RoundHole, Slot
from bracketgen.part.part import Bend, Panel, Part, Way

UP, DOWN = Way.UP, Way.DOWN


def worked(part: Part, k: float = 0.42) -> tuple[Flat, Folded]:
    """Flat and folded part, with one K factor for all bends."""
    t = part.stock.thickness_mm
    metals = {b.id: bend_metal(KFactor(k), b.inside_radius_mm, t, b.turn_deg) for b in part.bends}
    return unfold(part, metals), fold(part)


def slot(id_: str, x: float, y: float, width: float, length: float, fastener: str | None = None) -> Hole:
    """A level slot with round ends."""
    return Hole(id_, Slot(Point(x, y), width, length, 0.0), Purpose.CLEARANCE, fastener)


def rounded(outline: Contour, radius: float) -> Contour:
    return round_corners(outline, radius, Corner.OUTER, CornerFit.LARGEST)[0]


def strip_part(
    name: str,
    width: float,
    legs: Sequence[float],
    bends: Sequence[tuple[float, Way, float]],
    holes: dict[int, Sequence[Hole]] | None = None,
    thickness: float = 3.0,
) -> Part:
    """Legs one after the other up the page; `bends` are turn, way and inside radius; leg 0 is the first panel."""
    panels = tuple(
        Panel(f"leg {i}", box_contour(0.0, 0.0, width, leg), tuple((holes or {}).get(i, ())))
        for i, leg in enumerate(legs)
    )
    made = tuple(
        Bend(
            f"bend {i + 1}",
            f"leg {i}",
            f"leg {i + 1}",
            Line(Point(0.0, legs[i]), Point(width, legs[i])),
            Line(Point(0.0, 0.0), Point(width, 0.0)),
            *bend_,
        )
        for i, bend_ in enumerate(bends)
    )
    return Part(name, name.capitalize(), stock(thickness, grain_deg=0.0), panels, made, "EN 1993-1-8", 1.0)


def flange() -> Part:
    ring = [round_hole(f"h{i}", *polar(42.0, math.radians(60 * i)), 8.4, "M8") for i in range(6)]
    disc = Circle(Point(0.0, 0.0), 58.0).contour()
    return replace(plate(disc, [*ring, round_hole("bore", 0.0, 0.0, 50.0, purpose=Purpose.PLAIN)], stock(6.0)),
                   title="Flat flange for the exhaust down pipe")  # fmt: skip


def tiny_tab() -> Part:
    outline = rounded(box_contour(0.0, 0.0, 20.0, 16.0), 3.0)
    return replace(plate(outline, [round_hole("h", 10.0, 8.0, 6.6, "M6")], stock(2.0)), title="Cable tab")


def l_bracket() -> Part:
    base = [round_hole(f"a{i}", x, 20.0, 8.4, "M8") for i, x in enumerate((15.0, 77.0))]
    leg = [round_hole(f"b{i}", x, 28.0, 10.5, "M10") for i, x in enumerate((27.0, 65.0))]
    part = l_part(92.0, 45.0, 44.0, 4.0, 90.0, UP, stock(4.0, grain_deg=90.0), base, leg)
    cautions = (
        "Fuel filter head: no hot work near fuel, drain and vent first.",
        "Check clearance to the exhaust with the engine at full rock.",
    )
    return replace(part, title="Fuel filter head bracket", cautions=cautions)


def u_bracket() -> Part:
    holes = {1: [slot("s0", 20.0, 20.0, 9.0, 14.0), slot("s1", 60.0, 20.0, 9.0, 14.0)],
             0: [round_hole("p", 40.0, 18.0, 12.5)], 2: [round_hole("q", 40.0, 18.0, 12.5)]}  # fmt: skip
    return strip_part("hat", 80.0, (36.0, 40.0, 36.0), ((90.0, UP, 3.0), (90.0, UP, 3.0)), holes)


def joggle() -> Part:
    holes = {0: [round_hole("a", 15.0, 20.0, 8.4, "M8")], 2: [slot("b", 15.0, 24.0, 9.0, 16.0, "M8")]}
    return strip_part("joggle", 30.0, (40.0, 8.0, 42.0), ((45.0, UP, 4.0), (45.0, DOWN, 4.0)), holes)


def box_tray() -> Part:
    """A base with four flanges and a lip on one of them: five bends, partial width, both ways."""
    a, b, g = 120.0, 80.0, 5.0
    sides = {
        "east": (Point(a, g), Point(a, b - g)),
        "north": (Point(a - g, b), Point(g, b)),
        "west": (Point(0.0, b - g), Point(0.0, g)),
        "south": (Point(g, 0.0), Point(a - g, 0.0)),
    }
    corners = ((20.0, 18.0), (100.0, 18.0), (100.0, 62.0), (20.0, 62.0))
    holes = tuple(round_hole(f"h{i}", x, y, 6.6, "M6") for i, (x, y) in enumerate(corners))
    panels, bends = [Panel("base", box_contour(0.0, 0.0, a, b), holes)], []
    for i, (name, (p, q)) in enumerate(sides.items()):
        # The child lies on the left of a bend line, so the line runs against the anticlockwise outline.
        w = p.distance(q)
        panels.append(Panel(name, box_contour(0.0, -25.0, w, 0.0)))
        own = Line(Point(w, 0.0), Point(0.0, 0.0))
        bends.append(Bend(f"bend {i + 1}", "base", name, Line(q, p), own, 90.0, UP, 2.0))
    w = sides["north"][0].distance(sides["north"][1])
    panels.append(Panel("lip", box_contour(0.0, -18.0, w, 0.0), (round_hole("l", w / 2, -10.0, 5.5, "M5"),)))
    far = Line(Point(w, -25.0), Point(0.0, -25.0))
    bends.append(Bend("bend 5", "north", "lip", far, Line(Point(w, 0.0), Point(0.0, 0.0)), 90.0, DOWN, 2.0))
    return Part("tray", "Tray with a lip for the washer bottle", stock(2.0), tuple(panels), tuple(bends),
                "EN 1993-1-8", 1.0)  # fmt: skip


def long_rail() -> Part:
    holes = {0: [round_hole(f"a{i}", 60.0 + 125.0 * i, 25.0, 9.0, "M8") for i in range(20)],
             1: [round_hole(f"b{i}", 60.0 + 125.0 * i, 20.0, 6.6, "M6") for i in range(20)]}  # fmt: skip
    return strip_part("rail", 2500.0, (50.0, 40.0), ((90.0, DOWN, 4.0),), holes, 4.0)


def tall_rail() -> Part:
    """The same kind of rail standing upright in its frame."""
    outline = rounded(box_contour(0.0, 0.0, 40.0, 900.0), 8.0)
    holes = [round_hole(f"h{i}", 20.0, 30.0 + 120.0 * i, 9.0, "M8") for i in range(8)]
    return replace(plate(outline, holes, stock(3.0, grain_deg=30.0)), title="Side rail")


def many_sizes() -> Part:
    """A plate whose holes are all different."""
    holes = [round_hole(f"h{i}", 12.0 + 20.0 * (i % 8), 12.0 + 20.0 * (i // 8), 3.0 + 0.35 * i) for i in range(40)]
    return replace(plate(box_contour(0.0, 0.0, 164.0, 104.0), holes), title="Drill gauge")


def mixed_holes() -> Part:
    at = Point(20.0, 60.0)
    tapped = Hole("t", RoundHole(at, 6.8), Purpose.TAPPED, "M8", pilot=Circle(at, 2.0))
    window = closed_chain([Point(60.0, 30.0), Point(100.0, 30.0), Point(90.0, 55.0), Point(60.0, 55.0)])
    holes = [tapped, Hole("w", Opening(rounded(window, 4.0)), Purpose.OPENING),
             round_hole("d", 20.0, 20.0, 6.0, purpose=Purpose.DOWEL), slot("s", 110.0, 15.0, 9.0, 30.0),
             round_hole("r", 125.0, 70.0, 9.0, "M6", Purpose.RIVET_NUT), round_hole("u", 125.0, 45.0, 9.0, "M8"),
             round_hole("v", 40.0, 15.0, 9.0, "M8"), round_hole("z", 40.0, 70.0, 9.0, "M8")]  # fmt: skip
    outline = rounded(box_contour(0.0, 0.0, 140.0, 85.0), 10.0)
    return replace(plate(outline, holes, stock(5.0, grain_deg=0.0)), title="Relay plate")


def short_leg_many_bends() -> Part:
    """Six narrow bends close together: no label fits between them."""
    bends = [(30.0, UP if i % 2 == 0 else DOWN, 1.5) for i in range(6)]
    return strip_part("corrugated", 25.0, (12.0, 6.0, 6.0, 6.0, 6.0, 6.0, 14.0), bends, thickness=1.5)


def seven_findings() -> list[Finding]:
    """All levels, one waived, one without a place, long words."""
    remedy = "move the hole at least 2.2 mm toward the middle, or make the leg longer, or drill it after bending"
    return [
        Finding("hole-edge", Level.FAIL, "hole a0", 8.1, 10.08, "mm", (15.0, 20.0), remedy, "EN 1993-1-8, table 3.3"),
        Finding("bend-radius", Level.FAIL, "bend 1", 4.0, 6.0, "mm", (46.0, 48.0),
                "use an inside radius of 6 mm or turn the part across the rolling direction", "shop"),
        Finding("hole-bend", Level.WARN, "hole b0", 9.0, 11.0, "mm", (27.0, 81.0), remedy, "common practice"),
        Finding("leg", Level.WARN, "bend 1", 44.0, 46.0, "mm", (46.0, 90.0), "a smaller die", "die table",
                "the shop has a die of 16 mm and has bent the same leg before"),
        Finding("sharp-corner", Level.NOTE, "base", None, None, "", (0.0, 0.0), "round it with 1 mm", "own"),
        Finding("sharp-corner", Level.NOTE, "base", None, None, "", (92.0, 0.0), "round it with 1 mm", "own"),
        Finding("rolling direction", Level.NOTE, "stock", None, None, "", None,
                "say which way the sheet was rolled, so that bends along the grain can be found", "own"),
    ]  # fmt: skip


KINDS: dict[str, Callable[[], Part]] = {
    f.__name__: f
    for f in (flange, tiny_tab, l_bracket, u_bracket, joggle, box_tray, long_rail, tall_rail, many_sizes, mixed_holes,
              short_leg_many_bends)
}  # fmt: skip
