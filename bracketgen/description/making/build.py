"""From a checked description to the job: the part and the metal that its bends take."""

from __future__ import annotations

from bracketgen.bending.allowance import BendMetal
from bracketgen.description.job import Job
from bracketgen.description.making.cautions import cautions
from bracketgen.description.making.collect import Collector
from bracketgen.description.making.cutouts import CutOut, crosses, cutout, saddle
from bracketgen.description.making.holes import make_holes, pads_of
from bracketgen.description.making.shaping import Shape, Shaping
from bracketgen.description.making.shop import Shop, make_shop
from bracketgen.description.making.stock import make_stock
from bracketgen.description.making.strip import strip_panels
from bracketgen.description.making.tree import Plan, plan_panels
from bracketgen.description.model.panels import PanelTable
from bracketgen.description.read import Path, Reading
from bracketgen.errors import GeometryFault
from bracketgen.findings import Finding, Level
from bracketgen.geometry.combine import combine, one_body
from bracketgen.geometry.contour import Circle, Contour, Cut
from bracketgen.geometry.inside import holds
from bracketgen.geometry.line import Line
from bracketgen.geometry.point import Point
from bracketgen.geometry.rounding import Corner, Fit, Reduced, round_corners
from bracketgen.part.bend import Bend
from bracketgen.part.hole import Hole, HoleShape, Purpose
from bracketgen.part.panel import Panel
from bracketgen.part.part import Part, Waiver
from bracketgen.part.stock import Stock
from bracketgen.standards.edge_distance import EdgeRule, edge_rule


def build(reading: Reading, name: str, folder: str = ".") -> Job:
    """The job of a description; `name` is the part's, `folder` where files that it names are looked for.

    Raises InputFaults with every fault that can be told apart.
    """
    return _Builder(reading, name, folder).job()


