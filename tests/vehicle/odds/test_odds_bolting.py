"""The fast question 'does everything bolt up' against a slow and certain one."""

from __future__ import annotations

import numpy as np
import pytest

from bracketgen.geometry.arrays import Floats
from bracketgen.vehicle.odds.bolting import TOUCH_MM, BoltPlay, bolt_up, eased


def question(seed: int, n: int, builds: int, slots: bool) -> tuple[Floats, Floats, BoltPlay]:
    """Bolts on two square faces, misfits of about the size of the play."""
    random = np.random.default_rng(seed)
    at = random.uniform(-60.0, 60.0, (n, 3))
    rows = []
    for k in range(n):
        axes = np.eye(3) if k < (n + 1) // 2 else np.array([[1.0, 0, 0], [0, 0, -1.0], [0, 1.0, 0]])
        turn = random.uniform(0, 2 * np.pi)
        c, s = np.cos(turn), np.sin(turn)
        axes = np.array([[c, s, 0], [-s, c, 0], [0, 0, 1.0]]) @ axes
        rows += [np.concatenate([a, np.cross(at[k], a)]) for a in axes]
    play = random.uniform(0.2, 0.6, (builds, n))
    slot = random.uniform(0.0, 2.0, n) * (random.random(n) < 0.5) * slots
    start = random.normal(0.0, 0.5, (builds, n, 3)) * random.uniform(0.5, 2.0, (builds, 1, 1))
    spin = random.normal(0.0, 0.2, (builds, n)) * slots
    return start, np.array(rows), BoltPlay(play, slot, np.full(n, random.uniform(0.3, 1.5)), spin)


def worst(start: Floats, reach: Floats, room: BoltPlay, move: Floats) -> tuple[Floats, Floats]:
    """The worst overshoot of every build after a move, and a direction in which it grows."""
    b, n, _ = start.shape
    local = start + (move @ reach.T).reshape(b, n, 3)
    c, s = np.cos(room.spin), np.sin(room.spin)
    along, across = c * local[..., 0] + s * local[..., 1], c * local[..., 1] - s * local[..., 0]
    over = along - np.clip(along, -room.slot, room.slot)
    far = np.hypot(over, across)
    values = np.concatenate([far - room.play, np.abs(local[..., 2]) - room.pull], axis=1)
    k = values.argmax(axis=1)
    bolt, r = k % n, np.arange(b)
    side = np.maximum(far[r, bolt], 1e-15)
    x, y = over[r, bolt] / side, across[r, bolt] / side
    grad = np.zeros((b, 3))
    flat = k < n
    grad[:, 0] = np.where(flat, c[r, bolt] * x - s[r, bolt] * y, 0.0)
    grad[:, 1] = np.where(flat, s[r, bolt] * x + c[r, bolt] * y, 0.0)
    grad[:, 2] = np.where(flat, 0.0, np.sign(local[r, bolt, 2]))
    return values[r, k], np.einsum("bk,bkm->bm", grad, reach.reshape(n, 3, -1)[bolt])


def certain_bounds(start: Floats, reach: Floats, room: BoltPlay, rounds: int) -> tuple[Floats, Floats]:
    """Least possible overshoot of every build, from below and above, by the ellipsoid method.

    Source of the method: N. Z. Shor; D. B. Yudin and A. S. Nemirovski (from memory). Every round halves nothing by
    luck: the bound from below holds whatever happens.
    """
    b = len(start)
    u, s, _ = np.linalg.svd(reach, full_matrices=False)
    basis = u[:, s > 1e-9 * s[0]]
    m = basis.shape[1]
    room_size = 40.0
    centre = np.zeros((b, m))
    shape = np.repeat((room_size**2 * np.eye(m))[None], b, axis=0)
    high, low = np.full(b, np.inf), np.full(b, -np.inf)
    for _ in range(rounds):
        value, grad = worst(start, basis, room, centre)
        push = np.einsum("bij,bj->bi", shape, grad)
        size = np.sqrt(np.maximum(np.einsum("bi,bi->b", grad, push), 1e-300))
        high, low = np.minimum(high, value), np.maximum(low, value - size)
        # Shrunk to nothing, an ellipsoid has told all that it can.
        unit = np.where((size > 1e-7)[:, None], push / np.maximum(size, 1e-7)[:, None], 0.0)
        if m == 1:
            centre, shape = centre - unit / 2, np.where((size > 1e-7)[:, None, None], shape / 4, shape)
        else:
            centre = centre - unit / (m + 1)
            smaller = (m * m / (m * m - 1.0)) * (shape - (2.0 / (m + 1)) * unit[:, :, None] * unit[:, None, :])
            shape = np.where((size > 1e-7)[:, None, None], smaller, shape)
    return low, high


