"""First fit of proposed brackets: known sites read with a tape, spanned by what was read, built by an outsider's
workshop and tried on the holes as they truly are."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from independent_builds import share_of_builds
from placed_parts import Scene, as_told
from span_sites import Floats, Known, known_site

from bracketgen.fit.locate.locate import locate
from bracketgen.fit.locate.located import Located
from bracketgen.fit.odds.odds import Depth, odds_of_fit
from bracketgen.fit.odds.scatter import Scatter, Spread, usual_scatter
from bracketgen.fit.site.site import read_site
from bracketgen.fit.span.practice import Practice
from bracketgen.fit.span.proposal import Proposal
from bracketgen.fit.span.span import Wish, span

#: Tape readings, one standard deviation; and a careful one over pins, as the tool's advice asks for.
TAPE_MM = 0.5
PINS_MM = 0.1
#: Readings that a person goes back for before he gives up.
MOST_REPEATS = 8
#: Shop: bends within a degree, K within 0.05, cuts as a laser keeps them.
SHOP = replace(usual_scatter(), hole_place_mm=Spread(0.1), hole_size_mm=Spread(0.1))


@dataclass(frozen=True)
class Outcome:
    """One site: the share of builds that bolt up with plain holes and with what the tool advised, by the outsider; the
    tool's own odds of the latter; how many readings were taken again."""

    plain: float
    advised: float
    told: float
    repeats: int


class Loose(Exception):
    """The readings leave a hole loose, and the tool says so: nothing is spanned by them."""


def first_fit_of(seed: int, builds: int = 1000, kind: str | None = None) -> Outcome | None:
    """None where no bracket was found. Raises Loose."""
    known = known_site(seed, kind)
    rng = np.random.default_rng(seed)
    readings = tape_readings(known, rng)
    plain: float | None = None
    for repeats in range(MOST_REPEATS + 1):
        site = read_site(known.text + "\n" + "\n".join(readings), "known-site.toml", "known-site")
        located = locate(site)
        if located.loose:
            raise Loose(located.loose)
        found = span(site, located, wish(known, None if plain is None else SHOP))
        if not found:
            return None
        if plain is None:
            plain = truly(found[0], known, builds, seed)
            found = span(site, located, wish(known, SHOP))
        best = found[0]
        assert best.odds is not None
        again = next_reading(best, located) if best.odds.share < 0.99 else None
        if again is None or repeats == MOST_REPEATS:
            return Outcome(plain, truly(best, known, builds, seed), best.odds.share, repeats)
        readings += pin_reading(known, again, rng)
    raise AssertionError("the loop returns")


def wish(known: Known, scatter: Scatter | None) -> Wish:
    return Wish(practice=Practice(thickness_mm=known.thickness_mm), scatter=scatter)


def next_reading(best: Proposal, located: Located) -> tuple[str, str] | None:
    """The two holes whose distance the tool asks to be measured again."""
    found = odds_of_fit(best.placed, located, best.flat, SHOP, 1, 2000, Depth.ADVICE)
    return found.advice.readings[0].between if found.advice and found.advice.readings else None


def places(known: Known) -> dict[str, Floats]:
    return {h.id: np.array(h.centre) for h in known.located.holes}


def tape_readings(known: Known, rng: np.random.Generator) -> list[str]:
    """Every two holes with the tape, holes of one face against the plane of the other with straight edge and tape."""
    at, found = places(known), []
    for a, b in combinations(at, 2):
        found += _distance(a, b, float(np.linalg.norm(at[a] - at[b])) + rng.normal(0.0, TAPE_MM), TAPE_MM)
    for face, frame in known.located.faces.items():
        own = [name for name in at if name.startswith(f"{face}.")]
        if len(own) > 2:
            # Three holes in a row: only a straight edge along two of them says how far the third is off.
            a, b, c = (at[n] for n in own[:3])
            line = (b - a) / np.linalg.norm(b - a)
            square = float(np.cross(line, c - a) @ np.array(frame.z)) + rng.normal(0.0, TAPE_MM)
            words = f'hole = "{own[2]}"\nline = ["{own[0]}", "{own[1]}"]\nvalue = {square:.4f}\nerror = {TAPE_MM}'
            found += ["[[readings]]", 'kind = "square"', words]
        for name, p in at.items():
            if not name.startswith(f"{face}."):
                step = float((p - np.array(frame.origin)) @ np.array(frame.z)) + rng.normal(0.0, TAPE_MM)
                words = f'hole = "{name}"\nface = "{face}"\nvalue = {step:.4f}\nerror = {TAPE_MM}'
                found += ["[[readings]]", 'kind = "step"', words]
    if len(known.located.faces) > 1:
        a, b = (np.array(f.z) for f in known.located.faces.values())
        tilt = np.degrees(np.arccos(np.clip(a @ b, -1.0, 1.0))) + rng.normal(0.0, 0.3)
        words = f'faces = ["left", "right"]\nvalue = {abs(tilt):.4f}\nerror = 0.3'
        found += ["[[readings]]", 'kind = "tilt"', words]
    return found


def pin_reading(known: Known, between: tuple[str, str], rng: np.random.Generator) -> list[str]:
    a, b = between
    at = places(known)
    return _distance(a, b, float(np.linalg.norm(at[a] - at[b])) + rng.normal(0.0, PINS_MM), PINS_MM)


def _distance(a: str, b: str, value: float, error: float) -> list[str]:
    words = f'from = "{a}"\nto = "{b}"\nover = "centres"\nvalue = {value:.4f}\nerror = {error}'
    return ["[[readings]]", 'kind = "distance"', words]


def truly(proposal: Proposal, known: Known, builds: int, seed: int) -> float:
    """The share of builds that bolt up on the true holes, by the independent workshop."""
    told = as_told(Scene(proposal.placed, proposal.flat, None, SHOP))
    at = places(known)
    normals = {h.id: h.normal for h in known.located.holes}
    for bolt, told_bolt in zip(proposal.placed.bolts, told["bolts"], strict=True):
        if bolt.mate in at:
            told_bolt["wanted_mm"] = at[bolt.mate].tolist()
            told_bolt["axis"] = list(normals[bolt.mate])
    try:
        return share_of_builds(told, seed, builds)
    except IndexError:
        # Not one build goes onto the vehicle: there is nothing to hang the carried thing on.
        return 0.0
