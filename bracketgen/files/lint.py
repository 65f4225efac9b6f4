"""Lint of a cut file: everything in the written bytes that spoils a sheet or gets the file refused, with its cure.

A library's audit asks whether a program can open the file; this asks whether a shop can cut from it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import fsum, hypot, isfinite, radians

from bracketgen.files.contours import (
    Chains,
    DrawnContour,
    box_round,
    chains_of,
    holders,
    is_cut,
    near_pairs,
)
from bracketgen.files.edges import (
    SAME_LINE_MM,
    Edge,
    EdgeOverlap,
    Piece,
    Point,
    meeting_points,
    overlap,
    pieces_in,
    turn_rad,
)
from bracketgen.files.group_codes import (
    FLOAT_CODES,
    FileEntity,
    GroupCodeFault,
    GroupCodeFile,
    Tag,
    read_group_codes,
)
from bracketgen.findings import Level
from bracketgen.tolerances import SHORTEST_EDGE_MM


class Flaw(StrEnum):
    """Everything that can be wrong with a cut file.

    Those up to NESTED are held against our own files; the rest are told of files from anyone.
    """

    UNREADABLE = "unreadable"
    NOT_FINITE = "not-finite"
    EXPONENT = "exponent"
    UNITS = "units"
    EXTENTS = "extents"
    SIZE = "size"
    EMPTY = "empty"
    UNKNOWN_ENTITY = "unknown-entity"
    TEXT = "text"
    BLOCK = "block"
    PAPER_SPACE = "paper-space"
    UNDECLARED_LAYER = "undeclared-layer"
    LAYER_NAME = "layer-name"
    Z_NOT_ZERO = "z-not-zero"
    EXTRUSION = "extrusion"
    OPEN_CHAIN = "open-chain"
    JUNCTION = "junction"
    CLOSED_FLAG = "closed-flag"
    REPEATED_FIRST_POINT = "repeated-first-point"
    BULGE_TOO_BIG = "bulge-too-big"
    TINY_EDGE = "tiny-edge"
    FACETED_ARC = "faceted-arc"
    DOUBLED_EDGE = "doubled-edge"
    OVERLAPPING_EDGE = "overlapping-edge"
    CROSSING = "crossing"
    OUTSIDE_OUTLINE = "outside-outline"
    NESTED = "nested"
    UNITS_UNCLEAR = "units-unclear"
    GAP = "gap"
    SPLINE = "spline"
    ELLIPSE = "ellipse"
    HATCH = "hatch"
    DIMENSION = "dimension"
    POINT = "point"
    GUIDE_LINE = "guide-line"
    THREE_D = "three-d"
    PICTURE = "picture"
    WIDE_LINE = "wide-line"
    DASHED_LINE = "dashed-line"
    FITTED_POLYLINE = "fitted-polyline"
    POINT_COUNT = "point-count"
    DEGENERATE = "degenerate"
    HIDDEN = "hidden"
    MISSING_BLOCK = "missing-block"
    STRETCHED_BLOCK = "stretched-block"
    TILTED = "tilted"
    TOO_MUCH = "too-much"
    FULL_ARC = "full-arc"
    SPLIT_CIRCLE = "split-circle"
    MIXED_LAYERS = "mixed-layers"
    FAR_AWAY = "far-away"
    SMALL_HOLE = "small-hole"
    NARROW_SLOT = "narrow-slot"
    THIN_WEB = "thin-web"
    THICKNESS = "thickness"


_CURES: dict[Flaw, str] = {
    Flaw.UNREADABLE: "write the file again as DXF text",
    Flaw.NOT_FINITE: "find the calculation that gave no number; do not cut from this file",
    Flaw.EXPONENT: "write numbers in plain decimals; some controllers stop at the 'e'",
    Flaw.UNITS: "set $INSUNITS to 4 and $MEASUREMENT to 1, and draw in millimetres",
    Flaw.EXTENTS: "set $EXTMIN and $EXTMAX to the true bounds, with arcs that bulge past their ends",
    Flaw.SIZE: "check the unit: 25.4 times too big or small is inch against mm, 1000 times is m against mm",
    Flaw.EMPTY: "put the outline and the holes on the layer CUT of the model space",
    Flaw.UNKNOWN_ENTITY: "draw it with circles and closed polylines of lines and arcs",
    Flaw.TEXT: "leave text out of the cut file; it belongs on the drawing",
    Flaw.BLOCK: "break the block up; a cut file holds plain geometry only",
    Flaw.PAPER_SPACE: "move it to the model space",
    Flaw.UNDECLARED_LAYER: "declare the layer in the file's layer table",
    Flaw.LAYER_NAME: "name layers in plain capitals: CUT, MARK, BEND",
    Flaw.Z_NOT_ZERO: "flatten it to z = 0, with no thickness",
    Flaw.EXTRUSION: "draw it as seen from above, extrusion (0, 0, 1); otherwise it may come out mirrored",
    Flaw.OPEN_CHAIN: "join the ends: both must be the same number",
    Flaw.JUNCTION: "leave two ends at each point; remove what is there twice",
    Flaw.CLOSED_FLAG: "set the closed flag and leave the repeated last point out",
    Flaw.REPEATED_FIRST_POINT: "leave the last point out; the closed flag leads back by itself",
    Flaw.BULGE_TOO_BIG: "split the arc so that each is under a half circle",
    Flaw.TINY_EDGE: "remove it and join its neighbours; the machine stops and burns there",
    Flaw.FACETED_ARC: "draw it as a true arc or circle",
    Flaw.DOUBLED_EDGE: "remove one of the two; it would be cut twice",
    Flaw.OVERLAPPING_EDGE: "shorten or remove one of the two; the shared stretch would be cut twice",
    Flaw.CROSSING: "move the contours apart; where they meet, no metal is left between them",
    Flaw.OUTSIDE_OUTLINE: "move it inside the outline, or put each part in a file of its own",
    Flaw.NESTED: "remove one of the two contours; the inner one lies in metal that falls out",
    Flaw.UNITS_UNCLEAR: "ask which is meant, then set $INSUNITS to 4 and $MEASUREMENT to 1",
    Flaw.GAP: "join the two ends",
    Flaw.SPLINE: "draw it with lines and arcs; many cutting machines refuse splines or chop them into short lines",
    Flaw.ELLIPSE: "draw it with lines and arcs; many cutting machines refuse ellipses or chop them into short lines",
    Flaw.HATCH: "delete the hatch; it belongs on the drawing, and its lines may be cut",
    Flaw.DIMENSION: "delete it; dimensions belong on the drawing, and their lines and arrows may be cut",
    Flaw.POINT: "delete it, or draw a circle where a hole is meant; some machines pierce at points",
    Flaw.GUIDE_LINE: "delete it; it has no end",
    Flaw.THREE_D: "draw the flat outline of the part with lines and arcs",
    Flaw.PICTURE: "delete it; a cut file holds plain geometry only",
    Flaw.WIDE_LINE: "set the width to 0; some programs cut round both edges of a wide line",
    Flaw.DASHED_LINE: "draw what is cut in continuous lines; put bend lines and marks on a layer of their own",
    Flaw.FITTED_POLYLINE: "draw the curve with true arcs; what is shown depends on the program",
    Flaw.POINT_COUNT: "write the file again; a reader that trusts the count goes wrong",
    Flaw.DEGENERATE: "delete it, or draw it again",
    Flaw.HIDDEN: "delete it or show it; some programs cut what others hide",
    Flaw.MISSING_BLOCK: "put the block into the file, broken up into lines and arcs",
    Flaw.STRETCHED_BLOCK: "break the block up and draw its arcs again; stretched circles are no circles",
    Flaw.TILTED: "draw it flat; seen from above it is shorter than it is",
    Flaw.TOO_MUCH: "send the part alone, without the drawing around it",
    Flaw.FULL_ARC: "draw it as a circle; some programs take the same two angles for an arc of no length",
    Flaw.SPLIT_CIRCLE: "draw it as one circle; then a shop sees a hole with a diameter",
    Flaw.MIXED_LAYERS: "put the whole contour on one layer; cut by layer it stays open",
    Flaw.FAR_AWAY: "move the part near (0, 0); far away the numbers lose their last digits",
    Flaw.SMALL_HOLE: "make it larger, or mark it only and drill it",
    Flaw.NARROW_SLOT: "make it wider",
    Flaw.THIN_WEB: "leave more metal between the cuts",
    Flaw.THICKNESS: "ask the shop whether it cuts this thickness, and how true",
}

#: What spoils the part or can't be cut fails; what may be refused or misread is a warning. All others are notes.
_FAILS = frozenset(
    {
        Flaw.UNREADABLE, Flaw.NOT_FINITE, Flaw.SIZE, Flaw.EMPTY, Flaw.UNKNOWN_ENTITY, Flaw.EXTRUSION,
        Flaw.OPEN_CHAIN, Flaw.JUNCTION, Flaw.TINY_EDGE, Flaw.DOUBLED_EDGE, Flaw.OVERLAPPING_EDGE, Flaw.CROSSING,
        Flaw.NESTED, Flaw.GAP, Flaw.SPLINE, Flaw.ELLIPSE, Flaw.THREE_D, Flaw.DEGENERATE, Flaw.MISSING_BLOCK,
        Flaw.TILTED, Flaw.TOO_MUCH, Flaw.SMALL_HOLE, Flaw.NARROW_SLOT, Flaw.THIN_WEB,
    }
)  # fmt: skip
_NOTES = frozenset({Flaw.EXTENTS, Flaw.SPLIT_CIRCLE, Flaw.LAYER_NAME, Flaw.UNDECLARED_LAYER, Flaw.POINT_COUNT})


@dataclass(frozen=True, slots=True)
class LintFinding:
    """One flaw: where (mm in the file's frame, line of the file; 0 = the whole file), and what it is."""

    code: Flaw
    what: str
    at_mm: tuple[float, float] | None = None
    line: int = 0

    @property
    def cure(self) -> str:
        """What to do about it."""
        return _CURES[self.code]

    @property
    def level(self) -> Level:
        """How bad it is in a file from anyone; in our own files nothing is let pass."""
        if self.code in _FAILS:
            return Level.FAIL
        return Level.NOTE if self.code in _NOTES else Level.WARN

    def __str__(self) -> str:
        place = f" at ({self.at_mm[0]:.3f}, {self.at_mm[1]:.3f}) mm" if self.at_mm else ""
        line = f" (line {self.line})" if self.line else ""
        return f"{self.code}: {self.what}{place}{line}; {self.cure}"


def a(kind: str) -> str:
    """The kind of an entity with its article: 'a LINE', 'an ARC'."""
    return f"an {kind}" if kind.startswith(("A", "E", "I", "O", "X", "LW", "MT", "ML", "MP")) else f"a {kind}"


PLAIN_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)", re.ASCII)
_LAYER_NAME = re.compile(r"[A-Z][A-Z0-9_]{0,30}", re.ASCII)
#: $INSUNITS 4 = mm, $MEASUREMENT 1 = metric; DXF Reference, header variables.
_UNIT_CODES = {"$INSUNITS": 4, "$MEASUREMENT": 1}
_TEXT_KINDS = {"TEXT", "MTEXT", "ATTRIB", "ATTDEF", "DIMENSION", "LEADER", "MULTILEADER", "TOLERANCE"}
_CUT_KINDS = {"CIRCLE", "LWPOLYLINE", "LINE", "ARC", "POLYLINE", "VERTEX", "SEQEND"}
#: Group codes for a height: z of the points, elevation (38), thickness (39); DXF Reference, entities.
_HEIGHT_CODES = {30, 31, 38, 39}
#: Beyond ten kilometres nothing is worked out any further.
FAR_MM = 1e7
_EXTRUSION_CODES = {210: 0.0, 220: 0.0, 230: 1.0}


