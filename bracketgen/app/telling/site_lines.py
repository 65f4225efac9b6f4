"""The part in its place in words: its bolts, and how near everything comes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from bracketgen.app.telling.columns import aligned
from bracketgen.app.telling.speech import wrapped

if TYPE_CHECKING:
    from bracketgen.fit.in_place import InPlace
    from bracketgen.fit.near.clearance import PairCheck


def site_lines(place: InPlace) -> list[str]:
    """Where the part goes, and a line for every bolt and every pair."""
    bodies = " and ".join(place.scene.bodies)
    lines = wrapped(f"{place.site.document.title}; bolted to: {bodies}", "  in place    ")
    rows = [
        [m.bolt.part_hole, m.bolt.mate, m.bolt.size, f"{m.off_mm:.2f}", f"{m.lift_mm:.2f}", f"{m.bolt.play_mm:.2f}"]
        for m in place.misfits
    ]
    lines += _table(["bolt", "meets", "size", "off mm", "lifted mm", "play mm"], rows)
    if place.pairs:
        lines += _table(["between", "and", "gap mm", "needed mm", "when"], [_pair(p) for p in place.pairs])
    return lines


def _table(head: list[str], rows: list[list[str]]) -> list[str]:
    return [f"    {line}".rstrip() for line in aligned(head, rows)]


def _pair(pair: PairCheck) -> list[str]:
    asked = [n.mm for n in (pair.needed, pair.heat) if n is not None and n.mm is not None]
    needed = "?" if pair.needed.mm is None else "shield" if math.isinf(max(asked)) else f"{max(asked):.1f}"
    when = [pair.least.state] if pair.least.state not in ("", "as measured") else []
    if any(pair.least.shift):
        when.append("moved " + ", ".join(f"{c + 0.0:.0f}" for c in pair.least.shift))
    return [pair.a, pair.b, f"{pair.gap_mm:.1f}", needed, "; ".join(when)]
