"""Brackets made with the tool's own advice bolt up, by a workshop that shares nothing with it; five sites
every day, 300 in the sweep."""

from __future__ import annotations

import re

import pytest
from span_first_fit import SHOP, Loose, Outcome, first_fit_of, tape_readings, wish
from span_sites import known_site

from bracketgen.description.read import read
from bracketgen.vehicle.locate.locate import locate
from bracketgen.vehicle.site import read_site
from bracketgen.vehicle.span.span import span

#: Sites whose old holes are threads, so that plain holes forgive little; and easy ones among them.
SEEDS = (3, 14, 15, 17, 26)


@pytest.fixture(scope="module")
def outcomes() -> dict[int, Outcome]:
    found = {seed: first_fit_of(seed, builds=400) for seed in SEEDS}
    assert None not in found.values()
    return {seed: o for seed, o in found.items() if o is not None}


def test_ninety_nine_of_a_hundred_bolt_up_with_the_advice(outcomes: dict[int, Outcome]) -> None:
    advised = sum(o.advised for o in outcomes.values()) / len(outcomes)
    plain = sum(o.plain for o in outcomes.values()) / len(outcomes)
    print(f"builds that bolt up: plain holes {100 * plain:.1f} %, with the advice {100 * advised:.1f} %")
    assert advised >= 0.99
    # Without it these sites are a gamble: the advice is not given for nothing.
    assert plain < 0.8


@pytest.mark.sweep
@pytest.mark.parametrize("block", range(3))
def test_ninety_nine_of_a_hundred_builds_bolt_up_over_three_hundred_sites(block: int) -> None:
    """100 sites a block. Sites whose readings leave a hole loose can't be built on, and are told so by `locate`."""
    shares, without = [], 0
    for seed in range(100 * block, 100 * (block + 1)):
        try:
            outcome = first_fit_of(seed)
        except Loose:
            continue
        without += outcome is None
        shares += [outcome.advised] if outcome else []
    assert len(shares) >= 80 and without <= 5
    assert sum(shares) / len(shares) >= 0.99


def test_the_tool_says_when_it_is_enough(outcomes: dict[int, Outcome]) -> None:
    for outcome in outcomes.values():
        assert outcome.told >= 0.99


def test_the_advice_stands_in_the_description() -> None:
    import numpy as np

    known = known_site(15)
    readings = tape_readings(known, np.random.default_rng(15))
    site = read_site(known.text + "\n" + "\n".join(readings), "known-site.toml", "known-site")
    best = span(site, locate(site), wish(known, SHOP))[0]
    assert best.odds is not None and best.odds.share >= 0.99
    assert re.search(r"% with plain holes", " ".join(best.reasons))
    holes = [h for panel in read(best.text, "x.toml").document.panels.values() for h in panel.holes]
    changed = [h for h in holes if h.slot is not None or h.fit is not None]
    assert changed
    for hole in changed:
        assert any(f"/{hole.name}: " in reason for reason in best.reasons)
