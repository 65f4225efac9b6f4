"""Rough places that a person gave, against the places that came out of the readings."""

from __future__ import annotations

from typing import Final

import numpy as np

from bracketgen.fit.locate.finding.network import Floats, Network, State
from bracketgen.fit.locate.finding.starts import Hints

#: A rough place may be off by this share of the site, and by so much anyway (common practice, no source).
_SHARE: Final = 0.25
_ANYWAY_MM: Final = 20.0
#: A direction given roughly is at least on the right side.
_SQUARE_DEG: Final = 90.0


def rough_places(network: Network, state: State, hints: Hints) -> tuple[str, ...]:
    """What came out far from where it was said to be: a sign the wrong way round in one of them, or a wrong reading."""
    allowed = max(_ANYWAY_MM, _SHARE * network.size_mm)
    said = [
        _far(f"hole {name}", "about", state.uv[0, h], hints.about[h])
        for h, name in enumerate(network.holes)
        if _off(state.uv[0, h], hints.about[h]) > allowed
    ]
    said += [
        _far(f"face {name}", "at", state.origin[0, f], hints.at[f])
        for f, name in enumerate(network.faces)
        if _off(state.origin[0, f], hints.at[f]) > allowed
    ]
    said += [
        f"face {name} looks the other way than its normal says: is a sign or a reading the wrong way round?"
        for f, name in enumerate(network.faces)
        if _degrees(state.normals[0, f], hints.normal[f]) > _SQUARE_DEG
    ]
    return tuple(said)


def _off(found: Floats, given: Floats) -> float:
    """Distance in what was given, 0 where nothing was."""
    return float(np.linalg.norm(np.nan_to_num(found - given)))


def _degrees(found: Floats, given: Floats) -> float:
    if np.isnan(given).any():
        return 0.0
    return float(np.degrees(np.arccos(np.clip(found @ given, -1.0, 1.0))))


def _far(what: str, key: str, found: Floats, given: Floats) -> str:
    numbers = ", ".join(f"{v + 0.0:.0f}" for v in np.round(found, 0))
    return (
        f"{what} comes out {_off(found, given):.0f} mm from its rough place, at [{numbers}]: look at the signs of "
        f"{key} and of the readings"
    )
