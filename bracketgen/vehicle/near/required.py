"""Which gap two things must keep, and on whose word; what heat asks for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from bracketgen.rules.engine import NO_SOURCE, cited
from bracketgen.standards.table import LookupFault
from bracketgen.standards.vehicle import RequiredGap, heat_kinds, heat_limit, required_gap, usual_gap_mm, worst_limit
from bracketgen.vehicle.near.solids import Capsule, Drum, Solid, Wall, ball_around

#: Stefan-Boltzmann constant, W/(m2 K4): CODATA 2018.
_SIGMA: Final = 5.670374419e-8
#: Emissivity of rusty or sooty steel and of rubber; common practice, no source.
EMISSIVITY: Final = 0.9
#: Heat given to still air, W/(m2 K): textbooks have 5 to 25; common practice, no source.
TO_AIR_W_M2K: Final = 10.0
#: Air beside the vehicle, degrees C; common practice, no source.
AIR_C: Final = 40.0
HEAT_SOURCE: Final = (
    "radiation balance in still air of 40 degrees C (emissivity 0.9, 10 W/(m2 K)); common practice, no source"
)
_ZERO_C: Final = 273.15


def view_share(surface_c: float, limit_c: float) -> float:
    """The share of its view that a body of `surface_c` may fill before a thing reaches `limit_c`; 1 = no limit."""
    hot, most, air = surface_c + _ZERO_C, limit_c + _ZERO_C, AIR_C + _ZERO_C
    if limit_c >= surface_c:
        return 1.0
    if limit_c <= AIR_C:
        return 0.0
    given_off = 2 * (TO_AIR_W_M2K * (most - air) + EMISSIVITY * _SIGMA * (most**4 - air**4))
    return min(1.0, given_off / (EMISSIVITY * _SIGMA * (hot**4 - air**4)))


def heat_gap_mm(solid: Solid, surface_c: float, limit_c: float) -> float:
    """The gap from the hot solid's surface at which a thing stays within `limit_c`; inf where none is enough."""
    share = view_share(surface_c, limit_c)
    if share >= 1.0:
        return 0.0
    if share <= 0.0 or isinstance(solid, Wall):
        return math.inf
    if isinstance(solid, Capsule | Drum):
        return solid.radius / share - solid.radius
    ball = ball_around(solid)
    assert ball is not None
    return ball[1] / math.sqrt(share) - ball[1]


#: The word for a figure that a person wrote down.
STATED: Final = "the site file"


class Motion(StrEnum):
    """Whether two things keep their places to each other, or one moves or grows."""

    TOGETHER = "together"
    APART = "apart"


@dataclass(frozen=True, slots=True)
class Properties:
    """What a thing is, as far as gaps go.

    `gap_mm` is what the site file asks for; `surface_c` its surface when hot; `limit_c` and `compound` what it
    stands. All None when not given.
    """

    matter: str
    gap_mm: float | None = None
    surface_c: float | None = None
    limit_c: float | None = None
    compound: str | None = None


@dataclass(frozen=True, slots=True)
class Needed:
    """A gap that must be kept, mm (inf: no distance is enough), on whose word; `why` in words where it is heat.

    `mm` None: nobody may assume one, and none is stated; `habit_mm` is what many shops leave then.
    """

    mm: float | None
    source: str
    why: str = ""
    habit_mm: float | None = None


def needed_to_part(thing: Properties, motion: Motion) -> Needed:
    """From the part's bare metal to a thing: as stated, else by the table."""
    if thing.gap_mm is not None:
        return Needed(thing.gap_mm, STATED)
    return _by_table("metal", thing.matter, motion)


def needed_between(a: Properties, b: Properties, motion: Motion) -> Needed:
    """Between two things: a published figure first, then what is stated (the larger), then the table's habit.

    A stated 0 is a word about the bracket that the thing touches, not about others.
    """
    table = _by_table(a.matter, b.matter, motion)
    stated = max((k.gap_mm for k in (a, b) if k.gap_mm), default=None)
    if stated is None or (table.mm is not None and table.source != NO_SOURCE and table.mm >= stated):
        return table
    return Needed(stated, STATED)


def _by_table(a: str, b: str, motion: Motion) -> Needed:
    try:
        row = required_gap(a, b)
    except LookupFault as fault:
        return Needed(None, str(fault), habit_mm=usual_gap_mm(a, b))
    return Needed(row.moving_mm if motion is Motion.APART else row.still_mm, _source(row))


def _source(row: RequiredGap) -> str:
    source = "; ".join(cited(one, "read") for one in row.source.split())
    taken_over = row.how != "read" and source != NO_SOURCE
    return f"{source}; taken over to this pair by common practice" if taken_over else source


@dataclass(frozen=True, slots=True)
class Stands:
    """What a thing stands, degrees C, and in words by what."""

    limit_c: float
    words: str


def stands(thing: Properties) -> Stands | None:
    """The temperature that a thing stands; the worst of its kind when nobody says; None where heat does not matter.

    Raises LookupFault for a compound that the table does not hold.
    """
    if thing.limit_c is not None:
        return Stands(thing.limit_c, f"it stands {thing.limit_c:g} degrees C")
    if thing.matter not in heat_kinds():
        return None
    if thing.compound is not None:
        found = heat_limit(thing.matter, thing.compound)
        return Stands(found.limit_c, f"{found.compound} stands {found.limit_c:g} degrees C")
    worst = worst_limit(thing.matter)
    words = f"no compound is given, so the worst, {worst.compound}, is taken: {worst.limit_c:g} degrees C"
    return Stands(worst.limit_c, words)


def needed_for_heat(a: Properties, a_solid: Solid, b: Properties, b_solid: Solid) -> Needed | None:
    """What heat asks of two things, whichever of them is the hot one; None where no temperature does harm.

    Raises LookupFault.
    """
    worst: Needed | None = None
    for hot, solid, thing in ((a, a_solid, b), (b, b_solid, a)):
        limit = stands(thing)
        if limit is not None and hot.surface_c is not None and hot.surface_c > limit.limit_c:
            gap = heat_gap_mm(solid, hot.surface_c, limit.limit_c)
            if gap > (worst.mm or 0.0 if worst is not None else 0.0):
                why = f"the surface has {hot.surface_c:g} degrees C; {limit.words}"
                worst = Needed(gap, HEAT_SOURCE, why)
    return worst
