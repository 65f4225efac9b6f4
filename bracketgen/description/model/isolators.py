"""Rubber isolators at a hole."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import AfterValidator, Field, model_validator

from bracketgen.description.model.quantities import Number, PositiveLength, Table, fault

#: Which of the keys each kind takes, besides height and torque.
_TAKES: Final = {"bush": ("hole", "sleeve"), "pad": ("hole", "sleeve"), "bobbin": ("stud", "depth")}


def _above_zero(value: float) -> float:
    if value <= 0:
        raise fault(f"a torque of {value:g} N m tightens nothing", "give the maker's figure, or leave torque out")
    return value


class IsolatorTable(Table):
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
