"""First fit of proposed brackets: known sites read with a tape, spanned by what was read, built by an outsider's
workshop and tried on the holes as they truly are."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from independent_builds import share_of_builds
from placed_parts import Scene, as_told
from span_sites import Floats, Known, known_site

from bracketgen.vehicle.locate.locate import locate
from bracketgen.vehicle.odds.draws import ShopScatter, Spread, usual_scatter
from bracketgen.vehicle.site import read_site
from bracketgen.vehicle.span.practice import Practice
from bracketgen.vehicle.span.proposal import Proposal
from bracketgen.vehicle.span.span import SpanRequest, span

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
        again = [] if best.odds.share >= 0.99 else read_again(known, best.odds.told, rng)
        if not again or repeats == MOST_REPEATS:
            return Outcome(plain, truly(best, known, builds, seed), best.odds.share, repeats)
        readings += again
    raise AssertionError("the loop returns")


def wish(known: Known, scatter: ShopScatter | None) -> SpanRequest:
    return SpanRequest(practice=Practice(thickness_mm=known.thickness_mm), scatter=scatter)


#: What the tool may ask for, and how well a person can do it with care: pins, straight edge, ruler, angle finder.
_ASKED = (
    (r"distance (\S+) to (\S+)", "distance", PINS_MM),
    (r"measure (\S+) to (\S+) centre to centre", "distance", TAPE_MM),
    (r"step of (\S+) out of the face of (\w+)", "step", 0.2),
    (r"measure how far (\S+) stands above face (\w+)", "step", 0.2),
    (r"measure (\S+) square off the line (\S+) to (\S+)", "square", 0.35),
    (r"tilt between faces (\w+) and (\w+)", "tilt", 0.3),
)


def read_again(known: Known, told: tuple[str, ...], rng: np.random.Generator) -> list[str]:
    """The reading that the tool's last words ask for; none where they ask for none."""
    for pattern, kind, sigma in _ASKED:
        found = re.search(pattern, told[-1]) if told else None
        if found is not None:
            return {"distance": distance, "step": step, "square": square, "tilt": tilt}[kind](
                known, found.groups(), sigma, rng
            )
    return []


def places(known: Known) -> dict[str, Floats]:
    return {h.id: np.array(h.centre) for h in known.located.holes}


def tape_readings(known: Known, rng: np.random.Generator) -> list[str]:
    """Every two holes with the tape, holes of one face against the plane of the other with straight edge and tape."""
    at, found = places(known), []
    for a, b in combinations(at, 2):
        found += distance(known, (a, b), TAPE_MM, rng)
    for face in known.located.faces:
        own = [name for name in at if name.startswith(f"{face}.")]
        if len(own) > 2:
            # Three holes in a row: only a straight edge along two of them says how far the third is off.
            found += square(known, (own[2], own[0], own[1]), TAPE_MM, rng)
        for name in at:
            if not name.startswith(f"{face}."):
                found += step(known, (name, face), TAPE_MM, rng)
    if len(known.located.faces) > 1:
        found += tilt(known, ("left", "right"), 0.3, rng)
    return found


def distance(known: Known, names: tuple[str, ...], sigma: float, rng: np.random.Generator) -> list[str]:
    a, b = (places(known)[n] for n in names)
    words = f'from = "{names[0]}"\nto = "{names[1]}"\nover = "centres"'
    return _reading("distance", words, float(np.linalg.norm(a - b)), sigma, rng)


def step(known: Known, names: tuple[str, ...], sigma: float, rng: np.random.Generator) -> list[str]:
    frame = known.located.faces[names[1]]
    value = float((places(known)[names[0]] - np.array(frame.origin)) @ np.array(frame.z))
    return _reading("step", f'hole = "{names[0]}"\nface = "{names[1]}"', value, sigma, rng)


def square(known: Known, names: tuple[str, ...], sigma: float, rng: np.random.Generator) -> list[str]:
    c, a, b = (places(known)[n] for n in names)
    out = np.array(known.located.faces[names[0].partition(".")[0]].z)
    value = float(np.cross((b - a) / np.linalg.norm(b - a), c - a) @ out)
    return _reading("square", f'hole = "{names[0]}"\nline = ["{names[1]}", "{names[2]}"]', value, sigma, rng)


def tilt(known: Known, names: tuple[str, ...], sigma: float, rng: np.random.Generator) -> list[str]:
    a, b = (np.array(known.located.faces[n].z) for n in names)
    value = float(np.degrees(np.arccos(np.clip(a @ b, -1.0, 1.0))))
    return _reading("tilt", f'faces = ["{names[0]}", "{names[1]}"]', value, sigma, rng)


def _reading(kind: str, words: str, value: float, sigma: float, rng: np.random.Generator) -> list[str]:
    seen = value + rng.normal(0.0, sigma)
    # Nobody reads a distance or a tilt below nothing.
    seen = abs(seen) if kind in ("distance", "tilt") else seen
    return ["[[readings]]", f'kind = "{kind}"', words, f"value = {seen:.4f}", f"error = {sigma}"]


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
