"""Cases of which the daily run takes a part, and the sweeps the rest."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import pytest


def swept(cases: Iterable[Any]) -> list[Any]:
    """All cases, left to the sweeps."""
    return [pytest.param(*(c if isinstance(c, tuple) else (c,)), marks=pytest.mark.sweep) for c in cases]


def every(cases: Sequence[Any], step: int) -> list[Any]:
    """All cases in order; each step-th is run daily."""
    return [case if n % step == 0 else swept([case])[0] for n, case in enumerate(cases)]
