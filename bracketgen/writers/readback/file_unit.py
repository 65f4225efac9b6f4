"""What the numbers of a file mean: $INSUNITS, DXF Reference, header variables."""

from __future__ import annotations

from bracketgen.writers.cut_file.group_codes import GroupCodeFault, GroupCodeFile
from bracketgen.writers.cut_file.lint_finding import Flaw, LintFinding

#: Name and length in mm of each unit that a drawing of a part can sensibly be in, by its $INSUNITS number.
UNITS: dict[int, tuple[str, float]] = {
    1: ("inches", 25.4),
    2: ("feet", 304.8),
    4: ("millimetres", 1.0),
    5: ("centimetres", 10.0),
    6: ("metres", 1000.0),
    9: ("thou", 0.0254),
    10: ("yards", 914.4),
    13: ("micrometres", 0.001),
    14: ("decimetres", 100.0),
}
MM, INCH = 4, 1
#: Versions before R2000 (AC1015) have no place for the unit.
_FIRST_WITH_UNITS = "AC1015"


def unit_of(file: GroupCodeFile, stated: int | None = None) -> tuple[int, tuple[LintFinding, ...]]:
    """The $INSUNITS number to read the file by, and what is wrong with what it says.

    `stated` is what a person says of a file that does not say it itself, or says it wrong.
    """
    said = _said(file)
    if stated is not None:
        return stated, ()
    if said == MM:
        return MM, tuple(_measurement(file))
    if said in UNITS:
        name, in_mm = UNITS[said]
        what = f"the file is in {name}; sizes below are in mm ({in_mm:g} mm each)"
        return said, (LintFinding(Flaw.UNITS, what),)
    return MM, (LintFinding(Flaw.UNITS, f"{_why(file, said)}; its numbers are taken as millimetres"),)


def version_of(file: GroupCodeFile) -> str:
    """The file's version as it says it, such as AC1015; AC1009 (R12) when it does not say."""
    return next((tag.value for tag in file.header.get("$ACADVER", ()) if tag.code == 1), "AC1009")


def _why(file: GroupCodeFile, said: int | None) -> str:
    if said is None and version_of(file) < _FIRST_WITH_UNITS:
        return f"a file of version {version_of(file)} has no place for its unit"
    return "the file does not say its unit" if said in (None, 0) else f"the file says $INSUNITS {said}"


def _said(file: GroupCodeFile) -> int | None:
    try:
        return _whole(file.header_number("$INSUNITS", 70))
    except GroupCodeFault:
        return None


def _measurement(file: GroupCodeFile) -> list[LintFinding]:
    try:
        metric = _whole(file.header_number("$MEASUREMENT", 70))
    except GroupCodeFault:
        metric = None
    if metric == 0:
        what = "$INSUNITS says millimetres, $MEASUREMENT says inches"
        return [LintFinding(Flaw.UNITS_UNCLEAR, what)]
    return []


def _whole(value: float | None) -> int | None:
    return int(value) if value is not None and abs(value) < 1e6 else None
