"""What the lint of a cut file can find, and the cure for each."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bracketgen.findings import Level


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
