"""What can be said of each entity of a drawing from anyone, of the file as a whole, and of what its process can cut."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

from bracketgen.files.contours import DrawnContour, box_round, is_cut, near_pairs
from bracketgen.files.edges import Box, Point
from bracketgen.files.group_codes import FLOAT_CODES, FileEntity, GroupCodeFault
from bracketgen.files.inspecting.drawing import FAR_NUMBER, Drawing, WholeEntity, is_hidden, on_paper
from bracketgen.files.inspecting.outlines import Outlines, one_circle
from bracketgen.files.lint import LEAST_SIZE_MM, MOST_SIZE_MM, PLAIN_NUMBER, Flaw, LintFinding, a
from bracketgen.geometry.contour import Contour
from bracketgen.geometry.facing import Side, facing_pairs
from bracketgen.geometry.gap import Gap, edge_gap
from bracketgen.geometry.plane import midpoint
from bracketgen.rules.engine import cited
from bracketgen.standards.machines import Process
from bracketgen.tolerances import SAME_POINT_MM
from bracketgen.units import INCH_MM

_FLAT_KINDS: Final = ("LINE", "CIRCLE", "ARC", "LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE", "INSERT")
#: What each kind of entity is that has no place in a cut file; DXF Reference, entities.
_OTHER_KINDS: Final[dict[str, Flaw]] = {
    kind: flaw
    for flaw, kinds in (
        (Flaw.TEXT, "TEXT MTEXT ATTRIB ATTDEF ACAD_TABLE RTEXT ARCALIGNEDTEXT"),
        (Flaw.DIMENSION, "DIMENSION LEADER MULTILEADER TOLERANCE ARC_DIMENSION"),
        (Flaw.HATCH, "HATCH MPOLYGON SOLID TRACE"),
        (Flaw.GUIDE_LINE, "XLINE RAY"),
        (Flaw.THREE_D, "3DFACE 3DSOLID BODY REGION MESH SURFACE HELIX PLANESURFACE EXTRUDEDSURFACE REVOLVEDSURFACE"),
        (Flaw.THREE_D, "LOFTEDSURFACE SWEPTSURFACE NURBSURFACE"),
        (Flaw.PICTURE, "IMAGE WIPEOUT OLEFRAME OLE2FRAME PDFUNDERLAY DGNUNDERLAY DWFUNDERLAY"),
        (Flaw.POINT, "POINT"),
    )
    for kind in kinds.split()
}
#: Names of line types that are drawn through; DXF Reference, group 6.
_DRAWN_THROUGH: Final = {"", "BYLAYER", "BYBLOCK", "CONTINUOUS"}
_LEAST_HEIGHT: Final = 1e-9


def entity_findings(drawing: Drawing) -> Iterator[LintFinding]:
    """Every entity looked at once, also those within the blocks that are inserted."""
    for one in drawing.entities:
        entity, kind = one.entity, a(one.entity.kind)
        try:
            if entity.kind in ("VIEWPORT", "SEQEND") or (on_paper(entity) and one.inserted):
                continue
            if on_paper(entity):
                yield LintFinding(Flaw.PAPER_SPACE, f"{kind} on the paper sheet", line=entity.line)
            elif is_hidden(drawing.file, entity):
                yield LintFinding(Flaw.HIDDEN, f"{kind} on layer '{entity.layer}' is not shown", line=entity.line)
            elif entity.kind in _FLAT_KINDS:
                yield from _of_flat(drawing, one)
            else:
                flaw = _OTHER_KINDS.get(entity.kind, Flaw.UNKNOWN_ENTITY)
                said = _said(entity) if flaw is Flaw.TEXT else ""
                yield LintFinding(flaw, f"{kind}{said}", _place(drawing, entity), entity.line)
        except ValueError:
            # Its numbers can't be read, which the reading of the file has told already.
            continue


def _said(entity: FileEntity) -> str:
    return f" '{entity.text(1)[:30]}'" if entity.text(1) else ""


def _place(drawing: Drawing, entity: FileEntity) -> Point | None:
    """Where an entity stands by its first point, unless it stands in a block."""
    x, y = entity.numbers(10)[:1], entity.numbers(20)[:1]
    if not x or not y or not all(abs(v) < FAR_NUMBER for v in (*x, *y)):
        return None
    return x[0] * drawing.in_mm, y[0] * drawing.in_mm


def _of_flat(drawing: Drawing, one: WholeEntity) -> Iterator[LintFinding]:
    """A line, curve or inserted block: numbers, height, side, line type; then what is special to its kind."""
    entity, kind = one.entity, a(one.entity.kind)
    if entity.kind == "POLYLINE" and entity.whole(70, 0) & (16 | 64):
        yield LintFinding(Flaw.THREE_D, "a POLYLINE that is a mesh", line=entity.line)
        return
    vertices = [f for f in one.followers if f.kind == "VERTEX"]
    # Once an entity; numbers that are none or endless are told by the reading.
    odd = (t for e in (entity, *one.followers) for t in e.tags if t.code in FLOAT_CODES and t.code < 1000)
    bad = next((t for t in odd if not PLAIN_NUMBER.fullmatch(t.value)), None)
    if bad is not None and abs(bad.number) <= FAR_NUMBER:
        yield LintFinding(Flaw.EXPONENT, f"'{bad.value}' under group code {bad.code}", line=bad.line)
    place = _place(drawing, entity)
    codes = {30, 31, 38, 39} if entity.kind == "LINE" else {30, 38, 39}
    for owner in (entity, *vertices):
        high = next((t for t in owner.tags if t.code in codes and abs(t.number) > _LEAST_HEIGHT), None)
        if high is not None:
            what = f"{kind} {'of thickness' if high.code == 39 else 'at height'} {high.value}"
            yield LintFinding(Flaw.Z_NOT_ZERO, what, _place(drawing, owner), high.line)
            break
    if abs(entity.number(210, 0.0)) + abs(entity.number(220, 0.0)) <= 1e-9 and entity.number(230, 1.0) < 0.0:
        what = f"{kind} seen from below: some programs show it mirrored"
        yield LintFinding(Flaw.EXTRUSION, what, line=entity.line)
    line_type = entity.text(6).upper()
    row = drawing.file.layer_rows.get(entity.layer)
    if row is not None and line_type in ("", "BYLAYER"):
        line_type = row.text(6).upper()
    if entity.kind != "INSERT" and is_cut(entity.layer) and line_type not in _DRAWN_THROUGH:
        what = f"{kind} on layer '{entity.layer}' in line type '{line_type}'"
        yield LintFinding(Flaw.DASHED_LINE, what, place, entity.line)
    match entity.kind:
        case "INSERT":
            yield from _block_findings(drawing, one)
        case "SPLINE" | "ELLIPSE":
            start = next((p.edges[0].start for p in drawing.pieces if p.entity.line == entity.line), None)
            yield LintFinding(Flaw(entity.kind.lower()), kind, start, entity.line)
        case "LWPOLYLINE" | "POLYLINE":
            widths = (40, 41, 43) if entity.kind == "LWPOLYLINE" else (40, 41)
            if any(w != 0.0 for owner in (entity, *vertices) for code in widths for w in owner.numbers(code)):
                yield LintFinding(Flaw.WIDE_LINE, f"{kind} with a width", place, entity.line)
            if entity.kind == "POLYLINE" and entity.whole(70, 0) & (2 | 4):
                yield LintFinding(Flaw.FITTED_POLYLINE, "a POLYLINE with a fitted curve", place, entity.line)
            said, there = entity.whole(90, -1), len(entity.numbers(10))
            if entity.kind == "LWPOLYLINE" and said not in (-1, there):
                what = f"an LWPOLYLINE that says {said} points and has {there}"
                yield LintFinding(Flaw.POINT_COUNT, what, place, entity.line)
        case "ARC" if entity.number(50) % 360.0 == entity.number(51) % 360.0:
            yield LintFinding(Flaw.FULL_ARC, "an ARC that goes all the way round", place, entity.line)


def _block_findings(drawing: Drawing, one: WholeEntity) -> Iterator[LintFinding]:
    entity, place = one.entity, _place(drawing, one.entity)
    yield LintFinding(Flaw.BLOCK, f"block '{entity.text(2)}' is inserted", place, entity.line)
    x, y = entity.number(41, 1.0), entity.number(42, 1.0)
    if abs(abs(x) - abs(y)) > 1e-9:
        what = f"block '{entity.text(2)}' is stretched {x:g} by {y:g}"
        yield LintFinding(Flaw.STRETCHED_BLOCK, what, place, entity.line)
    for follower in one.followers:
        if follower.kind == "ATTRIB":
            yield LintFinding(Flaw.TEXT, f"an ATTRIB{_said(follower)}", _place(drawing, follower), follower.line)


# -- the file as a whole

#: Letters, digits, _ - $ up to 31 of them: what every version of the format takes (DXF Reference, R12 symbol names).
_PLAIN_NAME: Final = re.compile(r"[A-Za-z0-9_$-]{1,31}", re.ASCII)
#: Farther than this from (0, 0) a file with six digits shows no hundredths. Own choice.
_FAR_MM: Final = 10_000.0
#: Extents that leave out this much of the drawing are wrong. Own choice.
_EXTENTS_MM: Final = 0.01
#: An empty drawing's extents are larger than any drawing; written by most programs until they are worked out.
_UNSET: Final = 1e19
#: How many times too large or small a drawing comes out when one unit is taken for another.
_SLIPS: Final = ((INCH_MM, "inch against mm"), (10.0, "cm against mm"), (1000.0, "m against mm"))


def size_findings(box: Box) -> Iterator[LintFinding]:
    """Whether what is cut has the size of a part, and what it would be in another unit (mm)."""
    x0, y0, x1, y1 = box
    w, h = x1 - x0, y1 - y0
    if max(w, h) < LEAST_SIZE_MM:
        hint = f"{w * INCH_MM:.4g} x {h * INCH_MM:.4g} mm; metres, {w * 1e3:.4g} x {h * 1e3:.4g} mm"
        hint = f"were its numbers inches, {hint}"
        yield LintFinding(Flaw.SIZE, f"what is cut is {w:.4g} x {h:.4g} mm; {hint}", (x0, y0))
    elif max(w, h) > MOST_SIZE_MM:
        inch, metre = f"{w / INCH_MM:.4g} x {h / INCH_MM:.4g} mm", f"{w / 1e3:.4g} x {h / 1e3:.4g} mm"
        hint = f"25.4 times smaller it is {inch}, 1000 times {metre}"
        yield LintFinding(Flaw.SIZE, f"what is cut is {w:.4g} x {h:.4g} mm; {hint}", (x0, y0))
    far = max(abs(v) for v in box)
    if far > _FAR_MM and far > 5.0 * max(w, h):
        yield LintFinding(Flaw.FAR_AWAY, f"it lies {far / 1e3:.4g} m from (0, 0)", (x0, y0))


def extents_findings(drawing: Drawing) -> Iterator[LintFinding]:
    """Header extents that leave out some of the drawing, or are another size altogether."""
    try:
        header = drawing.file.extents()
    except GroupCodeFault:
        return
    said = [v * drawing.in_mm for v in header if v is not None and abs(v) < _UNSET]
    if len(said) < 4 or not drawing.pieces:
        return
    box = box_round(e.box for p in drawing.pieces for e in p.edges)
    (w, h), (w_said, h_said) = ((b[2] - b[0], b[3] - b[1]) for b in (box, said))
    hint = ""
    if min(w, h) > 0.0:
        for times, words in _SLIPS:
            if any(all(abs(r * k - 1.0) < 0.01 for r in (w_said / w, h_said / h)) for k in (times, 1.0 / times)):
                hint = hint or f", {times:g} times apart: {words}"
    if max(said[0] - box[0], said[1] - box[1], box[2] - said[2], box[3] - said[3]) > _EXTENTS_MM or hint:
        what = f"the header's extents are {w_said:.4g} x {h_said:.4g} mm, the drawing's {w:.4g} x {h:.4g} mm{hint}"
        yield LintFinding(Flaw.EXTENTS, what)


def layer_findings(drawing: Drawing) -> Iterator[LintFinding]:
    """Layers that are not declared, and names that some program can't read."""
    used = {piece.entity.layer: piece.entity.line for piece in reversed(drawing.pieces)}
    for name, line in sorted(used.items()):
        if name not in drawing.file.layers and name != "0":
            yield LintFinding(Flaw.UNDECLARED_LAYER, f"layer '{name}' is used but not declared", line=line)
        if not _PLAIN_NAME.fullmatch(name):
            yield LintFinding(Flaw.LAYER_NAME, f"a layer called '{name}'", line=line)


