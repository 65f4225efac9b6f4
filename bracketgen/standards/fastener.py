"""Bolts and screws: the holes they go through, and the room their heads, nuts and washers take."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Final

from bracketgen.standards.table import LookupFault, Row, how_held, load_table, number, number_or_none


class Fit(StrEnum):
    """How much play a clearance hole has: ASME words; ISO 273 calls them fine, medium and coarse."""

    CLOSE = "close"
    NORMAL = "normal"
    LOOSE = "loose"

    @classmethod
    def from_word(cls, word: str) -> Fit:
        """The fit for an ASME or ISO 273 word, in any case. Raises LookupFault."""
        iso = {"fine": cls.CLOSE, "medium": cls.NORMAL, "coarse": cls.LOOSE}
        known = {fit.value: fit for fit in cls} | iso
        if word.strip().casefold() not in known:
            raise LookupFault("fit", word, tuple(known))
        return known[word.strip().casefold()]


@dataclass(frozen=True, slots=True)
class ClearanceHole:
    """A hole a bolt goes through; `printed` is the size as the standard names it (mm, fraction or drill)."""

    diameter_mm: float
    printed: str
    source: str
    how: str


@dataclass(frozen=True, slots=True)
class TapDrill:
    """The drill before tapping the coarse thread; `printed` as the drill is named (mm, fraction, # or letter)."""

    diameter_mm: float
    printed: str
    source: str
    how: str


@dataclass(frozen=True, slots=True)
class Fastener:
    """One bolt size with its head, nut and washers; lengths in mm, None where no figure is held.

    `head_across_corners_mm` is the sharp hexagon, the most room the head can need. `from_memory` names the
    fields whose figures were not read in a source.
    """

    size: str
    thread: str
    diameter_mm: float
    pitch_mm: float
    head_across_flats_mm: float
    head_across_corners_mm: float
    head_height_mm: float
    nut_across_flats_mm: float
    nut_height_mm: float
    washer_od_mm: float | None
    wide_washer_od_mm: float | None
    rivet_nut_hole_mm: float | None
    source: str
    how: str
    from_memory: tuple[str, ...]


@cache
def fastener_sizes() -> tuple[str, ...]:
    """All sizes as the table names them: M3 ..., #4 ..., 1/4 ..., 1."""
    return tuple(row["size"] for row in load_table("fasteners").rows)


@cache
def fastener(size: str) -> Fastener:
    """The bolt of that size: 'M8', 'm8', 'M8x1.25', '1/4', '1/4 in', '1/4-20', '#10', 'No. 10'.

    Coarse threads only. Source: the fasteners table. Raises LookupFault.
    """
    row = _row(size)
    return Fastener(
        size=row["size"],
        thread=row["thread"],
        diameter_mm=number(row, "diameter_mm"),
        pitch_mm=number(row, "pitch_mm"),
        head_across_flats_mm=number(row, "head_across_flats_mm"),
        head_across_corners_mm=number(row, "head_across_corners_mm"),
        head_height_mm=number(row, "head_height_mm"),
        nut_across_flats_mm=number(row, "nut_across_flats_mm"),
        nut_height_mm=number(row, "nut_height_mm"),
        washer_od_mm=number_or_none(row, "washer_od_mm"),
        wide_washer_od_mm=number_or_none(row, "wide_washer_od_mm"),
        rivet_nut_hole_mm=number_or_none(row, "rivet_nut_hole_mm"),
        source=row["source"],
        how=row["how"],
        from_memory=tuple(row["from_memory"].split()),
    )


@cache
def clearance_hole(size: str, fit: Fit) -> ClearanceHole:
    """The clearance hole for a bolt size (as `fastener` takes it) and fit.

    ISO 273 for metric, ASME B18.2.8 for inch; loose inch holes at the lower end of the printed range.
    Raises LookupFault.
    """
    key = _row(size)["size"]
    for row in load_table("clearance_holes").rows:
        if row["size"] == key and row["fit"] == fit.value:
            return ClearanceHole(number(row, "diameter_mm"), row["printed"], row["source"], row["how"])
    raise LookupFault("clearance hole", f"{key} {fit.value}", reason="the table has no figure here")


@cache
def tap_drill(size: str) -> TapDrill:
    """The tap drill for the coarse thread of a bolt size (as `fastener` takes it). Raises LookupFault."""
    row = _row(size)
    drill = number(row, "tap_drill_mm")
    return TapDrill(drill, row["tap_drill_printed"], row["source"], how_held(row, "tap_drill_mm"))


_INCH_TAIL: Final = re.compile(r'\s*("|″|in\.?|inch)$')


@cache
def _row(size: str) -> Row:
    wanted, thread = _wanted(size)
    for row in load_table("fasteners").rows:
        if row["size"] == wanted:
            return _same_thread(row, size, thread)
    bare = re.sub(r"\s*mm$", "", size.strip().casefold())
    metric = f"M{bare}" if f"M{bare}" in fastener_sizes() else ""
    raise LookupFault("bolt size", size, fastener_sizes(), nearest=metric)


def _wanted(size: str) -> tuple[str, str]:
    """The table's name for a size, and the pitch or threads per inch given with it ('' if none)."""
    text = size.strip().casefold()
    text = re.sub(r"^no\.?\s*(?=\d)", "#", text)
    if match := re.fullmatch(r"(m\d+)(?:\s*[x×]\s*(\d+(?:\.\d+)?))?", text):
        return match[1].upper(), match[2] or ""
    text = _INCH_TAIL.sub("", re.sub(r"\s*unc$", "", text))
    if match := re.fullmatch(r"(#?\d+(?:/\d+)?)\s*-\s*(\d+)", text):
        return match[1], match[2]
    return text, ""


def _same_thread(row: Row, size: str, thread: str) -> Row:
    held = row["thread"].casefold().removesuffix(" unc").replace("-", "x").split("x")[1]
    if thread and float(thread) != float(held):
        raise LookupFault("bolt size", size, reason=f"only the coarse thread {row['thread']} is held")
    return row
