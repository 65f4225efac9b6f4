"""A part in words for the bench: stock, size, holes, bends, parameters, findings, cautions."""

from __future__ import annotations

import math
import re
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final, NoReturn

import typer

from bracketgen.drawing.paper.lettering import LETTERS
from bracketgen.errors import Fault
from bracketgen.findings import Finding, Level
from bracketgen.part.hole import Lettering
from bracketgen.terminal.parts import Exit, Outcome
from bracketgen.terminal.screen import Tone, aligned, say, say_faults, toned, wrapped
from bracketgen.units import MM_PER_INCH, format_mm

if TYPE_CHECKING:
    from bracketgen.bending.flat import Flat, FlatHole, Strip
    from bracketgen.part.hole import Hole
    from bracketgen.part.part import Stock
    from bracketgen.pipeline import Made
    from bracketgen.vehicle.access.access import EndAccess
    from bracketgen.vehicle.hoses import HoseCheck
    from bracketgen.vehicle.in_place import InPlace
    from bracketgen.vehicle.near.clearance import PairCheck
    from bracketgen.vehicle.near.joints import Meeting
    from bracketgen.vehicle.odds.odds import Odds


#: Source: NIST SP 811 (2008), appendix B.8: 1 lb = 0.453 592 37 kg.
_KG_PER_LB: Final = 0.45359237

#: How the bench's words write sizes.
_SPOKEN: Final = Lettering(lambda mm: format_mm(mm).removesuffix(" mm"), "x", "dia ", "", " mm")


def summary_lines(made: Made) -> list[str]:
    """Everything a person wants to see of one part before it is cut."""
    part = made.job.part
    return [
        *wrapped(f"{toned(part.name, Tone.STRONG)}  {part.title}"),
        *_stock_lines(part.stock),
        *_flat_lines(made.flat),
        *_hole_lines(made.flat),
        *_bend_lines(made.flat),
        *_hardware_lines(made),
        *_parameter_lines(made),
        *_place_lines(made),
        *finding_lines(made.findings),
        *_caution_lines(part.cautions),
    ]


def file_lines(outcome: Outcome) -> list[str]:
    """What was written, and what of an earlier run was set aside."""
    lines: list[str] = []
    if outcome.written:
        lines += wrapped(", ".join(outcome.written), _label("files"))
    elif outcome.exit is Exit.FAILED:
        lines += wrapped("none, because a rule failed; --even-if-failed writes them, marked", _label("files"))
    return lines + aside_lines(outcome)


def aside_lines(outcome: Outcome) -> list[str]:
    """Which files of an earlier run were renamed, because they are out of date now."""
    if not outcome.set_aside:
        return []
    return wrapped(f"{', '.join(outcome.set_aside)} (out of date, from an earlier run)", _label("set aside"))


def brief_line(outcome: Outcome) -> str:
    """One part in one line."""
    made = outcome.made
    if made is None:
        return f"{outcome.name:<24}  {toned('not made', Tone.BAD)}"
    flat = made.flat
    x0, y0, x1, y1 = flat.bounds_mm
    word = toned("FAILED", Tone.BAD) if made.failed else toned("ok    ", Tone.GOOD)
    said = count_words(made.findings)
    size = f"{x1 - x0:.1f} x {y1 - y0:.1f} mm"
    return f"{outcome.name:<24}  {word}  {size:<20}  {flat.mass_kg:7.3f} kg  {said}".rstrip()


def _label(word: str) -> str:
    return f"  {word:<10}  "


def _stock_lines(stock: Stock) -> list[str]:
    mm = format_mm(stock.thickness_mm)
    typed = f" (typed {stock.thickness_typed})" if stock.thickness_typed.strip() != mm else ""
    grain = "unknown" if stock.grain_deg is None else f"{stock.grain_deg:g} deg from +x"
    said = [
        f"{stock.metal.title}, {stock.metal.temper}",
        f"{mm}{typed}",
        f"{stock.process.id}",
        f"grain {grain}",
    ]
    if stock.coating:
        said.append(f"{stock.coating} {format_mm(stock.coating_mm)} a face, holes drawn larger for it")
    return wrapped(", ".join(said), _label("stock"))


