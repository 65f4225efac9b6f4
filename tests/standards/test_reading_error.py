"""What tools are taken to be good for, against the printed limits."""

from __future__ import annotations

import math

import pytest

from bracketgen.standards.deviations import Gives, measuring_tools, reading_error, tool_gives
from bracketgen.standards.table import LookupFault

#: Directive 2014/32/EU, annex X, table 1, class II: a = 0.3 mm, b = 0.2, length rounded up to the next whole metre.
CLASS_II = {300.0: 0.5, 1000.0: 0.5, 1001.0: 0.7, 2500.0: 0.9}
#: DIN 862, scale value 0.05: accuracy limits in mm at lengths in mm, and 0.02 more for inside measuring.
DIN_862 = {50.0: 0.05, 300.0: 0.05, 400.0: 0.06, 600.0: 0.08, 1000.0: 0.12}


@pytest.mark.parametrize("length", list(CLASS_II))
def test_tape_holds_the_directives_limits(length: float) -> None:
    expected = math.sqrt(0.4**2 + CLASS_II[length] ** 2 / 3.0)
    assert reading_error("tape", length).sigma == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("length", list(DIN_862))
def test_calliper_is_never_taken_for_better_than_its_standard(length: float) -> None:
    least = math.sqrt(0.1**2 + (DIN_862[length] + 0.02) ** 2 / 3.0)
    assert least - 1e-12 <= reading_error("calliper", length).sigma <= 1.1 * least


def test_tools_give_millimetres_or_degrees() -> None:
    degrees = {tool for tool in measuring_tools() if tool_gives(tool) is Gives.DEG}
    assert degrees == {"angle finder", "protractor", "level"}
    assert all(reading_error(tool, 200.0).unit is tool_gives(tool) for tool in measuring_tools())
    assert all(reading_error(tool, 200.0).sigma > 0.0 for tool in measuring_tools())


def test_every_tool_of_a_site_file_is_in_the_table() -> None:
    from typing import get_args

    from bracketgen.vehicle.site import MeasuringTool

    assert set(get_args(MeasuringTool)) == set(measuring_tools())


def test_an_unknown_tool_names_the_nearest() -> None:
    with pytest.raises(LookupFault) as caught:
        reading_error("caliper")
    assert caught.value.nearest == "calliper"