def lint(data: bytes) -> tuple[LintFinding, ...]:
    """Every flaw of a DXF text file, in the order of the checks; none for a file that is fit to cut.

    Never raises for what stands in the file: what can't be read is a finding too.
    """
    try:
        file = read_group_codes(data)
        bad_numbers = tuple(_number_findings(file))
        if any(f.code is Flaw.NOT_FINITE for f in bad_numbers):
            return bad_numbers
        far = tuple(_far_findings(file))
        return (*bad_numbers, *_file_findings(file), *(far or geometry_findings(file)))
    except GroupCodeFault as fault:
        return (LintFinding(Flaw.UNREADABLE, fault.what, line=fault.line),)


def _number_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    for tag in file.tags:
        if tag.code in FLOAT_CODES and not PLAIN_NUMBER.fullmatch(tag.value):
            yield _bad_number(tag)


def _bad_number(tag: Tag) -> LintFinding:
    try:
        finite = isfinite(float(tag.value))
    except ValueError:
        finite = False
    flaw = Flaw.EXPONENT if finite else Flaw.NOT_FINITE
    return LintFinding(flaw, f"'{tag.value}' under group code {tag.code}", line=tag.line)


def _far_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    for entity in file.entities:
        for tag in entity.tags:
            if tag.code in FLOAT_CODES and abs(tag.number) > FAR_MM:
                yield LintFinding(Flaw.SIZE, f"a {entity.kind} with a value of {tag.value}", line=tag.line)


