"""A workshop in numbers: cuts, bends and tries on many brackets, sharing no geometry with the package.

It is told what a report tells (flat holes, bend lines, turns, K factors), bends the flat panel after panel from the
outside in, and tries each part on by its own search. Only numpy is used. Lengths in mm, angles in degrees.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import numpy.typing as npt

from bracketgen.geometry.arrays import Floats

Told = dict[str, Any]

#: A part whose worst bolt misses by less goes on.
GOES_ON_MM = 2e-3
_TRIES = 30


def share_of_builds(told: Told, seed: int, builds: int) -> float:
    """The share of builds in which everything bolts up."""
    random = np.random.default_rng(seed)
    holes = built_holes(told, random, builds)
    mates = true_mates(told, random, builds)
    plays = np.array([b["play_mm"] for b in told["bolts"]]) + 0.5 * _errors(
        told, "hole_size_mm", random, (builds, len(told["bolts"]))
    )
    good = np.ones(builds, dtype=bool)
    for carried in (False, True):
        which = [n for n, b in enumerate(told["bolts"]) if b["carried"] is carried]
        if which:
            rows = np.flatnonzero(good)
            bolts = [told["bolts"][n] for n in which]
            pick = np.ix_(rows, which)
            good[rows] = tried_on(holes[pick], mates[pick], plays[pick], bolts, told["pull_up_mm"])
    return float(good.mean())


def _errors(told: Told, name: str, random: np.random.Generator, shape: tuple[int, ...]) -> Floats:
    value, kind = told["spreads"][name]
    if kind == "sigma":
        return value * random.standard_normal(shape)
    assert kind == "limit"
    return value * (2.0 * random.random(shape) - 1.0)


def true_mates(told: Told, random: np.random.Generator, builds: int) -> Floats:
    """Where the mating holes really are: the readings were off, and the carried thing isn't perfect."""
    bolts = told["bolts"]
    mates = np.repeat(np.array([b["wanted_mm"] for b in bolts])[None], builds, axis=0)
    old = [n for n, b in enumerate(bolts) if not b["carried"]]
    if told["covariance_mm2"] is not None and old:
        spread = random.multivariate_normal(
            np.zeros(3 * len(old)), np.array(told["covariance_mm2"]), builds, check_valid="ignore", method="svd"
        )
        mates[:, old] += spread.reshape(builds, len(old), 3)
    for n, bolt in enumerate(bolts):
        if bolt["carried"]:
            mates[:, n] += _sideways(np.array(bolt["axis"]), _errors(told, "carried_mm", random, (builds, 2)))
    return mates


def _sideways(axis: Floats, amounts: Floats) -> Floats:
    helper = np.array([0.3, -0.5, 0.8])
    e = np.cross(axis, helper)
    e /= np.linalg.norm(e)
    f = np.cross(axis, e)
    return amounts[:, :1] * e + amounts[:, 1:] * f


# -- cutting and bending


def built_holes(told: Told, random: np.random.Generator, builds: int) -> Floats:
    """The bolted holes of every built part, drawn at random."""
    n = len(told["bends"])
    return holes_of(
        told,
        turn_off=_errors(told, "turn_deg", random, (builds, n)),
        k_off=_errors(told, "k_factor", random, (builds, n)),
        beside=_errors(told, "bend_line_mm", random, (builds, n)),
        thicker=_errors(told, "thickness_mm", random, (builds,)),
        cut=_errors(told, "hole_place_mm", random, (builds, len(told["bolts"]), 2)),
    )


def holes_of(told: Told, turn_off: Floats, k_off: Floats, beside: Floats, thicker: Floats, cut: Floats) -> Floats:
    """The bolted holes of parts made with those errors, on the side that touches, where the first panel was meant
    to lie; (builds, bolts, 3)."""
    bends, builds = told["bends"], len(thicker)
    turns = np.array([b["turn_deg"] for b in bends]) + turn_off
    ks = np.array([b["k_factor"] for b in bends]) + k_off
    thickness = told["thickness_mm"] + thicker
    holes = np.empty((builds, len(told["bolts"]), 3))
    for h, bolt in enumerate(told["bolts"]):
        p = np.zeros((builds, 3))
        p[:, :2] = np.array(bolt["flat_mm"]) + cut[:, h]
        if bolt["touching"] == "back":
            p[:, 2] = -thickness
        panel = bolt["panel"]
        while (number := _bend_to(bends, panel)) is not None:
            p = _bent(p, bends[number], turns[:, number], ks[:, number], beside[:, number], thickness)
            panel = bends[number]["parent"]
        holes[:, h] = p
    frame = np.array(told["first_frame"])
    return holes @ frame[:3, :3].T + frame[:3, 3]


def _bend_to(bends: list[Told], panel: str) -> int | None:
    return next((n for n, b in enumerate(bends) if b["child"] == panel), None)


