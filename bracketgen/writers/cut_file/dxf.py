"""Writing the cut file: DXF R2000, circles and polylines with true arcs, nominal size, millimetres.

The same sheet gives the same bytes on every machine: no clock, no user, no path, no identifier of the moment.
What is written is first read back by an independent reader, linted, and held against the sheet.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from bracketgen.drawing.to_cut.cut_sheet import (
    BULGE_DECIMALS,
    LENGTH_DECIMALS,
    Chain,
    Closure,
    CutSheet,
    Round,
    canonical,
)
from bracketgen.errors import WriteFault
from bracketgen.writers.cut_file.cut_file_lint import Flaw, lint
from bracketgen.writers.cut_file.dxf_skeleton import skeleton
from bracketgen.writers.readback.comparison import differences
from bracketgen.writers.whole_file import write_whole

#: Room left round the part in the saved view, as a part of its size. Own choice.
_VIEW_ROOM = 1.1


def write_dxf(sheet: CutSheet, path: Path, tolerated: frozenset[Flaw] = frozenset()) -> None:
    """Write the cut file whole or not at all, after it has passed its own lint and the comparison.

    WriteFault and OSError as for `verified_dxf` and `write_whole`; then nothing is left behind.
    """
    write_whole(path, verified_dxf(sheet, tolerated))


def verified_dxf(sheet: CutSheet, tolerated: frozenset[Flaw] = frozenset()) -> bytes:
    """The bytes of the cut file, read back, linted and compared with the sheet.

    `tolerated` are flaws to let pass, for a part that is known to fail and is written on request.
    Raises WriteFault with every flaw and every difference.
    """
    data = dxf_bytes(sheet)
    flaws = [str(finding) for finding in lint(data) if finding.code not in tolerated]
    wrong = [*flaws, *differences(sheet, data)]
    if wrong:
        raise WriteFault(f"{sheet.name}.dxf was not written:\n" + "\n".join(wrong))
    return data


def dxf_bytes(sheet: CutSheet) -> bytes:
    """The sheet as DXF R2000 text (ASCII, CR LF), unchecked. GeometryFault for an empty sheet."""
    sheet = canonical(sheet)
    return assembled(sheet, _drawn(sheet))


def assembled(sheet: CutSheet, drawn: Iterator[str]) -> bytes:
    """An R2000 file around the texts of its entities; `sheet` is canonical and gives layers and extents."""
    frame = skeleton(sheet.layers)
    number = frame.first_handle
    entities: list[str] = []
    for tags in drawn:
        entities.append(tags.replace("<handle>", f"{number:X}").replace("<owner>", frame.owner))
        number += 1
    places = _view(sheet) | {"handle_seed": f"{number:X}", "entities": "".join(entities)}
    return (frame.text % places).encode("ascii")


def _view(sheet: CutSheet) -> dict[str, str]:
    x0, y0, x1, y1 = sheet.bounds_mm
    values = {
        "x0": x0,
        "y0": y0,
        "x1": x1,
        "y1": y1,
        "middle_x": 0.5 * (x0 + x1),
        "middle_y": 0.5 * (y0 + y1),
        # The view is at least as wide as high, so the larger side always fits.
        "height": _VIEW_ROOM * max(x1 - x0, y1 - y0),
    }
    return {name: fixed(value) for name, value in values.items()}


def _drawn(sheet: CutSheet) -> Iterator[str]:
    """Every entity's text, sorted by layer, then kind, then start."""
    for layer in sheet.layers:
        own = sheet.on(layer)
        yield from map(circle_text, own.rounds)
        yield from map(_polyline, own.chains)


def circle_text(item: Round) -> str:
    """A round hole as CIRCLE."""
    return (
        entity_head("CIRCLE", item.layer.value)
        + tag(100, "AcDbCircle")
        + point_text(item.x_mm, item.y_mm)
        + tag(30, "0.0")
        + tag(40, fixed(item.radius_mm))
    )


def _polyline(chain: Chain) -> str:
    flag = "1" if chain.closed is Closure.CLOSED else "0"
    return (
        entity_head("LWPOLYLINE", chain.layer.value)
        + tag(100, "AcDbPolyline")
        + tag(90, str(len(chain.points)))
        + tag(70, flag)
        + "".join(
            point_text(x, y) + (tag(42, fixed(bulge, BULGE_DECIMALS)) if bulge else "") for x, y, bulge in chain.points
        )
    )


def entity_head(kind: str, layer: str) -> str:
    """How every entity of an R2000 file begins; handle and owner are filled in later."""
    return tag(0, kind) + tag(5, "<handle>") + tag(330, "<owner>") + tag(100, "AcDbEntity") + tag(8, layer)


def point_text(x_mm: float, y_mm: float) -> str:
    """A place, without z."""
    return tag(10, fixed(x_mm)) + tag(20, fixed(y_mm))


def tag(code: int, value: str) -> str:
    """A group code and its value, a line each."""
    return f"{code:3d}\r\n{value}\r\n"


def fixed(value: float, decimals: int = LENGTH_DECIMALS) -> str:
    """Plain decimals, without trailing zeros but for the first: 25.0, never 2.5e1."""
    text = f"{value + 0.0:.{decimals}f}".rstrip("0")
    text = text + "0" if text.endswith(".") else text
    return "0.0" if text == "-0.0" else text
