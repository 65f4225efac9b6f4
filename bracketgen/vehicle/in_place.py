"""The part in its place: the site read, the old holes located, the part seated, everything near held against it."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.description.model.document import SiteTable
from bracketgen.description.text import Source
from bracketgen.errors import Fault, InputFaults
from bracketgen.findings import Finding, Level
from bracketgen.geometry.space import length, minus
from bracketgen.part.hazards import SiteFacts
from bracketgen.part.mark import mark_of
from bracketgen.part.part import GivenName
from bracketgen.rules.in_place import ACCESS, CARRIED, MISFIT
from bracketgen.rules.refused import refused_findings
from bracketgen.standards.table import LookupFault
from bracketgen.vehicle.access.access import BoltAccess, bolt_accesses
from bracketgen.vehicle.access.freeing import bolt_findings
from bracketgen.vehicle.access.grip import grip_findings
from bracketgen.vehicle.hoses import HoseCheck, hose_checks, hose_findings
from bracketgen.vehicle.locate.locate import Located, locate
from bracketgen.vehicle.near.clearance import PairCheck, pair_checks, pair_findings, scene_findings
from bracketgen.vehicle.near.drip import Drip, drip_finding, drips
from bracketgen.vehicle.near.joints import Meeting, meetings
from bracketgen.vehicle.near.removal import Blocked, blocked, removal_finding
from bracketgen.vehicle.near.scene import Scene, scene
from bracketgen.vehicle.odds.odds import Odds, odds_findings, odds_of_fit
from bracketgen.vehicle.seating.bolts import Placed
from bracketgen.vehicle.seating.misfit import BoltMisfit, HoleStep, misfits, seating_findings, steps
from bracketgen.vehicle.seating.place import place, wished_frame
from bracketgen.vehicle.site import Site, read_site

#: Remarks and the file's own name are no values of the site.
_NOT_MARKED: Final = frozenset({"note", "file"})


@dataclass(frozen=True, slots=True, eq=False)
class InPlace:
    """A part at its site and everything that was found there; `mark` is that of the site's values, not the part's."""

    site: Site
    located: Located
    placed: Placed
    scene: Scene
    misfits: tuple[BoltMisfit, ...]
    steps: tuple[HoleStep, ...]
    joints: tuple[Meeting, ...]
    pairs: tuple[PairCheck, ...]
    drips: tuple[Drip, ...]
    blocked: tuple[Blocked, ...]
    access: tuple[BoltAccess, ...]
    hoses: tuple[HoseCheck, ...]
    odds: Odds | None
    findings: tuple[Finding, ...]
    mark: str


def in_place(flat: Flat, folded: Folded, table: SiteTable, source: Source, site: Site) -> InPlace:
    """The folded part at the site that its description names; the flat says how cutting and bending may scatter.

    Raises InputFaults with every fault of the readings, and of [site] in the description.
    """
    return seen_in_place(folded, table, source, site, locate(site), flat)


def site_beside(table: SiteTable, source: Source, folder: str) -> Site:
    """The site file that a description names. Raises InputFaults."""
    path = Path(folder) / table.file
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is no UTF-8 text"
        what = f"the site file '{table.file}' can't be read: {why}"
        cure = "the path counts from the description"
        raise InputFaults([Fault(source.at(("site", "file")), what, cure)]) from None
    return read_site(text, str(path), path.name.removesuffix(".toml").removesuffix(".site"))


def seen_in_place(
    folded: Folded,
    table: SiteTable,
    source: Source,
    site: Site,
    located: Located,
    flat: Flat | None = None,
    tools: bool = True,
) -> InPlace:
    """The same with the site read and located; without the flat there are no odds. Raises InputFaults.

    Tools on every bolt take most of the time: they can be left out.
    """
    placed = place(folded, table, source, site, located)
    here = scene(placed, site)
    pairs, falling, stopped = pair_checks(here), drips(here), blocked(here)
    accesses, untold = _access(here) if tools else ((), ())
    hoses = hose_checks(here)
    odds = odds_of_fit(placed, located, flat) if flat is not None else None
    found = [
        *refused_findings(names_at(site, {b.mate.partition(".")[0] for b in placed.bolts}), folded.part.means),
        *_readings(located, placed),
        *seating_findings(placed),
        *_carried(placed, site),
        *scene_findings(here),
        *(f for pair in pairs for f in pair_findings(pair)),
        *(drip_finding(d) for d in falling),
        *(removal_finding(b) for b in stopped),
        *grip_findings(here),
        *(f for bolt in accesses for f in bolt_findings(bolt)),
        *untold,
        *(f for hose in hoses for f in hose_findings(hose)),
        *(odds_findings(odds) if odds else ()),
    ]
    return InPlace(
        site,
        located,
        placed,
        here,
        misfits(placed),
        steps(placed),
        tuple(m for m in meetings(here) if not m.rigid),
        pairs,
        falling,
        stopped,
        accesses,
        hoses,
        odds,
        tuple(found),
        mark_of(site.document, table, without=_NOT_MARKED),
    )


def around_at(site: Site) -> SiteFacts:
    """What stands around a part at the site, for its hazards."""
    document, carried = site.document, site.document.carried
    things = document.neighbours | (carried.things if carried else {})
    names = (document.title, *document.faces, *things, *document.hoses, carried.title if carried else "")
    return SiteFacts(tuple(thing.matter for thing in things.values()), names, carried.mass if carried else 0.0, True)


def names_at(site: Site, faces: Collection[str]) -> Iterator[GivenName]:
    """The names at a site that tell what a part is: its title, the faces it is bolted to, what it carries."""
    document, carried = site.document, site.document.carried
    yield GivenName("site's title", document.title)
    for face in faces:
        if face in document.faces:
            yield GivenName("site's face", face)
    if carried is not None:
        yield GivenName("carried title", carried.title)
        for holes in carried.holes:
            yield GivenName("carried hole", holes.name, of_a_face=True)
        for thing in carried.things:
            yield GivenName("carried thing", thing)


def _access(here: Scene) -> tuple[tuple[BoltAccess, ...], tuple[Finding, ...]]:
    """The tools that get onto every bolt; a hexagon that no table holds must not pass for one that can be turned."""
    try:
        return bolt_accesses(here, every_tool=False), ()
    except LookupFault as fault:
        return (), (ACCESS.finding(Level.FAIL, "bolts", None, None, None, str(fault)),)


def _readings(located: Located, placed: Placed) -> Iterator[Finding]:
    """Holes that the readings leave open make every check of the place worthless."""
    used = {b.mate for b in placed.bolts}
    touched = {f"hole {mate} " for mate in used} | {f"face {mate.partition('.')[0]} " for mate in used}
    for loose in located.loose:
        if any(f"{loose} ".startswith(name) for name in touched):
            remedy = f"the readings don't hold it: {'; '.join(located.advice) or 'measure it from another hole'}"
            yield MISFIT.finding(Level.FAIL, loose, None, None, None, remedy)
    for face, words in zip(located.mirror, (*located.mirror_words, *[""] * len(located.mirror)), strict=False):
        if any(mate.startswith(f"{face}.") for mate in used):
            remedy = f"its mirror image fits the readings as well: say about where it is. {words}".strip()
            yield MISFIT.finding(Level.FAIL, face, None, None, None, remedy)
    if located.suspect is not None:
        text = next((r.text for r in located.residuals if r.reading == located.suspect), "")
        remedy = "this reading does not agree with the others: take it again before anything is cut"
        yield MISFIT.finding(Level.WARN, text or f"reading {located.suspect + 1}", None, None, None, remedy)
    elif located.widened > 1.0:
        remedy = (
            "the readings contradict each other more than their +- allow, and no one of them stands out: take them "
            f"again, or widen their +-; every +- was made {math.sqrt(located.widened):.1f} times larger"
        )
        yield MISFIT.finding(Level.WARN, "readings", None, None, None, remedy)


def _carried(placed: Placed, site: Site) -> Iterator[Finding]:
    carried = site.document.carried
    if carried is None:
        return
    if placed.carried is None:
        remedy = "no bolt of [site] goes to what is carried: it is not looked at; bolt it to 'carried....'"
        yield CARRIED.finding(Level.WARN, "carried", None, None, None, remedy)
        return
    off = minus(placed.carried.origin, wished_frame(carried).origin)
    beyond = tuple(max(0.0, abs(o) - r) for o, r in zip(off, carried.room, strict=True))
    far = length((beyond[0], beyond[1], beyond[2]))
    if far > 0.05:
        x, y, z = off
        remedy = f"it hangs ({x:.1f}, {y:.1f}, {z:.1f}) mm from its wished place, {far:.1f} mm beyond its room"
        yield CARRIED.finding(Level.WARN, "carried", length(off), None, None, remedy)