def _bent(p: Floats, bend: Told, turn_deg: Floats, k: Floats, beside: Floats, thickness: Floats) -> Floats:
    """Points beyond a bend line, carried round the bend: wrap the neutral line about the bend's axis."""
    start, end = (np.array(q) for q in bend["flat_line_mm"])
    along = (end - start) / np.linalg.norm(end - start)
    over = np.array([-along[1], along[0]])
    s = (p[:, :2] - start) @ along
    d = (p[:, :2] - start) @ over - beside
    angle = np.radians(turn_deg)
    inner = bend["inside_radius_mm"]
    taken = angle * (inner + k * thickness)
    beyond = d - taken / 2.0
    # In the plane square to the bend: the first tangent point is at -taken / 2, the axis right over or under it.
    up = 1.0 if bend["way"] == "up" else -1.0
    axis_height = inner if up > 0 else -(thickness + inner)
    height = (p[:, 2] - axis_height) * up
    y = -taken / 2.0 - height * np.sin(angle) + beyond * np.cos(angle)
    z = height * np.cos(angle) + beyond * np.sin(angle)
    flat = start + s[:, None] * along + (y + beside)[:, None] * over
    return np.concatenate([flat, (z * up + axis_height)[:, None]], axis=1)


# -- trying on


def tried_on(
    holes: Floats, mates: Floats, plays: Floats, bolts: list[Told], pull_up_mm: float
) -> npt.NDArray[np.bool_]:
    """Seat every part, then ease it until its bolts go in, or give up.

    Seating pulls every hole to its mate with turns taken in full (as quaternions). From there it is eased by small
    moves of the part as it lies flat on its faces: what closes a gap under a bolt is metal that bends, and that brings
    no two holes nearer to each other, as tilting a stiff part would. A part lies on its faces: it isn't swung about a
    line in which all its bolts lie.
    """
    if holes.shape[1] == 1:
        return np.asarray(plays[:, 0] >= 0.0)
    axes = np.array([b["axis"] for b in bolts])
    slots = np.array([b["slot_play_mm"] for b in bolts])
    faces = np.array([b["wanted_mm"] for b in bolts])
    pivot = faces.mean(axis=0)
    free = _free_moves(faces - pivot)
    # A slot swings about the bolt that sits in it, wherever along the slot that is.
    beside = mates - faces
    beside = beside - np.einsum("bnk,nk->bn", beside, axes)[..., None] * axes
    arms = faces - pivot + beside * (slots > 0)[:, None]
    ways = np.array([b["slot_axis"] or [0.0, 0.0, 0.0] for b in bolts])
    ways, off = _seated(holes, mates, ways, axes, free)
    good = np.zeros(len(holes), dtype=bool)
    rows = np.flatnonzero((plays >= 0.0).all(axis=1))
    stiff = 1e-2
    for _ in range(_TRIES):
        over, slope, worst = _overshoot(off[rows], ways[rows], axes, slots, plays[rows], pull_up_mm)
        good[rows] = worst <= GOES_ON_MM
        keep = worst > GOES_ON_MM
        rows = rows[keep]
        if not len(rows):
            break
        step = _pushed(over[keep], slope[keep], arms[rows], stiff, free)
        least = np.full(len(rows), np.inf)
        was_off, was_way = off[rows], ways[rows]
        for share in (1.0, 0.5, 0.2):
            tried_off, tried_way = _eased(was_off, was_way, mates[rows] - pivot, axes, share * step)
            left = (_overshoot(tried_off, tried_way, axes, slots, plays[rows], pull_up_mm)[0] ** 2).sum(axis=(1, 2))
            better = left < least
            least = np.where(better, left, least)
            off[rows[better]], ways[rows[better]] = tried_off[better], tried_way[better]
        stiff = max(stiff * 0.7, 1e-7)
    return good


def _eased(off: Floats, ways: Floats, mates: Floats, axes: Floats, step: Floats) -> tuple[Floats, Floats]:
    """Misfits and slot directions after a move about the pivot, turns in full; mates are given from the pivot."""
    turn = _composed(step[:, 3:], np.tile([1.0, 0.0, 0.0, 0.0], (len(step), 1)))
    moved = _spun(turn, off + mates) + step[:, None, :3] - mates
    # Turned on its face, a part takes its slots along.
    about = np.einsum("bk,nk->bn", step[:, 3:], axes)[..., None]
    return moved, np.cos(about) * ways + np.sin(about) * np.cross(axes, ways)


def _free_moves(arms: Floats) -> Floats:
    """Shifts and turns, as columns, without the turn that moves hardly any bolt (less than 2 % of the most)."""
    size = max(float(np.sqrt((arms**2).sum(axis=1).mean())), 1.0)
    unit = np.array([1.0, 1.0, 1.0, 1.0 / size, 1.0 / size, 1.0 / size])
    moved = np.concatenate([_lever(arms[None])[0, k] for k in range(len(arms))]) * unit
    values, ways = np.linalg.eigh(moved.T @ moved)
    return np.asarray(unit[:, None] * ways[:, values > (0.02**2) * values[-1]])


