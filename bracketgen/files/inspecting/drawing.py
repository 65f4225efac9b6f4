"""Everything that a drawing from anyone shows, as lines and arcs in mm, with inserted blocks in their places.

The bytes are read by this project's own group-code reader, which tells what a library passes over or repairs in
silence: commas in numbers, missing values, a block within itself, hidden layers, the line of each fault. Lines, arcs,
circles and polylines come out exactly; splines, ellipses and stretched arcs become tangent arcs (`arcs`).
"""

from __future__ import annotations

import configparser
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby, pairwise
from math import atan2, copysign, cos, hypot, isfinite, radians, sin, sqrt, tau
from typing import Final

from bracketgen.errors import WriteFault
from bracketgen.files.contours import is_cut
from bracketgen.files.edges import Edge, Piece, Point, pieces_of
from bracketgen.files.group_codes import FLOAT_CODES, DxfBlock, FileEntity, GroupCodeFault, GroupCodeFile
from bracketgen.files.inspecting.arcs import Curve, arcs_along, with_ends
from bracketgen.files.lint import FAR_MM, Flaw, LintFinding, a
from bracketgen.units import INCH_MM

try:
    from ezdxf.math import BSpline, Matrix44, fit_points_to_cad_cv
except (configparser.Error, ValueError, SystemExit) as fault:
    # The library reads ezdxf.ini from the home and working folders while it is imported.
    raise WriteFault(f"an ezdxf.ini on this machine can't be read; remove or mend it: {fault}") from fault

#: Name and length in mm of each unit that a drawing of a part can sensibly be in, by its $INSUNITS number; DXF
#: Reference, header variables.
UNITS: Final[dict[int, tuple[str, float]]] = {
    1: ("inches", INCH_MM), 2: ("feet", 304.8), 4: ("millimetres", 1.0), 5: ("centimetres", 10.0),
    6: ("metres", 1000.0), 9: ("thou", 0.0254), 10: ("yards", 914.4), 13: ("micrometres", 0.001),
    14: ("decimetres", 100.0),
}  # fmt: skip
MM: Final = 4
#: Versions before R2000 (AC1015) have no place for the unit.
_FIRST_WITH_UNITS: Final = "AC1015"

#: Numbers of a file beyond a million kilometres are not worked out at all.
FAR_NUMBER: Final = 1e9
#: A curve wider than 100 m is no line of a part; it would take a thousand arcs and more. Own choice.
_WIDEST_CURVE_MM: Final = 1e5
_DEEPEST: Final = 8
_MOST_EDGES: Final = 100_000
#: A sieve of a hundred by a hundred holes; more copies by one INSERT are a slip of the pen. Own choice.
_MOST_COPIES: Final = 10_000
#: Highest degree of a spline that is read; drawing programs write 2 to 5.
_HIGHEST_DEGREE: Final = 11
#: Kinds whose points are counted in a plane of their own, given by the extrusion; DXF Reference, OCS.
_IN_OWN_PLANE: Final = {"CIRCLE", "ARC", "LWPOLYLINE", "POLYLINE", "INSERT"}
_CURVES: Final = {"LINE", "CIRCLE", "ARC", "LWPOLYLINE", "POLYLINE", "SPLINE", "ELLIPSE"}
#: Bits of group 70 of a POLYLINE; DXF Reference. A mesh is no line; a frame vertex only steers a fitted curve.
_MESH_BITS: Final = 16 | 64
_FRAME_BIT: Final = 16
#: Scales and angles that differ by less than this part keep circles round.
_ALIKE: Final = 1e-9
_NOWHERE_ELSE: Final = tuple(Matrix44())


