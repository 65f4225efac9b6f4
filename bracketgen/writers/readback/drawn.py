"""Everything that a file from anyone draws, as lines and arcs in mm, with inserted blocks in their places.

Lines, arcs, circles and polylines are read exactly; splines, ellipses and stretched blocks become tangent arcs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from math import isfinite

from bracketgen.writers.cut_file.group_codes import FLOAT_CODES, Block, FileEntity, GroupCodeFile
from bracketgen.writers.cut_file.lint_finding import Flaw, LintFinding, a
from bracketgen.writers.readback.bspline import ellipse_curve, spline_curve
from bracketgen.writers.readback.curves import arcs_along
from bracketgen.writers.readback.edges import Edge, Piece, pieces_of
from bracketgen.writers.readback.file_unit import UNITS
from bracketgen.writers.readback.plane_map import PlaneMap

#: Beyond ten kilometres nothing is worked out any further; numbers of a file beyond a million of them not at all.
FAR_MM = 1e7
FAR_NUMBER = 1e9
_DEEPEST = 8
_MOST_EDGES = 100_000
#: Kinds whose points are counted in a plane of their own, given by the extrusion; DXF Reference, OCS.
_IN_OWN_PLANE = {"CIRCLE", "ARC", "LWPOLYLINE", "POLYLINE", "INSERT"}
_CURVES = {"LINE", "CIRCLE", "ARC", "LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE"}
_MIRRORED = PlaneMap.scaled(-1.0, 1.0)
#: Bits of group 70 of a POLYLINE; DXF Reference. A mesh is no line; a frame vertex only steers a fitted curve.
_MESH_BITS, _FRAME_BIT = 16 | 64, 16


@dataclass(frozen=True, slots=True)
class Seen:
    """One entity with the vertices or attributes that follow it; `inserted`: it stands in a block."""

    entity: FileEntity
    followers: tuple[FileEntity, ...]
    inserted: bool = False


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a file draws: pieces in mm on their layers, every entity once, and what could not be read."""

    file: GroupCodeFile
    unit: int
    pieces: tuple[Piece, ...]
    seen: tuple[Seen, ...]
    troubles: tuple[LintFinding, ...]

    @property
    def in_mm(self) -> float:
        """Length of the file's unit."""
        return UNITS[self.unit][1]


def drawn(file: GroupCodeFile, unit: int) -> Drawn:
    """Read all that the model space shows, in a unit given by its $INSUNITS number. Never raises for the contents."""
    reader = _Reader(file)
    scale = UNITS[unit][1]
    for one in grouped(file.entities):
        reader.take(one, PlaneMap.scaled(scale, scale), ())
    return Drawn(file, unit, tuple(reader.pieces), tuple(reader.seen), tuple(reader.troubles))


def grouped(entities: tuple[FileEntity, ...]) -> Iterator[Seen]:
    """Each entity with its followers: a POLYLINE's vertices, an INSERT's attributes, and the end mark."""
    waiting: FileEntity | None = None
    followers: list[FileEntity] = []
    for entity in entities:
        if waiting is not None and entity.kind in ("VERTEX", "ATTRIB", "SEQEND"):
            followers.append(entity)
            continue
        if waiting is not None:
            yield Seen(waiting, tuple(followers))
        waiting, followers = entity, []
    if waiting is not None:
        yield Seen(waiting, tuple(followers))


def is_hidden(file: GroupCodeFile, entity: FileEntity) -> bool:
    """Whether a drawing program would not show it: invisible itself (60), or on a layer that is off or frozen."""
    row = file.layer_rows.get(entity.layer)
    try:
        return entity.whole(60, 0) == 1 or (row is not None and (row.whole(62, 7) < 0 or row.whole(70, 0) & 1 == 1))
    except ValueError:
        return False


def on_paper(entity: FileEntity) -> bool:
    """Whether it stands on a paper sheet, not in the model space (67)."""
    return entity.text(67) == "1"


