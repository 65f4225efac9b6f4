"""A bracket that could be made: its description, taken the whole way through making, folding and the rules."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Final

from bracketgen.bending.flat import Flat, unfold
from bracketgen.bending.fold import Folded, fold
from bracketgen.description.making.build import build
from bracketgen.description.read import Description, read
from bracketgen.errors import GeometryFault, InputFaults
from bracketgen.findings import Finding, Level
from bracketgen.rules.engine import run_rules
from bracketgen.standards.refused import REFUSED_PART
from bracketgen.vehicle.locate.locate import Located
from bracketgen.vehicle.seating.bolts import Placed
from bracketgen.vehicle.seating.place import place
from bracketgen.vehicle.site import Site
from bracketgen.vehicle.span.layout import Layout
from bracketgen.vehicle.span.seat import MatingFace
from bracketgen.vehicle.span.ways import Connection, twisted
from bracketgen.vehicle.span.writing import Heading, described

#: Folded holes stand no farther from where they have to be: far below any cut, above the rounding of written sizes.
MOST_MISS_MM: Final = 0.01


class Folding(StrEnum):
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
class FitShare:
    """The share of builds in which every bolt goes in, 0 to 1, and what was done for it."""

    share: float
    told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Proposal:
    """One bracket. `text` is its description; `miss_mm` the most that a folded hole stands off its mate.

    `stiffness_n_mm` compares brackets only, see `stiffness_n_mm()`. `closest` is None where nothing stands near.
    """

    kind: Folding
    name: str
    text: str
    reading: Description
    flat: Flat
    folded: Folded
    findings: tuple[Finding, ...]
    placed: Placed
    layout: Layout
    heading: Heading
    miss_mm: float
    stiffness_n_mm: float
    closest: Closest | None = None
    odds: FitShare | None = None
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


def proved(
    layout: Layout, heading: Heading, name: str, site: Site, located: Located, seats: Sequence[MatingFace]
) -> Proposal | str:
    """The layout worked out to the end; the reason when it can't be made, fails a rule, or misses a hole."""
    text = described(layout, heading)
    try:
        reading = read(text, f"{name}.toml")
        job = build(reading, name)
        flat, folded = unfold(job.part, job.allowances), fold(job.part)
    except (InputFaults, GeometryFault) as error:
        return str(error)
    findings = (*run_rules(flat, folded), *job.remarks)
    # What a name can mean is asked when the description is made; the user's own word stands there.
    failed = [f for f in findings if f.level is Level.FAIL and f.rule != REFUSED_PART]
    if failed:
        return f"{failed[0].rule}: {failed[0].subject}: {failed[0].remedy}"
    try:
        placed = _placed(reading, folded, site, located)
    except InputFaults as error:
        return str(error)
    miss = miss_mm(placed, seats)
    if miss > MOST_MISS_MM:
        return f"a hole stands {miss:.3f} mm off its mate"
    stiff = stiffness_n_mm(flat, layout)
    return Proposal(kind_of(layout), name, text, reading, flat, folded, findings, placed, layout, heading, miss, stiff)


def _placed(reading: Description, folded: Folded, site: Site, located: Located) -> Placed:
    assert reading.document.site is not None
    return place(folded, reading.document.site, reading.source, site, located)


def miss_mm(placed: Placed, seats: Sequence[MatingFace]) -> float:
    """The most that a hole of the folded part, on the side that touches, stands off where its mate is, mm."""
    wanted = {h.mate: h.contact for s in seats for h in s.holes}
    return max(math.dist(b.at, wanted[b.mate]) for b in placed.bolts)


def kind_of(layout: Layout) -> Folding:
    """How the layout is folded."""
    if len(layout.ways) > 1:
        return Folding.BRANCHED
    return fold_of(layout.ways[0]) if layout.ways else Folding.FLAT


def fold_of(way: Connection) -> Folding:
    """How one way is folded."""
    if len(way.crossings) == 1:
        return Folding.ONE_BEND
    if twisted(way):
        return Folding.TWISTED
    near, far = way.crossings
    return Folding.CHANNEL if near.up == far.up else Folding.OFFSET


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


