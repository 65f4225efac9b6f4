"""Panels: their outlines, the bends that join them, and the welds along their edges."""

from __future__ import annotations

import math
from typing import Annotated, Any, ClassVar, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    field_validator,
    model_validator,
)

from bracketgen.description.model.holes import CutoutTable, HoleTable, MarkTable, SaddleTable
from bracketgen.description.model.stock import ReliefTable, Sizes
from bracketgen.description.model.values import (
    MOST_ENTRIES,
    MOST_HOLES,
    At,
    Count,
    Edge,
    EdgeOrAll,
    Length,
    LengthOrZero,
    OneLine,
    PositiveLength,
    TomlTable,
    Turned,
    fault,
)


class WeldTable(TomlTable):
    """A fillet weld that joins an edge of the panel to something else."""

    edge: EdgeOrAll | None = Field(
        None, description="edge of a rectangle by name, of a polygon by number; 'all round' = the whole outline"
    )
    saddle: Count | None = Field(None, description="number of the saddle whose edge is welded: 1 = the first")
    throat: PositiveLength | None = Field(None, description="thickness a of the fillet, square to its face")
    leg: PositiveLength | None = Field(None, description="or its leg z, along each face: 1.41 times the throat")
    length: PositiveLength | None = Field(None, description="in the middle of the edge; left out: all of it")
    sides: Literal["both", "face", "back"] = Field("both", description="which faces of the panel are welded")
    to: OneLine = Field("", max_length=40, description="what it is welded to")

    @model_validator(mode="after")
    def _one_of_each(self) -> WeldTable:
        if (self.edge is None) == (self.saddle is None):
            found = "nothing says" if self.edge is None else "edge and saddle both say"
            raise fault(f"{found} where the weld runs", "give edge, or the saddle's number")
        if (self.throat is None) == (self.leg is None):
            found = "nothing says" if self.throat is None else "throat and leg both say"
            raise fault(f"{found} how thick the weld is", "give throat (a) or leg (z = 1.41 a)")
        return self


def _panel_name(name: str) -> str:
    if not name.strip() or len(name) > 40 or "/" in name:
        raise fault(f"'{name[:40]}' can't name a panel", "1 to 40 letters, digits, gaps and signs other than /")
    return name


PanelName = Annotated[OneLine, AfterValidator(_panel_name)]


class _Corners(TomlTable):
    """What is done to all corners of an outline."""

    corner_radius: LengthOrZero = 0.0
    chamfer: LengthOrZero = 0.0

    @model_validator(mode="after")
    def _one_treatment(self) -> _Corners:
        if self.corner_radius and self.chamfer:
            raise fault("corner_radius and chamfer together", "give one of them")
        return self


class RectangleOutline(_Corners):
    """Upright rectangle: its lower left corner at [left, 0]."""

    shape: Literal["rectangle"]
    width: PositiveLength | None = Field(None, description="across; left out on a bent panel = as wide as the bend")
    height: PositiveLength = Field(description="up; on a bent panel measured as its `sizes` says")
    left: Length | None = Field(None, description="x of the left edge")


class CornerTable(TomlTable):
    """A corner of a polygon with a treatment of its own."""

    at: At
    radius: LengthOrZero | None = None
    chamfer: PositiveLength | None = None

    @model_validator(mode="after")
    def _one(self) -> CornerTable:
        if self.radius is not None and self.chamfer is not None:
            raise fault("radius and chamfer at one corner", "give one of them")
        return self


def _corner(value: Any) -> Any:
    return {"at": value} if isinstance(value, list) else value


class PolygonOutline(_Corners):
    """Straight edges from corner to corner, in either turning direction."""

    shape: Literal["polygon"]
    corners: list[Annotated[CornerTable, BeforeValidator(_corner, json_schema_input_type=At | CornerTable)]] = Field(
        min_length=3, max_length=MOST_ENTRIES
    )


class DiscOutline(TomlTable):
    """Round plate; with `inside` a ring."""

    shape: Literal["disc"]
    diameter: PositiveLength
    inside: PositiveLength | None = Field(None, description="diameter of the opening in the middle")
    at: At = (0.0, 0.0)


class PadTable(TomlTable):
    """A round of metal that is no hole's."""

    at: At
    radius: PositiveLength


class BeltOutline(TomlTable):
    """The pads of all holes joined by straight tangents, as a belt around pulleys."""

    shape: Literal["belt"]
    pads: list[PadTable] = Field(
        default_factory=list, max_length=MOST_ENTRIES, description="further rounds to go around"
    )
    width: PositiveLength | None = Field(None, description="of the bend line at the foot of a bent panel")
    left: Length | None = Field(None, description="x of the left end of that bend line")


