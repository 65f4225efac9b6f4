"""Points of chi-square and normal distribution against printed tables."""

from __future__ import annotations

import pytest

from bracketgen.fit.locate.judging.chi_square import chi_square_point, chi_square_share, normal_limit

#: Upper critical values as the NIST/SEMATECH e-Handbook prints them, section 1.3.6.7.4 (from memory).
PRINTED = {
    (0.95, 1): 3.841,
    (0.95, 2): 5.991,
    (0.95, 10): 18.307,
    (0.975, 10): 20.483,
    (0.99, 30): 50.892,
    (0.999, 5): 20.515,
    (0.95, 100): 124.342,
    (0.025, 10): 3.247,
    (0.05, 100): 77.929,
}


@pytest.mark.parametrize(("share", "freedom"), list(PRINTED))
def test_points_as_printed(share: float, freedom: int) -> None:
    assert chi_square_point(share, freedom) == pytest.approx(PRINTED[share, freedom], abs=0.51e-3)
    assert chi_square_share(PRINTED[share, freedom], freedom) == pytest.approx(share, abs=1e-4)


def test_two_degrees_have_a_closed_form() -> None:
    import math

    for x in (0.01, 0.5, 2.0, 9.0, 60.0):
        assert chi_square_share(x, 2) == pytest.approx(1.0 - math.exp(-x / 2.0), rel=1e-12)


def test_normal_limit_as_every_table_has_it() -> None:
    assert normal_limit(0.05) == pytest.approx(1.96, abs=5e-3)
    #: W. Baarda's 3.29 for one in a thousand.
    assert normal_limit(0.001) == pytest.approx(3.29, abs=5e-3)
