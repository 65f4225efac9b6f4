"""Splines and ellipses of a file as curves by their parameter."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise
from math import cos, hypot, sin, tau

from bracketgen.writers.cut_file.group_codes import FileEntity, GroupCodeFault
from bracketgen.writers.readback.curves import Curve
from bracketgen.writers.readback.edges import Point

#: Highest degree that is read; drawing programs write 2 to 5.
_HIGHEST_DEGREE = 11


def ellipse_curve(entity: FileEntity) -> Curve:
    """An ELLIPSE seen from above. GroupCodeFault when it is none.

    Centre (10, 20), end of the long axis from there (11, 21), share of the short axis (40), parameters from 41 to 42;
    DXF Reference, ELLIPSE. Seen from below (230 = -1) it runs the other way.
    """
    (cx, cy), (mx, my) = (entity.number(10), entity.number(20)), (entity.number(11), entity.number(21))
    ratio = entity.number(40)
    start, end = entity.number(41, 0.0), entity.number(42, tau)
    if hypot(mx, my) <= 0.0 or not 0.0 < abs(ratio) <= 1e6:
        raise GroupCodeFault(entity.line, "an ELLIPSE without a size")
    if entity.number(230, 1.0) < 0.0:
        ratio = -ratio
    sweep = (end - start) % tau
    # A whole turn, however it was rounded.
    sweep = tau if min(sweep, tau - sweep) < 1e-9 else sweep

    def point(share: float) -> Point:
        # The ends of a whole turn are one point.
        angle = start + (share % 1.0 if sweep == tau else share) * sweep
        along, across = cos(angle), ratio * sin(angle)
        return cx + mx * along - my * across, cy + my * along + mx * across

    return Curve(point, (0.0, 0.25, 0.5, 0.75, 1.0))


def spline_curve(entity: FileEntity) -> Curve:
    """A SPLINE with control points, seen from above, rational or not. GroupCodeFault when it is not whole.

    Degree 71, knots 40, weights 41, control points 10 and 20; DXF Reference, SPLINE.
    """
    degree, knots = entity.whole(71, 3), entity.numbers(40)
    xs, ys, weights = entity.numbers(10), entity.numbers(20), entity.numbers(41)
    if not xs and len(entity.numbers(11)) >= 2:
        degree, knots, xs, ys = _through(tuple(zip(entity.numbers(11), entity.numbers(21), strict=False)))
    n = len(xs)
    weights = weights or (1.0,) * n
    sound = 1 <= degree <= _HIGHEST_DEGREE and n == len(ys) == len(weights) > degree and len(knots) == n + degree + 1
    if not sound or any(b < a for a, b in pairwise(knots)) or min(weights) <= 0.0:
        raise GroupCodeFault(entity.line, "a SPLINE whose knots and control points don't belong together")
    low, high = knots[degree], knots[n]
    breaks = tuple(sorted({k for k in knots if low <= k <= high}))
    if high <= low:
        raise GroupCodeFault(entity.line, "a SPLINE without a length")
    control = [(x * w, y * w, w) for x, y, w in zip(xs, ys, weights, strict=True)]

    def point(at: float) -> Point:
        return _de_boor(control, knots, degree, min(high, max(low, at)))

    return Curve(point, breaks)


def _through(points: tuple[Point, ...]) -> tuple[int, tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """Degree, knots and control points of the curve that drawing programs lay through fit points, by the library."""
    from ezdxf.math import fit_points_to_cad_cv

    apart = [p for k, p in enumerate(points) if k == 0 or p != points[k - 1]]
    if len(apart) < 2:
        raise ValueError("a SPLINE through a single point")
    curve = fit_points_to_cad_cv(apart)
    xs, ys = ([float(p[k]) for p in curve.control_points] for k in (0, 1))
    return curve.degree, tuple(map(float, curve.knots())), tuple(xs), tuple(ys)


def _de_boor(control: Sequence[tuple[float, float, float]], knots: Sequence[float], degree: int, at: float) -> Point:
    """The point of a rational B-spline, after de Boor, J. Approx. Theory 6 (1972), 50."""
    span = min(max(bisect_right(knots, at) - 1, degree), len(control) - 1)
    rows = list(control[span - degree : span + 1])
    for level in range(1, degree + 1):
        for j in range(degree, level - 1, -1):
            left = knots[span - degree + j]
            width = knots[span + 1 + j - level] - left
            share = (at - left) / width if width > 0.0 else 0.0
            (x0, y0, w0), (x1, y1, w1) = rows[j - 1], rows[j]
            rows[j] = (x0 + share * (x1 - x0), y0 + share * (y1 - y0), w0 + share * (w1 - w0))
    x, y, w = rows[degree]
    return x / w, y / w