def _flat_lines(flat: Flat) -> list[str]:
    x0, y0, x1, y1 = flat.bounds_mm
    w, h = x1 - x0, y1 - y0
    inch = float(MM_PER_INCH)
    size = f"{w:.2f} x {h:.2f} mm ({w / inch:.3f} x {h / inch:.3f} in)"
    cut = flat.cut_length_mm
    pierces = f"{flat.pierces} pierce{'s' * (flat.pierces != 1)}"
    return [
        f"{_label('flat')}{size}",
        f"{_label('mass')}{flat.mass_kg:.3f} kg ({flat.mass_kg / _KG_PER_LB:.3f} lb)",
        f"{_label('cutting')}{cut:.0f} mm of cut ({cut / inch:.1f} in), {pierces}, nominal size, no kerf taken",
    ]


def _hole_lines(flat: Flat) -> list[str]:
    if not flat.holes:
        return [f"{_label('holes')}none"]
    groups: dict[str, list[FlatHole]] = {}
    for placed in flat.holes:
        groups.setdefault(_hole_words(placed.hole), []).append(placed)
    lines: list[str] = []
    for words, alike in groups.items():
        panels = Counter(placed.panel for placed in alike)
        shares = [panel if len(panels) == 1 else f"{panel} {count}" for panel, count in panels.items()]
        lines += wrapped(f"{len(alike)} x {words}, on {', '.join(shares)}", _label("" if lines else "holes"))
    return lines


def _hole_words(hole: Hole) -> str:
    """Such as 'dia 9 mm for M8' or 'slot 9 x 14 mm for M8'."""
    use = hole.purpose.value if hole.purpose.value not in ("clearance", "plain") else ""
    words = " ".join(
        word for word in (hole.shape.size_words(_SPOKEN), use, f"for {hole.fastener}" if hole.fastener else "") if word
    )
    pilot = f", cut as a pilot of dia {format_mm(2 * hole.pilot.radius)}: drill to size" if hole.pilot else ""
    return words + pilot


def _bend_lines(flat: Flat) -> list[str]:
    if not flat.strips:
        return [f"{_label('bends')}none"]
    lines: list[str] = []
    for number, strip in enumerate(flat.strips):
        lines += _one_bend(strip, "" if number else "bends")
    words = list(dict.fromkeys((s.metal.formula, s.metal.source) for s in flat.strips))
    for formula, source in words:
        lines += wrapped(f"{formula}; source: {source}", _label(""))
    return lines


def _one_bend(strip: Strip, label: str) -> list[str]:
    bend, metal = strip.bend, strip.metal
    first = (
        f"{bend.id}, {bend.parent} to {bend.child}: turn {bend.turn_deg:g} deg {bend.way.value} "
        f"(between {180.0 - bend.turn_deg:g} deg), inside radius {format_mm(bend.inside_radius_mm)}, "
        f"{format_mm(bend.width_mm)} long"
    )
    second = (
        f"K {metal.k_factor:.3f}, allowance {metal.allowance_mm:.3f} mm, deduction {metal.deduction_mm:.3f} mm, "
        f"setback {metal.setback_mm:.3f} mm"
    )
    return wrapped(first, _label(label)) + wrapped(second, _label("") + "  ")


def _hardware_lines(made: Made) -> list[str]:
    """Bolts and welds; torques stay with their cautions, on the drawing and in the report."""
    from bracketgen.shop.hardware import mates_in_place, short_lines, weld_words

    part = made.job.part
    lines: list[str] = []
    for text in (*short_lines(part, mates_in_place(made.place)), *map(weld_words, part.welds)):
        lines += wrapped(text, _label("" if lines else "hardware"))
    if lines:
        said = "how lengths were counted, torques and their cautions: in the report (JSON) and on `bracketgen sheets`"
        lines += wrapped(said, _label(""))
    return lines


def _parameter_lines(made: Made) -> list[str]:
    lines: list[str] = []
    for number, (name, echo) in enumerate(made.job.parameters):
        lines += wrapped(f"{name} = {echo}", _label("" if number else "parameters"))
    return lines


def _place_lines(made: Made) -> list[str]:
    if made.place is None:
        return []

    return site_lines(made.place)


def _caution_lines(cautions: tuple[str, ...]) -> list[str]:
    lines: list[str] = []
    for number, caution in enumerate(cautions):
        lines += wrapped(caution, _label("" if number else "take care"))
    return lines


# Findings in words: equal ones together, failures first, waived ones last with their reason.


