"""Parts in their place on a vehicle, made by chance or by hand, for tests of the odds of fit."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from parts import round_hole, stock

from bracketgen.bending.allowance import KFactor, bend_metal
from bracketgen.bending.flat import Flat, unfold
from bracketgen.bending.fold import Folded, fold
from bracketgen.geometry.contour import box_contour
from bracketgen.geometry.edge import Line
from bracketgen.geometry.plane import Placement, Point
from bracketgen.geometry.space import Frame
from bracketgen.part.hole import Hole, Purpose, Slot
from bracketgen.part.part import Bend, Panel, Part, Way
from bracketgen.vehicle.locate.locate import Located, LocatedHole
from bracketgen.vehicle.odds.draws import ShopScatter, Spread
from bracketgen.vehicle.seating.bolts import Bolted, Placed, Touching

M8_MM = 8.0


@dataclass(frozen=True)
class Scene:
    """A part in its place, its flat, where the old holes are thought to be, and what the shop keeps to."""

    placed: Placed
    flat: Flat
    located: Located | None
    practice: ShopScatter


@dataclass(frozen=True)
class BoltSpec:
    """One bolt: its hole in the part, what it goes into, and the play of both holes together."""

    panel: str
    hole: Hole
    mate: str
    touching: Touching = Touching.BACK
    play_mm: float = 0.5
    slot_play_mm: float = 0.0
    slot_direction_deg: float | None = None


def exact_scatter(pull_up_mm: float = 1.0) -> ShopScatter:
    """A shop that makes no errors at all."""
    none = Spread(0.0)
    return ShopScatter(none, none, none, none, none, pull_up_mm, 0.1, hole_place_mm=none, hole_size_mm=none)


def placed_part(part: Part, bolts: Sequence[BoltSpec], frame: Frame = Frame()) -> Placed:  # noqa: B008
    """The part with every mate exactly where its hole comes out."""
    folded = fold(part)
    return Placed(folded, frame, tuple(_bolted(folded, frame, b) for b in bolts), None)


def _bolted(folded: Folded, frame: Frame, spec: BoltSpec) -> Bolted:
    back = spec.touching is Touching.BACK
    depth = folded.part.stock.thickness_mm if back else 0.0
    at = frame.point(folded.point(spec.panel, spec.hole.centre, depth))
    panel = folded.frames[spec.panel].within(frame)
    out = panel.z if back else (-panel.z[0], -panel.z[1], -panel.z[2])
    slot = None
    if spec.slot_direction_deg is not None:
        a = math.radians(spec.slot_direction_deg)
        slot = panel.direction((math.cos(a), math.sin(a), 0.0))
    return Bolted(
        spec.hole.id, spec.mate, spec.panel, spec.touching, "M8", at, at, out, spec.play_mm, spec.slot_play_mm, slot
    )


def flat_of(part: Part, k: float = 0.42) -> Flat:
    t = part.stock.thickness_mm
    return unfold(part, {b.id: bend_metal(KFactor(k), b.inside_radius_mm, t, b.turn_deg) for b in part.bends})


def located_at(placed: Placed, covariance: np.ndarray[Any, Any]) -> Located:
    """The old holes as wanted, with a joint covariance in the order of the bolts."""
    old = [b for b in placed.bolts if not b.mate.startswith("carried.")]
    holes = tuple(LocatedHole(b.mate, b.mate.split(".")[0], "chassis", b.wanted, b.axis, None, "M8") for b in old)
    return Located(holes, covariance, {}, (), 1.0, 5, None, (), (), ())


def plate_on_two_studs(spacing_mm: float, play_mm: float, sigma_mm: float, practice: ShopScatter) -> Scene:
    """A flat plate with two round holes on two tapped old holes that are unsure by `sigma_mm` along every axis."""
    holes = (round_hole("plate/a", 0.0, 0.0, 9.0, "M8"), round_hole("plate/b", spacing_mm, 0.0, 9.0, "M8"))
    outline = box_contour(-20.0, -20.0, spacing_mm + 20.0, 20.0)
    part = Part("plate", "Plate", stock(), (Panel("plate", outline, holes),), (), "EN 1993-1-8", 1.0)
    placed = placed_part(part, [BoltSpec("plate", h, f"tab.{h.id[-1]}", play_mm=play_mm) for h in holes])
    return Scene(placed, flat_of(part), located_at(placed, np.eye(6) * sigma_mm**2), practice)


def plate_on_four_tabs(practice: ShopScatter, first_tab_mm: float) -> Scene:
    """A square plate on four tabs with much play, the first tab's height unsure by one standard deviation."""
    holes = [round_hole(f"plate/{n}", 100.0 * (n % 2), 100.0 * (n // 2), 9.0, "M8") for n in range(4)]
    outline = box_contour(-20.0, -20.0, 120.0, 120.0)
    part = Part("plate", "Plate", stock(), (Panel("plate", outline, tuple(holes)),), (), "EN 1993-1-8", 1.0)
    placed = placed_part(part, [BoltSpec("plate", h, f"tab.{n}", play_mm=5.0) for n, h in enumerate(holes)])
    unsure = np.zeros((12, 12))
    unsure[2, 2] = first_tab_mm**2
    return Scene(placed, flat_of(part), located_at(placed, unsure), practice)


# -- chains of panels by chance


def random_scene(seed: int) -> Scene:
    """One to four panels in a chain, two to six bolts, some slots, some of them for what is carried."""
    chance = random.Random(seed)
    part = _chain(chance)
    spots = [(p, h) for p in part.panels for h in p.holes]
    carried = len(part.panels) > 1 and chance.random() < 0.4
    touching = {p.id: chance.choice([Touching.BACK, Touching.FACE]) for p in part.panels}
    bolts = [_bolt_by_chance(chance, p.id, h, touching[p.id], carried and p is part.panels[-1]) for p, h in spots]
    placed = placed_part(part, bolts, _frame_by_chance(chance))
    old = sum(not b.mate.startswith("carried.") for b in bolts)
    unsure = chance.choice([0.2, 0.4, 0.8])
    rng = np.random.default_rng(seed)
    root = rng.normal(0.0, 1.0, (3 * old, 3 * old)) * unsure / math.sqrt(3 * old)
    return Scene(placed, flat_of(part), located_at(placed, root @ root.T), _practice_by_chance(chance))


def _practice_by_chance(chance: random.Random) -> ShopScatter:
    spread = [Spread, lambda v: Spread(v / 2, kind=type(Spread(0).kind).SIGMA)]
    pick = chance.choice(spread)
    return ShopScatter(
        turn_deg=pick(chance.choice([0.5, 1.0, 2.0])),
        k_factor=Spread(0.05),
        bend_line_mm=pick(chance.choice([0.0, 0.2])),
        thickness_mm=pick(chance.choice([0.0, 0.1])),
        carried_mm=Spread(chance.choice([0.0, 0.2])),
        pull_up_mm=chance.choice([0.7, 1.0, 2.0]),
        repeat_mm=0.1,
        hole_place_mm=Spread(0.15),
        hole_size_mm=Spread(0.1),
    )


def _chain(chance: random.Random) -> Part:
    t, width = chance.choice([2.0, 3.0, 4.0]), 110.0
    count = chance.choice([1, 2, 2, 3, 3, 4])
    panels, bends = [], []
    for n in range(count):
        name = f"p{n}"
        tall = chance.uniform(30.0, 90.0)
        ends = n in (0, count - 1)
        holes = _holes_by_chance(chance, name, width, tall) if ends else []
        panels.append(Panel(name, box_contour(0.0, 0.0, width, tall), tuple(holes)))
        if n:
            top = panels[n - 1].outline.bounds()[3]
            bends.append(
                Bend(
                    f"bend {n}",
                    f"p{n - 1}",
                    name,
                    Line(Point(0.0, top), Point(width, top)),
                    Line(Point(0.0, 0.0), Point(width, 0.0)),
                    chance.choice([30.0, 45.0, 60.0, 90.0, 90.0, 110.0]),
                    chance.choice([Way.UP, Way.DOWN]),
                    chance.choice([1.0, 1.5]) * t,
                )
            )
    return Part("chain", "Chain", stock(t), tuple(panels), tuple(bends), "EN 1993-1-8", 1.0)


def _holes_by_chance(chance: random.Random, panel: str, width: float, tall: float) -> list[Hole]:
    found = []
    for n in range(chance.choice([1, 2, 2, 3])):
        x = 12.0 + (width - 24.0) * (n + chance.uniform(0.4, 0.6)) / 3
        y = chance.uniform(10.0, tall - 8.0)
        if chance.random() < 0.25:
            slot = Slot(Point(x, y), 9.0, 14.0, float(chance.randrange(180)))
            found.append(Hole(f"{panel}/h{n}", slot, Purpose.CLEARANCE, "M8"))
        else:
            found.append(round_hole(f"{panel}/h{n}", x, y, 9.0, "M8"))
    return found


def _bolt_by_chance(chance: random.Random, panel: str, hole: Hole, touching: Touching, carried: bool) -> BoltSpec:
    mate = f"{'carried' if carried else panel}.{hole.id.split('/')[1]}"
    slot = (hole.shape.length_mm - 9.0) / 2 if hole.shape.length_mm is not None else 0.0
    return BoltSpec(panel, hole, mate, touching, chance.choice([0.15, 0.3, 0.5]), slot, hole.shape.direction_deg)


def _frame_by_chance(chance: random.Random) -> Frame:
    tilt = Frame.about_x(chance.uniform(0.0, 180.0), (5.0, -3.0, 8.0))
    return tilt.within(Frame.in_plane(Placement.turned(chance.uniform(0.0, 360.0))))


# -- what an outsider is told


def as_told(scene: Scene) -> dict[str, Any]:
    """The scene in plain numbers, as a report tells it, through JSON: nothing of the geometry code goes along."""
    flat, placed, practice = scene.flat, scene.placed, scene.practice
    holes = {h.hole.id: h for h in flat.holes}
    told = {
        "thickness_mm": flat.part.stock.thickness_mm,
        "first_frame": placed.frame.matrix(),
        "bends": [
            {
                "parent": s.bend.parent,
                "child": s.bend.child,
                "flat_line_mm": [list(s.centre_line.start), list(s.centre_line.end)],
                "turn_deg": s.bend.turn_deg,
                "way": str(s.bend.way),
                "inside_radius_mm": s.bend.inside_radius_mm,
                "k_factor": s.metal.k_factor,
            }
            for s in flat.strips
        ],
        "bolts": [
            {
                "panel": b.panel,
                "flat_mm": list(holes[b.part_hole].centre),
                "touching": str(b.touching),
                "carried": b.mate.startswith("carried."),
                "wanted_mm": list(b.wanted),
                "axis": list(b.axis),
                "play_mm": b.play_mm,
                "slot_play_mm": b.slot_play_mm,
                "slot_axis": None if b.slot_axis is None else list(b.slot_axis),
            }
            for b in placed.bolts
        ],
        "covariance_mm2": None if scene.located is None else scene.located.covariance.tolist(),
        "spreads": {
            name: [getattr(practice, name).value, str(getattr(practice, name).kind)]
            for name in (
                "turn_deg", "k_factor", "bend_line_mm", "thickness_mm", "carried_mm", "hole_place_mm", "hole_size_mm",
            )
        },
        "pull_up_mm": practice.pull_up_mm,
    }  # fmt: skip
    plain: dict[str, Any] = json.loads(json.dumps(told))
    return plain