def _lever(arms: Floats) -> Floats:
    """How a shift and a small turn move every hole, (b, n, 3, 6)."""
    lever = np.zeros((*arms.shape, 6))
    lever[..., :3] = np.eye(3)
    x, y, z = arms[..., 0], arms[..., 1], arms[..., 2]
    zero = np.zeros_like(x)
    lever[..., 3:] = np.stack([zero, z, -y, -z, zero, x, y, -x, zero], axis=-1).reshape(*arms.shape, 3)
    return lever


def _seated(holes: Floats, mates: Floats, ways: Floats, axes: Floats, free: Floats) -> tuple[Floats, Floats]:
    """Slot directions and misfits once every part is seated."""
    builds, n, _ = holes.shape
    pivot = holes.mean(axis=1, keepdims=True)
    arms = holes - pivot
    way = np.repeat(ways[None], builds, axis=0)
    middle = mates.mean(axis=1, keepdims=True)
    every = np.broadcast_to(np.eye(3), (builds, n, 3, 3))
    for _ in range(4):
        step = _pushed(arms + middle - mates, every, arms, 1e-9, free)
        turn = _composed(step[:, 3:], np.tile([1.0, 0.0, 0.0, 0.0], (builds, 1)))
        arms, way = _spun(turn, arms), _spun(turn, way)
        middle = middle + step[:, None, :3]
    way = way - np.einsum("bnk,nk->bn", way, axes)[..., None] * axes
    size = np.sqrt((way**2).sum(axis=2, keepdims=True))
    return way / np.where(size > 0, size, 1.0), arms + middle - mates


def _overshoot(
    off: Floats, way: Floats, axes: Floats, slots: Floats, plays: Floats, pull_up_mm: float
) -> tuple[Floats, Floats, Floats]:
    """By how much each bolt is out, as a vector; the projector of its slope; and the worst of every build."""
    gap = np.einsum("bnk,nk->bn", off, axes)
    side = off - gap[..., None] * axes
    travel = np.einsum("bnk,bnk->bn", side, way)
    used = np.clip(travel, -slots, slots)
    side = side - used[..., None] * way
    far = np.sqrt((side**2).sum(axis=2))
    sideways = np.maximum(far - plays, 0.0)
    lifted = np.sign(gap) * np.maximum(np.abs(gap) - pull_up_mm, 0.0)
    out = side / np.maximum(far, 1e-12)[..., None]
    over = sideways[..., None] * out + lifted[..., None] * axes
    slope = (sideways > 0)[..., None, None] * out[..., :, None] * out[..., None, :]
    slope = slope + (lifted != 0)[..., None, None] * axes[:, :, None] * axes[:, None, :]
    curl = np.where(sideways > 0, sideways / np.maximum(far, 1e-12), 0.0)
    tangent = np.eye(3) - axes[:, :, None] * axes[:, None, :] - out[..., :, None] * out[..., None, :]
    straight = (np.abs(travel) <= slots) & (slots > 0)
    tangent = tangent - straight[..., None, None] * way[..., :, None] * way[..., None, :]
    slope = slope + curl[..., None, None] * tangent
    return over, slope, np.maximum(sideways, np.abs(lifted)).max(axis=1)


def _pushed(over: Floats, slope: Floats, arms: Floats, stiff: float, free: Floats) -> Floats:
    """The move (shift, turn) of every part that a damped Newton step takes against its overshoots."""
    lever = _lever(arms) @ free
    force = np.einsum("bnkm,bnk->bm", lever, over)
    hill = np.einsum("bnkm,bnkl,bnlo->bmo", lever, slope, lever, optimize=True)
    hill += (stiff * np.sqrt((force**2).sum(axis=1)) + 1e-7)[:, None, None] * np.eye(free.shape[1])
    return np.asarray(-np.linalg.solve(hill, force[..., None])[..., 0] @ free.T)


def _spun(turn: Floats, vectors: Floats) -> Floats:
    w, v = turn[:, None, :1], turn[:, None, 1:]
    t = 2.0 * np.cross(v, vectors)
    return vectors + w * t + np.cross(v, t)


def _composed(small: Floats, turn: Floats) -> Floats:
    """A small turn (a vector, radians) after another turn."""
    angle = np.sqrt((small**2).sum(axis=1, keepdims=True))
    half = 0.5 * angle
    v = small * np.where(angle > 1e-12, np.sin(half) / np.maximum(angle, 1e-12), 0.5)
    w = np.cos(half)
    w0, v0 = turn[:, :1], turn[:, 1:]
    new = np.concatenate([w * w0 - (v * v0).sum(axis=1, keepdims=True), w * v0 + w0 * v + np.cross(v, v0)], axis=1)
    return np.asarray(new / np.sqrt((new**2).sum(axis=1, keepdims=True)))


assert math.isclose(_composed(np.array([[0.0, 0.0, math.pi]]), np.array([[1.0, 0.0, 0.0, 0.0]]))[0, 3], 1.0)
