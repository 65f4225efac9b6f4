"""What can be said of a file as a whole: size, place, extents, layers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from bracketgen.writers.cut_file.group_codes import GroupCodeFault
from bracketgen.writers.cut_file.lint_finding import Flaw, LintFinding
from bracketgen.writers.readback.contours import box_round
from bracketgen.writers.readback.drawn import Drawn
from bracketgen.writers.readback.edges import Box

#: Letters, digits, _ - $ up to 31 of them: what every version of the format takes (DXF Reference, R12 symbol names).
_PLAIN_NAME: Final = re.compile(r"[A-Za-z0-9_$-]{1,31}", re.ASCII)
#: Largest side of a part: outside 5 mm to 3 m a unit is likely wrong. Common practice, no source.
_LEAST_SIZE_MM, _MOST_SIZE_MM = 5.0, 3000.0
#: Farther than this from (0, 0) a file with six digits shows no hundredths. Own choice.
_FAR_MM: Final = 10_000.0
#: Extents that leave out this much of the drawing are wrong. Own choice.
_EXTENTS_MM: Final = 0.01
#: An empty drawing's extents are larger than any drawing; written by most programs until they are worked out.
_UNSET: Final = 1e19
#: How many times too large or small a drawing comes out when one unit is taken for another.
_SLIPS: Final = ((25.4, "inch against mm"), (10.0, "cm against mm"), (1000.0, "m against mm"))


def size_findings(box: Box) -> Iterator[LintFinding]:
    """Whether what is cut has the size of a part, and what it would be in another unit (mm)."""
    x0, y0, x1, y1 = box
    w, h = x1 - x0, y1 - y0
    if max(w, h) < _LEAST_SIZE_MM:
        hint = f"were its numbers inches, {w * 25.4:.4g} x {h * 25.4:.4g} mm; metres, {w * 1e3:.4g} x {h * 1e3:.4g} mm"
        yield LintFinding(Flaw.SIZE, f"what is cut is {w:.4g} x {h:.4g} mm; {hint}", (x0, y0))
    elif max(w, h) > _MOST_SIZE_MM:
        hint = (
            f"25.4 times smaller it is {w / 25.4:.4g} x {h / 25.4:.4g} mm, 1000 times {w / 1e3:.4g} x {h / 1e3:.4g} mm"
        )
        yield LintFinding(Flaw.SIZE, f"what is cut is {w:.4g} x {h:.4g} mm; {hint}", (x0, y0))
    far = max(abs(v) for v in box)
    if far > _FAR_MM and far > 5.0 * max(w, h):
        yield LintFinding(Flaw.FAR_AWAY, f"it lies {far / 1e3:.4g} m from (0, 0)", (x0, y0))


def extents_findings(drawn: Drawn) -> Iterator[LintFinding]:
    """Header extents that leave out some of the drawing, or are another size altogether."""
    if not drawn.pieces:
        return
    said = _said_box(drawn)
    if said is None:
        return
    box = box_round(e.box for p in drawn.pieces for e in p.edges)
    hint = _slip(said, box)
    outside = max(said[0] - box[0], said[1] - box[1], box[2] - said[2], box[3] - said[3])
    if outside > _EXTENTS_MM or hint:
        sizes = [f"{b[2] - b[0]:.4g} x {b[3] - b[1]:.4g} mm" for b in (said, box)]
        yield LintFinding(Flaw.EXTENTS, f"the header's extents are {sizes[0]}, the drawing's {sizes[1]}{hint}")


def _said_box(drawn: Drawn) -> Box | None:
    corners = (("$EXTMIN", 10), ("$EXTMIN", 20), ("$EXTMAX", 10), ("$EXTMAX", 20))
    try:
        found = [drawn.file.header_number(name, code) for name, code in corners]
    except GroupCodeFault:
        return None
    values = [v * drawn.in_mm for v in found if v is not None and abs(v) < _UNSET]
    return (values[0], values[1], values[2], values[3]) if len(values) == 4 else None


def _slip(said: Box, box: Box) -> str:
    """What a ratio of both sizes means, when it is that of two units."""
    if min(box[2] - box[0], box[3] - box[1]) <= 0.0:
        return ""
    ratios = [(said[k + 2] - said[k]) / (box[k + 2] - box[k]) for k in (0, 1)]
    for times, words in _SLIPS:
        if all(abs(r / times - 1.0) < 0.01 for r in ratios) or all(abs(r * times - 1.0) < 0.01 for r in ratios):
            return f", {times:g} times apart: {words}"
    return ""


def layer_findings(drawn: Drawn) -> Iterator[LintFinding]:
    """Layers that are not declared, and names that some program can't read."""
    used: dict[str, int] = {}
    for piece in drawn.pieces:
        used.setdefault(piece.entity.layer, piece.entity.line)
    for name, line in sorted(used.items()):
        if name not in drawn.file.layers and name != "0":
            yield LintFinding(Flaw.UNDECLARED_LAYER, f"layer '{name}' is used but not declared", line=line)
        if not _PLAIN_NAME.fullmatch(name):
            yield LintFinding(Flaw.LAYER_NAME, f"a layer called '{name}'", line=line)
