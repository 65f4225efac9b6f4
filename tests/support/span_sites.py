"""Random sites that a bracket is known for: a random legal bracket is made from a written description, and its folded
holes become old holes and the holes of a carried thing."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

import numpy as np

from bracketgen.bending.flat import unfold
from bracketgen.bending.fold import Folded, fold
from bracketgen.description.making.build import build
from bracketgen.description.read import read
from bracketgen.errors import GeometryFault, InputFaults
from bracketgen.findings import Level
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.space import Frame
from bracketgen.rules.engine import run_rules
from bracketgen.vehicle.locate.locate import Located, LocatedHole
from bracketgen.vehicle.site import Site, read_site

KINDS = ("flat", "one bend", "parallel", "twisted")
OLD_HOLES = {"M6": 6.6, "M8": 9.0, "M10": 11.0}


@dataclass(frozen=True)
class Known:
    """A site with exact positions, and the description of a bracket that fits it."""

    kind: str
    site: Site
    located: Located
    bracket: str
    thickness_mm: float
    text: str


def known_site(seed: int, kind: str | None = None) -> Known:
    """The first legal bracket that the seed's numbers make."""
    dice = random.Random(seed)
    kind = kind or dice.choices(KINDS, (1, 3, 3, 3))[0]
    while True:
        t = dice.choice((2.0, 3.0, 4.0, 5.0))
        carried = dice.random() < 0.6
        # One bolt lets what is carried turn; an old hole may stand alone.
        text, touching = _bracket(dice, kind, t, dice.choice((2, 2, 3) if carried else (1, 2, 2, 3)))
        folded = _legal(text)
        if folded is not None:
            # Old holes are clearance holes or threads, by other dice so that the rest stays as it is.
            threads = random.Random(f"{seed} threads").random() < 0.5
            return _site(folded, touching, kind, text, t, carried, threads)


def _bracket(dice: random.Random, kind: str, t: float, beyond: int) -> tuple[str, dict[str, str]]:
    lines = ['title = "Known bracket"', 'units = "mm"', "[stock]", 'metal = "S235"', f'thickness = "{t} mm"']
    die = {2.0: 16, 3.0: 25, 4.0: 40, 5.0: 50}[t]
    lines += ['grain = "90 deg"', "[bend]", f"die = {die}", 'sizes = "mould"']
    bolt = dice.choice(("M6", "M8", "M10"))
    apart = 2 * OLD_HOLES[bolt] + 16
    far = OLD_HOLES[bolt] * 2 + die / 2 + 4 * t
    lines += ["[panels.first]", 'outline = { shape = "belt" }']
    lines += _holes("first", dice, bolt, apart, -far - dice.uniform(0, 30), dice.choice((2, 2, 3)))
    if kind == "flat":
        lines += _holes("first", dice, bolt, apart, far + dice.uniform(10, 60), beyond, "more")
        return "\n".join(lines), {"first": "back"}
    half = dice.uniform(20, 35)
    turn, way = _turn(dice), dice.choice(("up", "down"))
    x = dice.uniform(-15, 15)
    if kind == "one bend":
        lines += _bend("last", "first", (x - half, 0), (x + half, 0), turn, way)
    else:
        lines += _bend("web", "first", (x - half, 0), (x + half, 0), turn, way)
        slant = math.radians(dice.uniform(12, 35) * dice.choice((-1, 1))) if kind == "twisted" else 0.0
        up = die + 6 * t + half * abs(math.tan(slant)) + dice.uniform(0, 50)
        mid = half + dice.uniform(-10, 10)
        c, s = math.cos(slant) * half, math.sin(slant) * half
        lines += _bend("last", "web", (mid - c, up - s), (mid + c, up + s), _turn(dice), dice.choice(("up", "down")))
    lines += _holes("last", dice, bolt, apart, far + dice.uniform(0, 30), beyond, middle=half)
    return "\n".join(lines), {"first": dice.choice(("back", "face"))}


def _turn(dice: random.Random) -> float:
    return dice.choice((30.0, 45.0, 60.0, 90.0, 90.0, round(dice.uniform(20, 115), 1)))


def _bend(name: str, parent: str, a: tuple[float, float], b: tuple[float, float], turn: float, way: str) -> list[str]:
    pads = ", pads = [{ at = [30, 16], radius = 3 }]" if name == "web" else ""
    return [
        f"[panels.{name}]",
        f'outline = {{ shape = "belt"{pads} }}',
        f"[panels.{name}.bend]",
        f'from = "{parent}"',
        f"line = [[{a[0]}, {a[1]}], [{b[0]}, {b[1]}]]",
        f"turn = {turn}",
        f'way = "{way}"',
    ]