def _file_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    yield from _unit_findings(file)
    yield from _layer_findings(file)
    for name in file.blocks:
        if not name.upper().startswith(("*MODEL_SPACE", "*PAPER_SPACE", "$MODEL_SPACE", "$PAPER_SPACE")):
            yield LintFinding(Flaw.BLOCK, f"a block '{name}' is defined")
    for entity in file.entities:
        yield from _entity_findings(entity)


def _unit_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    for name, wanted in _UNIT_CODES.items():
        found = file.header_number(name, 70)
        if found != wanted:
            said = "does not say" if found is None else f"says {found:g}"
            yield LintFinding(Flaw.UNITS, f"{name} {said}")


def _layer_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    used = {entity.layer: entity.line for entity in reversed(file.entities)}
    for name, line in sorted(used.items()):
        if name not in file.layers:
            yield LintFinding(Flaw.UNDECLARED_LAYER, f"layer '{name}' is used but not declared", line=line)
    # Every file declares layer 0; it is only wrong to draw on it.
    names = set(used) | (set(file.layers) - {"0"})
    for name in sorted(names):
        if not _LAYER_NAME.fullmatch(name):
            yield LintFinding(Flaw.LAYER_NAME, f"a layer called '{name}'", line=used.get(name, 0))


def _entity_findings(entity: FileEntity) -> Iterator[LintFinding]:
    if entity.kind in _TEXT_KINDS:
        yield LintFinding(Flaw.TEXT, f"a {entity.kind}", line=entity.line)
    elif entity.kind == "INSERT":
        yield LintFinding(Flaw.BLOCK, "a block is inserted", line=entity.line)
    elif entity.kind not in _CUT_KINDS:
        yield LintFinding(Flaw.UNKNOWN_ENTITY, f"a {entity.kind}", line=entity.line)
    else:
        yield from _height_findings(entity)
    if any(tag.code == 67 and tag.value == "1" for tag in entity.tags):
        yield LintFinding(Flaw.PAPER_SPACE, f"a {entity.kind} on the paper sheet", line=entity.line)


