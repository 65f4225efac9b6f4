"""Field types for values that a person writes: they read the text and hand on plain mm, degrees or counts.

The reader (parameters, the unit of bare numbers) comes in through pydantic's validation context.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar, Final

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import PydanticCustomError

from bracketgen.bending.setback import BendFault, check_k
from bracketgen.description.arithmetic import UnresolvedName, read_quantity
from bracketgen.standards.fasteners import Fit, edge_rule, fastener, tap_drill
from bracketgen.standards.machines import process
from bracketgen.standards.metals import metal
from bracketgen.standards.table import LookupFault
from bracketgen.units import Kind, LengthUnit, Quantity, QuantityFault, meant

#: A part has no more holes, and a list no more entries: beyond it checking takes minutes, and no bracket needs it.
MOST_HOLES: Final = 3000
MOST_ENTRIES: Final = 1000


class TomlTable(BaseModel):
    """Base of every table: unknown keys are refused, nothing changes after reading."""

    # A table's checks are put together when a file is first read: once for the whole file, not once for each table.
    # So a table that may be left out is given as `model_construct()`: its own defaults, which need no check.
    model_config = ConfigDict(extra="forbid", frozen=True, validate_default=False, defer_build=True)


@dataclass
class Reader:
    """How values of one file are read."""

    names: dict[str, Quantity | None] = field(default_factory=dict)
    bare_unit: LengthUnit | None = None
    folder: str = "."


def fault(what: str, cure: str = "") -> PydanticCustomError:
    """An error that carries its own words to the person."""
    return PydanticCustomError("bracket", "{what}", {"what": what, "cure": cure})


def number_of(value: Any, kind: Kind, info: ValidationInfo) -> float:
    """The plain number, mm or degrees that a value means to the file's reader; raises pydantic's error."""
    reader = info.context if isinstance(info.context, Reader) else Reader()
    try:
        return read_quantity(value, kind, reader.names, reader.bare_unit).number
    except UnresolvedName as error:
        raise PydanticCustomError("unresolved", "{what}", {"what": error.what, "cure": ""}) from None
    except QuantityFault as error:
        raise fault(error.what, error.cure) from None


def _reading(
    kind: Kind, least: float | None = None, most: float | None = None
) -> Callable[[Any, ValidationInfo], float]:
    unit = {Kind.LENGTH: " mm", Kind.ANGLE: " deg"}.get(kind, "")

    def read(value: Any, info: ValidationInfo) -> float:
        number = number_of(value, kind, info)
        if least is not None and number < least:
            raise fault(f"{number:g}{unit} is too small", f"give {least:g}{unit} or more")
        if most is not None and number > most:
            raise fault(f"{number:g}{unit} is too large", f"give {most:g}{unit} or less")
        return number

    return read


def _schema(kind: str, example: str) -> WithJsonSchema:
    article = "An" if kind[0] in "aeiou" else "A"
    text = f"{article} {kind}: a bare number, text such as '{example}', a parameter, or arithmetic in round brackets."
    return WithJsonSchema({"anyOf": [{"type": "number"}, {"type": "string", "minLength": 1}], "description": text})


def angle_or(*words: str) -> PlainValidator:
    """Reads an angle in degrees, or one of the words."""

    def read(value: Any, info: ValidationInfo) -> float | str:
        reader = info.context if isinstance(info.context, Reader) else Reader()
        if not isinstance(value, str) or any(c.isdigit() for c in value) or value.strip() in reader.names:
            return number_of(value, Kind.ANGLE, info)
        if value not in words:
            cure = f"give degrees, such as 30, or {' or '.join(map(repr, words))}"
            raise fault(f"'{value}' is no angle", meant(value, words, cure))
        return value

    return PlainValidator(read)


Length = Annotated[float, PlainValidator(_reading(Kind.LENGTH)), _schema("length", "12.7 mm")]
#: A hundredth of a millimetre is below any tool; smaller sizes are slips of the pen or the unit.
_SMALLEST_MM: Final = 0.01
PositiveLength = Annotated[
    float, PlainValidator(_reading(Kind.LENGTH, least=_SMALLEST_MM)), _schema("length over 0", "3/8 in")
]
LengthOrZero = Annotated[float, PlainValidator(_reading(Kind.LENGTH, least=0.0)), _schema("length from 0", "4 mm")]
Angle = Annotated[float, PlainValidator(_reading(Kind.ANGLE)), _schema("angle", "30 deg")]
#: A turn below the general tolerance of a short leg (1 deg, ISO 2768-1 m) is no bend.
_LEAST_TURN_DEG = 1.0
Turn = Annotated[
    float,
    PlainValidator(_reading(Kind.ANGLE, least=_LEAST_TURN_DEG, most=135.0)),
    _schema("turn of 1 to 135 degrees", "90 deg"),
]
Between = Annotated[
    float,
    PlainValidator(_reading(Kind.ANGLE, least=45.0, most=180.0 - _LEAST_TURN_DEG)),
    _schema("angle of 45 to 179 degrees between panels", "90 deg"),
]
Grain = Annotated[float | str, angle_or("unknown"), _schema("rolling direction, or 'unknown'", "90 deg")]
Direction = Annotated[float | str, angle_or("radial", "around"), _schema("direction, 'radial' or 'around'", "30 deg")]
Number = Annotated[float, PlainValidator(_reading(Kind.NUMBER)), _schema("number", "0.42")]


def _count(value: Any, info: ValidationInfo) -> int:
    return round(_reading(Kind.COUNT, least=1, most=MOST_HOLES)(value, info))


Count = Annotated[int, PlainValidator(_count), _schema("count", "4")]


def _xy(value: Any) -> Any:
    if not isinstance(value, list) or len(value) != 2:
        raise fault("a point is two values, [x, y]", "for example [10, 25] or ['10 mm', '1 in']")
    return tuple(value)


class Turned(TomlTable):
    """How far something is bent: degrees turned from flat, or the degrees left between the two sides."""

    #: What holds when neither is given; None = one of them must be.
    usual_turn_deg: ClassVar[float | None] = None

    turn: Turn | None = Field(None, description="degrees turned from flat: 0 = flat, 90 = square")
    between: Between | None = Field(None, description="degrees between the two sides: 180 = flat, 90 = square")

    @model_validator(mode="after")
    def _one_turn(self) -> Turned:
        if self.turn is not None and self.between is not None:
            raise fault("turn and between both say how far it is bent", "keep one of them (between = 180 - turn)")
        if self.turn is None and self.between is None and self.usual_turn_deg is None:
            raise fault("nothing says how far it is bent", "give turn (0 = flat) or between (180 = flat)")
        return self

    @property
    def turn_deg(self) -> float:
        """Degrees turned from flat."""
        if self.between is not None:
            return 180.0 - self.between
        return self.turn if self.turn is not None else self.usual_turn_deg or 0.0


At = Annotated[tuple[Length, Length], BeforeValidator(_xy)]
Size = Annotated[tuple[PositiveLength, PositiveLength], BeforeValidator(_xy)]


# -- words that stand for a row of a table: looked up while the description is read, so that a fault has their place


def what_and_cure(error: LookupFault) -> tuple[str, str]:
    """A look-up that failed, in words: what is wrong, and what is known instead."""
    if error.reason:
        return f"{error.what} {error.given}: {error.reason}", ""
    near = f"did you mean '{error.nearest}'? " if error.nearest else ""
    known = f"known: {', '.join(error.known)}" if error.known else ""
    return f"unknown {error.what} '{error.given}'", near + known


def _looked_up(look_up: Callable[[str], object]) -> AfterValidator:
    def check(word: str) -> str:
        try:
            look_up(word)
        except LookupFault as error:
            raise fault(*what_and_cure(error)) from None
        return word

    return AfterValidator(check)


def _rivet_nut(size: str) -> str:
    bolt = fastener(size)
    if bolt.rivet_nut_hole_mm is None:
        raise fault(f"no hole size is known for a {bolt.size} rivet nut", "give diameter, as the maker says")
    return size


def _k_factor(k: float) -> float:
    try:
        check_k(k)
    except BendFault as error:
        raise fault(error.what, error.cure) from None
    return k


def _one_line(text: str) -> str:
    if any(ord(sign) < 32 or ord(sign) == 127 for sign in text):
        raise fault("a line break or control sign in a text that stands on one line", "take it out")
    return text


#: A text that is printed on one line.
OneLine = Annotated[str, AfterValidator(_one_line)]
MetalWord = Annotated[str, _looked_up(metal)]
ProcessWord = Annotated[str, _looked_up(process)]
BoltWord = Annotated[str, _looked_up(fastener)]
FitWord = Annotated[str, _looked_up(Fit.from_word)]
TapWord = Annotated[str, _looked_up(tap_drill)]
RivetNutWord = Annotated[str, _looked_up(fastener), AfterValidator(_rivet_nut)]
EdgeRuleWord = Annotated[str, _looked_up(edge_rule)]
KFactorNumber = Annotated[Number, AfterValidator(_k_factor)]


# -- words that name an edge of an outline

_EDGES = ("left", "right", "top", "bottom")
#: The whole outline of a panel.
ALL_ROUND = "all round"


def _edge(value: Any) -> str | int:
    if (isinstance(value, int) and not isinstance(value, bool) and value > 0) or value in _EDGES:
        return value  # type: ignore[no-any-return]
    cure = "give left, right, top, bottom, or the number of a polygon's edge"
    if isinstance(value, str):
        raise fault(f"'{value}' is no edge", meant(value, _EDGES, cure))
    raise fault("this is no edge", cure)


def _edge_or_all(value: Any) -> str | int:
    if value == ALL_ROUND:
        return ALL_ROUND
    if isinstance(value, str) and (cure := meant(value, (ALL_ROUND,))):
        raise fault(f"'{value}' is no edge", cure)
    return _edge(value)


def _edge_schema(*words: str) -> WithJsonSchema:
    return WithJsonSchema({"anyOf": [{"enum": list(words)}, {"type": "integer", "minimum": 1}]})


Edge = Annotated[str | int, PlainValidator(_edge), _edge_schema(*_EDGES)]
#: An edge, or the outline all round.
EdgeOrAll = Annotated[str | int, PlainValidator(_edge_or_all), _edge_schema(*_EDGES, ALL_ROUND)]
