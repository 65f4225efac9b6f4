"""The general tolerances that hold for the sizes of one part."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import Final

from bracketgen.bending.flat import Flat
from bracketgen.drawing.marks.plain_numbers import plain
from bracketgen.drawing.workshop.bands import Table
from bracketgen.standards.deviations import Deviation, angle_tolerance, cut_tolerance, general_tolerance
from bracketgen.standards.table import LookupFault

#: The class that holds for sizes without their own tolerance.
CLASS: Final = "m"
#: How the title block names it.
CLASS_WORDS: Final = f"ISO 2768-1 {CLASS}"
#: Upper ends of the ranges of nominal size, mm. Source: ISO 2768-1, table 1; ISO 9013, quality table.
_GENERAL_MM: Final = (0.5, 3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0)
_CUT_MM: Final = (0.0, 3.0, 10.0, 35.0, 125.0, 315.0, 1000.0)
_BENT_MM: Final = (0.0, 10.0, 50.0, 120.0, 400.0, float("inf"))


def general_table(sizes_mm: Iterable[float]) -> Table:
    """Plus or minus for each range of ISO 2768-1 that one of the sizes falls into."""
    return Table(
        f"Unless stated: {CLASS_WORDS}", ("size, mm", "plus or minus, mm"), (1.0, 1.0),
        tuple(_ranges(sizes_mm, _GENERAL_MM, CLASS)), "general tolerance",
    )  # fmt: skip


def cut_table(flat: Flat, sizes_mm: Iterable[float]) -> Table:
    """Plus or minus of cut sizes, by the table that the process keeps."""
    stock = flat.part.stock
    name, kept = stock.process.tolerance_table, stock.process.tolerance_class
    words = f"{name} class {kept}" if name == "ISO 9013" else f"{name} {kept}"
    rows = _cut_rows(flat, sizes_mm) if name == "ISO 9013" else _ranges(sizes_mm, _GENERAL_MM, kept)
    return Table(f"Cut sizes: {words}", ("size, mm", "plus or minus, mm"), (1.0, 1.0), tuple(rows), "cut tolerance")


def angle_table(legs_mm: Iterable[float]) -> Table:
    """Plus or minus of the turns, by the shorter leg."""
    found: dict[str, str] = {}
    for leg in sorted(legs_mm):
        k = next(i for i in range(1, len(_BENT_MM)) if leg <= _BENT_MM[i])
        words = f"over {plain(_BENT_MM[k - 1])}" if k == len(_BENT_MM) - 1 else f"up to {plain(_BENT_MM[k])}"
        found[words] = f"{_degrees(angle_tolerance(leg, CLASS).plus_minus)}"
    title = f"Turns: {CLASS_WORDS}, from memory"
    return Table(title, ("shorter leg, mm", "plus or minus"), (1.0, 1.0), tuple(found.items()), "angle tolerance")


def _degrees(value: float) -> str:
    """Whole degrees, else minutes."""
    return f"{plain(value)}°" if value >= 1.0 else f"{round(value * 60)}′"


def _ranges(sizes_mm: Iterable[float], ends: tuple[float, ...], kept: str) -> list[tuple[str, str]]:
    """A row for each range that occurs."""
    found: dict[str, str] = {}
    for size in sorted(sizes_mm):
        k = next((i for i in range(1, len(ends)) if size <= ends[i]), None)
        if size < ends[0] or k is None:
            continue
        words = f"{'from' if k == 1 else 'over'} {plain(ends[k - 1])} to {plain(ends[k])}"
        found[words] = _said(partial(general_tolerance, size, kept))
    return list(found.items())


def _cut_rows(flat: Flat, sizes_mm: Iterable[float]) -> list[tuple[str, str]]:
    stock = flat.part.stock
    found: dict[str, str] = {}
    for size in sorted(s for s in sizes_mm if s > 0.0):
        k = next((i for i in range(1, len(_CUT_MM)) if size < _CUT_MM[i]), None)
        words = "1000 and more" if k is None else f"from {plain(_CUT_MM[k - 1])} to under {plain(_CUT_MM[k])}"
        kept = stock.process.tolerance_class
        found[words] = _said(partial(cut_tolerance, size, stock.thickness_mm, kept))
    return list(found.items())


def _said(look_up: Callable[[], Deviation]) -> str:
    try:
        return plain(look_up().plus_minus, 3)
    except LookupFault:
        return "none given: agree it"
