"""Near boxes: the tree and the plain loop give the same pairs."""

from __future__ import annotations

import random

import pytest

from bracketgen.geometry import gap as near
from bracketgen.geometry.edge import Box


@pytest.mark.parametrize("seed", range(5))
def test_tree_and_loop_agree(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = random.Random(seed)

    def boxes(n: int) -> list[Box]:
        corners = [(rng.uniform(0, 300), rng.uniform(0, 300)) for _ in range(n)]
        return [(x, y, x + rng.choice([0.0, 5.0, 60.0]), y + rng.choice([0.0, 3.0])) for x, y in corners]

    these, those = boxes(60), boxes(80)
    reach = [rng.choice([0.0, 1.0, 20.0]) for _ in these]
    asked = list(near.near_pairs(these, reach, those))
    assert 0 < len(asked) < len(these) * len(those)
    monkeypatch.setattr(near, "_MOST_PAIRS_ASKED", 0)
    assert list(near.near_pairs(these, reach, those)) == asked


def test_boxes_that_just_touch_are_near() -> None:
    one, two = [(0.0, 0.0, 1.0, 1.0)], [(3.0, 0.0, 4.0, 1.0)]
    assert list(near.near_pairs(one, [2.0], two)) == [(0, 0)]
    assert list(near.near_pairs(one, [1.999], two)) == []


def test_nothing_is_near_nothing() -> None:
    assert list(near.near_pairs([], [], [(0.0, 0.0, 1.0, 1.0)])) == []
