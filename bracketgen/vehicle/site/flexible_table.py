"""What gives between the part and a body of the vehicle."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from bracketgen.description.model.quantities import Number, Table, fault
from bracketgen.vehicle.site.in_space import Stroke, Xyz


class FlexibleTable(Table):
    """Something that gives between two bodies: a rubber mount, a hanger's rubber, a bellows, a sliding bolt."""

    stroke: Stroke = Field(
        description="how far it gives to either side before it is tight: [x, y, z] of the site, or one length that "
        "holds whichever way it is pulled; push it and measure, or take the maker's figure"
    )
    matter: Literal["rubber", "plastic", "metal"] = Field("rubber", description="what gives; heat spoils all but metal")
    compound: str | None = Field(None, description="rubber, plastic: which one, such as 'EPDM'; decides its limit")
    limit: Number | None = Field(None, description="what it stands, degrees C")
    surface: Number | None = Field(None, description="how hot the metal gets that it sits on, degrees C")
    at: Xyz | None = Field(
        None, description="where the body takes hold of it (carried: in its own frame); left out: at the bolts"
    )

    @model_validator(mode="after")
    def _gives(self) -> FlexibleTable:
        if isinstance(self.stroke, tuple) and not any(self.stroke):
            raise fault("a stroke of zeros gives nowhere", "measure how far it gives, or leave 'flexible' out")
        return self
