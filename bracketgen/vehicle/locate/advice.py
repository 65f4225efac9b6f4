"""What to measure next: the one further reading that makes the worst hole surest."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from typing import Final

import numpy as np

from bracketgen.geometry.arrays import Floats, Indices
from bracketgen.standards.deviations import reading_error
from bracketgen.vehicle.locate.adjustment import weighted
from bracketgen.vehicle.locate.certainty import hole_slopes, normal_slopes
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

#: Not worth a walk to the vehicle: a gain below this share.
_WORTH: Final = 0.05
#: As many readings are named as it takes to hold what is loose, but no more than this.
_MOST: Final = 4
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


def advice(network: Network, taken: Observations, state: State, covariance: Floats, open_count: int) -> tuple[str, ...]:
    """The readings to take next, best first, each with its gain; none where nothing helps.

    `covariance` is that of the unknowns, with the site's size for what is open; `open_count` how much is open.
    """
    candidates, slopes = _candidates(network, taken, state)
    places = hole_slopes(network, state)
    everything = np.concatenate([places, normal_slopes(network, state)])
    said: list[str] = []
    for left in range(min(open_count, _MOST), -1, -1):
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


def _candidates(network: Network, taken: Observations, state: State) -> tuple[list[tuple[str, float]], Floats]:
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
        taken,
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
