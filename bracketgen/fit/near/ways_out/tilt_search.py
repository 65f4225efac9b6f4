"""Where something that tilts comes to touch, and how near it comes: nothing is stepped over.

From one pose to another no place on it goes farther than its reach times the share of the leg between them, so the gap
between falls below the half of what the two gaps and that way leave.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Final

from bracketgen.fit.near.gaps.gap import Bodies, gaps_at
from bracketgen.fit.near.gaps.solids import Solid
from bracketgen.fit.near.ways_out.route import Tilt

#: As near as this counts as touching, mm.
TOUCH_MM: Final = 1e-3
#: The least gap is found this closely, on the safe side, mm. Along a flat side a closer look takes its time.
CLOSELY_MM: Final = 0.05
_FIRST_LOOK: Final = 33
#: With so many poses looked at and still a doubt, the way counts as stopped there.
_MOST_LOOKS: Final = 20_000

#: The gaps at shares of the leg; -inf where solids meet.
Gaps = Callable[[Sequence[float]], Sequence[float]]


def gaps_on(tilt: Tilt, solids: Sequence[Solid], still: Bodies) -> Gaps:
    """The gap between what stands still and the solids (given as they hung) at shares of the leg, mm."""

    def at(shares: Sequence[float]) -> list[float]:
        poses = tuple(tilt.pose(share) for share in shares)
        return [-math.inf if g is None else g.mm for g in gaps_at(still, solids, poses, depths=False)]

    return at


def first_touch(gaps: Gaps, reach_mm: float) -> float | None:
    """The share of the leg after which it touches; None when it is free all along."""
    known = _looked_at(gaps)
    while len(known) < _MOST_LOOKS:
        until = min((s for s, mm in known.items() if mm <= TOUCH_MM), default=1.0)
        shares = sorted(s for s in known if s <= until)
        wide = TOUCH_MM / max(reach_mm, TOUCH_MM)
        asked = [
            (a + b) / 2
            for a, b in pairwise(shares)
            if (known[b] <= TOUCH_MM and b - a > wide)
            or (known[b] > TOUCH_MM and known[a] + known[b] <= reach_mm * (b - a))
        ]
        if not asked:
            return None if known[until] > TOUCH_MM else max((s for s in shares if s < until), default=0.0)
        known |= dict(zip(asked, gaps(asked), strict=True))
    shares = sorted(known)
    doubtful = (a for a, b in pairwise(shares) if known[a] + known[b] <= reach_mm * (b - a))
    return next(doubtful, None)


def least_on_way(gaps: Gaps, reach_mm: float) -> float:
    """The least gap on the whole leg, to within CLOSELY_MM and never above it; -inf where it meets something."""
    known = _looked_at(gaps)
    while True:
        best = min(known.values())
        if best <= 0.0:
            return -math.inf
        pairs = list(pairwise(sorted(known)))
        below = {(a, b): (known[a] + known[b] - reach_mm * (b - a)) / 2 for a, b in pairs}
        asked = [(a + b) / 2 for (a, b), low in below.items() if low < best - CLOSELY_MM]
        if not asked or len(known) > _MOST_LOOKS:
            return min([best, *below.values()])
        known |= dict(zip(asked, gaps(asked), strict=True))


def _looked_at(gaps: Gaps) -> dict[float, float]:
    shares = [k / (_FIRST_LOOK - 1) for k in range(_FIRST_LOOK)]
    return dict(zip(shares, gaps(shares), strict=True))
