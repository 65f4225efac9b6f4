"""The rigid move that brings points and directions onto others as nearly as can be.

Least squares over rotations by the singular value decomposition of the cross covariance: W. Kabsch, Acta Cryst. A32
(1976) 922; S. Umeyama, IEEE PAMI 13 (1991) 376 for the guard against a mirror image.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bracketgen.geometry.space import Frame, Vector

Floats = npt.NDArray[np.float64]

#: A direction counts as much as a point this far from the hole: about half the width of a foot. It decides only
#: where points and directions disagree. Common practice, no source.
LEVER_MM = 10.0
#: Second singular value, mm2, below which the part could still turn about a line.
_LOOSE_MM2 = 1e-6


class LooseFault(ValueError):
    """Points and directions that leave the part free to turn."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A point with a unit direction, and where both belong."""

    point: Vector
    direction: Vector
    target: Vector
    target_direction: Vector


def best_frame(pairs: Sequence[Pair]) -> Frame:
    """The frame that puts every point nearest to its target, in the sense of least squares.

    Directions count like points LEVER_MM away. Raises LooseFault when the pairs leave a turn open.
    """
    p, q = np.array([x.point for x in pairs]), np.array([x.target for x in pairs])
    d, e = np.array([x.direction for x in pairs]), np.array([x.target_direction for x in pairs])
    p0, q0 = p.mean(axis=0), q.mean(axis=0)
    cross = (p - p0).T @ (q - q0) + LEVER_MM**2 * d.T @ e
    u, size, vt = np.linalg.svd(cross)
    if size[1] < _LOOSE_MM2:
        raise LooseFault("the bolts leave the part free to turn")
    mirror = np.diag([1.0, 1.0, float(np.sign(np.linalg.det(vt.T @ u.T)))])
    turn = vt.T @ mirror @ u.T
    return _frame(turn, q0 - turn @ p0)


def _frame(turn: Floats, origin: Floats) -> Frame:
    def v(a: Floats) -> Vector:
        return (float(a[0]), float(a[1]), float(a[2]))

    return Frame(v(origin), v(turn[:, 0]), v(turn[:, 1]), v(turn[:, 2]))
