"""What was mended, and what was left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Deed:
    """One kind of mending: what was done, how often, and how far the line moved at most (mm)."""

    what: str
    count: int = 1
    deviation_mm: float = 0.0

    def __str__(self) -> str:
        times = f"{self.count} x " if self.count > 1 else ""
        off = f", at most {self.deviation_mm:.4f} mm off" if self.deviation_mm > 0.0 else ""
        return f"{times}{self.what}{off}"


def summed(deeds: Iterable[Deed]) -> tuple[Deed, ...]:
    """Deeds of the same kind as one, in the order of their first."""
    found: dict[str, Deed] = {}
    for deed in deeds:
        before = found.get(deed.what, Deed(deed.what, 0))
        most = max(before.deviation_mm, deed.deviation_mm)
        found[deed.what] = Deed(deed.what, before.count + deed.count, most)
    return tuple(deed for deed in found.values() if deed.count)
