"""What the readings can't determine, in words: holes and faces that can still move."""

from __future__ import annotations

from typing import Final

import numpy as np

from bracketgen.fit.locate.finding.network import Floats, Network, State
from bracketgen.fit.locate.judging.certainty import Certainty, hole_slopes, normal_slopes

#: Less motion than this share of a unit step is none.
_STILL: Final = 0.02


def loose_holes(network: Network, state: State, sure: Certainty) -> list[int]:
    """Holes whose place is open in at least one direction."""
    ways = _ways(hole_slopes(network, state), sure)
    return [h for h in range(len(network.holes)) if _rank(ways[h])]


def loose_normals(network: Network, state: State, sure: Certainty) -> list[int]:
    """Faces whose direction is open."""
    ways = _ways(normal_slopes(network, state), sure)
    return [f for f in range(len(network.faces)) if _rank(ways[f])]


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
            said.append(f"face {face} can still tilt: its direction is not held{_about(normals[f])}")
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
    """In which directions something moves."""
    if len(ways) > 3:
        spread = np.concatenate(np.split(ways, len(ways) // 3), axis=1)
        return f"can still move{_along(spread)}"
    return f"can still move{_along(ways)}"


def _along(ways: Floats) -> str:
    directions, sizes, _ = np.linalg.svd(ways)
    rank = int(np.count_nonzero(sizes > _STILL))
    if rank >= 3:
        return " in every direction"
    if rank == 2:
        return f" in all directions square to {_vector(directions[:, 2])}"
    return f" along {_vector(directions[:, 0])}"


def _about(ways: Floats) -> str:
    """The axis that a normal turns about, where it is one."""
    if _rank(ways) != 1:
        return ""
    return f" (its normal moves along {_vector(np.linalg.svd(ways)[0][:, 0])})"


def _vector(v: Floats) -> str:
    """A direction as [x, y, z], its largest part positive."""
    v = v * np.sign(v[np.argmax(np.abs(v))])
    return "[" + ", ".join(f"{round(float(c), 2) + 0.0:g}" for c in v) + "]"