def _height_findings(entity: FileEntity) -> Iterator[LintFinding]:
    for tag in entity.tags:
        if tag.code in _HEIGHT_CODES and tag.number != 0.0:
            yield LintFinding(Flaw.Z_NOT_ZERO, f"a {entity.kind} at height {tag.value}", line=tag.line)
        elif tag.code in _EXTRUSION_CODES and tag.number != _EXTRUSION_CODES[tag.code]:
            yield LintFinding(Flaw.EXTRUSION, f"a {entity.kind} with extrusion {tag.value}", line=tag.line)


# Lint of a cut file's geometry: chains, edges, overlaps, crossings, what lies inside what.


#: Largest side of a part that the tool makes (common practice, no source: outside 5 mm to 3 m a unit is wrong).
LEAST_SIZE_MM, MOST_SIZE_MM = 5.0, 3000.0
#: How far the header's extents may be from the true bounds (own choice).
_EXTENTS_MM = 1e-6
#: Four equal chords with equal turns up to this many degrees are an arc in small lines. A twelve-sided
#: opening turns 30° at each corner and counts as a circle; an eight-sided one, 45°, does not
#: (common practice, no source).
_FACET_TURN_RAD = radians(30.5)
_FACET_CHORDS = 4
#: Chords and turns that differ by less than this part of themselves are equal, as far as rounded files show.
_FACET_LIKENESS = 1e-3


