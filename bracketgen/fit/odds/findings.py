"""Odds below what is wanted, as a finding with what to do."""

from __future__ import annotations

from collections.abc import Iterator

from bracketgen.findings import Finding, Level
from bracketgen.fit.odds.odds import Odds
from bracketgen.rules.in_place import ODDS

#: The share of builds that should bolt up (own choice).
WANTED_SHARE = 0.99


def odds_findings(odds: Odds) -> Iterator[Finding]:
    """A warning when fewer builds than wanted bolt up: which hole decides, and the change that helps most."""
    if odds.share.value >= WANTED_SHARE:
        return
    said = f"{100 * odds.share.value:.1f} builds of 100 bolt up; '{odds.decides}' decides"
    remedy = "; ".join([said, *advice_lines(odds)])
    subject = odds.decides or "bolts"
    yield Finding(ODDS.id, Level.WARN, subject, odds.share.value, WANTED_SHARE, "", None, remedy, ODDS.source)


def advice_lines(odds: Odds) -> list[str]:
    """What to change, the best first, each with the share of builds that it brings."""
    if odds.advice is None:
        return []
    changes = odds.advice.plan or odds.advice.single[:1]
    lines = [f"{c.part_hole}: {c.paste}" for c in changes]
    if odds.advice.plan:
        lines.append(f"together: {100 * odds.advice.plan_share:.1f} of 100")
    elif changes:
        lines[0] += f" ({100 * changes[0].share:.1f} of 100)"
    if odds.advice.readings:
        best = odds.advice.readings[0]
        lines.append(f"or measure again: {best.text} ({100 * best.share:.1f} of 100)")
    return [*lines, *odds.advice.cautions]