def unit_of(file: GroupCodeFile, stated: int | None = None) -> tuple[int, tuple[LintFinding, ...]]:
    """The $INSUNITS number to read the file by, and what is wrong with what it says.

    `stated` is what a person says of a file that does not say it itself, or says it wrong.
    """
    said, metric = _whole_variable(file, "$INSUNITS"), _whole_variable(file, "$MEASUREMENT")
    if stated is not None:
        return stated, ()
    if said == MM:
        clash = "$INSUNITS says millimetres, $MEASUREMENT says inches"
        return MM, (LintFinding(Flaw.UNITS_UNCLEAR, clash),) if metric == 0 else ()
    if said in UNITS:
        name, in_mm = UNITS[said]
        what = f"the file is in {name}; sizes below are in mm ({in_mm:g} mm each)"
        return said, (LintFinding(Flaw.UNITS, what),)
    why = "the file does not say its unit" if said in (None, 0) else f"the file says $INSUNITS {said}"
    if said is None and version_of(file) < _FIRST_WITH_UNITS:
        why = f"a file of version {version_of(file)} has no place for its unit"
    return MM, (LintFinding(Flaw.UNITS, f"{why}; its numbers are taken as millimetres"),)


def version_of(file: GroupCodeFile) -> str:
    """The file's version as it says it, such as AC1015; AC1009 (R12) when it does not say."""
    return next((tag.value for tag in file.header.get("$ACADVER", ()) if tag.code == 1), "AC1009")


def _whole_variable(file: GroupCodeFile, name: str) -> int | None:
    try:
        value = file.header_number(name, 70)
    except GroupCodeFault:
        return None
    return int(value) if value is not None and abs(value) < 1e6 else None


@dataclass(frozen=True, slots=True)
class WholeEntity:
    """One entity with the vertices or attributes that follow it; `inserted`: it stands in a block."""

    entity: FileEntity
    followers: tuple[FileEntity, ...]
    inserted: bool = False


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a file draws: pieces in mm on their layers, every entity once, and what could not be read.

    `unit` is the $INSUNITS number that it is read by.
    """

    file: GroupCodeFile
    unit: int
    pieces: tuple[Piece, ...]
    entities: tuple[WholeEntity, ...]
    troubles: tuple[LintFinding, ...]

    @property
    def in_mm(self) -> float:
        """Length of the file's unit."""
        return UNITS[self.unit][1]

    @property
    def cut(self) -> list[Piece]:
        """The pieces on layers that are taken as cut."""
        return [p for p in self.pieces if is_cut(p.entity.layer)]

    @property
    def not_cut(self) -> list[Piece]:
        """The pieces on layers that are taken as marks or notes."""
        return [p for p in self.pieces if not is_cut(p.entity.layer)]


def read_drawing(file: GroupCodeFile, unit: int) -> Drawing:
    """Read all that the model space shows, in a unit given by its $INSUNITS number. Never raises for the contents."""
    reader = _Reader(file)
    for one in _whole(file.entities):
        reader.take(one, Matrix44.scale(UNITS[unit][1]), ())
    return Drawing(file, unit, tuple(reader.pieces), tuple(reader.entities), tuple(reader.troubles))


def _whole(entities: tuple[FileEntity, ...]) -> Iterator[WholeEntity]:
    """Each entity with its followers: a POLYLINE's vertices, an INSERT's attributes, and the end mark."""
    waiting: FileEntity | None = None
    followers: list[FileEntity] = []
    for entity in entities:
        if waiting is not None and entity.kind in ("VERTEX", "ATTRIB", "SEQEND"):
            followers.append(entity)
            continue
        if waiting is not None:
            yield WholeEntity(waiting, tuple(followers))
        waiting, followers = entity, []
    if waiting is not None:
        yield WholeEntity(waiting, tuple(followers))


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


class _FarAway(ValueError):
    """A line that is too far away somewhere, or a curve too wide."""


