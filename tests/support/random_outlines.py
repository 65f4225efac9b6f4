"""Outlines as a person would compose them, thrown at random, each with the carriers it was made of."""

from __future__ import annotations

import cmath
import math
import random
from dataclasses import dataclass, field
from itertools import pairwise

import carriers
from carriers import Carrier, Ring

from bracketgen.geometry.contour import Circle, Contour, closed_chain
from bracketgen.geometry.hull import hull
from bracketgen.geometry.plane import Point


def _point(z: complex) -> Point:
    return Point(z.real, z.imag)


@dataclass
class Composition:
    """Chains to add and to cut, and every line and circle they came from, found without the geometry room."""

    added: list[Contour] = field(default_factory=list)
    cut: list[Contour] = field(default_factory=list)
    sources: list[Carrier] = field(default_factory=list)

    def pad(self, ring: Ring) -> None:
        self.added.append(Circle(_point(ring.c), ring.r).contour())
        self.sources.append(ring)

    def polygon(self, corners: list[complex]) -> None:
        self.added.append(closed_chain([_point(z) for z in corners]))
        self.sources += [carriers.through(p, q) for p, q in zip(corners, corners[1:] + corners[:1], strict=True)]

    def arm(self, a: Ring, b: Ring, width: float) -> None:
        u = 1j * (b.c - a.c) / abs(b.c - a.c) * width / 2
        self.polygon([a.c - u, b.c - u, b.c + u, a.c + u])

    def belt(self, a: Ring, b: Ring) -> None:
        if abs(b.c - a.c) <= abs(a.r - b.r) + 1e-3:
            return
        self.added.append(hull([Circle(_point(d.c), d.r) for d in (a, b)]))
        self.sources += [a, b, *carriers.outer_tangents(a, b)]

    def saddle(self, ring: Ring) -> None:
        self.cut.append(Circle(_point(ring.c), ring.r).contour())
        self.sources.append(ring)


def _blob(rng: random.Random, middle: complex) -> list[complex]:
    """A polygon with corners both ways around its middle."""
    n = rng.randint(3, 7)
    first = rng.uniform(0, 2 * math.pi)
    return [middle + rng.uniform(12, 40) * cmath.exp(1j * (first + 2 * math.pi * k / n)) for k in range(n)]


def _rectangle(rng: random.Random, corner: complex) -> list[complex]:
    u = cmath.exp(1j * rng.choice([0.0, math.pi / 2, rng.uniform(0, 2 * math.pi)]))
    w, h = rng.uniform(20, 60), rng.uniform(10, 40)
    return [corner, corner + u * w, corner + u * complex(w, h), corner + u * complex(0, h)]


def composition(seed: int) -> Composition:
    """Two to six pads joined in a row by arms, some tangent to their pads; often more."""
    rng = random.Random(seed)
    made = Composition()
    pads = [
        Ring(complex(rng.uniform(-60, 60), rng.uniform(-40, 40)), rng.uniform(6, 16)) for _ in range(rng.randint(2, 6))
    ]
    for pad in pads:
        made.pad(pad)
    for a, b in pairwise(pads):
        tangent = rng.random() < 0.2
        made.arm(a, b, 2 * min(a.r, b.r) if tangent else rng.uniform(6, 14))
    if rng.random() < 0.5:
        made.belt(*rng.sample(pads, 2))
    if rng.random() < 0.4:
        made.polygon(_rectangle(rng, pads[0].c))
    if rng.random() < 0.4:
        made.polygon(_blob(rng, pads[-1].c))
    for _ in range(rng.choice([0, 0, 1, 2])):
        made.saddle(Ring(complex(rng.uniform(-60, 60), rng.choice([-1, 1]) * rng.uniform(40, 70)), rng.uniform(15, 40)))
    return made