def _holes(
    panel: str, dice: random.Random, bolt: str, apart: float, y: float, count: int, name: str = "h", middle: float = 0.0
) -> list[str]:
    """Holes in a row that leans a little; farther from the bend as they go."""
    lean = math.radians(dice.uniform(-12, 12))
    step = dice.uniform(apart, apart + 40)
    x0 = middle + dice.uniform(-10, 10) - step * (count - 1) / 2
    lines = []
    for n in range(count):
        away = math.copysign(abs(step * n * math.sin(lean)), y)
        lines += [
            f"[[panels.{panel}.holes]]",
            f'name = "{name}{n}"',
            f'bolt = "{bolt}"',
            f"at = [{x0 + step * n * math.cos(lean):.4f}, {y + away:.4f}]",
        ]
    return lines


def _legal(text: str) -> Folded | None:
    try:
        job = build(read(text, "known.toml"), "known")
        flat, folded = unfold(job.part, job.allowances), fold(job.part)
    except (InputFaults, GeometryFault):
        return None
    return None if any(f.level is Level.FAIL for f in run_rules(flat, folded)) else folded


def _site(
    folded: Folded, touching: dict[str, str], kind: str, text: str, t: float, carried: bool, threads: bool
) -> Known:
    """The first panel's holes are old ones; the last panel's (or the second set of a flat one) old or carried."""
    back = touching["first"] == "back"
    seats = _seats(folded, back, t)
    # The site's frame: first hole the origin, x to the second one, z out of the face.
    points, normal = seats[0]
    x = (points[1] - points[0]) / np.linalg.norm(points[1] - points[0])
    turn = np.stack([x, np.cross(normal, x), normal])
    moved = [((p - points[0]) @ turn.T, turn @ n) for p, n in seats]
    bolt = next(h.fastener for panel in folded.part.panels for h in panel.holes) or "M8"
    return _known(kind, text, t, moved, bolt, carried, threads)


def _seats(folded: Folded, back: bool, t: float) -> list[tuple[Floats, Floats]]:
    found = []
    groups: dict[tuple[str, str], list[Floats]] = {}
    for panel in folded.part.panels:
        for hole in panel.holes:
            key = (panel.id, "more" if "/more" in hole.id else "h")
            groups.setdefault(key, []).append(np.array(folded.point(panel.id, hole.centre, t if back else 0.0)))
    for (panel_id, _), places in groups.items():
        z = np.array(folded.normal(panel_id))
        found.append((np.array(places), z if back else -z))
    return found


def _known(
    kind: str, text: str, t: float, seats: list[tuple[Floats, Floats]], bolt: str, carried: bool, threads: bool
) -> Known:
    names = ["left", "right"]
    size = f'thread = "{bolt}"' if threads else f"diameter = {OLD_HOLES[bolt]}"
    lines = ['title = "Known site"', 'units = "mm"']
    holes: list[LocatedHole] = []
    faces: dict[str, Frame] = {}
    for name, (points, normal) in zip(names, seats, strict=True):
        if name == "right" and carried:
            lines += _carried(points, normal, bolt)
            continue
        frame = _frame(points, normal)
        rough = [", ".join(f"{c:.1f}" for c in v) for v in (frame.origin, frame.z)]
        lines += [f"[faces.{name}]", f"at = [{rough[0]}]", f"normal = [{rough[1]}]"]
        for n, p in enumerate(points):
            centre, out = (tuple(float(c) for c in v) for v in (p, normal))
            about = ", ".join(f"{(p - points[0]) @ np.array(axis):.0f}" for axis in (frame.x, frame.y))
            lines += [f"[faces.{name}.holes.{'ABC'[n]}]", size, f"about = [{about}]"]
            found = (None, bolt) if threads else (OLD_HOLES[bolt], None)
            holes.append(LocatedHole(f"{name}.{'ABC'[n]}", name, "chassis", centre, out, *found))
        faces[name] = frame
    whole = "\n".join(lines)
    site = read_site(whole, "known-site.toml", "known-site")
    n = 3 * len(holes)
    located = Located(tuple(holes), np.zeros((n, n)), faces, (), 1.0, 0, None, (), (), ())
    return Known(kind, site, located, text, t, whole)


def _carried(points: Floats, normal: Floats, bolt: str) -> list[str]:
    frame = _frame(points, normal)
    x, y = np.array(frame.x), np.array(frame.y)
    places = [f"[{(p - points[0]) @ x:.12f}, {(p - points[0]) @ y:.12f}]" for p in points]

    def row(v: Floats) -> str:
        return "[" + ", ".join(f"{c:.15f}" for c in v) + "]"

    return [
        "[carried]", "mass = 1.2", "centre = [0, 0, -30]",
        f"at = {row(points[0])}", f"normal = {row(normal)}", f"x = {row(x)}",
        "[[carried.holes]]", 'name = "head"', f'bolt = "{bolt}"',
        f'pattern = {{ kind = "points", points = [{", ".join(places)}] }}',
    ]  # fmt: skip


def _frame(points: Floats, normal: Floats) -> Frame:
    along = points[1] - points[0] if len(points) > 1 else np.cross(normal, [0.3, 0.5, 0.81])
    x = along / np.linalg.norm(along)
    y = np.cross(normal, x)
    axes = [tuple(float(c) for c in v) for v in (points[0], x, y, normal)]
    return Frame(axes[0], axes[1], axes[2], axes[3])
