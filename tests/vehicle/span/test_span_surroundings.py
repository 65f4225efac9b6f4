"""What stands nearest to a proposal, and how that is told."""

from __future__ import annotations

import pytest
from site_parts import SITE, seen, site_of

from bracketgen.vehicle.span.surroundings import closest_of


@pytest.mark.parametrize(
    ("y", "gap", "margin", "told"),
    [
        (-70.0, 12, -7.0, "5.0 mm from 'line' where 12 mm are required (panel plate)"),
        (-70.0, 3, 2.0, "nearest to its limit at 'line': 5.0 mm, 3 mm required"),
        (-70.0, 0, 5.0, "nearest is 'line', 5.0 mm away; nothing but contact is ruled out there"),
        (-62.0, 3, -6.0, "runs into 'line' with its panel plate"),
    ],
)
def test_what_stands_nearest_is_told_by_its_gap(y: float, gap: float, margin: float, told: str) -> None:
    """A pipe of 10 mm beside the plate's edge at y = -60, level with the middle of the sheet."""
    line = f'shape = "pipe"\nmatter = "oil"\npoints = [[-100, {y}, 1.5], [200, {y}, 1.5]]\ndiameter = 10\ngap = {gap}\n'
    site = site_of(f"{SITE}\n[neighbours.line]\n{line}")
    closest = closest_of(seen(f"\n[neighbours.line]\n{line}").placed, site)
    assert closest is not None
    assert (closest.margin_mm, closest.told) == (pytest.approx(margin, abs=1e-3), told)