# -- which proposal comes first, and why, in words


#: A margin over the required gap beyond this counts as ample (common practice, no source).
AMPLE_MM: Final = 10.0
#: Odds of fit from which on nothing has to be done.
GOOD_ODDS: Final = 0.99
#: What a bend, a warning, and half the stiffness weigh, in shares of the lightest bracket's mass (own choice: a bend
#: is a set-up at the brake, a warning is a look at the bench).
_PER_BEND: Final = 0.15
_PER_WARNING: Final = 0.2
_PER_HALVING: Final = 0.2
#: Bends that are neither parallel nor square to the edges are harder to set up.
_TWISTED: Final = 0.15
#: A turn that is no multiple of five degrees, within the tolerance of a short leg (1 deg, ISO 2768-1 m), needs a
#: gauge of its own.
_PER_ODD_TURN: Final = 0.05
_WHOLE_DEG: Final = 1.0


def ranked(proposals: Iterable[Proposal]) -> tuple[Proposal, ...]:
    """The best first, each with its reasons: those that foul nothing; ample margins; good odds; then the lightest,
    with a little added for each bend and warning and for lack of stiffness."""
    found = list(proposals)
    if not found:
        return ()
    lightest = min(p.mass_kg for p in found)
    stiffest = max(p.stiffness_n_mm for p in found)
    return reasoned(sorted(found, key=lambda p: _key(p, lightest, stiffest)))


def reasoned(order: Sequence[Proposal]) -> tuple[Proposal, ...]:
    """Proposals in their order, each with why it stands there."""
    lightest = min((p.mass_kg for p in order), default=0.0)
    stiffest = max((p.stiffness_n_mm for p in order), default=0.0)
    return tuple(replace(p, reasons=_reasons(p, order, lightest, stiffest)) for p in order)


def _key(p: Proposal, lightest: float, stiffest: float) -> tuple[int, float, int, float]:
    margin = p.closest.margin_mm if p.closest else AMPLE_MM
    fails = 0 if not p.fouls else 1 + (p.closest.fails if p.closest else 0)
    short = max(0.0, math.ceil((AMPLE_MM - margin) / 2.5))
    return (
        fails,
        short,
        (0 if p.odds is None or p.odds.share >= GOOD_ODDS else math.ceil(100 * (GOOD_ODDS - p.odds.share))),
        weight(p, lightest, stiffest),
    )


def weight(p: Proposal, lightest: float, stiffest: float) -> float:
    """Mass over the lightest, plus what bends, warnings and lack of stiffness count for."""
    soft = math.log2(max(stiffest / max(p.stiffness_n_mm, 1e-9), 1.0))
    odd = sum(abs(b.turn_deg - 5 * round(b.turn_deg / 5)) > _WHOLE_DEG for b in p.flat.part.bends)
    twist = _PER_ODD_TURN * odd + (_TWISTED if p.kind is Folding.TWISTED else 0.0)
    return p.mass_kg / lightest + twist + _PER_BEND * p.bends + _PER_WARNING * p.warnings + _PER_HALVING * soft


def _reasons(p: Proposal, order: Sequence[Proposal], lightest: float, stiffest: float) -> tuple[str, ...]:
    told = []
    if p.closest is not None:
        told.append(p.closest.told)
        if p.closest.mend:
            told.append(p.closest.mend)
    if p.odds is not None:
        told.append(f"odds of fit {100 * p.odds.share:.1f} %")
        told += p.odds.told
    extra = p.mass_kg / lightest - 1.0
    told.append("the lightest of these" if extra < 0.005 else f"{100 * extra:.0f} % heavier than the lightest")
    softer = stiffest / max(p.stiffness_n_mm, 1e-9)
    told.append("the stiffest of these" if softer < 1.01 else f"1/{softer:.1f} of the stiffest one's stiffness")
    if p.warnings:
        told.append(f"{p.warnings} warning{'s' if p.warnings > 1 else ''} of the rules to look at")
    if p.fouls and any(not q.fouls for q in order):
        told.append("placed behind those that stand clear")
    return tuple(told)