def geometry_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    """Every flaw of the geometry. All numbers must be finite. Raises GroupCodeFault for a broken entity."""
    pieces = pieces_in(file)
    for piece in pieces:
        yield from piece_findings(piece, 1.0)
    if pieces:
        yield from _extents_findings(file, pieces)
    cut = [p for p in pieces if is_cut(p.entity.layer)]
    if not cut:
        yield LintFinding(Flaw.EMPTY, "there is nothing to cut")
        return
    yield from _size_findings(cut)
    doubles, kept = overlap_findings(pieces)
    yield from doubles
    chains = chains_of([p for p in kept if is_cut(p.entity.layer)])
    yield from _chain_findings(chains)
    crossings, touching = crossing_findings(chains)
    yield from crossings
    if chains.contours and not chains.broken:
        yield from _nesting_findings(chains.contours, touching)


def piece_findings(piece: Piece, too_round: float) -> Iterator[LintFinding]:
    """What is wrong with one piece by itself; a bulge of `too_round` and more is a half circle at least."""
    line, start = piece.entity.line, piece.edges[0].start
    if piece.flag_closed and piece.repeats_first:
        yield LintFinding(Flaw.REPEATED_FIRST_POINT, "the last point stands on the first", start, line)
    elif piece.repeats_first:
        yield LintFinding(Flaw.CLOSED_FLAG, "a polyline that closes by its points alone", start, line)
    for bulge in piece.bulges:
        if abs(bulge) >= too_round:
            yield LintFinding(Flaw.BULGE_TOO_BIG, f"an arc of bulge {bulge:g}", start, line)
    if piece.entity.kind in ("SPLINE", "ELLIPSE"):
        return
    for edge in piece.edges:
        if edge.length_mm < SHORTEST_EDGE_MM:
            what = f"a line {edge.length_mm:.4f} mm long (at least {SHORTEST_EDGE_MM})"
            yield LintFinding(Flaw.TINY_EDGE, what, edge.start, line)


def _extents_findings(file: GroupCodeFile, pieces: Sequence[Piece]) -> Iterator[LintFinding]:
    box = box_round(edge.box for piece in pieces for edge in piece.edges)
    said = file.extents()
    for name, corner, (x, y) in (("$EXTMIN", box[:2], said[:2]), ("$EXTMAX", box[2:], said[2:])):
        if x is None or y is None:
            yield LintFinding(Flaw.EXTENTS, f"the header has no {name}", corner)
        elif max(abs(x - corner[0]), abs(y - corner[1])) > _EXTENTS_MM:
            what = f"{name} says ({x:.6f}, {y:.6f}), the drawing ({corner[0]:.6f}, {corner[1]:.6f})"
            yield LintFinding(Flaw.EXTENTS, what, corner)