@pytest.mark.sweep
@pytest.mark.parametrize("slots", [False, True])
@pytest.mark.parametrize("n", [1, 2, 3, 4, 6])
def test_agrees_with_a_slow_and_certain_search(n: int, slots: bool) -> None:
    start, reach, room = question(n, n, 250, slots)
    verdict = bolt_up(start, reach, room)
    low, high = certain_bounds(start, reach, room, 2500)
    surely_in, surely_out = high <= 0.0, low > 2 * TOUCH_MM
    assert (surely_in | surely_out).mean() > 0.97
    assert verdict.fits[surely_in].all()
    assert not verdict.fits[surely_out].any()
    assert verdict.decided.all()
    if n in (3, 4):
        assert 0.1 < verdict.fits.mean() < 0.99


def test_the_misfit_that_is_told_is_what_the_moves_make() -> None:
    start, reach, room = question(11, 4, 400, True)
    verdict = bolt_up(start, reach, room)
    made = start + (verdict.moves @ reach.T).reshape(start.shape)
    assert np.abs(made - verdict.misfit).max() < 1e-9
    over, _ = worst(verdict.misfit, reach, room, np.zeros((400, 6)))
    assert (over[verdict.fits] <= 2 * TOUCH_MM).all()
    assert (over[~verdict.fits] > 0.0).all()


def test_two_bolts_by_hand() -> None:
    """Along the line of two bolts nothing moves one without the other: together they forgive the sum of their plays."""
    reach = np.array(
        [np.concatenate([a, np.cross(q, a)]) for q in np.array([[-40.0, 0, 0], [40.0, 0, 0]]) for a in np.eye(3)]
    )
    gap = np.array([0.0, 0.69, 0.71, 1.5])
    start = np.zeros((4, 2, 3))
    start[:, 1, 0] = gap
    start[:, 1, 1], start[:, 1, 2] = 3.0, -2.0
    plays = np.tile([0.3, 0.4], (4, 1))
    none = np.zeros((4, 2))
    verdict = bolt_up(start, reach, BoltPlay(plays, np.zeros(2), np.full(2, 0.5), none))
    assert verdict.fits.tolist() == [True, True, False, False]
    slotted = bolt_up(start, reach, BoltPlay(plays, np.array([0.0, 0.5]), np.full(2, 0.5), none))
    assert slotted.fits.tolist() == [True, True, True, False]
    crosswise = bolt_up(start, reach, BoltPlay(plays, np.array([0.0, 0.5]), np.full(2, 0.5), none + np.pi / 2))
    assert crosswise.fits.tolist() == [True, True, False, False]


def test_a_hole_smaller_than_its_bolt_never_fits_and_none_asks_nothing() -> None:
    reach = np.eye(3, 6)
    room = BoltPlay(np.array([[-0.01], [0.0]]), np.zeros(1), np.ones(1), np.zeros((2, 1)))
    assert bolt_up(np.zeros((2, 1, 3)), reach, room).fits.tolist() == [False, True]
    empty = BoltPlay(np.zeros((0, 1)), np.zeros(1), np.ones(1), np.zeros((0, 1)))
    assert bolt_up(np.zeros((0, 1, 3)), reach, empty).fits.shape == (0,)


def test_eased_moves_take_builds_into_their_play() -> None:
    """Builds moved away by up to 3 mm and a turn from where every bolt stands within half of its play."""
    random = np.random.default_rng(5)
    start, reach, room = question(5, 4, 300, True)
    within = random.uniform(-0.3, 0.3, start.shape) * np.minimum(room.play, room.pull)[..., None]
    away = random.uniform(-1.0, 1.0, (300, 6)) * ([3.0] * 3 + [0.02] * 3)
    start = within - (away @ reach.T).reshape(start.shape)
    moves = eased(start, np.repeat(reach[None], 300, axis=0), room, 60)
    over, _ = worst(start, reach, room, moves)
    assert (worst(start, reach, room, np.zeros((300, 6)))[0] > 0.5).mean() > 0.9
    assert over.max() <= 2 * TOUCH_MM
