"""Putting the folded part onto the vehicle's holes, and the carried thing onto the part.

The rigid move brings points and directions onto others as nearly as can be. Least squares
over rotations by the singular value decomposition of the cross covariance: W. Kabsch, Acta Cryst. A32
(1976) 922; S. Umeyama, IEEE PAMI 13 (1991) 376 for the guard against a mirror image.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from bracketgen.bending.fold import Folded
from bracketgen.description.model.document import SiteTable
from bracketgen.description.text import Source
from bracketgen.errors import Fault, InputFaults
from bracketgen.geometry.space import Frame, Vector, dot, minus, plus, unit, vector
from bracketgen.vehicle.locate.locate import Located
from bracketgen.vehicle.seating.bolts import Bolted, HoleOwner, Placed, PlannedBolt, mates, mating_holes
from bracketgen.vehicle.site import CarriedTable, Site

#: A direction counts as much as a point this far from the hole: about half the width of a foot. It decides only
#: where points and directions disagree. Common practice, no source.
LEVER_MM = 10.0
#: Second singular value, mm2, below which the part could still turn about a line.
_LOOSE_MM2 = 1e-6


class LooseFault(ValueError):
    """Points and directions that leave the part free to turn."""


@dataclass(frozen=True, slots=True)
class Correspondence:
    """A point with a unit direction, and where both belong."""

    point: Vector
    direction: Vector
    target: Vector
    target_direction: Vector


def best_frame(pairs: Sequence[Correspondence]) -> Frame:
    """The frame that puts every point nearest to its target, in the sense of least squares.

    Directions count like points LEVER_MM away. Raises LooseFault when the pairs leave a turn open.
    """
    p, q = np.array([x.point for x in pairs]), np.array([x.target for x in pairs])
    d, e = np.array([x.direction for x in pairs]), np.array([x.target_direction for x in pairs])
    p0, q0 = p.mean(axis=0), q.mean(axis=0)
    cross = (p - p0).T @ (q - q0) + LEVER_MM**2 * d.T @ e
    u, size, vt = np.linalg.svd(cross)
    if size[1] < _LOOSE_MM2:
        raise LooseFault("the bolts leave the part free to turn")
    mirror = np.diag([1.0, 1.0, float(np.sign(np.linalg.det(vt.T @ u.T)))])
    turn = vt.T @ mirror @ u.T
    return Frame(*(vector(a) for a in (q0 - turn @ p0, *turn.T)))


# -- the part and the carried thing


#: A slot's target slides along the slot until the part rests; each round halves what is left, or better.
_ROUNDS: Final = 60
_AT_REST_MM: Final = 1e-9


def place(folded: Folded, table: SiteTable, source: Source, site: Site, located: Located) -> Placed:
    """The folded part on the vehicle's holes, the carried thing on the part's.

    Rigid least squares over the touching points and the normals of the faces; slots give way along themselves. The
    carried thing follows the part. Raises InputFaults for every wrong name or size in [site], at its place.
    """
    carried = site.document.carried
    bolts = mates(folded, table, source, mating_holes(located, carried))
    old = [m for m in bolts if m.meets.kind is HoleOwner.VEHICLE]
    hung = [m for m in bolts if m.meets.kind is HoleOwner.CARRIED]
    wished = wished_frame(carried) if carried is not None else None
    frame = _part_frame(old, hung, wished, source)
    thing = _carried_frame(hung, frame, source) if hung else None
    return Placed(folded, frame, tuple(_bolted(m, frame, thing) for m in bolts), thing)


def wished_frame(carried: CarriedTable) -> Frame:
    """Where the carried thing is wished to hang: z along its normal, x as near as can be to the wished x."""
    return Frame.toward(carried.at, unit(carried.normal), carried.x)


def _part_frame(old: Sequence[PlannedBolt], hung: Sequence[PlannedBolt], wished: Frame | None, source: Source) -> Frame:
    try:
        return _settled([(m, Frame()) for m in old])
    except LooseFault:
        pass
    # One bolt on the vehicle holds nothing still: the wished place of what is carried decides the rest.
    more = [(m, wished) for m in hung] if wished is not None else []
    try:
        return _settled([*((m, Frame()) for m in old), *more])
    except LooseFault:
        what = "the bolts to the vehicle leave the part free to turn"
        raise InputFaults([Fault(source.pointed(("site", "bolts")), what, "bolt a second hole of it")]) from None


def _settled(bolts: Sequence[tuple[PlannedBolt, Frame]]) -> Frame:
    """The best frame while slots let the bolts slide; each bolt with the frame of its mating hole."""
    slides = [0.0] * len(bolts)
    frame = Frame()
    for _ in range(_ROUNDS):
        frame = best_frame([_pair(m, s, frame, slide) for (m, s), slide in zip(bolts, slides, strict=True)])
        new = [_slide(m, s, frame) for m, s in bolts]
        if all(abs(a - b) < _AT_REST_MM for a, b in zip(new, slides, strict=True)):
            break
        slides = new
    return frame


def _pair(mate: PlannedBolt, seat: Frame, frame: Frame, slide: float) -> Correspondence:
    slot = _slot(mate, frame, seat)
    target = plus(seat.point(mate.target), slot[1], slide) if slot else seat.point(mate.target)
    return Correspondence(mate.point, mate.normal, target, seat.direction(mate.meets.normal))


def _slide(mate: PlannedBolt, seat: Frame, frame: Frame) -> float:
    """How far the part's hole stands along the slot from the bolt, as far as the slot allows."""
    slot = _slot(mate, frame, seat)
    if slot is None:
        return 0.0
    off = dot(minus(frame.point(mate.point), seat.point(mate.target)), slot[1])
    return max(-slot[0], min(slot[0], off))


def _slot(mate: PlannedBolt, frame: Frame, seat: Frame) -> tuple[float, Vector] | None:
    """How far the bolt slides to each side, and along which direction in the site; the part's own slot goes first."""
    if mate.slot_axis is not None:
        return mate.slot_mm, frame.direction(mate.slot_axis)
    if mate.meets.slot_axis is not None:
        return mate.meets.slot_mm, seat.direction(mate.meets.slot_axis)
    return None


def _carried_frame(hung: Sequence[PlannedBolt], part: Frame, source: Source) -> Frame:
    """The carried thing's frame: its holes on the part's."""
    try:
        return best_frame(
            [Correspondence(m.target, m.meets.normal, part.point(m.point), part.direction(m.normal)) for m in hung]
        )
    except LooseFault:
        what = "the bolts to the carried thing leave it free to turn"
        raise InputFaults([Fault(source.pointed(("site", "bolts")), what, "bolt a second hole of it")]) from None


def _bolted(mate: PlannedBolt, frame: Frame, thing: Frame | None) -> Bolted:
    seat = thing if mate.meets.kind is HoleOwner.CARRIED and thing is not None else Frame()
    slot = _slot(mate, frame, seat)
    return Bolted(
        mate.hole.id,
        mate.meets.id,
        mate.panel,
        mate.touching,
        mate.size.size,
        frame.point(mate.point),
        seat.point(mate.target),
        seat.direction(mate.meets.normal),
        _play_mm(mate),
        slot[0] if slot else 0.0,
        slot[1] if slot else None,
        mate.shim_mm,
    )


def _play_mm(mate: PlannedBolt) -> float:
    """What the bolt may move to each side in the two holes together; below 0 when it does not go in."""
    own, hole = mate.play_mm, mate.meets.diameter_mm
    theirs = 0.0 if hole is None else (hole - mate.size.diameter_mm) / 2
    return min(own, theirs, own + theirs) if min(own, theirs) < 0 else own + theirs
