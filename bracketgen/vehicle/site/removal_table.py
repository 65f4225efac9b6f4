"""How a thing is taken away when it does not go straight out."""

from __future__ import annotations

from typing import Final

from pydantic import Field, model_validator

from bracketgen.description.model.quantities import Angle, Table, fault
from bracketgen.vehicle.site.in_space import Heading, Xyz

#: Beyond this it would come back on itself.
_MOST_TILT_DEG: Final = 180.0


class RemovalLeg(Table):
    """One further leg of the way out: moved straight, or tilted."""

    move: Xyz | None = Field(None, description="straight, as [x, y, z] moved")
    tilt: Angle | None = Field(None, description="degrees it is tilted: the end that comes out first goes `toward`")
    toward: Heading | None = Field(None, description="tilt: which way the end that comes out first swings")
    pivot: Xyz | None = Field(
        None, description="tilt: the place on it that stays, given as it hangs at first; left out: its middle"
    )

    @model_validator(mode="after")
    def _one_way(self) -> RemovalLeg:
        if (self.move is None) == (self.tilt is None):
            raise fault("a leg of the way out is one thing", "give move = [x, y, z], or tilt with toward")
        if self.move is not None and (self.toward is not None or self.pivot is not None):
            raise fault("toward and pivot belong to a tilt", "take them out, or give the tilt a leg of its own")
        if self.move is not None and not any(self.move):
            raise fault("a move of zeros goes nowhere", "say how far it is moved, or take the leg out")
        if self.tilt is not None:
            self._check_tilt(self.tilt)
        return self

    def _check_tilt(self, tilt: float) -> None:
        if self.toward is None or not any(self.toward):
            raise fault("nothing says which way it tilts", "give toward = [x, y, z], where the leading end goes")
        if not 0.0 < tilt <= _MOST_TILT_DEG:
            raise fault(f"a tilt of {tilt:g} degrees", "give more than 0, at most 180; the way is said by toward")