@dataclass(slots=True)
class _Reader:
    """What was read so far."""

    file: GroupCodeFile
    pieces: list[Piece] = field(default_factory=list)
    entities: list[WholeEntity] = field(default_factory=list)
    troubles: list[LintFinding] = field(default_factory=list)
    known: set[int] = field(default_factory=set)
    edges: int = 0

    def take(self, one: WholeEntity, place: Matrix44, stack: tuple[str, ...], layer: str = "") -> None:
        """One entity read where `place` puts it; `layer` takes the place of layer 0 within a block."""
        entity = one.entity
        if entity.line not in self.known:
            self.known.add(entity.line)
            self.entities.append(replace(one, inserted=bool(stack)))
        if on_paper(entity) or is_hidden(self.file, entity) or entity.kind not in (*_CURVES, "INSERT"):
            return
        try:
            if not self._readable(one):
                return
            if entity.kind in _IN_OWN_PLANE and entity.number(230, 1.0) < 0.0:
                # Seen from below, x runs the other way; DXF Reference, arbitrary axis algorithm.
                place = Matrix44.scale(-1.0, 1.0, 1.0) @ place
            own = layer if layer and entity.layer == "0" else entity.layer
            if entity.kind == "INSERT":
                self._insert(entity, place, stack, own)
            else:
                self._keep(one, place, own)
        except _FarAway as error:
            self._trouble(Flaw.SIZE, f"{a(entity.kind)} {error}", entity)
        except (ArithmeticError, ValueError) as error:
            self._trouble(Flaw.DEGENERATE, f"{a(entity.kind)} that can't be drawn: {error}", entity)

    def _trouble(self, flaw: Flaw, what: str, entity: FileEntity) -> None:
        finding = LintFinding(flaw, what, line=entity.line)
        if finding not in self.troubles[-20:]:
            self.troubles.append(finding)

    def _readable(self, one: WholeEntity) -> bool:
        """Whether it is a flat line with usable numbers; what is wrong is told."""
        entity = one.entity
        for tag in (t for e in (entity, *one.followers) for t in e.tags if t.code in FLOAT_CODES):
            value = _number(tag.value)
            if not abs(value) <= FAR_NUMBER:
                flaw = Flaw.SIZE if isfinite(value) else Flaw.NOT_FINITE
                self._trouble(flaw, f"{a(entity.kind)} with a value of '{tag.value[:40]}'", entity)
                return False
        if entity.kind == "POLYLINE" and entity.whole(70, 0) & _MESH_BITS:
            return False
        x, y, z = (entity.number(code, default) for code, default in ((210, 0.0), (220, 0.0), (230, 1.0)))
        if entity.kind != "LINE" and abs(x) + abs(y) > 1e-9 * abs(z):
            self._trouble(Flaw.TILTED, f"{a(entity.kind)} that stands out of the drawing's plane", entity)
            return False
        return True

    def _keep(self, one: WholeEntity, place: Matrix44, layer: str) -> None:
        for piece in _placed(one, place):
            # An arc's centre may lie far away; where the arc itself is counts. A number that is none fails too.
            _refuse_far(corner for e in piece.edges for corner in (e.box[:2], e.box[2:]))
            self.edges += len(piece.edges)
            if self.edges > _MOST_EDGES:
                self._trouble(Flaw.TOO_MUCH, f"more than {_MOST_EDGES} lines and arcs", self.file.entities[0])
                return
            self.pieces.append(replace(piece, entity=replace(piece.entity, layer=layer)))

    def _insert(self, entity: FileEntity, place: Matrix44, stack: tuple[str, ...], layer: str) -> None:
        block = self.file.block_table.get(entity.text(2))
        if block is None or block.head.whole(70, 0) & 12:
            self._trouble(Flaw.MISSING_BLOCK, f"block '{entity.text(2)}' is not in the file", entity)
            return
        if block.name in stack or len(stack) >= _DEEPEST:
            self._trouble(Flaw.MISSING_BLOCK, f"block '{block.name}' contains itself", entity)
            return
        for one in _places(entity, block):
            for child in _whole(block.entities):
                if self.edges > _MOST_EDGES:
                    return
                self.take(child, one @ place, (*stack, block.name), layer)


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return float("nan")


