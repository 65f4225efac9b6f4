"""Ruff and mypy hold the code as pyproject.toml says."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

ROOT = Path(__file__).parents[2]


#: Before that numpy says less of its own types, and strict mypy asks for more.
TYPED_NUMPY = (2, 4)
OLD_NUMPY = tuple(int(n) for n in np.__version__.split(".")[:2]) < TYPED_NUMPY


@pytest.mark.parametrize(
    "command",
    [
        pytest.param(["ruff", "check", "."], id="lint"),
        pytest.param(["ruff", "format", "--check", "."], id="format"),
        pytest.param(["mypy"], id="types", marks=pytest.mark.skipif(OLD_NUMPY, reason="numpy says too little")),
    ],
)
def test_style(command: list[str]) -> None:
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
