"""Welds along the edges of a panel."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from bracketgen.description.model.edges import EdgeOrAll
from bracketgen.description.model.quantities import Count, PositiveLength, Table, fault
from bracketgen.description.model.words import OneLine


class WeldTable(Table):
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