def _places(entity: FileEntity, block: DxfBlock) -> Iterator[Matrix44]:
    """Where an INSERT puts its block: once, or in rows and columns, which turn with it; DXF Reference, INSERT."""
    x_size, y_size = entity.number(41, 1.0), entity.number(42, 1.0)
    columns, rows = max(1, entity.whole(70, 1)), max(1, entity.whole(71, 1))
    if x_size * y_size == 0.0:
        raise ValueError("a block of no size")
    if columns * rows > _MOST_COPIES:
        raise ValueError(f"{columns} columns by {rows} rows, at most {_MOST_COPIES} copies")
    base = Matrix44.translate(-block.head.number(10, 0.0), -block.head.number(20, 0.0), 0.0)
    size, turn = Matrix44.scale(x_size, y_size, 1.0), Matrix44.z_rotate(radians(entity.number(50, 0.0)))
    there = Matrix44.translate(entity.number(10), entity.number(20), 0.0)
    for row in range(rows):
        for column in range(columns):
            step = Matrix44.translate(column * entity.number(44, 0.0), row * entity.number(45, 0.0), 0.0)
            yield base @ size @ step @ turn @ there


def _placed(one: WholeEntity, place: Matrix44) -> Iterator[Piece]:
    """The pieces of one entity where `place` puts them, mm."""
    entity = one.entity
    if entity.kind in ("SPLINE", "ELLIPSE"):
        edges, off = arcs_along(_spline(entity, place) if entity.kind == "SPLINE" else _ellipse(entity, place))
        yield Piece(entity, edges, deviation_mm=off)
        return
    vertices = tuple(f for f in one.followers if not (f.kind == "VERTEX" and f.whole(70, 0) & _FRAME_BIT))
    for piece in pieces_of((entity, *vertices)):
        if tuple(place) == _NOWHERE_ELSE:
            yield piece
            continue
        moved = [_moved(edge, place) for edge in piece.edges]
        edges = tuple(edge for made, _ in moved for edge in made)
        yield replace(piece, edges=edges, deviation_mm=max(off for _, off in moved))


def _moved(edge: Edge, place: Matrix44) -> tuple[tuple[Edge, ...], float]:
    """The edge where it goes, and how far what is made strays from the true curve (0 but for a stretched arc)."""
    start, end, centre = (_flat(place, p) for p in (edge.start, edge.end, edge.centre))
    if edge.is_line:
        return (Edge(start, end),), 0.0
    (xx, yx, _), (xy, yy, _) = place.ux, place.uy
    determinant = xx * yy - xy * yx
    sign = copysign(1.0, determinant)
    if abs(xx - sign * yy) + abs(xy + sign * yx) <= _ALIKE * (abs(xx) + abs(xy) + abs(yx) + abs(yy)):
        first = atan2(start[1] - centre[1], start[0] - centre[0])
        radius = edge.radius_mm * sqrt(abs(determinant))
        return (Edge(start, end, centre, radius, first, sign * edge.sweep_rad),), 0.0
    made, off = arcs_along(_turning(edge.centre, (edge.radius_mm, 0.0), 1.0, (edge.start_rad, edge.sweep_rad), place))
    return made if edge.is_circle else with_ends(made, start, end), off


def _flat(place: Matrix44, point: Point) -> Point:
    there = place.transform((*point, 0.0))
    return there.x, there.y


def _turning(centre: Point, major: Point, ratio: float, angles: tuple[float, float], place: Matrix44) -> Curve:
    """An ellipse by centre, end of its long axis from there, share of the short axis, start and sweep (rad)."""
    (cx, cy), (mx, my), (start, sweep) = centre, major, angles
    whole = abs(sweep) == tau

    def point(share: float) -> Point:
        # The ends of a whole turn are one point.
        angle = start + (share % 1.0 if whole else share) * sweep
        along, across = cos(angle), ratio * sin(angle)
        return _flat(place, (cx + mx * along - my * across, cy + my * along + mx * across))

    def derivative(share: float) -> Point:
        angle = start + share * sweep
        along, across = -sweep * sin(angle), ratio * sweep * cos(angle)
        there = place.transform_direction((mx * along - my * across, my * along + mx * across, 0.0))
        return there.x, there.y

    half = hypot(mx, my) * max(1.0, abs(ratio))
    _refuse_wide([_flat(place, (cx + x, cy + y)) for x in (-half, half) for y in (-half, half)])
    return Curve(point, derivative, (0.0, 0.25, 0.5, 0.75, 1.0))


