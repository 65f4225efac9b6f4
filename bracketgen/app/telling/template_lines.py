"""What is told about a paper template: the file, how true the printer is, what to do next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bracketgen.app.telling.speech import wrapped

if TYPE_CHECKING:
    from bracketgen.app.outcome import Outcome
    from bracketgen.drawing.template import Scale

_GAP = "  "


def template_lines(outcome: Outcome, measured: Scale | None) -> list[str]:
    """What was written and what comes next; with measured bars, first what they say."""
    lines = [] if measured is None else _printer_lines(outcome, measured)
    lines += wrapped(", ".join(outcome.written), f"{_GAP}file: ") if outcome.written else []
    return [*lines, *wrapped(_next(bool(outcome.written), measured), _GAP)]


def _printer_lines(outcome: Outcome, measured: Scale) -> list[str]:
    """The true scale in each direction, and what it makes of this part."""
    from bracketgen.drawing.one_to_one.printed import good_within, is_true

    assert outcome.made is not None
    x0, y0, x1, y1 = outcome.made.flat.bounds_mm
    longest = max(x1 - x0, y1 - y0)
    worst = max(measured, key=lambda s: abs(s - 1.0))
    across, up = (f"{100 * s:.2f} %" for s in measured)
    off = f"{abs(worst - 1.0) * longest:.1f} mm"
    verdict = "true as far as a ruler can tell" if is_true(measured) else "off"
    limit = f"limit {100 * good_within():.2f} %: what reading the bar with a ruler may be off, reading_errors table"
    said = f"the printer prints {across} across and {up} up the sheet: {verdict} ({limit})."
    far = f"Over the {longest:.0f} mm of this part the worse of the two makes {off} at most."
    return [*wrapped(f"{said} {far}", _GAP), *_doubt(measured)]


def _doubt(measured: Scale) -> list[str]:
    """Both bars as long as the 4 in bars: the wrong ones may have been measured."""
    from bracketgen.drawing.one_to_one.bars import BAR_INCH_MM, BAR_MM
    from bracketgen.drawing.one_to_one.printed import good_within

    if any(abs(s - BAR_INCH_MM / BAR_MM) > good_within() for s in measured):
        return []
    said = "Both are as long as the 4 in bars of a true print: be sure that it was the 100 mm bars that you measured."
    return wrapped(said, _GAP)


def _next(written: bool, measured: Scale | None) -> str:
    if not written:
        return "The sheets that you have are good: nothing new was written."
    if measured is None:
        return (
            "Print at 100 %, measure the bars of every sheet with a steel rule, then type the two 100 mm bars, across "
            "first: --measured 97.0,98.5"
        )
    return "Print it with the same printer, paper and settings as before. Its bars must now measure 100 mm and 4 in."
