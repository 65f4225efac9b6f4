"""A part in words for the bench: stock, size, holes, bends, parameters, findings, cautions."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from bracketgen.bending.flat import Flat, FlatHole, Strip
from bracketgen.drawing.marks.lettering import LETTERS
from bracketgen.findings import Level
from bracketgen.part.hole import Hole, Lettering
from bracketgen.part.part import Stock
from bracketgen.pipeline import Made
from bracketgen.shop.hardware import mates_in_place, short_lines, weld_words
from bracketgen.terminal.exits import Exit
from bracketgen.terminal.finding_lines import count_words, finding_lines, note_lines
from bracketgen.terminal.named_files import aside_lines
from bracketgen.terminal.parts import Outcome
from bracketgen.terminal.screen import Tone, say, say_faults, toned, wrapped
from bracketgen.units import INCH_MM, KG_PER_LB, format_mm

#: How the bench's words write sizes.
_SPOKEN: Final = Lettering(lambda mm: format_mm(mm).removesuffix(" mm"), "x", "dia ", "", " mm")


def summary_lines(made: Made) -> list[str]:
    """Everything a person wants to see of one part before it is cut."""
    part = made.job.part
    return [
        *wrapped(f"{toned(part.name, Tone.STRONG)}  {part.title}"),
        *(wrapped(part.mark, _label("mark")) if part.mark else []),
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


def _file_lines(outcome: Outcome) -> list[str]:
    """What was written, and what of an earlier run was set aside."""
    lines: list[str] = []
    if outcome.written:
        lines += wrapped(", ".join(outcome.written), _label("files"))
    elif outcome.exit is Exit.FAILED:
        assert outcome.made is not None
        lines += wrapped(f"none, {why_withheld(outcome.made)}", _label("files"))
    return lines + _out_of_date(outcome)


def why_withheld(made: Made, what: str = "them") -> str:
    """Why nothing was written of a part that failed."""
    if made.refused:
        return "because its names tell of a part that is not made here; --even-if-failed does not change that"
    return f"because a rule failed; --even-if-failed writes {what}, marked"


def _out_of_date(outcome: Outcome) -> list[str]:
    if not outcome.set_aside:
        return []
    return wrapped(f"{', '.join(outcome.set_aside)} (out of date, from an earlier run)", _label("set aside"))


def _changed(outcome: Outcome) -> list[str]:
    """What is different from the report that lay there."""
    return wrapped("; ".join(outcome.changed), _label("changed")) if outcome.changed else []


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
    inch = INCH_MM
    size = f"{w:.2f} x {h:.2f} mm ({w / inch:.3f} x {h / inch:.3f} in)"
    cut = flat.cut_length_mm
    pierces = f"{flat.pierces} pierce{'s' * (flat.pierces != 1)}"
    return [
        f"{_label('flat')}{size}",
        f"{_label('mass')}{flat.mass_kg:.3f} kg ({flat.mass_kg / KG_PER_LB:.3f} lb)",
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
    # The vehicle's libraries are loaded for a part that goes into one.
    from bracketgen.terminal.site_lines import site_lines

    return site_lines(made.place)


def _caution_lines(cautions: tuple[str, ...]) -> list[str]:
    lines: list[str] = []
    for number, caution in enumerate(cautions):
        lines += wrapped(caution, _label("" if number else "take care"))
    return lines


# Telling how a part went.


def tell_in_full(outcome: Outcome) -> None:
    """Everything about a part: summary, findings, files."""
    if outcome.made is not None:
        say([*summary_lines(outcome.made), *_changed(outcome), *_file_lines(outcome), _verdict(outcome), ""])
    _tell_trouble(outcome)


def tell_brief(outcome: Outcome) -> None:
    """One line a part, and what failed."""
    if outcome.made is not None:
        failed = [f for f in outcome.made.findings if f.level is Level.FAIL and f.waived is None]
        told = (*(finding_lines(failed)[1:] if failed else []), *_changed(outcome), *_out_of_date(outcome))
        say([brief_line(outcome), *told])
    _tell_trouble(outcome)


def tell_pages(outcome: Outcome, lines: Sequence[str]) -> None:
    """One line a part, what failed, which letters its pages can't show; then `lines`, and what was set aside."""
    tell_brief(replace(outcome, set_aside=()))
    letters: list[str] = []
    if outcome.written and outcome.made is not None:
        letters = note_lines([f for f in outcome.made.findings if f.rule == LETTERS])
    told = [*letters, *lines, *aside_lines(outcome.set_aside)]
    if told:
        say(told)


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
        if outcome.left:
            told = f"{', '.join(outcome.left)} (of an earlier run: they don't show what was typed now)"
            say([f"{outcome.name or 'parts'}: not made", *wrapped(told, _label("left"))])
    elif outcome.faults:
        say_faults(outcome.faults)


def _verdict(outcome: Outcome) -> str:
    assert outcome.made is not None
    said = count_words(outcome.made.findings)
    word = toned("FAILED", Tone.BAD) if outcome.made.failed else toned("OK", Tone.GOOD)
    return f"  {word}{': ' + said if said else ''}"
