"""Holes, their patterns and isolators, and other things cut into a panel."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import AfterValidator, Field, model_validator

from bracketgen.description.model.values import (
    MOST_ENTRIES,
    MOST_HOLES,
    Angle,
    At,
    BoltWord,
    Count,
    Direction,
    FitWord,
    LengthOrZero,
    Number,
    OneLine,
    PositiveLength,
    RivetNutWord,
    Size,
    TapWord,
    TomlTable,
    fault,
)

#: Which of the keys each kind takes, besides height and torque.
_TAKES: Final = {"bush": ("hole", "sleeve"), "pad": ("hole", "sleeve"), "bobbin": ("stud", "depth")}


def _above_zero(value: float) -> float:
    if value <= 0:
        raise fault(f"a torque of {value:g} N m tightens nothing", "give the maker's figure, or leave torque out")
    return value


class IsolatorTable(TomlTable):
    """A rubber isolator: a bush in the hole, a pad under the part, or a bobbin screwed to it."""

    kind: Literal["bush", "bobbin", "pad"] = Field(
        description="bush: sits in the hole, the bolt goes through it; pad: lies between part and mate; "
        "bobbin: rubber with a thread or stud at each end"
    )
    height: PositiveLength = Field(description="bush: over all; bobbin: between its plates; pad: its thickness")
    hole: PositiveLength | None = Field(
        None, description="the hole that it needs in the part (bush, or pad whose sleeve goes through the part)"
    )
    sleeve: PositiveLength | None = Field(
        None, description="length of the steel sleeve through it that the bolt is pulled tight on (bush, pad)"
    )
    stud: PositiveLength | None = Field(None, description="length of the stud that goes through the part (bobbin)")
    depth: PositiveLength | None = Field(None, description="depth of the thread that takes the bolt (bobbin)")
    torque: Annotated[Number, AfterValidator(_above_zero)] | None = Field(
        None, description="its maker's figure for the bolt, in N m"
    )

    @model_validator(mode="after")
    def _of_its_kind(self) -> IsolatorTable:
        takes = _TAKES[self.kind]
        for key in ("hole", "sleeve", "stud", "depth"):
            if getattr(self, key) is not None and key not in takes:
                raise fault(f"{key} means nothing for a {self.kind}", f"a {self.kind} takes {' or '.join(takes)}")
        if self.kind == "bobbin" and (self.stud is None) == (self.depth is None):
            found = "nothing says" if self.stud is None else "stud and depth both say"
            raise fault(f"{found} how the bobbin is held", "give stud (its own thread) or depth (a thread in it)")
        if self.kind == "bush" and self.hole is None:
            raise fault("nothing says what hole the bush needs", "give hole, from the bush or its maker's sheet")
        if self.kind == "pad" and (self.hole is None) != (self.sleeve is None):
            raise fault("a pad's hole and sleeve go together", "give both (the sleeve goes through the part), or none")
        return self


_ORIGIN: tuple[float, float] = (0.0, 0.0)


class RowPattern(TomlTable):
    """Holes in a row: the first at `at`."""

    kind: Literal["row"]
    count: Count
    spacing: PositiveLength = Field(description="centre to centre")
    direction: Angle = Field(0.0, description="anticlockwise from +x")


class GridPattern(TomlTable):
    """Rows and columns: the lower left one at `at`."""

    kind: Literal["grid"]
    columns: Count
    rows: Count
    spacing: Size = Field(description="[between columns, between rows], centre to centre")

    @model_validator(mode="after")
    def _not_too_many(self) -> GridPattern:
        if self.columns * self.rows > MOST_HOLES:
            raise fault(f"{self.columns * self.rows} holes are too many", f"a part has {MOST_HOLES} at most")
        return self


class CornersPattern(TomlTable):
    """The four corners of a rectangle whose middle is at `at`."""

    kind: Literal["corners"]
    size: Size = Field(description="[across, up], centre to centre")


class CirclePattern(TomlTable):
    """A bolt circle round `at`, full or part."""

    kind: Literal["bolt circle"]
    diameter: PositiveLength
    count: Count
    start: Angle = Field(0.0, description="where the first hole stands, anticlockwise from +x")
    over: Angle = Field(360.0, description="360: evenly round; less: first and last hole this far apart")


class PointsPattern(TomlTable):
    """Given points, counted from `at`."""

    kind: Literal["points"]
    points: list[At] = Field(min_length=1, max_length=MOST_HOLES)


Pattern = Annotated[
    RowPattern | GridPattern | CornersPattern | CirclePattern | PointsPattern, Field(discriminator="kind")
]


class SlotTable(TomlTable):
    """Makes the hole a slot: straight, with round ends."""

    length: PositiveLength = Field(description="overall, end to end")
    direction: Direction = Field(0.0, description="anticlockwise from +x; 'radial' or 'around' on a bolt circle")


class HoleTable(TomlTable):
    """One hole or a pattern of equal holes."""

    name: OneLine | None = Field(None, description="what the findings call it", min_length=1, max_length=40)
    at: At = _ORIGIN
    bolt: BoltWord | None = Field(None, description="bolt size; the clearance hole comes from its fit")
    fit: FitWord | None = Field(None, description="close, normal (when left out), loose; ISO 273: fine, medium, coarse")
    diameter: PositiveLength | None = Field(None, description="plain hole, or a drill size")
    tap: TapWord | None = Field(None, description="thread to be tapped, such as 'M6'")
    rivet_nut: RivetNutWord | None = Field(None, description="thread of a rivet nut")
    dowel: PositiveLength | None = Field(None, description="diameter of a dowel hole, reamed after cutting")
    pilot: PositiveLength | None = Field(
        None, description="diameter in the cut file of a hole that is drilled or reamed to size afterwards"
    )
    slot: SlotTable | None = None
    isolator: IsolatorTable | None = Field(None, description="rubber between part and mate; goes with bolt")
    nut: Literal["loose", "welded"] | None = Field(
        None, description="welded: a nut is welded to the part behind the hole; goes with bolt; left out: loose"
    )
    pattern: Pattern | None = None
    turned: Angle = Field(0.0, description="the whole pattern turned about `at`")
    mirrored: Literal["left-right", "up-down"] | None = Field(None, description="the pattern mirrored about `at`")
    pad: PositiveLength | None = Field(None, description="radius of the metal around each hole's centre")

    @model_validator(mode="after")
    def _one_size(self) -> HoleTable:
        given = [k for k in ("bolt", "diameter", "tap", "rivet_nut", "dowel") if getattr(self, k) is not None]
        if len(given) != 1:
            found = f"{' and '.join(given)} all give" if given else "nothing gives"
            raise fault(f"{found} the hole's size", "give one of bolt, diameter, tap, rivet_nut, dowel")
        if self.slot and given[0] in ("tap", "rivet_nut", "dowel"):
            raise fault(f"a {given[0]} hole can't be a slot", "give a bolt or a diameter")
        if self.pilot and self.slot:
            raise fault("a slot can't have a pilot", "take one of them out")
        if self.fit and self.bolt is None:
            raise fault(f"fit means nothing for a hole by {given[0]}", "take fit out, or give bolt")
        return self

    @model_validator(mode="after")
    def _joint_of_a_bolt(self) -> HoleTable:
        for key in ("isolator", "nut"):
            if getattr(self, key) is not None and self.bolt is None:
                raise fault(f"{key} means nothing for a hole without a bolt", f"take {key} out, or give bolt")
        if self.isolator is None:
            return self
        if self.nut is not None:
            raise fault("isolator and nut at one hole", "a nut welded to the part would bridge the rubber: keep one")
        if self.isolator.hole is not None:
            for key in ("slot", "fit"):
                if getattr(self, key) is not None:
                    cure = f"take {key} out: the isolator's own hole is round, and its size is given"
                    raise fault(f"{key} means nothing where the isolator gives the hole", cure)
        return self


class CutoutTable(TomlTable):
    """An opening, or a notch where it runs over the panel's edge."""

    name: OneLine | None = Field(None, min_length=1, max_length=40)
    shape: Literal["rectangle", "polygon", "disc", "slot"]
    at: At = Field(_ORIGIN, description="its middle; for a polygon the zero of its points")
    size: Size | None = Field(None, description="rectangle: [across, up]; slot: [length, width]")
    diameter: PositiveLength | None = None
    points: list[At] | None = Field(None, min_length=3, max_length=MOST_ENTRIES)
    corner_radius: LengthOrZero = 0.0
    turned: Angle = 0.0
    clearance: LengthOrZero = Field(0.0, description="grown by this much all round: room around what passes through")

    @model_validator(mode="after")
    def _complete(self) -> CutoutTable:
        need = {"rectangle": "size", "slot": "size", "disc": "diameter", "polygon": "points"}[self.shape]
        if getattr(self, need) is None:
            raise fault(f"a {self.shape} needs the key {need}", f"add {need} to this table")
        for key in ("size", "diameter", "points"):
            if key != need and getattr(self, key) is not None:
                raise fault(f"{key} means nothing for a {self.shape}", f"a {self.shape} takes {need}")
        if self.corner_radius and self.shape in ("disc", "slot"):
            raise fault(f"corner_radius means nothing for a {self.shape}", "take it out: there is no corner")
        return self


class SaddleTable(TomlTable):
    """A round bite out of the panel's edge, to sit on a tube."""

    tube: PositiveLength = Field(description="outside diameter of the tube")
    at: At = Field(description="where the tube's centre passes through the panel's plane")
    gap: LengthOrZero = Field(0.0, description="room between tube and edge, for weld or rubber")


class MarkTable(TomlTable):
    """A straight mark line."""

    start: At = Field(description="one end, [x, y]")
    end: At = Field(description="the other end, [x, y]")
