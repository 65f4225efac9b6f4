"""A bracket that could be made: its description, taken the whole way through making, folding and the rules."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Final

from bracketgen.bending.flat import Flat, unfold
from bracketgen.bending.fold import Folded, fold
from bracketgen.description.making.build import build
from bracketgen.description.read import Reading, read
from bracketgen.errors import GeometryFault, InputFaults
from bracketgen.findings import Finding, Level
from bracketgen.rules.engine import run_rules
from bracketgen.vehicle.locate.located import Located
from bracketgen.vehicle.seating.place import place
from bracketgen.vehicle.seating.placed import Placed
from bracketgen.vehicle.site.site import Site
from bracketgen.vehicle.span.layout import Layout
from bracketgen.vehicle.span.seat import Seat
from bracketgen.vehicle.span.ways.search import Way, twisted
from bracketgen.vehicle.span.writing import Heading, described

#: Folded holes stand no farther from where they have to be: far below any cut, above the rounding of written sizes.
MOST_MISS_MM: Final = 0.01


class Kind(StrEnum):
    """How a proposal is folded."""

    FLAT = "flat"
    ONE_BEND = "one bend"
    OFFSET = "two bends, offset"
    CHANNEL = "two bends, U"
    TWISTED = "two bends, twisted"
    BRANCHED = "branched"


@dataclass(frozen=True, slots=True)
class Closest:
    """Where a proposal stands nearest to its required gap: margin = gap less required gap, mm; below 0 it fouls.

    `told` is one line for a person; `mend` how the smallest move helps. `fails` counts what fails by the part's doing;
    `others` tells what fails whatever the part is like.
    """

    margin_mm: float
    told: str
    mend: str = ""
    fails: int = 0
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Odds:
    """The share of builds in which every bolt goes in, 0 to 1, and what was done for it."""

    share: float
    told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Proposal:
    """One bracket. `text` is its description; `miss_mm` the most that a folded hole stands off its mate.

    `stiffness_n_mm` compares brackets only, see `stiffness_n_mm()`. `closest` is None where nothing stands near.
    """

    kind: Kind
    name: str
    text: str
    reading: Reading
    flat: Flat
    folded: Folded
    findings: tuple[Finding, ...]
    placed: Placed
    layout: Layout
    heading: Heading
    miss_mm: float
    stiffness_n_mm: float
    closest: Closest | None = None
    odds: Odds | None = None
    reasons: tuple[str, ...] = ()

    def text_beside(self, site_file: str) -> str:
        """The description for a folder from which the site file has this path."""
        return described(self.layout, replace(self.heading, site_file=site_file))

    @property
    def mass_kg(self) -> float:
        """Mass as cut."""
        return self.flat.mass_kg

    @property
    def bends(self) -> int:
        """How many bends it has."""
        return len(self.flat.part.bends)

    @property
    def warnings(self) -> int:
        """How many warnings the rules give."""
        return sum(f.level is Level.WARN for f in self.findings)

    @property
    def fouls(self) -> bool:
        """Whether it runs into a neighbour, or stands nearer than it may."""
        return self.closest is not None and (self.closest.margin_mm < 0.0 or self.closest.fails > 0)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a layout is no proposal."""

    why: str


def proved(
    layout: Layout, heading: Heading, name: str, site: Site, located: Located, seats: Sequence[Seat]
) -> Proposal | Refusal:
    """The layout worked out to the end; a refusal when it can't be made, fails a rule, or misses a hole."""
    text = described(layout, heading)
    try:
        reading = read(text, f"{name}.toml")
        job = build(reading, name)
        flat, folded = unfold(job.part, job.allowances), fold(job.part)
    except (InputFaults, GeometryFault) as error:
        return Refusal(str(error))
    findings = (*run_rules(flat, folded), *job.remarks)
    failed = [f for f in findings if f.level is Level.FAIL]
    if failed:
        return Refusal(f"{failed[0].rule}: {failed[0].subject}: {failed[0].remedy}")
    try:
        placed = _placed(reading, folded, site, located)
    except InputFaults as error:
        return Refusal(str(error))
    miss = miss_mm(placed, seats)
    if miss > MOST_MISS_MM:
        return Refusal(f"a hole stands {miss:.3f} mm off its mate")
    stiff = stiffness_n_mm(flat, layout)
    return Proposal(kind_of(layout), name, text, reading, flat, folded, findings, placed, layout, heading, miss, stiff)


def _placed(reading: Reading, folded: Folded, site: Site, located: Located) -> Placed:
    assert reading.document.site is not None
    return place(folded, reading.document.site, reading.source, site, located)


def miss_mm(placed: Placed, seats: Sequence[Seat]) -> float:
    """The most that a hole of the folded part, on the side that touches, stands off where its mate is, mm."""
    wanted = {h.mate: h.contact for s in seats for h in s.holes}
    return max(math.dist(b.at, wanted[b.mate]) for b in placed.bolts)


def kind_of(layout: Layout) -> Kind:
    """How the layout is folded."""
    if len(layout.ways) > 1:
        return Kind.BRANCHED
    return fold_of(layout.ways[0]) if layout.ways else Kind.FLAT


def fold_of(way: Way) -> Kind:
    """How one way is folded."""
    if len(way.crossings) == 1:
        return Kind.ONE_BEND
    if twisted(way):
        return Kind.TWISTED
    near, far = way.crossings
    return Kind.CHANNEL if near.up == far.up else Kind.OFFSET


def stiffness_n_mm(flat: Flat, layout: Layout) -> float:
    """Force over deflection of a straight strip as long as the longest way through the flat from the middle of one
    seat to that of another, as narrow as its narrowest bend, clamped at one end and loaded square at the other.

    3 E I / L3 with I = w t3 / 12, N/mm. It compares brackets of one sheet with each other; it proves no strength.
    Source: cantilever with a point load, any handbook of strength of materials.
    """
    stock = flat.part.stock
    second_moment = _narrowest_mm(flat) * stock.thickness_mm**3 / 12
    length = max(_longest_way_mm(flat, layout), stock.thickness_mm)
    return 3e3 * stock.metal.elastic_modulus_gpa * second_moment / length**3


def _narrowest_mm(flat: Flat) -> float:
    if flat.part.bends:
        return min(b.width_mm for b in flat.part.bends)
    x0, y0, x1, y1 = flat.bounds_mm
    return min(x1 - x0, y1 - y0)


def _longest_way_mm(flat: Flat, layout: Layout) -> float:
    middles = []
    for panel in layout.panels:
        centres = [h.centre for h in flat.holes if h.panel == panel.name]
        if centres:
            middles.append((sum(c.x for c in centres) / len(centres), sum(c.y for c in centres) / len(centres)))
    ways = [math.dist(a, b) for a in middles for b in middles]
    if max(ways) > 0.0:
        return max(ways)
    xs, ys = [h.centre.x for h in flat.holes], [h.centre.y for h in flat.holes]
    return math.hypot(max(xs) - min(xs), max(ys) - min(ys))


def site_file(site: Site) -> str:
    """The site's file as a description beside it names it."""
    return Path(site.source.file).name


def hazards(site: Site) -> tuple[str, ...]:
    """What the bracket carries or stands beside, as the description's `near` says it."""
    carried = site.document.carried
    things = [*site.document.neighbours.values(), *(carried.things.values() if carried else ())]
    words: Mapping[str, str] = {k: k for k in ("fuel", "oil", "brake", "exhaust")} | {"live": "battery"}
    found = [words[t.matter] for t in things if t.matter in words]
    return tuple(dict.fromkeys([*found, *(["load"] if carried else [])]))