def _size_findings(cut: Sequence[Piece]) -> Iterator[LintFinding]:
    x0, y0, x1, y1 = box_round(edge.box for piece in cut for edge in piece.edges)
    if not LEAST_SIZE_MM <= max(x1 - x0, y1 - y0) <= MOST_SIZE_MM:
        yield LintFinding(Flaw.SIZE, f"the part is {x1 - x0:.3f} x {y1 - y0:.3f} mm", (x0, y0))


def overlap_findings(pieces: Sequence[Piece]) -> tuple[list[LintFinding], list[Piece]]:
    """Edges that lie on each other, both cut or on one layer; and the pieces without those doubles."""
    found: list[LintFinding] = []
    owners = [(i, edge) for i, piece in enumerate(pieces) for edge in piece.edges]
    shared: dict[int, dict[int, set[int]]] = {}
    for a, b in near_pairs([edge.box for _, edge in owners], SAME_LINE_MM):
        (i, one), (j, two) = owners[a], owners[b]
        layers = {pieces[i].entity.layer, pieces[j].entity.layer}
        # A mark may lie on a cut; a cut on another cut is cut twice, whatever the layers are called.
        if len(layers) > 1 and not all(map(is_cut, layers)):
            continue
        kind = overlap(one, two)
        if kind is EdgeOverlap.NONE:
            continue
        flaw, word = (
            (Flaw.DOUBLED_EDGE, "is there twice")
            if kind is EdgeOverlap.WHOLE
            else (Flaw.OVERLAPPING_EDGE, "lies partly on another")
        )
        short = min(one, two, key=lambda edge: edge.length_mm)
        found.append(LintFinding(flaw, f"an edge {word}", short.middle, pieces[j].entity.line))
        for me, other, edge in ((i, j, a), (j, i, b)):
            shared.setdefault(me, {}).setdefault(edge, set()).add(other)
    return found, _without_doubles(pieces, shared)


def _without_doubles(pieces: Sequence[Piece], shared: dict[int, dict[int, set[int]]]) -> list[Piece]:
    """Leaves out, shortest and last first, each piece all of whose edges lie on a piece that stays.

    Otherwise one doubled line would be told again as an open chain, a junction and a crossing.
    """
    dropped: set[int] = set()
    lengths = {index: fsum(edge.length_mm for edge in pieces[index].edges) for index in shared}
    for index in sorted(shared, key=lambda i: (round(lengths[i], 6), -i)):
        partners = shared[index]
        covered = [others - dropped - {index} for others in partners.values()]
        if len(partners) == len(pieces[index].edges) and all(covered):
            dropped.add(index)
    return [piece for index, piece in enumerate(pieces) if index not in dropped]


def _chain_findings(chains: Chains) -> Iterator[LintFinding]:
    for point in chains.leaves:
        yield LintFinding(Flaw.OPEN_CHAIN, "a chain ends here", point)
    for point in chains.junctions:
        yield LintFinding(Flaw.JUNCTION, "more than two ends meet here", point)
    for contour in chains.contours:
        at = _facet_place(contour)
        if at:
            yield LintFinding(Flaw.FACETED_ARC, "an arc drawn as small straight lines", at, contour.line)


def _facet_place(contour: DrawnContour) -> Point | None:
    """Where four equal chords follow each other round one circle; None when nowhere."""
    if len(contour.edges) < _FACET_CHORDS:
        return None
    ring = [*contour.edges, *contour.edges[: _FACET_CHORDS - 1]]
    run, last_turn = 1, 0.0
    for one, two in pairwise(ring):
        turn = turn_rad(one, two)
        alike = one.is_line and two.is_line and _alike(one.length_mm, two.length_mm)
        if not alike or not 0.0 < abs(turn) <= _FACET_TURN_RAD:
            run = 1
        else:
            run = run + 1 if run > 1 and _alike(turn, last_turn) else 2
        if run >= _FACET_CHORDS:
            return two.start
        last_turn = turn
    return None


