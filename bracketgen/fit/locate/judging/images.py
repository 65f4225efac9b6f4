"""Positions that fit as well, in words: what is mirrored or turned over, and what would settle it."""

from __future__ import annotations

from typing import Final

import numpy as np

from bracketgen.fit.locate.finding.network import Network, State

#: Places nearer than this are one place for a person with a tape (common practice, no source).
_APART_MM: Final = 0.05
_APART_DEG: Final = 1.0
_MOST: Final = 4


def images(
    network: Network, state: State, others: State, loose_holes: list[int], loose_faces: list[int]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Faces that differ in other solutions, and sentences that say how; what is loose anyway is left out."""
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


def _degrees(a: np.ndarray[tuple[int], np.dtype[np.float64]], b: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    return float(np.degrees(np.arccos(np.clip(a @ b, -1.0, 1.0))))


def _sentence(
    network: Network,
    moved: list[int],
    leaning: list[int],
    points: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    uv: np.ndarray[tuple[int, int], np.dtype[np.float64]],
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