# -- what the cutting process can't make in this thickness: holes, slots and webs that are too small

_SLACK_MM = 1e-6


def process_findings(outlines: Outlines, process: Process, thickness_mm: float) -> Iterator[LintFinding]:
    """Every hole, slot and web under the limits of the process table, and a thickness out of its scope."""
    if process.thickness_mm and not process.thickness_mm[0] <= thickness_mm <= process.thickness_mm[1]:
        low, high = process.thickness_mm
        what = f"{thickness_mm:g} mm; {process.tolerance_table} covers {low:g} to {high:g} mm for {process.id}"
        yield LintFinding(Flaw.THICKNESS, what)
    hole, slot, web = (
        least(thickness_mm) for least in (process.minimum_hole_mm, process.minimum_slot_mm, process.minimum_web_mm)
    )
    whose = cited(process.source, process.how)
    contours = outlines.chains.contours
    true = [c.true() for c in contours]
    for i, contour in enumerate(contours):
        inner = outlines.depth[i] % 2 == 1
        if inner and one_circle(contour.edges):
            yield from _round(contour, hole, f"{process.id} in {thickness_mm:g} mm ({whose})")
        elif len(contour.edges) > 2:
            yield from _facing(true[i], Side.INSIDE if inner else Side.OUTSIDE, (slot, web), whose)
    yield from _between(outlines, true, web, whose)


