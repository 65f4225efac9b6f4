"""What is doubtful about located holes, in words: what can still move, what fits as well, what is far from its hint."""

from __future__ import annotations

from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.vehicle.locate.certainty import Certainty, hole_slopes, normal_slopes
from bracketgen.vehicle.locate.guesses import Hints
from bracketgen.vehicle.locate.network import Network, State

# -- what the readings can't determine

#: Less motion than this share of a unit step is none.
_STILL: Final = 0.02


def looseness(network: Network, state: State, sure: Certainty) -> tuple[str, ...]:
    """One sentence for each hole or face that can still move."""
    if not sure.open.shape[1]:
        return ()
    holes = _ways(hole_slopes(network, state), sure)
    normals = _ways(normal_slopes(network, state), sure)
    said: list[str] = []
    for f, face in enumerate(network.faces):
        on = network.holes_on(f)
        moving = [h for h in on if _rank(holes[h])]
        if len(on) > 1 and len(moving) == len(on) and _as_one(network, sure, on):
            said.append(f"face {face} as a whole {_how(np.concatenate([holes[h] for h in moving]))}")
        else:
            said += [f"hole {network.holes[h]} {_how(holes[h])}" for h in moving]
        if _rank(normals[f]) and not (len(on) > 1 and len(moving) == len(on)):
            along = _vector(np.linalg.svd(normals[f])[0][:, 0])
            about = f" (its normal moves along {along})" if _rank(normals[f]) == 1 else ""
            said.append(f"face {face} can still tilt: its direction is not held{about}")
    return tuple(said)


def _ways(slopes: Floats, sure: Certainty) -> Floats:
    """How each thing (3 rows of slopes) moves with the open steps, (things, 3, steps)."""
    moved: Floats = (slopes @ sure.open).reshape(len(slopes) // 3, 3, sure.open.shape[1])
    return moved


def _rank(ways: Floats) -> int:
    return int(np.count_nonzero(np.linalg.svd(ways, compute_uv=False) > _STILL))


def _as_one(network: Network, sure: Certainty, holes: list[int]) -> bool:
    """Whether a face's holes keep their places on the face in all open steps."""
    columns = [c for c in network.hole_columns[holes].ravel() if c < network.unknowns]
    return not len(columns) or bool(np.abs(sure.open[columns]).max() < _STILL)


def _how(ways: Floats) -> str:
    """In which directions one or several things (3 rows each) move."""
    directions, sizes, _ = np.linalg.svd(np.concatenate(np.split(ways, len(ways) // 3), axis=1))
    rank = int(np.count_nonzero(sizes > _STILL))
    if rank >= 3:
        return "can still move in every direction"
    if rank == 2:
        return f"can still move in all directions square to {_vector(directions[:, 2])}"
    return f"can still move along {_vector(directions[:, 0])}"


def _vector(v: Floats) -> str:
    """A direction as [x, y, z], its largest part positive."""
    v = v * np.sign(v[np.argmax(np.abs(v))])
    return "[" + ", ".join(f"{round(float(c), 2) + 0.0:g}" for c in v) + "]"


# -- positions that fit as well, and what would settle it

#: Places nearer than this are one place for a person with a tape (common practice, no source).
_APART_MM: Final = 0.05
_APART_DEG: Final = 1.0
_MOST: Final = 4


def images(network: Network, state: State, others: State, sure: Certainty) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Faces that differ in other solutions, and sentences that say how; what is loose anyway is left out."""
    loose_holes = [h for h, ways in enumerate(_ways(hole_slopes(network, state), sure)) if _rank(ways)]
    loose_faces = [f for f, ways in enumerate(_ways(normal_slopes(network, state), sure)) if _rank(ways)]
    faces: list[int] = []
    said: list[str] = []
    points, normals = state.points(network)[0], state.normals[0]
    for n in range(len(others.uv)):
        other_points, other_normals = others.points(network)[n], others.normals[n]
        moved = [
            h
            for h in range(len(network.holes))
            if h not in loose_holes and np.linalg.norm(points[h] - other_points[h]) > _APART_MM
        ]
        leaning = [
            f
            for f in range(len(network.faces))
            if f not in loose_faces and _degrees(normals[f], other_normals[f]) > _APART_DEG
        ]
        if moved or leaning:
            faces += [int(network.face_of[h]) for h in moved] + leaning
            said.append(_sentence(network, moved, leaning, other_points, others.uv[n]))
    said = list(dict.fromkeys(said))
    if len(said) > _MOST:
        said = [*said[:_MOST], f"and {len(said) - _MOST} more"]
    return tuple(network.faces[f] for f in sorted(set(faces))), tuple(said)


def _sentence(
    network: Network,
    moved: list[int],
    leaning: list[int],
    points: Floats,
    uv: Floats,
) -> str:
    """What lies elsewhere in another solution, and the hint that tells the two apart."""
    if not moved:
        names = " and ".join(network.faces[f] for f in leaning)
        return f"{names} may as well look the other way: give its normal, roughly, to settle it"
    on = sorted({int(network.face_of[h]) for h in moved})
    places = [
        f"{network.holes[h]} at ({', '.join(f'{c + 0.0:.1f}' for c in np.round(points[h], 1))})" for h in moved[:3]
    ]
    more = f" and {len(moved) - 3} more" if len(moved) > 3 else ""
    flat = [h for h in moved if network.face_of[h] == on[0] and network.hole_columns[h, 1] < network.unknowns]
    hint = (
        f"about = [..] of {network.holes[flat[0]]}"
        if on == [0] and flat
        else f"at or normal of {network.faces[on[-1]]}"
    )
    return f"the readings fit as well with {', '.join(places)}{more}: give {hint}, roughly, to settle it"


# -- rough places that a person gave, against those that came out

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
    """Between two directions, 0 where one was not given."""
    if np.isnan(given).any():
        return 0.0
    return float(np.degrees(np.arccos(np.clip(found @ given, -1.0, 1.0))))


def _far(what: str, key: str, found: Floats, given: Floats) -> str:
    numbers = ", ".join(f"{v + 0.0:.0f}" for v in np.round(found, 0))
    return (
        f"{what} comes out {_off(found, given):.0f} mm from its rough place, at [{numbers}]: look at the signs of "
        f"{key} and of the readings"
    )
