"""No edge is so short that a cutting controller stumbles over it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.rules.rule import NO_SOURCE, Rule, at, short_of
from bracketgen.rules.subject import Subject
from bracketgen.tolerances import SHORTEST_EDGE_MM

_ID: Final = "short-edge"


def _check(subject: Subject) -> Iterator[Finding]:
    remedy = f"move a neighbour so that this edge is gone, or at least {SHORTEST_EDGE_MM:g} mm long"
    for name, chain in subject.chains:
        for e in chain.edges:
            if short_of(e.length, SHORTEST_EDGE_MM):
                place = at(e.middle)
                yield Finding(_ID, Level.FAIL, name, e.length, SHORTEST_EDGE_MM, "mm", place, remedy, NO_SOURCE)


RULE = Rule(_ID, f"No edge is shorter than {SHORTEST_EDGE_MM:g} mm", NO_SOURCE, _check)
