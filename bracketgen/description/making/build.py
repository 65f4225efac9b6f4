"""From a checked description to the job: the part, the metal its bends take, and what had to be decided on the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from bracketgen.bending.allowance import BendMetal
from bracketgen.description.making.bends import Shape, Shaping
from bracketgen.description.making.cutouts import CutOut, crosses, cutout, notched, saddle
from bracketgen.description.making.faults import Collector
from bracketgen.description.making.holes import PanelHoles, panel_holes
from bracketgen.description.making.outline import length_left_mm
from bracketgen.description.making.shop import Shop, make_shop, make_stock
from bracketgen.description.making.tree import PlannedPanel, check_joints, is_tree, plan_panels, strip_panels
from bracketgen.description.making.welds import make_weld
from bracketgen.description.model.panels import PanelTable
from bracketgen.description.model.values import MOST_HOLES
from bracketgen.description.read import Description
from bracketgen.description.text import Path
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import Contour, Cut, Edge, holds
from bracketgen.geometry.edge import Arc, Line
from bracketgen.geometry.plane import Point
from bracketgen.geometry.rounding import Corner, CornerFit, Reduced, round_corners
from bracketgen.part.hazards import with_hazards
from bracketgen.part.hole import Hole, Purpose, shape_of
from bracketgen.part.mark import mark_of
from bracketgen.part.part import Bend, Panel, Part, Stock, Waiver, Weld
from bracketgen.standards.fasteners import EdgeRule, edge_rule
from bracketgen.tolerances import ON_EDGE_MM, SHORTEST_EDGE_MM

#: The file's name and the way a thickness was written are no values of the part.
_NOT_MARKED: Final = frozenset({"name", "thickness_typed", "mark"})


#: A round at an acute corner reaches far where it takes this much more of an edge than at a square one. Own choice.
_FAR_MM: Final = 1.0


@dataclass(frozen=True, slots=True)
class Job:
    """A part ready to be unfolded.

    `parameters` pairs every parameter with its value as read. `remarks` are findings of the making itself, such
    as a corner radius that had no room. `also` is what the cut file holds beyond the cuts: marks, bends. `values` are
    those of the description, by their keys.
    """

    part: Part
    allowances: dict[str, BendMetal]
    parameters: tuple[tuple[str, str], ...]
    remarks: tuple[Finding, ...]
    also: tuple[str, ...] = ()
    values: dict[str, str] = field(default_factory=dict)


def build(description: Description, name: str, folder: str = ".") -> Job:
    """The job of a description; `name` is the part's, `folder` where files that it names are looked for.

    Raises InputFaults with every fault that can be told apart.
    """
    return _Builder(description, name, folder).job()


class _Builder:
    """One description being made; each step raises only when the next would have nothing to stand on."""

    def __init__(self, description: Description, name: str, folder: str) -> None:
        self.description = description
        self.document = description.document
        self.name = name
        self.folder = folder
        self.faults = Collector(description.source)
        self.holes: dict[str, PanelHoles] = {}
        self.reduced: list[tuple[str, Reduced]] = []
        self.spoiled: list[Finding] = []

    def job(self) -> Job:
        document = self.document
        panels, paths = self._tables()
        stock = make_stock(document.stock, self.description.source.raw["stock"], self.faults)
        shop: Shop | None = None
        if stock and document.bend:
            with self.faults.at(("bend",)):
                shop = make_shop(document.bend, stock, self.folder, ("bend",))
        rule = edge_rule(document.rules.edge_distance)
        if stock:
            self._holes(panels, paths, stock, rule)
        plans = self._plans(panels, paths, shop)
        allowances: dict[str, BendMetal] = {}
        for plan in plans:
            if plan.foot and shop:
                with self.faults.at(_blamed(plan, shop)):
                    allowances[plan.foot.id] = shop.metal(plan.foot.inside_radius_mm, plan.foot.turn_deg)
        self.faults.stop_if_any()
        assert stock is not None
        shaping = Shaping(plans, stock, self.faults)
        with self.faults.at(("bend",) if document.bend else ()):
            shaping.run()
        self.faults.stop_if_any()
        made = tuple(self._panel(shaping, plan) for plan in plans)
        self.faults.stop_if_any()
        part = self._part(stock, made, self._bends(shaping, plans, shop), rule)
        echoed = tuple((k, v.echo) for k, v in self.description.parameters.items())
        also = tuple(document.cut_file.also)
        part = replace(part, mark=mark_of(part, allowances, also, without=_NOT_MARKED))
        return Job(part, allowances, echoed, tuple(self._remarks()), also, self.description.values)

    def _tables(self) -> tuple[dict[str, PanelTable], dict[str, Path]]:
        """Every panel's table with its path, the legs of a strip among them."""
        panels: dict[str, PanelTable] = dict(self.document.panels)
        paths: dict[str, Path] = {n: ("panels", n) for n in panels}
        if self.document.strip is None:
            return panels, paths
        legs, leg_paths = strip_panels(self.document.strip, self.faults)
        for twice in legs.keys() & panels.keys():
            self.faults.add(paths[twice], f"'{twice}' is a leg of the strip already", "give it another name")
        return legs | panels, leg_paths | paths

    def _holes(self, panels: dict[str, PanelTable], paths: dict[str, Path], stock: Stock, rule: EdgeRule) -> None:
        count = 0
        for name, table in panels.items():
            self.holes[name] = panel_holes(name, table, paths[name], stock, rule, self.faults)
            count += len(self.holes[name].holes)
            if count > MOST_HOLES:
                cure = f"a part has {MOST_HOLES} at most"
                self.faults.add((*paths[name], "holes"), f"{count} holes are too many", cure)
                self.faults.stop_if_any()

    def _plans(self, panels: dict[str, PanelTable], paths: dict[str, Path], shop: Shop | None) -> list[PlannedPanel]:
        check_joints(panels, paths, self.faults)
        if self.document.bend and shop is None:
            # How it bends is wrong already; without it no bend can be judged, but the tree can.
            is_tree(panels, paths, self.faults)
            return []
        plans = plan_panels(panels, paths, shop, self.faults)
        for plan in plans:
            found = self.holes.get(plan.id, PanelHoles())
            plan.holes, plan.pads = found.holes, found.pads
        return plans

    def _panel(self, shaping: Shaping, plan: PlannedPanel) -> Panel:
        shape = shaping.shapes[plan.id]
        with self.faults.at(plan.path):
            relieved = shaping.relieved(shape)
            sharp, openings = self._cut(plan, relieved, shape, shaping)
            body = self._rounded(plan, sharp, shape, shaping)
            self._spoiled_corners(plan, shape, relieved, body)
            self._far_reaching(plan, relieved, sharp, body)
            holes = (*plan.holes, *openings)
            self._check_inside(plan, body)
            return Panel(plan.id, body, holes, self._marks(plan, body), self._welds(plan, body, shape, openings))
        # A fault was collected: this stands in until all faults are told.
        return Panel(plan.id, shape.body, tuple(plan.holes))

    def _cut(self, plan: PlannedPanel, body: Contour, shape: Shape, shaping: Shaping) -> tuple[Contour, list[Hole]]:
        self.reduced += [(plan.id, r) for r in shape.first.reduced]

        def opening(name: str, cut: Cut) -> Hole:
            return Hole(f"{plan.id}/{name}", shape_of(cut), Purpose.OPENING)

        openings = [opening(f"opening-{i}", c) for i, c in enumerate(shape.first.openings, start=1)]
        shapes: list[tuple[Path, CutOut]] = []
        for n, table in enumerate(plan.table.cutouts):
            path: Path = (*plan.path, "cutouts", n)
            with self.faults.at(path):
                shapes.append((path, cutout(table, table.name or f"cutout-{n + 1}", path)))
        for n, bite in enumerate(plan.table.saddles):
            shapes.append(((*plan.path, "saddles", n), saddle(bite, f"saddle-{n + 1}")))
        notches: list[tuple[Path, Contour]] = []
        for path, made in shapes:
            with self.faults.at(path):
                if crosses(body, made):
                    notches.append((path, made.chain))
                else:
                    openings.append(opening(made.name, made.cut))
        if not notches:
            return body, openings
        region = notched(body, notches, [(s, shaping.bends[s.bend].span) for s in shape.sides], f"panel '{plan.id}'")
        openings += [opening(f"gap-{i}", c) for i, c in enumerate(region.inner, start=1)]
        return region.outer, openings

    def _rounded(self, plan: PlannedPanel, body: Contour, shape: Shape, shaping: Shaping) -> Contour:
        radius = self.document.corners.outer
        if not radius:
            return body
        kept = []
        for side in shape.sides:
            span = shaping.bends[side.bend].span
            kept += [side.point(span.start, 0.0), side.point(span.end, 0.0)]
        rounded, reduced = round_corners(
            body, radius, Corner.OUTER, CornerFit.LARGEST, lambda p: all(p.distance(k) > 1e-4 for k in kept)
        )
        self.reduced += [(plan.id, r) for r in reduced]
        return rounded

    def _spoiled_corners(self, plan: PlannedPanel, shape: Shape, relieved: Contour, body: Contour) -> None:
        """Rounds and chamfers of the outline that were made and then cut into are told; one that went with a bend's
        relief is no corner any more."""
        for corner, edge in shape.corners:
            left = length_left_mm(edge, body)
            # The common radius rounds the two ends of a chamfer.
            ends = 2 * self.document.corners.outer if corner.chamfer_mm else 0.0
            if left >= edge.length - ends - SHORTEST_EDGE_MM or not length_left_mm(edge, relieved):
                continue
            kind = f"chamfer of {corner.chamfer_mm:g}" if corner.chamfer_mm else f"radius of {corner.radius_mm:g}"
            words = (
                f"a saddle, notch or relief cuts into the {kind} mm of the corner {_at_words(corner.at)} of panel "
                f"'{plan.id}': {left:.1f} of its {edge.length:.1f} mm are left, and the edge beside it ends short; "
                "make it smaller, or leave more metal beside it"
            )
            self._tell_corner("corner-cut", Level.WARN, plan.id, left, edge.length, words)

    def _far_reaching(self, plan: PlannedPanel, relieved: Contour, body: Contour, rounded: Contour) -> None:
        """Rounds at acute corners that a cut leaves reach far along a straight edge beside them, and are told."""
        radius = self.document.corners.outer
        rounds = [e for e in rounded.edges if isinstance(e, Arc) and e not in body.edges]
        for before, after in zip(body.edges[-1:] + body.edges[:-1], body.edges, strict=True):
            corner = after.start
            if any(corner.distance(p) < SHORTEST_EDGE_MM for p in relieved.vertices()):
                continue
            own = [e for e in rounds if _lies_on(e.start, before) and _lies_on(e.end, after)]
            ends = [p for e in own for p, side in ((e.start, before), (e.end, after)) if isinstance(side, Line)]
            reach = max((p.distance(corner) for p in ends), default=0.0)
            if reach > radius + _FAR_MM:
                words = (
                    f"the corner {_at_words(corner)} of panel '{plan.id}' is acute: a radius of {radius:g} mm there "
                    f"takes {reach:.1f} mm off the edge beside it; give a smaller [corners] outer, or cut less deep"
                )
                self._tell_corner("corner-reach", Level.NOTE, plan.id, reach, radius, words)

    def _tell_corner(self, rule: str, level: Level, panel: str, made_mm: float, asked_mm: float, words: str) -> None:
        """A round that is made in another way than its radius says."""
        self.spoiled.append(Finding(rule, level, panel, made_mm, asked_mm, "mm", None, words, "plane geometry"))

    def _check_inside(self, plan: PlannedPanel, body: Contour) -> None:
        for hole in plan.holes:
            if not holds(body, hole.centre):
                self.faults.add(
                    (*self.holes[plan.id].paths[hole.id], "at"),
                    f"{hole.id} at ({hole.centre.x:g}, {hole.centre.y:g}) mm lies outside its panel",
                    _box_words(body),
                )

    def _welds(self, plan: PlannedPanel, body: Contour, shape: Shape, openings: Sequence[Hole]) -> tuple[Weld, ...]:
        made = []
        for n, table in enumerate(plan.table.welds):
            path: Path = (*plan.path, "welds", n)
            with self.faults.at(path):
                cuts = [hole.cut for hole in openings]
                made.append(make_weld(table, n + 1, plan.id, path, (plan.table, shape.first), cuts, body))
        return tuple(made)

    def _marks(self, plan: PlannedPanel, body: Contour) -> tuple[Line, ...]:
        marks = []
        for n, table in enumerate(plan.table.marks):
            path: Path = (*plan.path, "marks", n)
            mark = Line(Point(*table.start), Point(*table.end))
            if mark.length < SHORTEST_EDGE_MM:
                self.faults.add(path, "the mark has no length", "give it two ends apart")
            for key, end in (("start", mark.start), ("end", mark.end)):
                if not holds(body, end):
                    what = f"the mark's {key} at ({end.x:g}, {end.y:g}) mm lies outside its panel"
                    self.faults.add((*path, key), what, _box_words(body))
            marks.append(mark)
        return tuple(marks)

    def _bends(self, shaping: Shaping, plans: list[PlannedPanel], shop: Shop | None) -> tuple[Bend, ...]:
        bends = []
        for plan in plans:
            if plan.foot is None:
                continue
            bend, placed = plan.foot, shaping.bends[plan.foot.id]
            bends.append(
                Bend(
                    bend.id,
                    bend.parent,
                    bend.child,
                    placed.parent.tangent(placed.span),
                    placed.child.tangent(placed.span),
                    bend.turn_deg,
                    bend.way,
                    bend.inside_radius_mm,
                    shop.minimum_leg_mm if shop else None,
                    shop.table.die if shop else None,
                )
            )
        return tuple(bends)

    def _part(self, stock: Stock, panels: tuple[Panel, ...], bends: tuple[Bend, ...], rule: EdgeRule) -> Part:
        document = self.document
        part = Part(
            self.name,
            document.title,
            stock,
            panels,
            bends,
            rule.id,
            document.corners.outer,
            tuple(Waiver(w.rule, w.subject, w.reason) for w in document.waivers),
            near=tuple(document.near),
            means=document.means,
        )
        return with_hazards(part)

    def _remarks(self) -> list[Finding]:
        return self.spoiled + [
            Finding(
                "radius-reduced",
                Level.NOTE if r.made_mm > 0 else Level.WARN,
                panel,
                r.made_mm,
                r.asked_mm,
                "mm",
                None,
                f"the corner at ({r.at.x:.1f}, {r.at.y:.1f}) mm on panel '{panel}' has no room for a radius of "
                f"{r.asked_mm:g} mm: {r.made_mm:g} mm was made; give more room or a smaller radius",
                "plane geometry",
            )
            for panel, r in self.reduced
        ]


def _blamed(plan: PlannedPanel, shop: Shop) -> Path:
    """Where the description says what the allowance of a panel's bend can't be found for."""
    assert plan.foot is not None
    joint = plan.table.joint
    if joint is not None and joint.inside_radius is not None:
        return (*plan.foot.path, "inside_radius")
    return plan.foot.path if shop.table.allowance == "shop table" else ("bend", shop.radius_key)


def _lies_on(p: Point, edge: Edge) -> bool:
    return edge.nearest(p).distance(p) < ON_EDGE_MM


def _at_words(p: Point) -> str:
    return f"at ({p.x:.1f}, {p.y:.1f}) mm"


def _box_words(body: Contour) -> str:
    x0, y0, x1, y1 = body.bounds()
    return f"its flat metal lies within x {x0:.2f} to {x1:.2f}, y {y0:.2f} to {y1:.2f} mm"
