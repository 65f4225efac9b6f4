"""Printed adjustments of textbooks come out again, digit for digit."""

from __future__ import annotations

import numpy as np
import pytest
from textbook_networks import (
    BENNING,
    BENNING_RESIDUALS_CM,
    BENNING_SIGMA0,
    GHILANI,
    STRANG_BORRE,
    WOLF,
    Network,
    book_place,
    site_of,
)

from bracketgen.vehicle.locate.locate import locate


@pytest.mark.parametrize("network", [BENNING, GHILANI, STRANG_BORRE, WOLF], ids=["8-2", "14.5", "10.1", "in space"])
def test_printed_places_and_deviations(network: Network) -> None:
    located = locate(site_of(network))
    for name, printed in network.answers.items():
        place, deviations = book_place(network, located, name)
        for axis, (value, deviation) in enumerate(printed):
            assert place[axis] == pytest.approx(value, abs=0.51e-4)
            assert deviations[axis] == pytest.approx(deviation, abs=0.51e-5)


def test_printed_residuals_and_unit_weight() -> None:
    located = locate(site_of(BENNING))
    off = [100.0 * r.residual for r in located.residuals[1:]]
    assert off == pytest.approx(BENNING_RESIDUALS_CM, abs=0.51e-3)
    assert BENNING.sigma * np.sqrt(located.variance_factor) == pytest.approx(BENNING_SIGMA0, abs=0.51e-6)
    assert located.freedom == 1
    assert not located.loose and not located.mirror
