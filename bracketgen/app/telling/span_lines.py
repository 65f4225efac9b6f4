"""Proposals in words: in their order, with the reasons; or why there are none."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from bracketgen.app.telling.columns import aligned
from bracketgen.app.telling.speech import Tone, toned, wrapped
from bracketgen.fit.locate.located import Located
from bracketgen.fit.span.proposal import Proposal
from bracketgen.fit.span.span import Trail

ORDER = (
    "Order: what fouls nothing first; then at least 10 mm over every required gap; then odds of fit from 99 %; then "
    "the lightest, where each bend, warning, odd turn and lack of stiffness counts a little as mass. Stiffness is that "
    "of a strip as long and as narrow as the bracket's way, 3 E I / L3: to compare these, no proof of strength."
)


def span_lines(name: str, title: str, proposals: Sequence[Proposal], trail: Trail, located: Located) -> list[str]:
    """What a person chooses by."""
    joined = ", ".join(f"{s.name} ({len(s.holes)})" for s in trail.seats)
    lines = [*wrapped(f"{toned(name, Tone.STRONG)}  {title}"), *wrapped(joined, "  joins     ")]
    lines += _doubts(located)
    if not proposals:
        return [*lines, "", *_none(trail)]
    lines += ["", *_table(proposals), ""]
    for n, proposal in enumerate(proposals, 1):
        tone = Tone.BAD if proposal.fouls else Tone.STRONG
        word = toned(f"{n:>3}", tone)
        lines += wrapped("; ".join(proposal.reasons), f"{word}  ")
    others = proposals[0].closest.others if proposals[0].closest else ()
    for other in others:
        lines += wrapped(other, f"  {toned('site', Tone.BAD)}  ")
    return [*lines, "", *wrapped(ORDER)]


def _doubts(located: Located) -> list[str]:
    """What the readings leave open, before anything is built on them."""
    lines: list[str] = []
    if located.suspect is not None:
        text = next((r.text for r in located.residuals if r.reading == located.suspect), "")
        told = f"reading {located.suspect + 1} ({text}) does not agree with the others: measure it again before cutting"
        lines += wrapped(told, f"  {toned('reading', Tone.WARN)}   ")
    for face in located.mirror:
        lines += wrapped(f"face {face}: its mirror image fits the readings too", f"  {toned('mirror', Tone.BAD)}    ")
    return lines


def _table(proposals: Sequence[Proposal]) -> list[str]:
    rows = []
    for n, p in enumerate(proposals, 1):
        x0, y0, x1, y1 = p.flat.bounds_mm
        margin = "" if p.closest is None or p.closest.margin_mm > 1e6 else f"{p.closest.margin_mm:+.1f}"
        odds = "" if p.odds is None else f"{100 * p.odds.share:.1f}"
        size = f"{x1 - x0:.0f} x {y1 - y0:.0f}"
        figures = [f"{p.mass_kg:.2f}", size, f"{p.stiffness_n_mm:.0f}", margin, odds, str(p.warnings)]
        rows.append([str(n), p.kind.value, *figures])
    return aligned(["", "folded", "mass_kg", "flat_mm", "stiff_N/mm", "to spare_mm", "odds_%", "warnings"], rows, 2)


def _none(trail: Trail) -> list[str]:
    """Why nothing was found: the refusals, the commonest first."""
    lines = wrapped(toned("no bracket of these kinds can be made here with this sheet and die", Tone.BAD))
    for why, count in Counter(trail.refusals).most_common(4):
        lines += wrapped(f"{why} ({count} time{'' if count == 1 else 's'})", "  tried     ")
    if not trail.refusals:
        cure = "the holes leave no room for bend lines: try a thinner sheet, a smaller die, or fewer faces with --face"
        lines += wrapped(cure, "  try       ")
    return lines
