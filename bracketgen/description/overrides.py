"""Values for parameters that come from outside the description: from the command line or a row of a table."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bracketgen.description.parameters import Definition, resolve
from bracketgen.description.read import parameter_tables, parse
from bracketgen.errors import Fault, Place
from bracketgen.units import Kind, LengthUnit, nearest_word

_BARE: Final = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")


@dataclass(frozen=True, slots=True)
class Settable:
    """The parameters of a description with their kinds (None where it can't be told), and its unit."""

    kinds: Mapping[str, Kind | None]
    unit: str

    def fault(self, name: str, place: Place) -> Fault | None:
        """The fault of setting a parameter that is not there."""
        if name in self.kinds:
            return None
        near = nearest_word(name, self.kinds)
        known = ", ".join(self.kinds) or "none"
        cure = (f"did you mean '{near}'? " if near else "") + f"the description has: {known}"
        return Fault(place, f"there is no parameter '{name}' to set", cure)

    def with_unit(self, name: str, text: str) -> str:
        """`text`, and the description's unit behind a bare number where a length is wanted, as within the file."""
        wanted = self.kinds.get(name) is Kind.LENGTH
        return f"{text} {self.unit}" if wanted and self.unit and _BARE.fullmatch(text.strip()) else text


def settable(text: str, file: str) -> Settable:
    """What can be set in a description. Raises InputFaults when it is no TOML."""
    raw = parse(text, file).raw
    unit = raw.get("units") if raw.get("units") in ("mm", "in") else ""
    written = parameter_tables(raw)
    values = {k: v["value"] for k, v in written.items() if isinstance(v.get("value"), str | int | float)}
    found = resolve({k: Definition(v) for k, v in values.items()}, LengthUnit(unit) if unit else None).values
    kinds = {k: found[k].kind if found.get(k) else None for k in written}  # type: ignore[union-attr]
    kinds |= {k: Kind(v["kind"]) for k, v in written.items() if v.get("kind") in tuple(Kind)}
    return Settable(kinds, str(unit))


def read_settings(typed: list[str]) -> tuple[dict[str, str], list[Fault]]:
    """`name=value` texts as pairs, and the faults of those that are none."""
    found: dict[str, str] = {}
    faults: list[Fault] = []
    for text in typed:
        name, sign, value = text.partition("=")
        name, value = name.strip(), value.strip()
        if not sign or not name or not value:
            faults.append(
                Fault(Place("--set"), f"{text!r} sets nothing", 'write name=value, as in --set "reach=80 mm"')
            )
        elif name in found:
            faults.append(Fault(Place("--set"), f"'{name}' is set twice", "keep one of them"))
        else:
            found[name] = value
    return found, faults
