"""How a faulty drawing is entered in the list, and DXF text by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from faulty_plate import (
    AREA,
    NEW,
    VERSIONS,
    Plate,
)


@dataclass(frozen=True)
class Faulty:
    """A kind of fault: which codes it gives (all and only these), how it is made, and what mending does.

    `mended`: the new file is clean; `area`: of the plate once it is mended (None: not worth a figure).
    """

    kind: str
    codes: frozenset[str]
    make: Callable[[str], bytes]
    versions: tuple[str, ...] = NEW
    mended: bool = False
    area: float | None = None
    limits: dict[str, Any] = field(default_factory=dict)


FAULTS: list[Faulty] = []


def fault(
    kind: str,
    *codes: str,
    versions: tuple[str, ...] = NEW,
    mended: bool = False,
    area: float | None = AREA,
    **limits: Any,
) -> Callable[[Callable[[str], Plate | bytes | str]], Callable[[str], Plate | bytes | str]]:
    """Enters the function as the maker of a fault."""

    def enter(make: Callable[[str], Plate | bytes | str]) -> Callable[[str], Plate | bytes | str]:
        def data(version: str) -> bytes:
            made = make(version)
            return made.data if isinstance(made, Plate) else made.encode() if isinstance(made, str) else made

        FAULTS.append(Faulty(kind, frozenset(codes), data, versions, mended, area, limits))
        return make

    return enter


ALL = VERSIONS
SLACK = {"area": None}


def plain(*entities: str, header: str = "  9\n$INSUNITS\n 70\n4\n") -> str:
    """A file of nothing but a header and entities."""
    return (
        f"  0\nSECTION\n  2\nHEADER\n{header}  0\nENDSEC\n  0\nSECTION\n  2\nENTITIES\n{''.join(entities)}"
        "  0\nENDSEC\n  0\nEOF\n"
    )


def tags(*pairs: tuple[int, object]) -> str:
    """Group codes and values."""
    return "".join(f"{code:>3}\n{value}\n" for code, value in pairs)


def text_line(x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> str:
    """A LINE."""
    return tags((0, "LINE"), (8, layer), (10, x0), (20, y0), (11, x1), (21, y1))


def text_ring(*points: tuple[float, float]) -> str:
    """Lines round."""
    return "".join(text_line(*a, *b) for a, b in zip(points, (*points[1:], points[0]), strict=True))


def replaced(version: str, old: str, new: str) -> str:
    text = Plate(version).data.decode()
    assert text.count(old) >= 1, old
    return text.replace(old, new, 1)
