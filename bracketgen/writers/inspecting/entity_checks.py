"""What can be said of each entity by itself: its kind, its place in space, its flags."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from bracketgen.writers.cut_file.group_codes import FLOAT_CODES, FileEntity
from bracketgen.writers.cut_file.lint_finding import Flaw, LintFinding, a
from bracketgen.writers.inspecting.cut_layers import is_cut
from bracketgen.writers.readback.drawn import FAR_NUMBER, Drawn, Seen, is_hidden, on_paper

_PLAIN_NUMBER: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)", re.ASCII)
_FLAT_KINDS: Final = ("LINE", "CIRCLE", "ARC", "LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE", "INSERT")
#: What each kind of entity is that has no place in a cut file; DXF Reference, entities.
_OTHER_KINDS: Final[dict[str, Flaw]] = (
    dict.fromkeys(("TEXT", "MTEXT", "ATTRIB", "ATTDEF", "ACAD_TABLE", "RTEXT", "ARCALIGNEDTEXT"), Flaw.TEXT)
    | dict.fromkeys(("DIMENSION", "LEADER", "MULTILEADER", "TOLERANCE", "ARC_DIMENSION"), Flaw.DIMENSION)
    | dict.fromkeys(("HATCH", "MPOLYGON", "SOLID", "TRACE"), Flaw.HATCH)
    | dict.fromkeys(("XLINE", "RAY"), Flaw.GUIDE_LINE)
    | dict.fromkeys(("3DFACE", "3DSOLID", "BODY", "REGION", "MESH", "SURFACE", "HELIX"), Flaw.THREE_D)
    | dict.fromkeys(("PLANESURFACE", "EXTRUDEDSURFACE", "REVOLVEDSURFACE", "LOFTEDSURFACE"), Flaw.THREE_D)
    | dict.fromkeys(("SWEPTSURFACE", "NURBSURFACE"), Flaw.THREE_D)
    | dict.fromkeys(("IMAGE", "WIPEOUT", "OLEFRAME", "OLE2FRAME", "PDFUNDERLAY", "DGNUNDERLAY"), Flaw.PICTURE)
    | {"POINT": Flaw.POINT, "DWFUNDERLAY": Flaw.PICTURE}
)
#: Names of line types that are drawn through; DXF Reference, group 6.
_DRAWN_THROUGH: Final = {"", "BYLAYER", "BYBLOCK", "CONTINUOUS"}
_LEAST_HEIGHT: Final = 1e-9


def entity_findings(drawn: Drawn) -> Iterator[LintFinding]:
    """Every entity looked at once, also those within the blocks that are inserted."""
    for one in drawn.seen:
        try:
            yield from _of_one(drawn, one)
        except ValueError:
            # Its numbers can't be read, which the reading of the file has told already.
            continue


def _of_one(drawn: Drawn, one: Seen) -> Iterator[LintFinding]:
    entity = one.entity
    if entity.kind in ("VIEWPORT", "SEQEND") or (on_paper(entity) and one.inserted):
        return
    if on_paper(entity):
        yield LintFinding(Flaw.PAPER_SPACE, f"{a(entity.kind)} on the paper sheet", line=entity.line)
    elif is_hidden(drawn.file, entity):
        yield LintFinding(Flaw.HIDDEN, f"{a(entity.kind)} on layer '{entity.layer}' is not shown", line=entity.line)
    elif entity.kind in _FLAT_KINDS:
        yield from _of_flat(drawn, one)
    else:
        flaw = _OTHER_KINDS.get(entity.kind, Flaw.UNKNOWN_ENTITY)
        yield LintFinding(flaw, f"{a(entity.kind)}{_said(entity)}", _place(drawn, entity), entity.line)


def _said(entity: FileEntity) -> str:
    text = entity.text(1) if _OTHER_KINDS.get(entity.kind) is Flaw.TEXT else ""
    return f" '{text[:30]}'" if text else ""


def _place(drawn: Drawn, entity: FileEntity) -> tuple[float, float] | None:
    """Where an entity stands by its first point, unless it stands in a block."""
    x, y = entity.numbers(10)[:1], entity.numbers(20)[:1]
    if not x or not y or not all(abs(v) < 1e9 for v in (*x, *y)):
        return None
    return x[0] * drawn.in_mm, y[0] * drawn.in_mm


def _of_flat(drawn: Drawn, one: Seen) -> Iterator[LintFinding]:
    entity = one.entity
    if entity.kind == "POLYLINE" and entity.whole(70, 0) & (16 | 64):
        yield LintFinding(Flaw.THREE_D, "a POLYLINE that is a mesh", line=entity.line)
        return
    yield from _number_findings(one)
    yield from _space_findings(drawn, one)
    yield from _line_findings(drawn, entity)
    if entity.kind == "INSERT":
        yield from _block_findings(drawn, one)
    elif entity.kind in ("SPLINE", "ELLIPSE"):
        flaw = Flaw.SPLINE if entity.kind == "SPLINE" else Flaw.ELLIPSE
        found = next((p for p in drawn.pieces if p.entity.line == entity.line), None)
        yield LintFinding(flaw, f"{a(entity.kind)}", found.edges[0].start if found else None, entity.line)
    elif entity.kind in ("LWPOLYLINE", "POLYLINE"):
        yield from _polyline_findings(drawn, one)
    elif entity.kind == "ARC" and entity.number(50) % 360.0 == entity.number(51) % 360.0:
        yield LintFinding(Flaw.FULL_ARC, "an ARC that goes all the way round", _place(drawn, entity), entity.line)


def _number_findings(one: Seen) -> Iterator[LintFinding]:
    """Numbers with an exponent, once an entity; those that are none or endless are told by the reading."""
    for entity in (one.entity, *one.followers):
        for tag in entity.tags:
            if tag.code in FLOAT_CODES and tag.code < 1000 and not _PLAIN_NUMBER.fullmatch(tag.value):
                if abs(tag.number) <= FAR_NUMBER:
                    yield LintFinding(Flaw.EXPONENT, f"'{tag.value}' under group code {tag.code}", line=tag.line)
                return


def _space_findings(drawn: Drawn, one: Seen) -> Iterator[LintFinding]:
    entity = one.entity
    codes = {30, 31, 38, 39} if entity.kind == "LINE" else {30, 38, 39}
    for owner in (entity, *(f for f in one.followers if f.kind == "VERTEX")):
        high = next((t for t in owner.tags if t.code in codes and abs(t.number) > _LEAST_HEIGHT), None)
        if high is not None:
            what = f"{a(entity.kind)} {'of thickness' if high.code == 39 else 'at height'} {high.value}"
            yield LintFinding(Flaw.Z_NOT_ZERO, what, _place(drawn, owner), high.line)
            break
    level = abs(entity.number(210, 0.0)) + abs(entity.number(220, 0.0)) <= 1e-9
    if level and entity.number(230, 1.0) < 0.0:
        what = f"{a(entity.kind)} seen from below: some programs show it mirrored"
        yield LintFinding(Flaw.EXTRUSION, what, line=entity.line)


def _line_findings(drawn: Drawn, entity: FileEntity) -> Iterator[LintFinding]:
    if not is_cut(entity.layer) or entity.kind == "INSERT":
        return
    own = entity.text(6).upper()
    row = drawn.file.layer_rows.get(entity.layer)
    by_layer = row.text(6).upper() if row is not None and own in ("", "BYLAYER") else ""
    name = own if own not in _DRAWN_THROUGH else by_layer
    if name not in _DRAWN_THROUGH:
        what = f"{a(entity.kind)} on layer '{entity.layer}' in line type '{name}'"
        yield LintFinding(Flaw.DASHED_LINE, what, _place(drawn, entity), entity.line)


def _block_findings(drawn: Drawn, one: Seen) -> Iterator[LintFinding]:
    entity, place = one.entity, _place(drawn, one.entity)
    yield LintFinding(Flaw.BLOCK, f"block '{entity.text(2)}' is inserted", place, entity.line)
    if abs(abs(entity.number(41, 1.0)) - abs(entity.number(42, 1.0))) > 1e-9:
        what = f"block '{entity.text(2)}' is stretched {entity.number(41, 1.0):g} by {entity.number(42, 1.0):g}"
        yield LintFinding(Flaw.STRETCHED_BLOCK, what, place, entity.line)
    for follower in one.followers:
        if follower.kind == "ATTRIB":
            yield LintFinding(Flaw.TEXT, f"an ATTRIB{_said(follower)}", _place(drawn, follower), follower.line)


def _polyline_findings(drawn: Drawn, one: Seen) -> Iterator[LintFinding]:
    entity, place = one.entity, _place(drawn, one.entity)
    widths = (40, 41, 43) if entity.kind == "LWPOLYLINE" else (40, 41)
    owners = (entity, *(f for f in one.followers if f.kind == "VERTEX"))
    if any(w != 0.0 for owner in owners for code in widths for w in owner.numbers(code)):
        yield LintFinding(Flaw.WIDE_LINE, f"{a(entity.kind)} with a width", place, entity.line)
    if entity.kind == "POLYLINE" and entity.whole(70, 0) & (2 | 4):
        yield LintFinding(Flaw.FITTED_POLYLINE, "a POLYLINE with a fitted curve", place, entity.line)
    if entity.kind == "LWPOLYLINE":
        said, there = entity.whole(90, -1), len(entity.numbers(10))
        if said not in (-1, there):
            what = f"an LWPOLYLINE that says {said} points and has {there}"
            yield LintFinding(Flaw.POINT_COUNT, what, place, entity.line)