class ArmsOutline(TomlTable):
    """The pads of all holes joined by narrow arms, hollow corners rounded."""

    shape: Literal["arms"]
    arm: PositiveLength = Field(description="width of the arms")
    fillet: LengthOrZero = Field(5.0, description="radius of hollow corners; the largest that fits is taken")
    hub: At | None = Field(None, description="arms run from here to every pad; left out: from pad to pad in order")
    hub_radius: PositiveLength | None = None
    pads: list[PadTable] = Field(default_factory=list, max_length=MOST_ENTRIES)
    width: PositiveLength | None = Field(None, description="of the bend line at the foot of a bent panel")
    left: Length | None = None

    @model_validator(mode="after")
    def _hub(self) -> ArmsOutline:
        if self.hub_radius is not None and self.hub is None:
            raise fault("hub_radius without a hub", "add hub = [x, y]")
        return self


Outline = Annotated[
    RectangleOutline | PolygonOutline | DiscOutline | BeltOutline | ArmsOutline, Field(discriminator="shape")
]


class _Joined(TomlTable):
    """What every joint says: the parent, the line on it, and what sizes are measured to."""

    parent: str = Field(alias="from", description="the panel it bends away from")
    edge: Edge | None = Field(
        None, description="edge of a rectangle by name, of a polygon by number (1 = from corner 1 to corner 2)"
    )
    line: tuple[At, At] | None = Field(None, description="two points of the bend line on the parent (belt, arms)")
    way: Literal["up", "down"] = Field(description="up: toward the described face; down: away from it")
    sizes: Sizes | None = Field(None, description="what both panels' sizes are measured to at this bend")
    shift: Length = Field(0.0, description="moves the panel's x = 0 along the bend line")
    inside_radius: LengthOrZero | None = None
    relief: ReliefTable | None = None

    @field_validator("line")
    @classmethod
    def _two_points(cls, line: tuple[tuple[float, float], ...] | None) -> tuple[tuple[float, float], ...] | None:
        if line and math.dist(*line) < 1e-3:
            raise fault("the two points of the bend line are one", "give two points apart")
        return line

    @model_validator(mode="after")
    def _one_place(self) -> _Joined:
        if self.edge is not None and self.line is not None:
            raise fault("edge and line both say where the bend runs", "keep one of them")
        if self.edge is None and self.line is None:
            cure = "give edge (of a rectangle or polygon) or line = [[x, y], [x, y]] (belt, arms)"
            raise fault("nothing says where on its parent the bend runs", cure)
        return self


class BendOfPanel(_Joined, Turned):
    """The bend that joins this panel to its parent."""


class JoggleOfPanel(_Joined, Turned):
    """Two equal and opposite bends, 45 degrees each unless said: the panel runs on parallel, `offset` away."""

    usual_turn_deg: ClassVar[float | None] = 45.0

    offset: PositiveLength = Field(description="from the parent's described face to this panel's")


class PanelTable(TomlTable):
    """A flat region: outline, holes, openings, and the bend that joins it to its parent."""

    outline: Outline = Field(description="its shape and sizes")
    origin: Literal["left", "middle", "right"] = Field(
        "left", description="where x = 0 lies: on a bent panel along its bend line, else along a rectangle's foot"
    )
    bend: BendOfPanel | None = None
    joggle: JoggleOfPanel | None = None
    holes: list[HoleTable] = Field(default_factory=list, max_length=MOST_HOLES)
    cutouts: list[CutoutTable] = Field(default_factory=list, max_length=MOST_ENTRIES)
    saddles: list[SaddleTable] = Field(default_factory=list, max_length=MOST_ENTRIES)
    marks: list[MarkTable] = Field(default_factory=list, max_length=MOST_ENTRIES)
    welds: list[WeldTable] = Field(default_factory=list, max_length=MOST_ENTRIES)
    pad: PositiveLength | None = Field(None, description="radius of the metal around each hole (belt, arms)")

    @model_validator(mode="after")
    def _one_joint(self) -> PanelTable:
        if self.bend is not None and self.joggle is not None:
            raise fault("a panel has a bend or a joggle, not both", "keep one of them")
        return self

    @model_validator(mode="after")
    def _pads_of_use(self) -> PanelTable:
        wanted = self.pad is not None or any(h.pad is not None for h in self.holes)
        if wanted and not isinstance(self.outline, BeltOutline | ArmsOutline):
            raise fault(f"pad means nothing on a {self.outline.shape}", "pads make the outline of a belt or of arms")
        return self

    @model_validator(mode="after")
    def _foot(self) -> PanelTable:
        left, width = getattr(self.outline, "left", None), getattr(self.outline, "width", None)
        if left is not None and width is None:
            raise fault("left without width", "left out, both come from the bend: give width too, or neither")
        if width is not None and not isinstance(self.outline, RectangleOutline) and self.joint is None:
            raise fault(
                f"width means nothing on the first panel's {self.outline.shape}", "it is the foot of a bent one"
            )
        return self

    @property
    def joint(self) -> BendOfPanel | JoggleOfPanel | None:
        """What joins the panel to its parent; None on the first one."""
        return self.bend or self.joggle
