"""A fillet weld is thick enough, and long enough to carry anything."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.geometry.plane import Point
from bracketgen.part.part import Run, Weld
from bracketgen.rules.rule import Rule, at, short_of, up_mm
from bracketgen.rules.subject import Subject

#: EN 1993-1-8 holds from this thickness on (4.1(1)), thinner sheet goes by EN 1993-1-3. Read where a book on composite
#: bridges quotes it (section 3.10.3).
THICK_MM: Final = 4.0
LEAST_THROAT_MM: Final = 3.0
LEAST_LENGTH_MM: Final = 30.0
LEAST_THROATS: Final = 6.0
LEAST_THICKNESSES: Final = 8.0
#: Read where worked examples of joints quote it (MSB05, pp. 5-11, 5-104).
_THICK: Final = "EN 1993-1-8:2005, 4.5.1 and 4.5.2: a >= 3 mm; L - 2a >= 30 mm and 6a"
_THIN_THROAT: Final = "EN 1993-1-3:2006, 8.5.1 (from memory): throat no less than the thickness of the sheet"
#: Read in a stored copy of the older ENV text (eurocode.us, structural members).
_THIN_LENGTH: Final = "ENV 1993-1-3, 8.6.2(4): below 8 thicknesses a fillet is not to carry any force"


def _throats(subject: Subject) -> Iterator[Finding]:
    """In thin sheet the throat is a wish, so that the sheet gives before the weld; from 4 mm on it is a limit."""
    t = subject.thickness_mm
    thin = short_of(t, THICK_MM)
    least = t if thin else LEAST_THROAT_MM
    for panel, weld in _welds(subject):
        if short_of(weld.throat_mm, least):
            remedy = f"make the throat at least {up_mm(least)}, or the weld is weaker than it looks"
            level, source = (Level.WARN, _THIN_THROAT) if thin else (Level.FAIL, _THICK)
            place = _place(subject, panel, weld.runs[0])
            yield Finding("weld-throat", level, weld.id, weld.throat_mm, least, "mm", place, remedy, source)


def _lengths(subject: Subject) -> Iterator[Finding]:
    """The ends of a fillet are not full: from 4 mm on each counts for one throat less, but a closed weld has none."""
    t = subject.thickness_mm
    thin = short_of(t, THICK_MM)
    for panel, weld in _welds(subject):
        ends = 0.0 if thin else 2.0 * weld.throat_mm
        least = LEAST_THICKNESSES * t if thin else max(LEAST_LENGTH_MM, LEAST_THROATS * weld.throat_mm)
        for run in weld.runs:
            counts = run.length_mm - (0.0 if run.is_closed else ends)
            if short_of(counts, least):
                remedy = f"it is too short to carry anything: weld {up_mm(least - counts)} more, or another edge"
                place = _place(subject, panel, run)
                source = _THIN_LENGTH if thin else _THICK
                yield Finding("weld-length", Level.FAIL, weld.id, counts, least, "mm", place, remedy, source)


def _welds(subject: Subject) -> Iterator[tuple[str, Weld]]:
    return ((panel.id, weld) for panel in subject.part.panels for weld in panel.welds)


def _place(subject: Subject, panel: str, run: Run) -> tuple[float, float]:
    middle: Point = subject.flat.placements[panel].point(run.middle)
    return at(middle)


RULES = (
    Rule(
        "weld-throat",
        "A fillet weld is at least 3 mm thick, in sheet thinner than 4 mm as thick as the sheet",
        f"{_THICK}; {_THIN_THROAT}",
        _throats,
    ),
    Rule(
        "weld-length",
        "A fillet weld counts at least 30 mm and 6 throats, in sheet thinner than 4 mm 8 thicknesses",
        f"{_THICK}; {_THIN_LENGTH}",
        _lengths,
    ),
)