def _alike(one: float, two: float) -> bool:
    return abs(one - two) <= _FACET_LIKENESS * max(abs(one), abs(two))


def crossing_findings(chains: Chains) -> tuple[list[LintFinding], set[tuple[int, int]]]:
    """Where contours cross or touch, and the pairs of contours that share anything."""
    # An edge too short to cut is told as such; its neighbours count as joined.
    rings = [[e for e in c.edges if e.length_mm >= SHORTEST_EDGE_MM] for c in chains.contours]
    rings += [[edge] for edge in chains.broken]
    places = [(i, k) for i, ring in enumerate(rings) for k in range(len(ring))]
    overlapping: set[tuple[int, int]] = set()
    met: dict[tuple[int, int], list[tuple[Point, int]]] = {}
    for a, b in near_pairs([rings[i][k].box for i, k in places], SAME_LINE_MM):
        (i, k), (j, m) = sorted((places[a], places[b]))
        one, two = rings[i][k], rings[j][m]
        if overlap(one, two) is not EdgeOverlap.NONE:
            overlapping.add((i, j))
            continue
        joints = _joints(rings[i], k, m) if i == j else _shared_ends(one, two, i, j, len(chains.contours))
        fresh = [p for p in meeting_points(one, two) if not _near_any(p, joints)]
        line = chains.contours[j].line if j < len(chains.contours) else 0
        met.setdefault((i, j), []).extend((point, line) for point in fresh)
    crossings = [
        LintFinding(Flaw.CROSSING, "contours meet", point, line)
        for pair, found in met.items()
        if pair not in overlapping
        for point, line in _distinct(found)
    ]
    return crossings, overlapping | {pair for pair, found in met.items() if found}


def _joints(ring: Sequence[Edge], k: int, m: int) -> list[Point]:
    """The vertices at which two edges of one contour follow each other."""
    joints = []
    if (k + 1) % len(ring) == m:
        joints.append(ring[k].end)
    if (m + 1) % len(ring) == k:
        joints.append(ring[m].end)
    return joints


def _shared_ends(one: Edge, two: Edge, i: int, j: int, contours: int) -> list[Point]:
    """Ends of two edges that stand on each other; they excuse a contact only where a chain is broken anyway."""
    if i < contours and j < contours:
        return []
    return [p for p in (one.start, one.end) if _near_any(p, (two.start, two.end))]


def _near_any(point: Point, others: Sequence[Point]) -> bool:
    # Rounded numbers let a line cut its own tangent arc a little beside their joint.
    return any(hypot(point[0] - x, point[1] - y) <= SHORTEST_EDGE_MM for x, y in others)


def _distinct(found: Sequence[tuple[Point, int]]) -> Iterator[tuple[Point, int]]:
    seen: list[Point] = []
    for point, line in found:
        if not _near_any(point, seen):
            seen.append(point)
            yield point, line


def _nesting_findings(contours: Sequence[DrawnContour], touching: set[tuple[int, int]]) -> Iterator[LintFinding]:
    """Finds what lies outside the largest contour, and what lies in another hole."""
    outer = max(range(len(contours)), key=lambda i: contours[i].area_mm2)
    around = holders(contours, touching)
    for index, contour in enumerate(contours):
        point = contour.edges[0].start
        if index != outer and outer not in around[index] and tuple(sorted((index, outer))) not in touching:
            yield LintFinding(Flaw.OUTSIDE_OUTLINE, "a contour outside the outline", point, contour.line)
        for _ in set(around[index]) - {outer}:
            yield LintFinding(Flaw.NESTED, "a contour inside another hole", point, contour.line)
