"""Every proposal is an ordinary description that passes all rules and meets its holes; known sites get one."""

from __future__ import annotations

import numpy as np
import pytest
from span_sites import Floats, Known, known_site

from bracketgen.description.read import read
from bracketgen.findings import Level
from bracketgen.pipeline import Made, work_out
from bracketgen.vehicle.span.practice import Practice
from bracketgen.vehicle.span.proposal import Folding, Proposal
from bracketgen.vehicle.span.span import SpanRequest, span

SEEDS = range(8)


def proposals(known: Known) -> tuple[Proposal, ...]:
    return span(known.site, known.located, SpanRequest(practice=Practice(thickness_mm=known.thickness_mm)))


def made_of(proposal: Proposal) -> Made:
    """The part through the whole pipeline, but for its place: a known site has no readings to be located by."""
    alone, _, _ = proposal.text.partition("# Where it goes")
    return work_out(alone, "made.toml", "made")


def wanted_places(known: Known) -> dict[str, Floats]:
    """Where each mating hole is, by the site's own numbers: nothing of the package's seating is asked."""
    found = {h.id: np.array(h.centre) for h in known.located.holes}
    carried = known.site.document.carried
    if carried is not None:
        z = np.array(carried.normal) / np.linalg.norm(carried.normal)
        x = np.array(carried.x) - np.dot(carried.x, z) * z
        x /= np.linalg.norm(x)
        for table in carried.holes:
            points = table.pattern.points if table.pattern is not None else [table.at]  # type: ignore[union-attr]
            for n, (u, v) in enumerate(points, 1):
                name = f"carried.{table.name}" + (f"-{n}" if len(points) > 1 else "")
                found[name] = np.array(carried.at) + u * x + v * np.cross(z, x)
    return found


def folded_places(made: Made, text: str) -> dict[str, Floats]:
    """Each bolted hole of the folded part on the side that touches, by mate, in the part's own frame."""
    site = read(text, "made.toml").document.site
    assert site is not None
    t = made.flat.part.stock.thickness_mm
    found = {}
    for name, mate in site.bolts.items():
        hole = next(h for h in made.flat.holes if h.hole.id == name)
        depth = 0.0 if site.touching.get(hole.panel) == "face" else t
        shim = site.shims.get(name, 0.0)
        normal = np.array(made.folded.normal(hole.panel)) * (-1.0 if depth == 0.0 else 1.0)
        found[mate] = np.array(made.folded.point(hole.panel, hole.hole.centre, depth)) - shim * normal
    return found


def worst_mm(here: Floats, there: Floats) -> float:
    """The most that two sets of points stand apart after the best rigid move of one (Kabsch, no mirror)."""
    a, b = here - here.mean(axis=0), there - there.mean(axis=0)
    u, _, vt = np.linalg.svd(a.T @ b)
    flip = np.diag([1.0, 1.0, np.sign(np.linalg.det(u @ vt))])
    return float(np.linalg.norm(a @ (u @ flip @ vt) - b, axis=1).max())


@pytest.mark.parametrize("seed", SEEDS)
def test_a_known_site_gets_brackets_that_pass_and_meet_their_holes(seed: int) -> None:
    known = known_site(seed)
    found = proposals(known)
    assert found
    wanted = wanted_places(known)
    for proposal in found:
        made = made_of(proposal)
        assert [f for f in made.findings if f.level is Level.FAIL] == []
        assert proposal.warnings == sum(f.level is Level.WARN for f in made.findings)
        folded = folded_places(made, proposal.text)
        assert set(folded) == set(wanted)
        names = sorted(wanted)
        assert worst_mm(np.array([folded[n] for n in names]), np.array([wanted[n] for n in names])) < 0.01
        assert proposal.miss_mm < 0.01


def test_every_kind_comes_up() -> None:
    kinds = {p.kind for seed in SEEDS for p in proposals(known_site(seed))}
    kinds |= {p.kind for p in proposals(known_site(1, "flat"))}
    assert kinds >= {Folding.FLAT, Folding.ONE_BEND, Folding.OFFSET, Folding.CHANNEL, Folding.TWISTED}


def test_the_same_site_gets_the_same_text() -> None:
    known = known_site(2)
    assert [p.text for p in proposals(known)] == [p.text for p in proposals(known)]


def test_metal_lies_on_the_outward_side_of_each_mating_face() -> None:
    for seed in (1, 5, 9):
        for proposal in proposals(known_site(seed)):
            made = made_of(proposal)
            for bolt in proposal.placed.bolts:
                frame = made.folded.frames[bolt.panel].within(proposal.placed.frame)
                middle = np.array(frame.origin) - 0.5 * made.flat.part.stock.thickness_mm * np.array(frame.z)
                over = (middle - np.array(bolt.wanted)) @ np.array(bolt.axis)
                assert over == pytest.approx(0.5 * made.flat.part.stock.thickness_mm, abs=0.01)
