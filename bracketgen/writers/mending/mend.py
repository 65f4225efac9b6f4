"""Mending a file as far as it is safe: what was done, what was left, and the new file's own inspection."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bracketgen.drawing.to_cut.cut_sheet import Closure, Round
from bracketgen.errors import GeometryFault
from bracketgen.findings import Level
from bracketgen.writers.cut_file.group_codes import FileEntity
from bracketgen.writers.cut_file.lint_finding import Flaw
from bracketgen.writers.inspecting.cut_layers import is_cut
from bracketgen.writers.inspecting.inspection import Inspection, Limits, inspect_bytes
from bracketgen.writers.mending.deed import Deed, summed
from bracketgen.writers.mending.edge_net import EdgeNet
from bracketgen.writers.mending.layer_names import cleaned_names
from bracketgen.writers.mending.mended_file import OnLayer, mended_bytes
from bracketgen.writers.mending.moved import moved_mm
from bracketgen.writers.mending.open_chains import open_chains
from bracketgen.writers.mending.remaking import chain_of, remade
from bracketgen.writers.readback.contours import Contour, chains_of
from bracketgen.writers.readback.edges import Edge, Piece
from bracketgen.writers.readback.file_unit import MM, UNITS

#: An arc made of short lines may stray this far from them. Own choice: what ISO 9013 range 2 leaves a laser on
#: small parts is wider.
USUAL_DEVIATION_MM = 0.1
#: What has no place in a cut file, or can't be brought into it; it is left out and told.
_LEFT_OUT = {
    Flaw.TEXT, Flaw.DIMENSION, Flaw.HATCH, Flaw.POINT, Flaw.GUIDE_LINE, Flaw.THREE_D, Flaw.PICTURE, Flaw.HIDDEN,
    Flaw.UNKNOWN_ENTITY, Flaw.PAPER_SPACE, Flaw.MISSING_BLOCK, Flaw.TILTED, Flaw.DEGENERATE, Flaw.NOT_FINITE,
    Flaw.TOO_MUCH,
}  # fmt: skip
_FLATTENED = {
    Flaw.Z_NOT_ZERO: "flattened to z = 0",
    Flaw.EXTRUSION: "drawn as seen from above",
    Flaw.BLOCK: "block broken up",
    Flaw.WIDE_LINE: "line's width dropped",
    Flaw.DASHED_LINE: "line drawn through",
    Flaw.FULL_ARC: "full arc made a circle",
    Flaw.EXPONENT: "number written in plain decimals",
    Flaw.CLOSED_FLAG: "polyline closed by its flag",
    Flaw.REPEATED_FIRST_POINT: "last point on the first dropped",
    Flaw.BULGE_TOO_BIG: "arc over a half circle split",
    Flaw.MIXED_LAYERS: "contour put on one layer",
    Flaw.POINT_COUNT: "count of points set right",
    Flaw.FITTED_POLYLINE: "fitted curve kept as the short lines it was shown by",
}


@dataclass(frozen=True, slots=True)
class Mended:
    """The new file, what was done, what was left (grave or not), and what its own inspection still finds.

    `deviation_mm` is the farthest that any line moved; an area differs by no more than this times its perimeter.
    """

    data: bytes
    done: tuple[Deed, ...]
    left: tuple[Deed, ...]
    after: Inspection
    deviation_mm: float
    lost_geometry: bool

    @property
    def failed(self) -> bool:
        """Whether the new file is unfit to cut from, or lacks something that may belong to the part."""
        return self.after.failed or self.lost_geometry


def mend(before: Inspection, limits: Limits, most_mm: float = USUAL_DEVIATION_MM) -> Mended | None:
    """A new file from an inspected one; None when there is nothing that could be mended.

    Gaps up to the limits' gap are joined; arcs made of short lines may stray by `most_mm`.
    """
    if before.drawn is None or not before.drawn.pieces:
        return None
    names = cleaned_names(p.entity.layer for p in before.drawn.pieces)
    made = _Making(limits.gap_mm, most_mm, [], [], [])
    made.curves(before.drawn.pieces)
    made.cut([p for p in before.drawn.pieces if is_cut(p.entity.layer)], names)
    made.marks([p for p in before.drawn.pieces if not is_cut(p.entity.layer)], names)
    done = summed([*_said_of_file(before, names), *made.done])
    dropped = [f for f in before.findings if f.code in _LEFT_OUT or f in before.drawn.troubles]
    left = summed([*(Deed(f"left out: {f.what}") for f in dropped), *made.left])
    try:
        data = mended_bytes(made.items)
    except GeometryFault:
        return None
    after = inspect_bytes(data, Limits(limits.gap_mm, MM, limits.process, limits.thickness_mm))
    lost = any(f.level is Level.FAIL for f in dropped)
    new = [e for p in after.drawn.pieces for e in p.edges] if after.drawn else []
    deviation = max(
        [moved_mm(before.drawn.pieces, new, limits.gap_mm + most_mm + 1.0), *(d.deviation_mm for d in done)]
    )
    # Written numbers carry nine decimals; their rounding is no move.
    return Mended(data, done, left, after, deviation if deviation > 1e-7 else 0.0, lost)


def _said_of_file(before: Inspection, names: dict[str, str]) -> Iterator[Deed]:
    assert before.drawn is not None
    if any(f.code in (Flaw.UNITS, Flaw.UNITS_UNCLEAR) for f in before.findings):
        name = UNITS[before.drawn.unit][0]
        yield Deed("unit set to millimetres" if before.drawn.unit == MM else f"{name} turned into millimetres")
    for old, new in names.items():
        if old != new:
            yield Deed(f"layer '{old}' named {new}")
    for finding in before.findings:
        if finding.code in _FLATTENED:
            yield Deed(_FLATTENED[finding.code])


@dataclass(slots=True)
class _Making:
    """The new drawing while it is made."""

    gap_mm: float
    most_mm: float
    items: list[OnLayer]
    done: list[Deed]
    left: list[Deed]

    def curves(self, pieces: Sequence[Piece]) -> None:
        """Tell of splines, ellipses and stretched arcs, which the reading has made into arcs."""
        for piece in pieces:
            if piece.entity.kind in ("SPLINE", "ELLIPSE"):
                what = "circle" if piece.edges[0].is_circle else "lines and arcs"
                self.done.append(Deed(f"{piece.entity.kind} made into {what}", 1, piece.deviation_mm))
            elif piece.deviation_mm > 0.0:
                self.done.append(Deed("stretched arc made into true arcs", 1, piece.deviation_mm))

    def cut(self, pieces: Sequence[Piece], names: dict[str, str]) -> None:
        """What is cut: doubles dropped, ends joined, contours made again."""
        net = EdgeNet.of(pieces)
        net.mend(self.gap_mm)
        self.done += net.deeds
        for edge, layer in net.circles:
            self.items.append(OnLayer(Round(*edge.centre, edge.radius_mm), names[layer]))
        edges = net.moved_edges()
        layer_of = {_key(e): layer for e, layer in zip(edges, net.layers, strict=True)}
        loose = [_piece(e, layer) for e, layer in zip(edges, net.layers, strict=True)]
        chains = chains_of(loose)
        for contour in chains.contours:
            self._contour(contour, layer_of, names)
        for chain in open_chains(chains.broken):
            layer = layer_of.get(_key(chain[0]), "0")
            closure = Closure.CLOSED if len(chain) > 1 and chain[0].start == chain[-1].end else Closure.OPEN
            self.items.append(OnLayer(chain_of(chain, closure), names.get(layer, "CUT")))
        if chains.broken:
            self.left.append(Deed("open chain left open: its ends are too far apart, or more than two meet"))

    def _contour(self, contour: Contour, layer_of: dict[object, str], names: dict[str, str]) -> None:
        new = remade(contour, self.most_mm)
        layers = [layer_of.get(_key(e), "0") for e in contour.edges]
        layer = max(sorted(set(layers)), key=layers.count)
        self.items.append(OnLayer(new.item, names.get(layer, "CUT")))
        self.done += new.done
        self.left += new.left

    def marks(self, pieces: Sequence[Piece], names: dict[str, str]) -> None:
        """What is bent or marked stays as it is, flat and in mm."""
        for piece in pieces:
            layer = names[piece.entity.layer]
            edges = [part for e in piece.edges for part in _parts(e) if e.length_mm > 0.0]
            if not edges:
                continue
            if edges[0].is_circle:
                self.items.append(OnLayer(Round(*edges[0].centre, edges[0].radius_mm), layer))
            else:
                closure = Closure.CLOSED if piece.closes and len(edges) > 1 else Closure.OPEN
                self.items.append(OnLayer(chain_of(edges, closure), layer))


def _parts(edge: Edge) -> tuple[Edge, ...]:
    if edge.is_circle or abs(edge.sweep_rad) < 3.0:
        return (edge,)
    return tuple(part for half in edge.halves() for part in _parts(half))


def _piece(edge: Edge, layer: str) -> Piece:
    return Piece(FileEntity("LINE", layer, (), 0), (edge,))


def _key(edge: Edge) -> object:
    """The same for an edge whichever way it runs."""
    ends = sorted((round(x, 6), round(y, 6)) for x, y in (edge.start, edge.end, edge.middle))
    return tuple(ends)