def _round(contour: DrawnContour, least: float, words: str) -> Iterator[LintFinding]:
    diameter = 2.0 * contour.edges[0].radius_mm
    if diameter < least - _SLACK_MM:
        what = f"a hole of {diameter:.4g} mm, at least {least:g} mm for {words}"
        yield LintFinding(Flaw.SMALL_HOLE, what, contour.edges[0].centre, contour.line)


def _facing(chain: Contour, open_side: Side, limits: tuple[float, float], whose: str) -> Iterator[LintFinding]:
    """Where a contour runs close to itself: over the open side it is a narrow slot, over the metal a thin web."""
    slot, web = limits
    for facing in facing_pairs(chain, max(slot, web)):
        middle = midpoint(facing.gap.here, facing.gap.there)
        over_gap = facing.side is open_side
        flaw, least, word = (Flaw.NARROW_SLOT, slot, "an opening") if over_gap else (Flaw.THIN_WEB, web, "a web")
        if SAME_POINT_MM < facing.gap.mm < least - _SLACK_MM:
            what = f"{word} of {facing.gap.mm:.4g} mm, at least {least:g} mm ({whose})"
            yield LintFinding(flaw, what, (middle.x, middle.y))


def _between(outlines: Outlines, true: Sequence[Contour], web: float, whose: str) -> Iterator[LintFinding]:
    """The least metal between each two cuts of one part."""
    owners = [(i, edge) for i, chain in enumerate(true) for edge in chain.edges]
    least: dict[tuple[int, int], Gap] = {}
    for first, second in near_pairs([edge.bounds() for _, edge in owners], web):
        (i, one), (j, two) = owners[first], owners[second]
        if i == j or outlines.outermost(i) != outlines.outermost(j):
            continue
        gap, pair = edge_gap(one, two), (min(i, j), max(i, j))
        if pair not in least or gap.mm < least[pair].mm:
            least[pair] = gap
    for gap in least.values():
        # Cuts that touch are told as such.
        if SAME_POINT_MM < gap.mm < web - _SLACK_MM:
            middle = midpoint(gap.here, gap.there)
            what = f"{gap.mm:.4g} mm of metal between two cuts, at least {web:g} mm ({whose})"
            yield LintFinding(Flaw.THIN_WEB, what, (middle.x, middle.y))
