"""What the lint of a cut file can find, and the cure for each."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Flaw(StrEnum):
    """Everything that can be wrong with a cut file."""

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
}


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

    def __str__(self) -> str:
        place = f" at ({self.at_mm[0]:.3f}, {self.at_mm[1]:.3f}) mm" if self.at_mm else ""
        line = f" (line {self.line})" if self.line else ""
        return f"{self.code}: {self.what}{place}{line}; {self.cure}"
