"""Field types for values that a person writes: they read the text and hand on plain mm, degrees or counts.

The reader (parameters, the unit of bare numbers) comes in through pydantic's validation context.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, PlainValidator, ValidationInfo, WithJsonSchema
from pydantic_core import PydanticCustomError

from bracketgen.description.arithmetic import UnresolvedName, read_quantity
from bracketgen.units import Kind, LengthUnit, Quantity, QuantityFault


class Table(BaseModel):
    """Base of every table: unknown keys are refused, nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, validate_default=False, populate_by_name=True)


@dataclass
class Reader:
    """How values of one file are read."""

    names: dict[str, Quantity | None] = field(default_factory=dict)
    bare_unit: LengthUnit | None = None
    folder: str = "."


def fault(what: str, cure: str = "") -> PydanticCustomError:
    """An error that carries its own words to the person."""
    return PydanticCustomError("bracket", "{what}", {"what": what, "cure": cure})


class SilentFault(Exception):
    """Stands for a value that leans on something already reported."""


def _check_range(value: float, kind: Kind, least: float | None, over: float | None, most: float | None) -> None:
    unit = {Kind.LENGTH: " mm", Kind.ANGLE: " deg"}.get(kind, "")
    if over is not None and value <= over:
        raise fault(f"{value:g}{unit} is too small", f"give more than {over:g}{unit}")
    if least is not None and value < least:
        raise fault(f"{value:g}{unit} is too small", f"give {least:g}{unit} or more")
    if most is not None and value > most:
        raise fault(f"{value:g}{unit} is too large", f"give {most:g}{unit} or less")


def _reading(
    kind: Kind, least: float | None = None, over: float | None = None, most: float | None = None
) -> Callable[[Any, ValidationInfo], float]:
    def read(value: Any, info: ValidationInfo) -> float:
        reader = info.context if isinstance(info.context, Reader) else Reader()
        try:
            number = read_quantity(value, kind, reader.names, reader.bare_unit).number
        except UnresolvedName as error:
            raise PydanticCustomError("unresolved", "{what}", {"what": error.what, "cure": ""}) from None
        except QuantityFault as error:
            raise fault(error.what, error.cure) from None
        _check_range(number, kind, least, over, most)
        return number

    return read


def _schema(kind: str, example: str) -> WithJsonSchema:
    text = f"A {kind}: a bare number, text such as '{example}', a parameter, or arithmetic in round brackets."
    return WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string", "minLength": 1}], "description": text})


Length = Annotated[float, PlainValidator(_reading(Kind.LENGTH)), _schema("length", "12.7 mm")]
PositiveLength = Annotated[float, PlainValidator(_reading(Kind.LENGTH, over=0.0)), _schema("length over 0", "3/8 in")]
LengthOrZero = Annotated[float, PlainValidator(_reading(Kind.LENGTH, least=0.0)), _schema("length from 0", "4 mm")]
Angle = Annotated[float, PlainValidator(_reading(Kind.ANGLE)), _schema("angle", "30 deg")]
Turn = Annotated[
    float, PlainValidator(_reading(Kind.ANGLE, over=0.0, most=135.0)), _schema("turn over 0 to 135 degrees", "90 deg")
]
Between = Annotated[
    float, PlainValidator(_reading(Kind.ANGLE, least=45.0, most=179.999)), _schema("angle between panels", "90 deg")
]
Number = Annotated[float, PlainValidator(_reading(Kind.NUMBER)), _schema("number", "0.42")]


def _count(value: Any, info: ValidationInfo) -> int:
    return round(_reading(Kind.COUNT, least=1, most=5000)(value, info))


Count = Annotated[int, PlainValidator(_count), _schema("count", "4")]


def _xy(value: Any) -> Any:
    if not isinstance(value, list) or len(value) != 2:
        raise fault("a point is two values, [x, y]", "for example [10, 25] or ['10 mm', '1 in']")
    return tuple(value)


At = Annotated[tuple[Length, Length], BeforeValidator(_xy)]
Size = Annotated[tuple[PositiveLength, PositiveLength], BeforeValidator(_xy)]
