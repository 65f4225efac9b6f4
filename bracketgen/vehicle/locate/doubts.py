"""What is doubtful about located holes, in words: what can still move, what fits as well, what is far from its hint."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Floats, Indices
from bracketgen.standards.deviations import reading_error
from bracketgen.vehicle.locate.adjustment import Certainty, hole_slopes, normal_slopes, weighted
from bracketgen.vehicle.locate.guesses import Hints
from bracketgen.vehicle.locate.network import Network, State
from bracketgen.vehicle.locate.observations import (
    Distances,
    Levels,
    MeasuredOver,
    Observations,
    Squares,
    Steps,
    Tilts,
    indices,
)

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


# What to measure next: the one further reading that makes the worst hole surest.


#: Not worth a walk to the vehicle: a gain below this share.
_WORTH: Final = 0.05
#: As many readings are named as it takes to hold what is loose, but no more than this.
_MOST_NAMED: Final = 4
#: Candidate squares are left out on faces with more holes than this, which distances serve as well.
_MOST_FOR_SQUARES: Final = 8
#: Blade of a usual try square (common practice, no source).
_SQUARE_REACH_MM: Final = 200.0


def worst_mm(places: Floats, covariance: Floats) -> tuple[float, int]:
    """The largest one-sigma axis (mm) of any hole's place, and the hole; places are slopes, 3 rows a hole."""
    blocks = places.reshape(len(places) // 3, 3, places.shape[1])
    spread = blocks @ covariance @ blocks.transpose(0, 2, 1)
    largest = np.sqrt(np.maximum(np.linalg.eigvalsh(spread)[:, 2], 0.0)) if len(blocks) else np.zeros(1)
    return float(largest.max()), int(largest.argmax())


def advice(
    network: Network, readings: Observations, state: State, covariance: Floats, open_count: int
) -> tuple[str, ...]:
    """The readings to take next, best first, each with its gain; none where nothing helps.

    `covariance` is that of the unknowns, with the site's size for what is open; `open_count` how much is open.
    """
    candidates, slopes = _candidates(network, readings, state)
    places = hole_slopes(network, state)
    everything = np.concatenate([places, normal_slopes(network, state)])
    said: list[str] = []
    for left in range(min(open_count, _MOST_NAMED), -1, -1):
        if left == 0 and said:
            break
        found = _best(candidates, slopes, everything if left else places, covariance, left)
        if found is None or (not left and _worst(places, found[1]) > (1.0 - _WORTH) * _worst(places, covariance)):
            break
        number, after = found
        said.append(f"{candidates[number][0]}: {_gain(network, places, covariance, after, left)}")
        covariance = after
    return tuple(said)


def _worst(places: Floats, covariance: Floats) -> float:
    return worst_mm(places, covariance)[0]


def _gain(network: Network, places: Floats, before: Floats, after: Floats, left: int) -> str:
    """The worst hole before and after, one standard deviation along its longest axis."""
    was, is_ = _worst(places, before), _worst(places, after)
    loose = 0.3 * network.size_mm
    if left > 1 or is_ > loose:
        return "holds part of what is loose"
    if was > loose:
        return f"holds what is loose; the worst hole is then good to {_mm(is_)} mm (one sigma)"
    if left:
        return "holds what is loose"
    return f"the worst hole goes from {_mm(was)} to {_mm(is_)} mm (one sigma)"


def _mm(value: float) -> str:
    return f"{value:.2f}" if value < 1.0 else f"{value:.1f}"


def _best(
    candidates: list[tuple[str, float]], slopes: Floats, things: Floats, covariance: Floats, left: int
) -> tuple[int, Floats] | None:
    """The candidate that does most, and the covariance with it; None when none does anything.

    While something is loose that is what lowers the sum of all variances most; then what helps the worst hole most.
    """
    best: tuple[float, ...] | None = None
    chosen: tuple[int, Floats] | None = None
    for number, (_, sigma) in enumerate(candidates):
        row = slopes[number]
        lever = covariance @ row
        after = covariance - np.outer(lever, lever) / (sigma**2 + row @ lever)
        total = float(np.einsum("ru,uv,rv->", things, after, things))
        key = (total,) if left else (round(_worst(things, after), 3), total)
        if best is None or key < best:
            best, chosen = key, (number, after)
    if chosen is None or (
        left and best is not None and best[0] > 0.9 * float(np.einsum("ru,uv,rv->", things, covariance, things))
    ):
        return None
    return chosen


def _candidates(network: Network, readings: Observations, state: State) -> tuple[list[tuple[str, float]], Floats]:
    """Every reading that could be taken with plain tools, and how each changes with the unknowns."""
    pairs = list(combinations(range(len(network.holes)), 2))
    steps = [(h, f) for h in range(len(network.holes)) for f in range(len(network.faces)) if network.face_of[h] != f]
    tilts = list(combinations(range(len(network.faces)), 2))
    squares = [s for f in range(len(network.faces)) for s in _squares(network.holes_on(f), state.uv[0])]
    levels = [p for f in range(1, len(network.faces)) for p in combinations(network.holes_on(f)[:3], 2)]
    points = state.points(network)[0]
    lengths = [float(np.linalg.norm(points[a] - points[b])) for a, b in pairs]
    rows = len(pairs) + len(steps) + len(squares) + len(tilts) + len(levels)
    wished = replace(
        readings,
        distances=Distances(
            _at(pairs, 0), _at(pairs, 1), indices([MeasuredOver.MIDDLES] * len(pairs)), np.zeros(len(pairs))
        ),
        steps=Steps(_at(steps, 0), _at(steps, 1)),
        squares=Squares(_at(squares, 0), _at(squares, 1), _at(squares, 2)),
        tilts=Tilts(_at(tilts, 0), _at(tilts, 1), indices([0] * len(tilts))),
        levels=Levels(_at(levels, 0), _at(levels, 1)),
        measured=np.zeros(rows),
        sigma=np.ones(rows),
        reading=indices([0] * rows),
    )
    names, faces = network.holes, network.faces
    made = [
        (f"measure {names[a]} to {names[b]} centre to centre with a tape", reading_error("tape", long).sigma)
        for (a, b), long in zip(pairs, lengths, strict=True)
    ]
    made += [_with(f"measure how far {names[h]} stands above face {faces[f]}", "straight edge") for h, f in steps]
    made += [_with(f"measure {names[h]} square off the line {names[a]} to {names[b]}", "ruler") for h, a, b in squares]
    made += [_with(f"measure the tilt between faces {faces[a]} and {faces[b]}", "angle finder") for a, b in tilts]
    made += [_with(f"hold a level along {names[a]} and {names[b]}", "level") for a, b in levels]
    return made, weighted(network, wished, state)[1][0]


def _with(words: str, tool: str) -> tuple[str, float]:
    return f"{words} with {'an' if tool[0] in 'aeiou' else 'a'} {tool}", reading_error(tool).sigma


def _at(rows: list[tuple[int, int]] | list[tuple[int, int, int]], column: int) -> Indices:
    return indices([row[column] for row in rows])


def _squares(holes: list[int], uv: Floats) -> list[tuple[int, int, int]]:
    """Square distances that a try square on the line of two holes reaches."""
    if len(holes) > _MOST_FOR_SQUARES:
        return []
    found = []
    for a, b in combinations(holes, 2):
        line = uv[b] - uv[a]
        length = float(np.linalg.norm(line))
        for h in holes:
            along = float((uv[h] - uv[a]) @ line) / max(length, 1e-9) ** 2
            off = abs(float(line[0] * (uv[h] - uv[a])[1] - line[1] * (uv[h] - uv[a])[0])) / max(length, 1e-9)
            if h not in (a, b) and 0.0 <= along <= 1.0 and off <= _SQUARE_REACH_MM:
                found.append((h, a, b))
    return found