_WORDS: Final = {Level.FAIL: "FAIL", Level.WARN: "WARN", Level.NOTE: "NOTE"}
_TONES: Final = {Level.FAIL: Tone.BAD, Level.WARN: Tone.WARN, Level.NOTE: Tone.STRONG}
_RANK: Final = (Level.FAIL, Level.WARN, Level.NOTE)
#: Where a citation says in which copy it was read; the report keeps it.
_READ: Final = re.compile(r" \(read: (?:[^()]|\([^()]*\))*\)")


def finding_lines(findings: Sequence[Finding]) -> list[str]:
    """Every finding with its remedy and source; one line when there are none."""
    if not findings:
        return ["  findings    none"]
    lines = ["  findings"]
    for group in _groups(findings):
        lines += _lines(group)
    return lines


def note_lines(notes: Sequence[Finding]) -> list[str]:
    """Notes without a heading, for a command that tells no other findings; nothing when there are none."""
    return finding_lines(notes)[1:] if notes else []


def count_words(findings: Iterable[Finding]) -> str:
    """Such as '1 failed, 2 warnings'; '' for none."""
    open_ = [f for f in findings if f.waived is None]
    words = {Level.FAIL: ("failed", "failed"), Level.WARN: ("warning", "warnings"), Level.NOTE: ("note", "notes")}
    counts = [(sum(f.level is level for f in open_), words[level]) for level in _RANK]
    said = [f"{n} {one if n == 1 else many}" for n, (one, many) in counts if n]
    waived = sum(f.waived is not None for f in findings)
    return ", ".join([*said, *([f"{waived} waived"] if waived else [])])


def short_source(source: str) -> str:
    """A citation without the copy that it was read in."""
    return _READ.sub("", source)


