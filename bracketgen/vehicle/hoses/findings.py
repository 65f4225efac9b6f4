"""What is wrong with a hose, as findings."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.rules.in_place import HOSE
from bracketgen.rules.rule import cited, short_of
from bracketgen.standards.vehicle import hose_rule
from bracketgen.vehicle.hoses.check import CLAMPED_FROM_MM, CLAMPS_APART_MM, SHORTER, SLACK, HoseCheck

#: What the findings rest on, by the words of the hose table.
_LENGTH: Final = "shorter by pressure", "slack at rest"
_CLAMPS: Final = ("clamps apart",)


def hose_findings(check: HoseCheck) -> Iterator[Finding]:
    """Rule hose: too short, no way with its bend radius, that radius unknown, clamps too far apart."""
    yield from _reach(check)
    apart = check.widest_mm
    if check.free_mm >= CLAMPED_FROM_MM and short_of(CLAMPS_APART_MM, apart):
        remedy = f"clamp it, not tight, at most every {CLAMPS_APART_MM:.0f} mm, where it does not rub"
        yield _finding(check, Level.WARN, (apart, CLAMPS_APART_MM), remedy, _source(_CLAMPS))


def _reach(check: HoseCheck) -> Iterator[Finding]:
    source = _source(_LENGTH)
    least, radius = check.least_mm, check.table.bend_radius
    if radius is None:
        remedy = "nothing says how tight it may bend: write bend_radius = ..., as printed for this hose"
        yield _finding(check, Level.FAIL, (None, None), remedy, source)
    elif least is None:
        where = _moved(check) or " as it stands"
        remedy = (
            f"with a bend radius of {radius:g} mm there is no way between its fittings{where}: it kinks; set them "
            "farther apart, turn one of them, or take an elbow fitting"
        )
        yield _finding(check, Level.FAIL, (None, None), remedy, source)
    elif short_of(check.free_mm, least):
        pressed = f"{100 * SHORTER:g} % shorter by pressure{_moved(check)}"
        when = f"at rest with {100 * SLACK:g} % of slack" if check.at_rest else pressed
        whole = ceil(round(least + check.table.length - check.free_mm, 6))
        remedy = f"between its fittings it needs {least:.1f} mm, {when}: "
        remedy += f"take a hose at least {whole} mm long over its fittings"
        yield _finding(check, Level.FAIL, (check.free_mm, least), remedy, source)


def _moved(check: HoseCheck) -> str:
    if not any(check.shift):
        return ""
    return " moved by (" + ", ".join(f"{c + 0.0:.1f}" for c in check.shift) + ")"


def _source(rules: tuple[str, ...]) -> str:
    return "; ".join(cited(rule.source, rule.how) for rule in map(hose_rule, rules))


def _finding(
    check: HoseCheck, level: Level, figures: tuple[float | None, float | None], remedy: str, source: str
) -> Finding:
    measured, required = figures
    unit = "mm" if required is not None else ""
    return Finding(HOSE.id, level, f"hose {check.name}", measured, required, unit, None, remedy, source)