@dataclass(slots=True)
class _Reader:
    """What was read so far."""

    file: GroupCodeFile
    pieces: list[Piece] = field(default_factory=list)
    seen: list[Seen] = field(default_factory=list)
    troubles: list[LintFinding] = field(default_factory=list)
    known: set[int] = field(default_factory=set)
    edges: int = 0

    def take(self, one: Seen, place: PlaneMap, stack: tuple[str, ...], layer: str = "") -> None:
        """One entity read where `place` puts it; `layer` takes the place of layer 0 within a block."""
        entity = one.entity
        self._look(one, bool(stack))
        if on_paper(entity) or is_hidden(self.file, entity) or entity.kind not in (*_CURVES, "INSERT"):
            return
        try:
            own = self._own_plane(one)
            if own is None:
                return
            if entity.kind == "INSERT":
                self._insert(entity, own.then(place), stack, layer)
            else:
                self._keep(one, own.then(place), layer if layer and entity.layer == "0" else entity.layer)
        except (ArithmeticError, ValueError) as error:
            self._trouble(Flaw.DEGENERATE, f"{a(entity.kind)} that can't be drawn: {error}", entity)

    def _look(self, one: Seen, inserted: bool) -> None:
        if one.entity.line not in self.known:
            self.known.add(one.entity.line)
            self.seen.append(replace(one, inserted=inserted))

    def _trouble(self, flaw: Flaw, what: str, entity: FileEntity) -> None:
        finding = LintFinding(flaw, what, line=entity.line)
        if finding not in self.troubles[-20:]:
            self.troubles.append(finding)

    def _own_plane(self, one: Seen) -> PlaneMap | None:
        """The map out of the entity's own plane; None where it can't be read as a flat line."""
        entity = one.entity
        bad = [t for e in (entity, *one.followers) for t in e.tags if t.code in FLOAT_CODES and not _usable(t.value)]
        if bad:
            finite = isfinite(_number(bad[0].value))
            flaw = Flaw.SIZE if finite else Flaw.NOT_FINITE
            self._trouble(flaw, f"{a(entity.kind)} with a value of '{bad[0].value[:40]}'", entity)
            return None
        if entity.kind == "POLYLINE" and entity.whole(70, 0) & _MESH_BITS:
            return None
        x, y, z = (entity.number(code, 1.0 if code == 230 else 0.0) for code in (210, 220, 230))
        if entity.kind not in (*_IN_OWN_PLANE, "ELLIPSE", "SPLINE") or (x, y, z) == (0.0, 0.0, 1.0):
            return PlaneMap()
        if abs(x) + abs(y) > 1e-9 * abs(z):
            self._trouble(Flaw.TILTED, f"{a(entity.kind)} that stands out of the drawing's plane", entity)
            return None
        return _MIRRORED if z < 0.0 and entity.kind in _IN_OWN_PLANE else PlaneMap()

    def _keep(self, one: Seen, place: PlaneMap, layer: str) -> None:
        for piece in _pieces(one):
            moved = [place.edges(edge) for edge in piece.edges]
            edges = tuple(edge for made, _ in moved for edge in made)
            if not all(_near(edge) for edge in edges):
                self._trouble(Flaw.SIZE, f"{a(one.entity.kind)} more than {FAR_MM / 1e6:g} km away", one.entity)
                return
            self.edges += len(edges)
            if self.edges > _MOST_EDGES:
                self._trouble(Flaw.TOO_MUCH, f"more than {_MOST_EDGES} lines and arcs", self.file.entities[0])
                return
            size = abs(place.determinant) ** 0.5
            off = max(piece.deviation_mm * size, *(off for _, off in moved))
            entity = replace(piece.entity, layer=layer)
            self.pieces.append(replace(piece, entity=entity, edges=edges, deviation_mm=off))

    def _insert(self, entity: FileEntity, place: PlaneMap, stack: tuple[str, ...], layer: str) -> None:
        block = self.file.block_table.get(entity.text(2))
        if block is None or block.head.whole(70, 0) & 12:
            self._trouble(Flaw.MISSING_BLOCK, f"block '{entity.text(2)}' is not in the file", entity)
            return
        if block.name in stack or len(stack) >= _DEEPEST:
            self._trouble(Flaw.MISSING_BLOCK, f"block '{block.name}' contains itself", entity)
            return
        inner = layer if layer and entity.layer == "0" else entity.layer
        for one in _places(entity, block):
            for child in grouped(block.entities):
                if self.edges > _MOST_EDGES:
                    return
                self.take(child, one.then(place), (*stack, block.name), inner)


def _places(entity: FileEntity, block: Block) -> Iterator[PlaneMap]:
    """Where an INSERT puts its block: once, or in rows and columns; DXF Reference, INSERT."""
    base = PlaneMap.shifted(-block.head.number(10, 0.0), -block.head.number(20, 0.0))
    size = PlaneMap.scaled(entity.number(41, 1.0), entity.number(42, 1.0))
    turn = PlaneMap.turned(entity.number(50, 0.0))
    there = PlaneMap.shifted(entity.number(10), entity.number(20))
    columns, rows = max(1, entity.whole(70, 1)), max(1, entity.whole(71, 1))
    if size.determinant == 0.0 or columns * rows > _MOST_EDGES:
        raise ValueError("no size, or no end of rows and columns")
    for row in range(rows):
        for column in range(columns):
            step = PlaneMap.shifted(column * entity.number(44, 0.0), row * entity.number(45, 0.0))
            yield base.then(size).then(step).then(turn).then(there)


def _pieces(one: Seen) -> tuple[Piece, ...]:
    entity = one.entity
    if entity.kind in ("SPLINE", "ELLIPSE"):
        edges, off = arcs_along(spline_curve(entity) if entity.kind == "SPLINE" else ellipse_curve(entity))
        return (Piece(entity, edges, deviation_mm=off),)
    vertices = tuple(f for f in one.followers if not (f.kind == "VERTEX" and f.whole(70, 0) & _FRAME_BIT))
    return tuple(pieces_of((entity, *vertices)))


def _near(edge: Edge) -> bool:
    # An arc's centre may lie far away; where the arc itself is counts. A number that is none fails too.
    return all(abs(value) <= FAR_MM for value in edge.box) and isfinite(edge.radius_mm)


def _usable(text: str) -> bool:
    return abs(_number(text)) <= FAR_NUMBER


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return float("nan")
