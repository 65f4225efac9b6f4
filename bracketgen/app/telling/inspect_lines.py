"""What was found in a drawing from anyone, and what was mended, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from bracketgen.app.telling.speech import Tone, toned, wrapped
from bracketgen.findings import Level

if TYPE_CHECKING:
    from bracketgen.writers.inspecting.inspection import Group, Inspection
    from bracketgen.writers.inspecting.mend import Mended

_TONES: Final = {Level.FAIL: Tone.BAD, Level.WARN: Tone.WARN, Level.NOTE: Tone.STRONG}
#: So many places of one kind are printed.
_MOST_PLACES: Final = 12

CAUTION: Final = (
    "An inspection reads lines, not intentions: hold sizes and holes against the part before metal is cut. "
    "The shop that cuts it has the last word."
)


def read_words(inspection: Inspection) -> str:
    """What the file was read as, in one line."""
    if inspection.drawing is None or inspection.outlines is None:
        return "not readable"
    from bracketgen.writers.inspecting.drawing import UNITS, version_of

    contours = len(inspection.outlines.chains.contours)
    unit = UNITS[inspection.drawing.unit][0]
    said = [
        f"DXF {version_of(inspection.drawing.file)} in {unit}",
        f"{contours} closed contour{'' if contours == 1 else 's'}",
    ]
    if not inspection.outlines.chains.broken:
        said.append(f"area {inspection.area_mm2:.1f} mm²")
    return ", ".join(said)


def inspection_lines(inspection: Inspection, groups: Sequence[Group]) -> list[str]:
    """What was read, and every kind of finding with its places and its cure."""
    lines = [f"  read as     {read_words(inspection)}"]
    box = inspection.box
    if box is not None:
        lines.append(f"  size        {box[2] - box[0]:.3f} x {box[3] - box[1]:.3f} mm")
        lines += wrapped(_layers(inspection), "  layers      ")
    if not groups:
        return [*lines, "  findings    none"]
    lines.append("  findings    numbered as on the picture; places in mm")
    for group in groups:
        lines += group_lines(group)
    return lines


def _layers(inspection: Inspection) -> str:
    cut = ", ".join(inspection.cut_layers) or "none"
    others = ", ".join(inspection.other_layers)
    return f"cut: {cut}" + (f"; taken as not cut: {others}" if others else "")


def group_lines(group: Group) -> list[str]:
    """One kind of finding."""
    first = group.first
    word = toned(first.level.value.upper(), _TONES[first.level])
    whats = list(dict.fromkeys(f.what for f in group.members))
    said = "; ".join(whats[:3]) + (f"; and {len(whats) - 3} more such" if len(whats) > 3 else "")
    times = f" ({len(group.members)} x)" if len(group.members) > 1 else ""
    lines = wrapped(f"{first.code.value}: {said}{times}", f"  {group.number:>3} {word}  ", " " * 12)
    places = [f"({x:.3f}, {y:.3f})" for x, y in group.places[:_MOST_PLACES]]
    if places:
        more = len(group.places) - len(places)
        lines += wrapped(f"at {', '.join(places)}" + (f" and {more} more" if more > 0 else ""), " " * 12)
    numbers = [str(f.line) for f in group.members if f.line][:_MOST_PLACES]
    if numbers and not places:
        lines += wrapped(f"in line {', '.join(numbers)} of the file", " " * 12)
    return lines + wrapped(first.cure, " " * 12)


def mended_lines(mended: Mended | None, before: Inspection) -> list[str]:
    """What was done, what was left, how far the new file strays, and what it still has."""
    if mended is None:
        return ["  mended      nothing: there is no line in it that can be read"]
    lines = ["  mended" if mended.done else "  mended      nothing to do: a clean copy was written"]
    for repair in mended.done:
        lines += wrapped(str(repair), "    done  ", " " * 10)
    for repair in mended.left:
        lines += wrapped(str(repair), "    left  ", " " * 10)
    area, now = before.area_mm2, mended.after.area_mm2
    lines += wrapped(
        f"no line moved farther than {mended.deviation_mm:.4f} mm; area within closed contours before {area:.2f}, "
        f"now {now:.2f} mm²",
        "    off   ",
        " " * 10,
    )
    still = [f"{f.code.value}" for f in mended.after.findings]
    kinds = ", ".join(dict.fromkeys(still)) or "nothing: the new file is clean"
    return [*lines, *wrapped(f"its own inspection still finds {kinds}", "    new   ", " " * 10)]