def _ellipse(entity: FileEntity, place: Matrix44) -> Curve:
    """An ELLIPSE seen from above; from below (230 = -1) it runs the other way. GroupCodeFault when it is none.

    Centre (10, 20), end of the long axis from there (11, 21), share of the short axis (40), parameters from 41 to 42;
    DXF Reference, ELLIPSE.
    """
    centre, major, ratio = (
        (entity.number(10), entity.number(20)),
        (entity.number(11), entity.number(21)),
        entity.number(40),
    )
    start, end = entity.number(41, 0.0), entity.number(42, tau)
    if hypot(*major) <= 0.0 or not 0.0 < abs(ratio) <= 1e6:
        raise GroupCodeFault(entity.line, "an ELLIPSE without a size")
    sweep = (end - start) % tau
    # A whole turn, however it was rounded.
    sweep = tau if min(sweep, tau - sweep) < 1e-9 else sweep
    return _turning(centre, major, copysign(ratio, ratio * entity.number(230, 1.0)), (start, sweep), place)


def _spline(entity: FileEntity, place: Matrix44) -> Curve:
    """A SPLINE seen from above, rational or not, or through fit points. GroupCodeFault when it is not whole.

    Degree 71, knots 40, weights 41, control points 10 and 20, fit points 11 and 21; DXF Reference, SPLINE.
    """
    degree, knots, weights = entity.whole(71, 3), entity.numbers(40), entity.numbers(41)
    points = [(x, y) for x, y in zip(entity.numbers(10), entity.numbers(20), strict=False)]
    through = [p for p, _ in groupby(zip(entity.numbers(11), entity.numbers(21), strict=False))]
    if not entity.numbers(10) and len(through) >= 2:
        fitted = fit_points_to_cad_cv([(*p, 0.0) for p in through])
        degree, knots, weights = fitted.degree, tuple(fitted.knots()), ()
        points = [(p[0], p[1]) for p in fitted.control_points]
    n = len(points)
    sound = 1 <= degree <= _HIGHEST_DEGREE and len(weights) in (0, n) and n > degree and len(knots) == n + degree + 1
    if not sound or any(b < a for a, b in pairwise(knots)) or min(weights, default=1.0) <= 0.0:
        raise GroupCodeFault(entity.line, "a SPLINE whose knots and control points don't belong together")
    # The library counts its parameter from 0.
    knots = tuple(k - knots[0] for k in knots)
    low, high = knots[degree], knots[n]
    if high <= low:
        raise GroupCodeFault(entity.line, "a SPLINE without a length")
    placed = [_flat(place, p) for p in points]
    # The curve lies within the hull of its control points.
    _refuse_wide(placed)
    curve = BSpline([(*p, 0.0) for p in placed], degree + 1, knots, weights or None)

    def point(at: float) -> Point:
        there = curve.point(min(high, max(low, at)))
        return there.x, there.y

    def derivative(at: float) -> Point:
        _, slope = curve.derivative(min(high, max(low, at)), 1)
        return slope.x, slope.y

    return Curve(point, derivative, tuple(sorted({k for k in knots if low <= k <= high})))


def _refuse_wide(points: Sequence[Point]) -> None:
    """Refuses a curve before any arc of it is made, by points round it."""
    _refuse_far(points)
    if any(max(values) - min(values) > _WIDEST_CURVE_MM for values in zip(*points, strict=True)):
        raise _FarAway(f"more than {_WIDEST_CURVE_MM / 1e3:g} m wide")


def _refuse_far(points: Iterable[Point]) -> None:
    if not all(abs(v) <= FAR_MM for point in points for v in point):
        raise _FarAway(f"more than {FAR_MM / 1e6:g} km away")