class _Builder:
    """One description being made; each step raises only when the next would have nothing to stand on."""

    def __init__(self, reading: Reading, name: str, folder: str) -> None:
        self.reading = reading
        self.document = reading.document
        self.name = name
        self.folder = folder
        self.faults = Collector(reading.source)
        self.reduced: list[tuple[str, Reduced]] = []

    def job(self) -> Job:
        stock, shop, rule = self._stock_and_shop()
        plans = self._plans(shop)
        for plan in plans:
            self._holes(plan, stock, rule)
        self.faults.stop_if_any()
        shaping = Shaping(plans, stock)
        self._shape(shaping)
        self.faults.stop_if_any()
        panels = tuple(self._panel(shaping, plan) for plan in plans)
        bends = self._bends(shaping, plans, shop)
        self.faults.stop_if_any()
        part = self._part(stock, panels, bends, rule)
        allowances = self._allowances(bends, shop, plans)
        self.faults.stop_if_any()
        echoed = tuple((k, v.echo) for k, v in self.reading.parameters.items())
        return Job(part, allowances, echoed, tuple(self._remarks()), tuple(self.document.cut_file.also))

    def _stock_and_shop(self) -> tuple[Stock, Shop | None, EdgeRule]:
        stock: Stock | None = None
        shop: Shop | None = None
        rule: EdgeRule | None = None
        stock = make_stock(self.document.stock, self.reading.source.raw["stock"], self.faults)
        with self.faults.at(("rules", "edge_distance")):
            rule = edge_rule(self.document.rules.edge_distance)
        if stock and self.document.bend:
            with self.faults.at(("bend",)):
                shop = make_shop(self.document.bend, stock, self.folder)
        if stock is None or rule is None or (self.document.bend and shop is None):
            self.faults.stop_if_any()
        assert stock is not None and rule is not None
        return stock, shop, rule

    def _plans(self, shop: Shop | None) -> list[Plan]:
        document = self.document
        panels: dict[str, PanelTable] = dict(document.panels)
        paths: dict[str, Path] = {n: ("panels", n) for n in panels}
        if document.strip is not None:
            legs, leg_paths = strip_panels(document.strip)
            for twice in legs.keys() & panels.keys():
                self.faults.add(paths[twice], f"'{twice}' is a leg of the strip already", "give it another name")
            panels, paths = legs | panels, leg_paths | paths
        plans = plan_panels(panels, paths, shop, self.faults)
        self.faults.stop_if_any()
        return plans

    def _holes(self, plan: Plan, stock: Stock, rule: EdgeRule) -> None:
        seen: set[str] = set()
        for n, table in enumerate(plan.table.holes):
            path = (*plan.path, "holes", n)
            with self.faults.at(path):
                name = table.name or f"h{n + 1}"
                if name in seen:
                    raise GeometryFault(f"the name '{name}' is given twice on panel '{plan.id}'")
                seen.add(name)
                holes = make_holes(table, stock, f"{plan.id}/{name}")
                plan.holes += holes
                plan.pads += pads_of(holes, table.pad or plan.table.pad, rule)

    def _shape(self, shaping: Shaping) -> None:
        def one(plan: Plan) -> None:
            with self.faults.at(plan.path):
                shaping.shape(plan)
            # A child can't be shaped on a parent that was not.
            self.faults.stop_if_any()

        with self.faults.at(("bend",) if self.document.bend else ()):
            shaping.run(one)

    def _panel(self, shaping: Shaping, plan: Plan) -> Panel:
        shape = shaping.shapes[plan.id]
        with self.faults.at(plan.path):
            body = shaping.relieved(shape)
            body, openings = self._cut(plan, body, shape)
            body = self._rounded(plan, body, shape, shaping)
            holes = (*plan.holes, *openings)
            self._check_inside(plan, body)
            marks = tuple(Line(Point(*m.start), Point(*m.end)) for m in plan.table.marks)
            return Panel(plan.id, body, holes, marks)
        # A fault was collected: this stands in until all faults are told.
        return Panel(plan.id, shape.body, tuple(plan.holes))

    def _cut(self, plan: Plan, body: Contour, shape: Shape) -> tuple[Contour, list[Hole]]:
        self.reduced += [(plan.id, r) for r in shape.first.reduced]
        openings = [_opening(f"{plan.id}/opening-{i}", c) for i, c in enumerate(shape.first.openings, start=1)]
        shapes: list[tuple[Path, CutOut]] = []
        for n, table in enumerate(plan.table.cutouts):
            with self.faults.at((*plan.path, "cutouts", n)):
                shapes.append(((*plan.path, "cutouts", n), cutout(table, table.name or f"cutout-{n + 1}")))
        for n, bite in enumerate(plan.table.saddles):
            with self.faults.at((*plan.path, "saddles", n)):
                shapes.append(((*plan.path, "saddles", n), saddle(bite, f"saddle-{n + 1}")))
        notches = []
        for path, made in shapes:
            with self.faults.at(path):
                if crosses(body, made):
                    notches.append(made.chain)
                else:
                    openings.append(_opening(f"{plan.id}/{made.name}", made.cut))
        if not notches:
            return body, openings
        region = one_body(combine([body], notches), f"panel '{plan.id}' with its cut-outs")
        openings += [_opening(f"{plan.id}/gap-{i}", c) for i, c in enumerate(region.inner, start=1)]
        return region.outer, openings

    def _rounded(self, plan: Plan, body: Contour, shape: Shape, shaping: Shaping) -> Contour:
        radius = self.document.corners.outer
        if not radius:
            return body
        kept = []
        for seat in shape.seats:
            span = shaping.strips[seat.bend].span
            kept += [seat.point(span.start, 0.0), seat.point(span.end, 0.0)]
        rounded, reduced = round_corners(
            body, radius, Corner.OUTER, Fit.LARGEST, lambda p: all(p.distance(k) > 1e-4 for k in kept)
        )
        self.reduced += [(plan.id, r) for r in reduced]
        return rounded

    def _check_inside(self, plan: Plan, body: Contour) -> None:
        for hole in plan.holes:
            if not holds(body, hole.centre):
                self.faults.add(
                    (*plan.path, "holes", _table_of(plan, hole)),
                    f"{hole.id} at ({hole.centre.x:g}, {hole.centre.y:g}) mm lies outside its panel",
                    _box_words(body),
                )

    def _bends(self, shaping: Shaping, plans: list[Plan], shop: Shop | None) -> tuple[Bend, ...]:
        bends = []
        for plan in plans:
            if plan.foot is None:
                continue
            joint, strip = plan.foot, shaping.strips[plan.foot.id]
            bends.append(
                Bend(
                    joint.id,
                    joint.parent,
                    joint.child,
                    strip.parent.tangent(strip.span),
                    strip.child.tangent(strip.span),
                    joint.turn_deg,
                    joint.way,
                    joint.inside_radius_mm,
                    shop.minimum_leg_mm if shop else None,
                )
            )
        return tuple(bends)

    def _part(self, stock: Stock, panels: tuple[Panel, ...], bends: tuple[Bend, ...], rule: EdgeRule) -> Part:
        document = self.document
        waivers = tuple(Waiver(w.rule, w.subject, w.reason) for w in document.waivers)
        return Part(
            self.name,
            document.title,
            stock,
            panels,
            bends,
            rule.id,
            document.corners.outer,
            waivers,
            cautions(document.near),
        )

    def _allowances(self, bends: tuple[Bend, ...], shop: Shop | None, plans: list[Plan]) -> dict[str, BendMetal]:
        paths = {p.foot.id: p.foot.path for p in plans if p.foot}
        found: dict[str, BendMetal] = {}
        for bend in bends:
            assert shop is not None
            with self.faults.at(paths[bend.id]):
                found[bend.id] = shop.metal(bend.inside_radius_mm, bend.turn_deg)
        return found

    def _remarks(self) -> list[Finding]:
        return [
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


def _opening(id_: str, cut: Cut) -> Hole:
    if isinstance(cut, Circle):
        return Hole(id_, HoleShape.ROUND, Purpose.OPENING, cut.centre, cut, 2 * cut.radius)
    x0, y0, x1, y1 = cut.bounds()
    return Hole(id_, HoleShape.OUTLINE, Purpose.OPENING, Point((x0 + x1) / 2, (y0 + y1) / 2), cut)


def _table_of(plan: Plan, hole: Hole) -> int:
    own = hole.id.removeprefix(f"{plan.id}/")
    for n, table in enumerate(plan.table.holes):
        name = table.name or f"h{n + 1}"
        if own == name or own.startswith(f"{name}-"):
            return n
    return 0


def _box_words(body: Contour) -> str:
    x0, y0, x1, y1 = body.bounds()
    return f"its flat metal lies within x {x0:.2f} to {x1:.2f}, y {y0:.2f} to {y1:.2f} mm"
