"""One part against many neighbours, standing still or moved step by step.

The part is prepared once; each question costs only what the neighbours' motion asks for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from bracketgen.fit.near.gaps.gap_sides import STILL, Asked, Depth, Moves, Side, search
from bracketgen.fit.near.gaps.solids import Gap3, Solid
from bracketgen.geometry.frame import Frame, Vector

#: A rigid move: where the outer frame goes (no move: Frame()), or a straight shift, mm.
Move = Frame | Vector


class Per(StrEnum):
    """For what a least gap is wanted."""

    NEIGHBOUR = "neighbour"
    SOLID_AND_NEIGHBOUR = "solid and neighbour"


@dataclass(frozen=True, slots=True)
class Prepared:
    """The part's solids with their names, ready to be asked many times."""

    names: tuple[str, ...]
    side: Side


@dataclass(frozen=True, slots=True)
class Neighbour:
    """Something near, of one or more solids that move together, `moves` by `moves` from where they are given."""

    name: str
    solids: tuple[Solid, ...]
    moves: tuple[Move, ...] = ()


@dataclass(frozen=True, slots=True)
class Near:
    """The least gap between a solid of the part and a neighbour; `step` is the number of the neighbour's move.

    `gap.here` is on the part, `gap.there` on the neighbour as moved.
    """

    part: str
    neighbour: str
    gap: Gap3
    step: int


def prepare(solids: Mapping[str, Solid]) -> Prepared:
    """The part, from its named solids in the site's frame."""
    return Prepared(tuple(solids), Side.of(tuple(solids.values())))


def closest_pairs(
    prepared: Prepared, named_solids: Mapping[str, Solid | Sequence[Solid]], per: Per = Per.NEIGHBOUR
) -> list[Near]:
    """The gap to each neighbour where it stands, in the order given, as `gap` says it.

    Per.SOLID_AND_NEIGHBOUR: one for every solid of the part and every neighbour. Walls of the part against walls are
    left out.
    """
    alone = (s if isinstance(s, Sequence) else (s,) for s in named_solids.values())
    return least_gaps_over(prepared, [Neighbour(n, tuple(s)) for n, s in zip(named_solids, alone, strict=True)], per)


def least_gaps_over(
    prepared: Prepared, neighbours: Sequence[Neighbour], per: Per = Per.NEIGHBOUR, depth: Depth = Depth.MEASURED
) -> list[Near]:
    """The least gap to each neighbour over all of its moves, in the order given.

    Where they meet, the deepest step that was found is reported, by a rough measure; not all are looked for. With the
    depth left out the gap is then -inf, which is quicker.
    """
    solids = [s for n in neighbours for s in n.solids]
    whose = [k for k, n in enumerate(neighbours) for _ in n.solids]
    known: dict[tuple[Move, ...], Moves] = {}
    moves = [known.setdefault(n.moves, _frames(n.moves)) for n in neighbours for _ in n.solids]
    moving = any(m is not STILL for m in moves)
    there = Side.of(solids, moves if moving else None)
    parts = len(prepared.names)
    width = parts if per is Per.SOLID_AND_NEIGHBOUR else 1
    asked = [Asked(i, j, k * width + i % width) for j, k in enumerate(whose) for i in range(parts)]
    gaps, best = search(prepared.side, there, asked, len(neighbours) * width, depth)
    return [
        Near(prepared.names[int(best.owners[g, 0])], neighbours[g // width].name, found, int(best.step[g]))
        for g, found in enumerate(gaps)
        if found is not None
    ]


def least_gap_over(prepared: Prepared, solids: Sequence[Solid], moves: Sequence[Move]) -> tuple[Gap3, int]:
    """The least gap to solids that move together, over all moves, and the number of the move where it is.

    Errors: ValueError where there is nothing to measure.
    """
    found = least_gaps_over(prepared, (Neighbour("", tuple(solids), tuple(moves)),))
    if not found:
        raise ValueError("no solids to measure between")
    return found[0].gap, found[0].step


def gap_at_each(
    prepared: Prepared, solids: Sequence[Solid], moves: Sequence[Move], depth: Depth = Depth.MEASURED
) -> list[Gap3]:
    """The gap to solids that move together, at every one of the moves (at least one).

    With the depth left out it is -inf where they meet, which is quicker. Errors: ValueError where there is nothing to
    measure.
    """
    frames = _frames(tuple(moves))
    there = Side.of(solids, [frames] * len(solids))
    asked = [Asked(i, j, 0, stride=1) for j in range(len(solids)) for i in range(len(prepared.names))]
    gaps = [g for g in search(prepared.side, there, asked, len(frames), depth)[0] if g is not None]
    if len(gaps) != len(frames):
        raise ValueError("no solids to measure between")
    return gaps


def _frames(moves: tuple[Move, ...]) -> Moves:
    if not moves:
        return STILL
    return tuple(m if isinstance(m, Frame) else Frame(m) for m in moves)