def _groups(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Findings that differ only in subject and place, together."""
    groups: dict[Finding, list[Finding]] = {}
    for finding in findings:
        # The last digits of the arithmetic make no difference to a person.
        measured = None if finding.measured is None else round(finding.measured, 3)
        alike = replace(finding, subject="", at_mm=None, measured=measured)
        groups.setdefault(alike, []).append(finding)
    return sorted(groups.values(), key=lambda g: (g[0].waived is not None, _RANK.index(g[0].level)))


def _lines(group: list[Finding]) -> list[str]:
    first = group[0]
    subjects = ", ".join(dict.fromkeys(f.subject for f in group))
    word = toned(_WORDS[first.level], _TONES[first.level]) if first.waived is None else "WAIVED"
    lines = wrapped(f"{first.rule}: {subjects}{_figures(first)}", f"    {word}  ", " " * 10)
    if first.waived is not None:
        lines += wrapped(f"reason: {first.waived}", " " * 10)
    else:
        lines += wrapped(first.remedy, " " * 10)
    return lines + wrapped(f"source: {short_source(first.source)}", " " * 10)


def _figures(finding: Finding) -> str:
    if finding.measured is None or finding.required is None:
        return ""
    unit = f" {finding.unit}" if finding.unit else ""
    return f" (is {finding.measured:.4g}{unit}, limit {finding.required:.4g}{unit})"


# The part in its place in words: its bolts, and how near everything comes.


def site_lines(place: InPlace) -> list[str]:
    """Where the part goes, and a line for every bolt and every pair."""
    bodies = " and ".join(place.scene.bodies)
    lines = wrapped(f"{place.site.document.title}; bolted to: {bodies}", "  in place    ")
    rows = [
        [m.bolt.part_hole, m.bolt.mate, m.bolt.size, f"{m.off_mm:.2f}", f"{m.lift_mm:.2f}", f"{m.bolt.play_mm:.2f}"]
        for m in place.misfits
    ]
    lines += _table(["bolt", "meets", "size", "off mm", "lifted mm", "play mm"], rows)
    if place.joints:
        lines += _table(
            ["held at", "and", "moves mm", "grows mm", "gives mm", "asked mm"], [_joint(m) for m in place.joints]
        )
    if place.pairs:
        lines += _table(["between", "and", "gap mm", "needed mm", "when"], [_pair(p) for p in place.pairs])
    if place.access:
        rows = [_tool(end) for bolt in place.access for end in bolt.ends]
        lines += _table(["hexagon", "turned by", "swings"], rows)
    if place.hoses:
        lines += _table(["hose", "free mm", "needs mm", "spare mm"], [_hose(h) for h in place.hoses])
    if place.odds is not None:
        lines += _odds(place.odds)
    return lines


def _hose(hose: HoseCheck) -> list[str]:
    least = hose.least_mm
    figures = ["no way", ""] if least is None else [f"{least:.1f}", f"{hose.free_mm - least:+.1f}"]
    return [hose.name, f"{hose.free_mm:.1f}", *figures]


def _joint(one: Meeting) -> list[str]:
    """Two joints of the part with something between that gives: what it takes up, and how far it can."""
    unknown = one.growth.unknown is not None
    way = "any way" if one.axis is None else f"along {'xyz'[one.axis]}"
    asked = "?" if unknown else f"{one.asked_mm:.1f} {way}"
    grows = "?" if unknown else _by_axes(one.growth.mm)
    return [one.a.name, one.b.name, _by_axes(one.travel.mm), grows, f"{one.given_mm:.1f}", asked]


def _by_axes(mm: tuple[float, float, float]) -> str:
    return ", ".join(f"{round(c, 1) + 0.0:g}" for c in mm)


def _tool(end: EndAccess) -> list[str]:
    """The first tool that turns a hexagon (else one that holds it) and its widest swing."""
    tried = end.turned_by or end.held_by
    if tried is None:
        return [end.end.title, "no tool", ""]
    held = "" if tried.turns else " (holds only)"
    swing = f"{tried.widest.wide_deg:.0f} deg" if tried.widest else ""
    return [end.end.title, f"{tried.shape.name}{held}", swing]


def _odds(odds: Odds) -> list[str]:
    """How many builds bolt up, what costs the most, what helps."""
    share = odds.share
    told = f"{100 * share.value:.1f} of 100 builds bolt up ({100 * share.low:.1f} to {100 * share.high:.1f})"
    if odds.decides is not None:
        told += f"; {odds.decides} decides"
        if odds.causes:
            told += f"; most is lost to the {odds.causes[0].cause.value}"
    lines = wrapped(told, "    odds of fit  ")
    for line in odds.advice_lines:
        lines += wrapped(line, "      ")
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


# Telling how a part went.


def stop(faults: Sequence[Fault]) -> NoReturn:
    """Tell what is wrong with the input and end the command."""
    say_faults(faults)
    raise typer.Exit(Exit.INPUT)


def tell_in_full(outcome: Outcome) -> None:
    """Everything about a part: summary, findings, files."""
    if outcome.made is not None:
        say([*summary_lines(outcome.made), *file_lines(outcome), _verdict(outcome), ""])
    _tell_trouble(outcome)


def tell_brief(outcome: Outcome) -> None:
    """One line a part, and what failed."""
    if outcome.made is not None:
        failed = [f for f in outcome.made.findings if f.level is Level.FAIL and f.waived is None]
        say([brief_line(outcome), *(finding_lines(failed)[1:] if failed else []), *aside_lines(outcome)])
    _tell_trouble(outcome)


def tell_page(outcome: Outcome) -> None:
    """One line a part, what failed, and which letters its pages can't show."""
    tell_brief(outcome)
    if outcome.written and outcome.made is not None:
        lines = note_lines([f for f in outcome.made.findings if f.rule == LETTERS])
        if lines:
            say(lines)


def tell_findings(outcome: Outcome) -> None:
    """The findings alone, of a part that was only checked."""
    made = outcome.made
    if made is not None:
        part = made.job.part
        say([*wrapped(f"{toned(part.name, Tone.STRONG)}  {part.title}"), *finding_lines(made.findings)])
        say([_verdict(outcome), ""])
    _tell_trouble(outcome)


def _tell_trouble(outcome: Outcome) -> None:
    if outcome.made is None:
        say_faults(outcome.faults)
        if outcome.trouble:
            say(outcome.trouble, sys.stderr)
        lines = aside_lines(outcome)
        if lines:
            say([f"{outcome.name or 'parts'}: not made", *lines])
    elif outcome.faults:
        say_faults(outcome.faults)


def _verdict(outcome: Outcome) -> str:
    assert outcome.made is not None
    said = count_words(outcome.made.findings)
    word = toned("FAILED", Tone.BAD) if outcome.made.failed else toned("OK", Tone.GOOD)
    return f"  {word}{': ' + said if said else ''}"
