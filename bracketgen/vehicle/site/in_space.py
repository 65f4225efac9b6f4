"""Places, directions and travels in space, as a person writes them."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, Discriminator, Tag

from bracketgen.description.model.quantities import Length, LengthOrZero, Number, PositiveLength, fault


def xyz(value: Any) -> Any:
    """Three values as a tuple. Raises a fault for anything else."""
    if not isinstance(value, list) or len(value) != 3:
        raise fault("a place in space is three values, [x, y, z]", "for example [120, 35, -40]")
    return tuple(value)


Xyz = Annotated[tuple[Length, Length, Length], BeforeValidator(xyz)]
Heading = Annotated[tuple[Number, Number, Number], BeforeValidator(xyz)]
Travel = Annotated[tuple[LengthOrZero, LengthOrZero, LengthOrZero], BeforeValidator(xyz)]


def _which_stroke(value: Any) -> str:
    return "along axes" if isinstance(value, list) else "any way"


#: Along x, y, z, or one length that holds whichever way it is pulled.
Stroke = Annotated[
    Annotated[Travel, Tag("along axes")] | Annotated[PositiveLength, Tag("any way")], Discriminator(_which_stroke)
]
