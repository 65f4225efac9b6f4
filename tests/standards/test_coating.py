"""Which coatings give way under a bolt; common practice, no source."""

from __future__ import annotations

import pytest

from bracketgen.standards.fasteners import is_soft


@pytest.mark.parametrize("coating", ["", "zinc plated", "hot-dip galvanised", "tin", "Tinned", "zinc phosphate"])
def test_bare_metal_and_metal_on_metal_stay_tight(coating: str) -> None:
    assert not is_soft(coating)


@pytest.mark.parametrize("coating", ["paint", "powder coating", "ceramic coating", "zinc primer", "bitumen", "tinting"])
def test_all_else_gives_way(coating: str) -> None:
    """A coating is no tin, whatever letters stand in its name."""
    assert is_soft(coating)
