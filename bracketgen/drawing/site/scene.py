"""What a picture of the part in its place shows, as plain values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from bracketgen.drawing.paper.palette import Colour
from bracketgen.fit.near.gaps.solids import Gap3, Solid

#: Colours of things by what they are; each thing has its name beside it, so that none has to be told by colour.
MATTER_COLOUR: Final[dict[str, Colour]] = {
    "metal": (206, 198, 184),
    "air": (190, 204, 206),
    "fuel": (222, 204, 150),
    "oil": (196, 184, 140),
    "brake": (214, 178, 166),
    "coolant": (176, 204, 190),
    "exhaust": (206, 160, 134),
    "wire": (188, 182, 202),
    "live": (224, 176, 176),
    "rubber": (146, 142, 138),
    "plastic": (214, 214, 206),
    "moving": (186, 196, 178),
}
BOLT_COLOUR: Final[Colour] = (170, 166, 150)


#: So many gaps are marked in a view, and so many when they are all clear; the list holds them all.
MOST_MARKED: Final = 6
MOST_CLEAR: Final = 4


class Role(StrEnum):
    """What a thing has to do with the part; an envelope is the room that a moving thing takes."""

    NEIGHBOUR = "neighbour"
    CARRIED = "carried"
    BOLT = "bolt"
    ENVELOPE = "envelope"


class Verdict(StrEnum):
    """Whether a gap is as large as it must be."""

    FAIL = "fail"
    WARN = "warn"
    CLEAR = "clear"


@dataclass(frozen=True, slots=True)
class Shown:
    """A thing beside the part: its name, what it is (a word of the site file), its solids in the site's frame."""

    name: str
    matter: str
    solids: tuple[Solid, ...]
    role: Role = Role.NEIGHBOUR

    @property
    def colour(self) -> Colour:
        """The colour it is drawn in."""
        return BOLT_COLOUR if self.role is Role.BOLT else MATTER_COLOUR.get(self.matter, MATTER_COLOUR["metal"])

    @property
    def label(self) -> str:
        """Its name with what it is, where the name doesn't say that."""
        silent = self.matter == "metal" or self.matter in self.name
        return self.name if silent or self.role is Role.BOLT else f"{self.name} ({self.matter})"


@dataclass(frozen=True, slots=True)
class GapMark:
    """The gap between two named things: how wide it is and where, how wide it must be (None: not known)."""

    a: str
    b: str
    gap: Gap3
    required_mm: float | None
    verdict: Verdict

    @property
    def margin_mm(self) -> float | None:
        """What the gap has over the required one; below 0 it lacks as much."""
        return None if self.required_mm is None else self.gap.mm - self.required_mm


def worst_first(gaps: tuple[GapMark, ...]) -> list[GapMark]:
    """Failing gaps first, then warnings, then clear ones, at last those that need nothing; the least margin first."""
    rank = {Verdict.FAIL: 0, Verdict.WARN: 1, Verdict.CLEAR: 2}

    def weight(g: GapMark) -> tuple[int, float]:
        idle = g.verdict is Verdict.CLEAR and not g.required_mm
        return 3 if idle else rank[g.verdict], g.gap.mm if g.margin_mm is None else g.margin_mm

    return sorted(gaps, key=weight)


def marked(gaps: Sequence[GapMark]) -> list[tuple[int, GapMark]]:
    """The gaps that a view marks, with their numbers: those that object, and of the clear ones the tightest.

    Clear gaps that need nothing are those of things that touch.
    """
    objecting = [(n, g) for n, g in enumerate(gaps, 1) if g.verdict is not Verdict.CLEAR]
    clear = [(n, g) for n, g in enumerate(gaps, 1) if g.verdict is Verdict.CLEAR and g.required_mm]
    return objecting[:MOST_MARKED] + clear[: max(0, MOST_CLEAR - len(objecting))]
