"""How far something that heat spoils must stay from something hot.

A still balance on a vehicle that has just stopped: what is near a hot body takes up its radiation on the side that
looks at it, and gives off heat on both sides by radiation and to still air, at the most temperature it may have.
The share of its view that the hot body may fill follows, and from that the distance:
long cylinder of radius r, seen from its axis' distance d: r / d; ball: (r / d)^2; endless wall: always 1
(J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors; element facing the body).
"""

from __future__ import annotations

import math
from typing import Final

from bracketgen.fit.near.gaps.solids import Capsule, Drum, Solid, Wall, ball_around

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
