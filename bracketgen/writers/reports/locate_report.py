"""The report of located holes: JSON with sorted keys, no clock, no paths but file names."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any, Final

from bracketgen import __version__
from bracketgen.fit.locate.located import Located, LocatedHole, Residual, error_ellipsoid

#: Lengths are rounded to a millionth of a millimetre, directions likewise.
_DECIMALS: Final = 6


def locate_report_bytes(located: Located, name: str, title: str, files: Iterable[str]) -> bytes:
    """The report as UTF-8 JSON."""
    value = locate_report(located, name, title, files)
    return (json.dumps(value, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()


def locate_report(located: Located, name: str, title: str, files: Iterable[str]) -> dict[str, Any]:
    """The report as plain values; lengths in mm, angles in degrees, variances in mm2, all in the site's frame."""
    return {
        "site": name,
        "title": title,
        "tool": f"bracketgen {__version__}",
        "units": "mm",
        "holes": [_hole(located, hole) for hole in located.holes],
        "covariance_mm2": [_row(row) for row in located.covariance.tolist()],
        "faces": {face: [_row(row) for row in frame.matrix()] for face, frame in located.faces.items()},
        "readings": [_reading(r, located) for r in located.residuals],
        "variance_factor": _number(located.variance_factor),
        "variance_factor_95": _row(located.chi_square_bounds),
        "covariance_widened_by": _number(located.widened),
        "freedom": located.freedom,
        "suspect": located.suspect,
        "suspect_error": None if located.suspect_error is None else _number(located.suspect_error),
        "suspect_alike": list(located.suspect_alike),
        "mirror": list(located.mirror),
        "mirror_words": list(located.mirror_words),
        "loose": list(located.loose),
        "advice": list(located.advice),
        "files": sorted(files),
    }


def _number(value: float) -> float:
    return round(value, _DECIMALS) + 0.0


def _row(values: Iterable[float]) -> list[float]:
    return [_number(v) for v in values]


def _hole(located: Located, hole: LocatedHole) -> dict[str, Any]:
    spread = error_ellipsoid(located.covariance_of(hole.id))
    return {
        "id": hole.id,
        "face": hole.face,
        "body": hole.body,
        "at_mm": _row(hole.centre),
        "normal": _row(hole.normal),
        "diameter_mm": None if hole.diameter_mm is None else _number(hole.diameter_mm),
        "thread": hole.thread,
        "sigma_mm": _row(spread.sigma_mm),
        "axes_mm": _row(spread.axes_mm),
        "axes_95_mm": _row(spread.axes_95_mm),
        "axis_directions": [_row(d) for d in spread.directions],
    }


def _reading(residual: Residual, located: Located) -> dict[str, Any]:
    return {
        "text": residual.text,
        "kind": residual.kind,
        "joins": list(residual.ends),
        "unit": residual.unit,
        "measured": _number(residual.measured),
        "residual": _number(residual.residual),
        "sigma": _number(residual.sigma),
        "redundancy": _number(residual.redundancy),
        "w": None if residual.w is None else _number(residual.w),
        "suspect": residual.reading == located.suspect,
    }
