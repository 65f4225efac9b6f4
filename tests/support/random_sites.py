"""Random sites whose holes are known exactly, with readings worked out from them; knows nothing of the adjustment.

Places, readings and what a tape sees of paint and worn holes are computed here anew, point by point.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.vehicle.site import Site, read_site


@dataclass
class TrueHole:
    """A hole on its face: true centre, diameter, and how far it was dragged (mm, direction in degrees)."""

    uv: Floats
    diameter: float
    dragged: float = 0.0
    direction: float = 0.0
    unworn: str = ""

    @property
    def way(self) -> Floats:
        a = math.radians(self.direction)
        return np.array([math.cos(a), math.sin(a)])

    @property
    def middle(self) -> Floats:
        """The middle of what is seen: half the drag away from the end that kept its round."""
        side = {"start": 0.5, "end": -0.5, "": 0.0}[self.unworn]
        return self.uv + side * self.dragged * self.way


@dataclass
class TrueFace:
    """A face with its frame in the site and its paint."""

    origin: Floats
    axes: Floats
    paint: float
    holes: dict[str, TrueHole]

    def place(self, uv: Floats, height: float = 0.0) -> Floats:
        placed: Floats = self.origin + self.axes @ np.array([uv[0], uv[1], height])
        return placed


@dataclass
class TrueReading:
    """One reading as TOML without value and error, its exact value, and its sigma."""

    words: str
    value: float
    sigma: float


@dataclass
class TrueSite:
    """A site and everything that could be read on it."""

    faces: dict[str, TrueFace]
    down: Floats
    size: float
    readings: list[TrueReading] = field(default_factory=list)
    rough: float = 0.1

    def hole(self, name: str) -> tuple[TrueFace, TrueHole]:
        face, hole = name.split(".")
        return self.faces[face], self.faces[face].holes[hole]

    @property
    def names(self) -> list[str]:
        return [f"{f}.{h}" for f, face in self.faces.items() for h in face.holes]

    @property
    def places(self) -> Floats:
        """True centres in the site, in order."""
        return np.array([face.place(hole.uv) for face in self.faces.values() for hole in face.holes.values()])

    def site(self, noise: Floats | None = None, hints: bool = True, seed: int = 0) -> Site:
        """The site as a person would write it, its readings off by `noise`."""
        rng = np.random.default_rng(seed)
        errors = np.zeros(len(self.readings)) if noise is None else noise
        text = ['title = "random"', 'units = "mm"', f"down = {_list(self.down)}"]
        for number, (name, face) in enumerate(self.faces.items()):
            text += [f"[faces.{name}]", f"coating = {face.paint!r}"]
            if number and hints:
                text.append(f"at = {_list(face.origin + rng.normal(0, self.rough * self.size, 3))}")
                text.append(f"normal = {_list(face.axes[:, 2] + rng.normal(0, self.rough, 3))}")
            text.append(f"[faces.{name}.holes]")
            text += [f"{key} = {self._hole(hole, rng, hints)}" for key, hole in face.holes.items()]
        for reading, error in zip(self.readings, errors, strict=True):
            text += [
                "[[readings]]",
                reading.words,
                f"value = {float(reading.value + error)!r}",
                f"error = {reading.sigma!r}",
            ]
        return read_site("\n".join(text), "random.site.toml", "random")

    def _hole(self, hole: TrueHole, rng: np.random.Generator, hints: bool) -> str:
        said = f"diameter = {hole.diameter!r}"
        if hole.dragged:
            said = f"short = {hole.diameter!r}, long = {hole.diameter + hole.dragged!r}, direction = {hole.direction!r}"
            said += f', unworn = "{hole.unworn}"' if hole.unworn else ""
        if hints:
            said += f", about = {_list(hole.uv + rng.normal(0, self.rough * self.size * 0.3, 2))}"
        return "{ " + said + " }"

    # -- what is read

    def seen(self, name: str, share: float = 0.0) -> Floats:
        """The seen middle of a hole on top of the paint; `share` (-0.5 to 0.5) along its drag."""
        face, hole = self.hole(name)
        return face.place(hole.middle + share * hole.dragged * hole.way, face.paint)

    def distance(self, a: str, b: str, over: str, pins: tuple[float, float] = (0.0, 0.0)) -> float:
        (_, ha), (_, hb) = self.hole(a), self.hole(b)
        ra, rb = ha.diameter / 2, hb.diameter / 2

        def between(s: float, t: float) -> float:
            return float(np.linalg.norm(self.seen(a, s) - self.seen(b, t)))

        if over == "inner" and (ha.dragged or hb.dragged):
            return _lowest(lambda s: _lowest(lambda t: between(s, t))) - ra - rb
        if over == "inner":
            return between(0.0, 0.0) - ra - rb
        ends = [(s, t) for s in (-0.5, 0.5) for t in (-0.5, 0.5)]
        if over == "outer":
            return max(between(s, t) for s, t in ends) + ra + rb
        if over == "left to left":
            way = self.seen(b) - self.seen(a)
            s, t = (min((-0.5, 0.5), key=lambda e: float((self.seen(n, e) - self.seen(n)) @ way)) for n in (a, b))
            return between(s, t) + ra - rb
        return between(0.0, 0.0) + (sum(pins) / 2 if over == "pins" else 0.0)

    def step(self, hole: str, face: str) -> float:
        """Height of the seen hole over the painted face."""
        f = self.faces[face]
        return float((self.seen(hole) - f.origin) @ f.axes[:, 2]) - f.paint

    def square(self, hole: str, a: str, b: str) -> float:
        h, p, q = (self.hole(n)[1].middle for n in (hole, a, b))
        line = q - p
        return float(line[0] * (h - p)[1] - line[1] * (h - p)[0]) / float(np.linalg.norm(line))

    def tilt(self, a: str, b: str) -> float:
        cosine = float(self.faces[a].axes[:, 2] @ self.faces[b].axes[:, 2])
        return math.degrees(math.acos(max(-1.0, min(1.0, cosine))))

    def level(self, a: str, b: str) -> float:
        way = self.seen(b) - self.seen(a)
        return -math.degrees(math.asin(float(way @ self.down) / float(np.linalg.norm(way) * np.linalg.norm(self.down))))


def _list(values: Floats) -> str:
    return "[" + ", ".join(repr(float(v)) for v in values) + "]"


def _lowest(f: Callable[[float], float]) -> float:
    """Least value of a convex function from -0.5 to 0.5, by thirds."""
    low, high = -0.5, 0.5
    for _ in range(36):
        a, b = low + (high - low) / 3, high - (high - low) / 3
        low, high = (low, b) if f(a) < f(b) else (a, high)
    return min(f((low + high) / 2), f(-0.5), f(0.5))


def random_frame(rng: np.random.Generator, size: float) -> tuple[Floats, Floats]:
    """A face somewhere near, leaning any way but not nearly parallel to the first face."""
    while True:
        q, r = np.linalg.qr(rng.standard_normal((3, 3)))
        axes: Floats = q * np.sign(np.diag(r))
        axes[:, 2] = np.cross(axes[:, 0], axes[:, 1])
        if 0.17 < math.acos(max(-1.0, min(1.0, float(axes[2, 2])))) < 2.9:
            return rng.uniform(-0.7, 0.7, 3) * size, axes


def random_holes(rng: np.random.Generator, count: int, size: float, worn: float) -> dict[str, TrueHole]:
    """Holes not too near to one another, and never all on one line; a share of them worn."""
    while True:
        places = rng.uniform(-0.5, 0.5, (count, 2)) * size
        apart = [math.dist(a, b) for n, a in enumerate(places) for b in places[:n]]
        spread = np.linalg.svd(places - places.mean(axis=0))[1] if count > 2 else np.ones(2)
        if count == 1 or (min(apart) > 0.15 * size and spread[-1] > 0.15 * size):
            break
    x = places[1] - places[0] if count > 1 else np.array([1.0, 0.0])
    x = x / np.linalg.norm(x)
    uv = (places - places[0]) @ np.array([[x[0], -x[1]], [x[1], x[0]]])
    holes = {}
    for n in range(count):
        drag = float(rng.uniform(0.2, 2.0)) if count > 1 and rng.random() < worn else 0.0
        unworn = ("start", "end", "")[int(rng.integers(3 if drag else 1))] if drag else ""
        holes["ABCDEFGH"[n]] = TrueHole(uv[n], float(rng.uniform(6, 14)), drag, float(rng.uniform(0, 180)), unworn)
    return holes


OVER = ("centres", "inner", "outer", "left to left", "pins")


def random_site(seed: int, faces: int, worn: float = 0.0) -> TrueSite:
    """A site with more readings than needed, of every kind that suits it."""
    rng = np.random.default_rng(seed)
    size = float(rng.uniform(120, 900))
    made: dict[str, TrueFace] = {}
    for n in range(faces):
        origin, axes = (np.zeros(3), np.eye(3)) if n == 0 else random_frame(rng, size)
        holes = random_holes(rng, int(rng.integers(3, 6 if faces > 1 else 8)), size * 0.6, worn)
        made[("left", "right", "rear", "top")[n]] = TrueFace(origin, axes, float(rng.choice([0.0, 0.12, 0.4])), holes)
    down = rng.standard_normal(3)
    site = TrueSite(made, down, size)
    _read_all(site, rng)
    return site


def _read_all(site: TrueSite, rng: np.random.Generator) -> None:
    names = site.names
    pairs = [(a, b) for n, a in enumerate(names) for b in names[:n]]
    for a, b in pairs:
        same = a.split(".")[0] == b.split(".")[0]
        if same or rng.random() < 0.7:
            add_distance(site, a, b, str(rng.choice(OVER)), rng)
    for name in site.faces:
        holes = [n for n in names if n.split(".")[0] == name]
        if len(holes) >= 3:
            h, a, b = (str(x) for x in rng.permutation(holes)[:3])
            value = site.square(h, a, b)
            site.readings.append(TrueReading(f'kind = "square"\nhole = "{h}"\nline = ["{a}", "{b}"]', value, 0.5))
        for hole in names:
            if hole.split(".")[0] != name and rng.random() < 0.5:
                words = f'kind = "step"\nhole = "{hole}"\nface = "{name}"'
                site.readings.append(TrueReading(words, site.step(hole, name), 0.3))
        if name != "left" and len(holes) > 1:
            words = f'kind = "level"\nfrom = "{holes[0]}"\nto = "{holes[1]}"'
            site.readings.append(TrueReading(words, site.level(holes[0], holes[1]), 0.3))
    faces = list(site.faces)
    for n, b in enumerate(faces):
        for a in faces[:n]:
            words = f'kind = "tilt"\nfaces = ["{a}", "{b}"]'
            site.readings.append(TrueReading(words, site.tilt(a, b), 0.5))


def add_distance(site: TrueSite, a: str, b: str, over: str, rng: np.random.Generator) -> None:
    """One more distance; pins only in round holes, gaps only where there is one."""
    pins = (float(rng.uniform(5, 9)), float(rng.uniform(5, 9)))
    worn = site.hole(a)[1].dragged or site.hole(b)[1].dragged
    if (over == "pins" and worn) or (over == "inner" and site.distance(a, b, "centres") < 25.0):
        over = "centres"
    words = f'kind = "distance"\nfrom = "{a}"\nto = "{b}"\nover = "{over}"'
    words += f"\npins = {list(pins)}" if over == "pins" else ""
    sigma = float(rng.choice([0.1, 0.35, 0.5]))
    site.readings.append(TrueReading(words, site.distance(a, b, over, pins), sigma))
