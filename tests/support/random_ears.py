"""Random parts with ears: bends that take a part of an edge that is slanted, between corners that lean either way.

Nothing of the package is used here. Numbers are rounded to what the text says. Every ear has room: its tangent line
crosses LEAST_BEND_MM of the base or more.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

XY = tuple[float, float]

LEAST_BEND_MM = 14.0
#: An ear keeps this far from a hollow corner, beside which metal stands.
_FROM_HOLLOW_MM = 12.0


@dataclass(frozen=True)
class Ears:
    """The text of a description, and how many of its ears are flush with a corner."""

    text: str
    flush: int


@dataclass(frozen=True)
class _Corner:
    at: XY
    hollow: bool = False


def random_ears(seed: int) -> Ears:
    """A base of four to six corners with one or two ears, the same for the same seed."""
    rng = random.Random(seed)
    while True:
        drawn = _Draw(rng).part()
        if drawn is not None:
            return drawn


class _Draw:
    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.t = rng.choice([1.0, 1.5, 2.0, 3.0, 4.0])
        self.radius = round(self.t * rng.uniform(0.8, 2.5), 2)
        self.sizes = rng.choice(["outside", "mould", "inside", "tangent"])
        self.base = self._base()
        self.flush = 0

    def part(self) -> Ears | None:
        rng = self.rng
        straight = [n for n in range(len(self.base)) if not self._next_to_hollow(n) or rng.random() < 0.5]
        places = [rng.choice(straight)]
        # Ears on edges that meet in a corner get into each other's way; these don't.
        apart = [n for n in straight if 1 < abs(n - places[0]) < len(self.base) - 1]
        if apart and rng.random() < 0.4:
            places.append(rng.choice(apart))
        ears = [self._ear(number, edge) for number, edge in enumerate(places, 1)]
        if not all(ears):
            return None
        return Ears("\n".join([*self._head(), *(e for e in ears if e)]) + "\n", self.flush)

    def _base(self) -> list[_Corner]:
        rng = self.rng
        w, h = rng.uniform(90, 160), rng.uniform(70, 120)

        def lean(most: float = 32.0) -> float:
            return rng.uniform(-most, most)

        corners = [_Corner((0.0, lean())), _Corner((w, lean())), _Corner((w + lean(), h + lean()))]
        kind = rng.choice(["four", "four", "peak", "hollow"])
        if kind == "peak":
            corners.append(_Corner((w / 2 + lean(), h + 40 + lean(12.0))))
        if kind == "hollow":
            top = h + rng.uniform(40, 70)
            corners += [_Corner((0.45 * w + lean(15.0), h + lean(8.0)), True), _Corner((0.45 * w + lean(), top))]
        corners.append(_Corner((lean(), (corners[-1].at[1] if kind == "hollow" else h) + lean(20.0))))
        return [_Corner((round(c.at[0], 2), round(c.at[1], 2)), c.hollow) for c in corners]

    def _next_to_hollow(self, edge: int) -> bool:
        return self.base[edge].hollow or self.base[(edge + 1) % len(self.base)].hollow

    def _ear(self, number: int, edge: int) -> str | None:
        """One ear on the edge from a corner to the next; its own left end lies at the far one."""
        rng = self.rng
        far, near = self.base[(edge + 1) % len(self.base)], self.base[edge]
        length = math.dist(far.at, near.at)
        low, high = (_FROM_HOLLOW_MM if c.hollow else 0.0 for c in (far, near))
        width = round(rng.uniform(0.3, 0.8) * (length - low - high), 2)
        place = rng.choice(["left", "right", "middle", "middle", "nearly"])
        left = low + rng.uniform(0.0, 1.0) * (length - low - high - width)
        if place == "left" and not low:
            left = 0.0
        elif place == "right" and not high:
            left = length - width
        elif place == "nearly" and not high:
            left = length - width - rng.choice([0.2, 1.0, 3.0])
        self.flush += place in ("left", "right") and left in (0.0, length - width)
        turn = rng.choice([90, 90, 90, 45, 30, 120, 135, round(rng.uniform(15, 130), 1)])
        setback = self._setback(turn)
        if self._stretch(far.at, near.at, setback, left, left + width) < LEAST_BEND_MM:
            return None
        height = round(rng.uniform(20, 70) + self.radius + 2 * self.t + setback, 2)
        shift = f"{left:.{rng.choice([3, 4, 9])}f}"
        outline = f'{{ shape = "rectangle", width = {width}, height = {height} }}'
        if rng.random() < 0.3:
            a, b = (round(rng.uniform(-0.2, 0.2) * width, 2) for _ in "ab")
            corners = [(0.0, 0.0), (width, 0.0), (width + a, height), (b, height)]
            outline = '{ shape = "polygon", corners = [' + ", ".join(f"[{x}, {y}]" for x, y in corners) + "] }"
        words = f'from = "base", edge = {edge + 1}, turn = {turn}, way = "{rng.choice(["up", "down"])}"'
        return f"[panels.ear{number}]\noutline = {outline}\nbend = {{ {words}, shift = {shift} }}"

    def _setback(self, turn: float) -> float:
        """From the described edge to the tangent line; only used to leave room."""
        if self.sizes == "tangent":
            return 0.0
        reach = self.radius + (0.0 if self.sizes == "inside" else self.t)
        return reach if turn > 90 and self.sizes != "mould" else reach * math.tan(math.radians(turn) / 2)

    def _stretch(self, start: XY, end: XY, back: float, low: float, high: float) -> float:
        """How much of the line that lies `back` inside an edge is metal between two distances from its start."""
        length = math.dist(start, end)
        ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
        # The edge is told against the turn of the corners: the metal lies on its right.
        local = [
            ((x - start[0]) * ux + (y - start[1]) * uy, (x - start[0]) * -uy + (y - start[1]) * ux + back + 1e-6)
            for x, y in (c.at for c in self.base)
        ]
        cuts = [
            a[0] + (b[0] - a[0]) * a[1] / (a[1] - b[1])
            for a, b in zip(local, local[1:] + local[:1], strict=True)
            if (a[1] < 0) != (b[1] < 0)
        ]
        cuts.sort()
        pieces = [(max(a, low), min(b, high)) for a, b in zip(cuts[::2], cuts[1::2], strict=True)]
        pieces = [(a, b) for a, b in pieces if b > a]
        return pieces[0][1] - pieces[0][0] if len(pieces) == 1 else 0.0

    def _head(self) -> list[str]:
        rng = self.rng
        corners = ", ".join(f"[{c.at[0]}, {c.at[1]}]" for c in self.base)
        return [
            f'title = "ears"\nunits = "mm"\n[stock]\nmetal = "S235"\nthickness = {self.t}\nprocess = "laser"',
            f'[bend]\ninside_radius = {self.radius}\nsizes = "{self.sizes}"',
            f'relief = {{ shape = "{rng.choice(["round", "square"])}" }}',
            f"[corners]\nouter = {rng.choice([0, 0, 1, 2.5])}",
            f'[panels.base]\noutline = {{ shape = "polygon", corners = [{corners}] }}',
        ]
