"""Random places on a vehicle with a bracket in them, as text: a site file and the description that names it.

Old holes and readings are those of `random_sites`; where a bent bracket's holes come out is worked out here, by the
plain geometry of one bend. Nothing of the package is used.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from random_parts import Dice
from random_sites import TrueFace, TrueHole, TrueReading, TrueSite

from bracketgen.geometry.arrays import Floats

SITE_FILE = "place.site.toml"
#: Clearance holes of ISO 273, medium.
_CLEARANCE = {"M6": 6.6, "M8": 9.0, "M10": 11.0}
_MATTERS = ("metal", "air", "fuel", "oil", "brake", "coolant", "exhaust", "wire", "live", "rubber", "plastic", "moving")
_HOT = {"exhaust": 320, "air": 120, "coolant": 95, "oil": 110}
_SOFT = {"rubber": 125, "plastic": 90, "wire": 105}
_OVER = ("centres", "centres", "inner", "outer", "left to left", "pins")


@dataclass(frozen=True)
class Placed:
    """The two files of one case."""

    site: str
    part: str


def random_place(seed: int) -> Placed:
    return _Place(Dice(1_000_003 + seed)).files()


def _row(values: Floats | list[float] | tuple[float, ...], digits: int = 3) -> str:
    return "[" + ", ".join(f"{float(v) + 0.0:.{digits}f}" for v in values) + "]"


class _Place:
    """The bracket's first panel lies in the site's x-y plane: its own x and y are those of the site."""

    def __init__(self, dice: Dice) -> None:
        self.dice = dice
        self.t = dice.one((2.0, 3.0, 4.0, 5.0))
        self.bolt = dice.one(("M6", "M8", "M8", "M10"))
        self.r = round(self.t * dice.between(1.0, 2.0), 2)
        self.bent = dice.odds(0.7)
        self.on_back = dice.odds(0.75)
        self.carried = dice.odds(0.55)
        self.holes = [np.array([0.0, 0.0]), np.array([dice.between(45, 110), 0.0])]
        if dice.odds(0.4):
            self.holes.append(np.array([dice.between(10, 40), dice.between(22, 45)]))
        self.threads = dice.odds(0.25)
        self.turn = float(dice.one((90, 90, 60, 45, 110, dice.between(20, 120, 1))))
        self.up = dice.odds(0.5)
        self.bolts: list[tuple[str, str]] = []
        self.size = 200.0

    def files(self) -> Placed:
        part = self.first_panel()
        seat, normal, across = self.second(part)
        site = self.true_site(seat, normal, across)
        text = self.faces_and_readings(site)
        if self.carried:
            text += self.hung(seat, normal, across)
        else:
            text += ["[bodies.engine]", f"travel = {self.some_travel()}"]
        text += self.neighbours(seat)
        head = self.head(site)
        part += ["[site]", f'file = "{SITE_FILE}"', *self.touching(), "[site.bolts]"]
        part += [f'"{hole}" = "{mate}"' for hole, mate in self.bolts]
        return Placed("\n".join(head + text) + "\n", "\n".join(part) + "\n")

    # -- the bracket

    def first_panel(self) -> list[str]:
        dice = self.dice
        lines = [
            'title = "bracket in its place"',
            'units = "mm"',
            "[stock]",
            f'metal = "{dice.one(("S235", "5052-H32"))}"',
        ]
        lines += [f"thickness = {self.t}", f'process = "{dice.one(("laser", "laser", "plasma", "hand"))}"']
        lines += [
            "grain = 90" if dice.odds(0.7) else 'grain = "unknown"',
            "[bend]",
            f"inside_radius = {self.r}",
            'sizes = "tangent"',
        ]
        if dice.odds(0.5):
            lines += ['allowance = "K factor"', f"k_factor = {dice.between(0.3, 0.45, 3)}"]
        lines += ["[corners]", "outer = 2", "[panels.first]", 'outline = { shape = "belt" }']
        for number, hole in enumerate(self.holes):
            # The bracket is drawn from readings: it never is quite where the holes are.
            off = np.array([dice.between(-0.3, 0.3), dice.between(-0.3, 0.3)])
            lines += self.bolt_hole("first", "ABC"[number], hole + off, "left")
        return lines

    def bolt_hole(self, panel: str, name: str, at: Floats, face: str) -> list[str]:
        dice = self.dice
        self.bolts.append((f"{panel}/{name}", f"{face}.{name}"))
        lines = [f"[[panels.{panel}.holes]]", f'name = "{name}"', f'bolt = "{self.bolt}"', f"at = {_row(at)}"]
        if dice.odds(0.2):
            length = _CLEARANCE[self.bolt] + dice.between(3, 9)
            lines.append(f"slot = {{ length = {length}, direction = {dice.one((0, 90, 35))} }}")
        elif dice.odds(0.15):
            lines.append(f'fit = "{dice.one(("close", "loose"))}"')
        return lines

    def second(self, part: list[str]) -> tuple[list[Floats], Floats, Floats]:
        """The second set of holes: their places in the site, the way out of what they lie on, and the way along."""
        dice = self.dice
        depth = 0.0 if self.on_back else -self.t
        count = dice.one((1, 2, 2)) if not self.carried else 2
        step, far = dice.between(30, 55), dice.between(26, 55)
        own = [np.array([15 + step * n, far]) for n in range(count)]
        if not self.bent:
            for n, at in enumerate(own):
                own[n] = np.array([at[0], -at[1] - 20])
                part += self.bolt_hole("first", "DEF"[n], own[n], "carried" if self.carried else "rear")
            normal = np.array([0.0, 0.0, 1.0 if self.on_back else -1.0])
            return [np.array([*uv, 0.0]) for uv in own], normal, np.array([1.0, 0.0, 0.0])
        low, lean = -dice.between(26, 40), math.radians(dice.one((0, 0, 0, dice.between(-15, 15, 1))))
        x = np.array([-math.cos(lean), -math.sin(lean)])
        start = np.array([60.0, low]) - x * 5
        wide = 30 + step * (count - 1)
        end = np.array([float(v) for v in _numbers(start + wide * x)])
        start = np.array([float(v) for v in _numbers(start)])
        x = (end - start) / np.linalg.norm(end - start)
        out = np.array([-x[1], x[0]])
        part += ["[panels.last]", 'outline = { shape = "belt" }', "[panels.last.bend]", 'from = "first"']
        part += [
            f"line = [{_row(start)}, {_row(end)}]",
            f"turn = {self.turn}",
            f'way = "{"up" if self.up else "down"}"',
        ]
        for n, at in enumerate(own):
            part += self.bolt_hole("last", "DEF"[n], at, "carried" if self.carried else "rear")
        return self.folded(own, start, x, out, depth)

    def folded(
        self, own: list[Floats], start: Floats, x: Floats, out: Floats, depth: float
    ) -> tuple[list[Floats], Floats, Floats]:
        """The bend turned by hand: the front is its inner face when bent up, its outer one when bent down."""
        turn, sign = math.radians(self.turn), 1.0 if self.up else -1.0
        radius = self.r if self.up else self.r + self.t
        along = np.array([*x, 0.0])
        y = np.array([*(math.cos(turn) * out), sign * math.sin(turn)])
        z = np.cross(along, y)
        # z = 0 of the site is the old face; the panel's front stands one thickness off it, or lies on it.
        front = self.t if self.on_back else 0.0
        foot = np.array([*(start + radius * math.sin(turn) * out), front + sign * radius * (1 - math.cos(turn))])
        flat = 0.0 if depth else -self.t
        seats = [foot + uv[0] * along + uv[1] * y + flat * z for uv in own]
        return seats, z if self.on_back else -z, along

    def touching(self) -> list[str]:
        if self.on_back:
            return []
        panels = ["first", *(["last"] if self.bent else [])]
        return ["[site.touching]", *(f'{panel} = "face"' for panel in panels)]

    # -- the site

    def true_site(self, seats: list[Floats], normal: Floats, across: Floats) -> TrueSite:
        dice = self.dice
        flip = 1.0 if self.on_back else -1.0
        left = {"ABC"[n]: self.old_hole(uv) for n, uv in enumerate(self.holes)}
        # With its front on the face, the bracket is seen from behind: y of the face runs the other way.
        faces = {"left": TrueFace(np.zeros(3), np.eye(3), dice.one((0.0, 0.0, 0.2)), left)}
        if flip < 0:
            faces["left"].axes = np.diag([1.0, -1.0, -1.0])
            for hole in left.values():
                hole.uv = hole.uv * np.array([1.0, -1.0])
        if not self.carried:
            y = np.cross(normal, across)
            own = {
                "DEF"[n]: self.old_hole(np.array([(p - seats[0]) @ across, (p - seats[0]) @ y]))
                for n, p in enumerate(seats)
            }
            axes = np.column_stack([across, y, normal])
            faces["rear"] = TrueFace(seats[0], axes, dice.one((0.0, 0.15)), own)
        site = TrueSite(faces, np.array([0.0, -1.0, 0.0]) if dice.odds(0.8) else np.array([0.0, -0.6, -0.8]), self.size)
        self.read(site)
        # The site's own frame is that of its first face.
        turn = faces["left"].axes.copy()
        self.turned = turn
        for face in faces.values():
            face.origin, face.axes = turn.T @ face.origin, turn.T @ face.axes
        site.down = turn.T @ site.down
        return site

    def old_hole(self, uv: Floats) -> TrueHole:
        dice = self.dice
        size = _CLEARANCE[self.bolt] + (dice.between(0, 1.5) if dice.odds(0.5) else 0.0)
        if not self.threads and dice.odds(0.15):
            return TrueHole(uv, size, dice.between(0.4, 2), dice.between(0, 180, 1), dice.one(("start", "end", "")))
        return TrueHole(uv, size)

    def read(self, site: TrueSite) -> None:
        dice, names = self.dice, site.names
        for n, a in enumerate(names):
            for b in names[:n]:
                for _ in range(1 + dice.odds(0.5)):
                    self.distance(site, b, a)
        left = [n for n in names if n.startswith("left")]
        if len(left) > 2:
            words = f'kind = "square"\nhole = "{left[2]}"\nline = ["{left[0]}", "{left[1]}"]'
            site.readings.append(TrueReading(words, site.square(left[2], left[0], left[1]), 0.5))
        if len(site.faces) > 1:
            for name in names:
                other = "rear" if name.startswith("left") else "left"
                words = f'kind = "step"\nhole = "{name}"\nface = "{other}"'
                site.readings.append(TrueReading(words, site.step(name, other), 0.3))
            tilt = site.tilt("left", "rear")
            if 3 < tilt < 177:
                site.readings.append(TrueReading('kind = "tilt"\nfaces = ["left", "rear"]', tilt, 0.5))
            rear = [n for n in names if n.startswith("rear")]
            if len(rear) > 1:
                words = f'kind = "level"\nfrom = "{rear[0]}"\nto = "{rear[1]}"'
                site.readings.append(TrueReading(words, site.level(rear[0], rear[1]), 0.3))

    def distance(self, site: TrueSite, a: str, b: str) -> None:
        dice = self.dice
        over = dice.one(("centres", "pins")) if self.threads else dice.one(_OVER)
        worn = site.hole(a)[1].dragged or site.hole(b)[1].dragged
        if (over == "pins" and worn) or (over == "inner" and site.distance(a, b, "centres") < 25):
            over = "centres"
        words = f'kind = "distance"\nfrom = "{a}"\nto = "{b}"\nover = "{over}"'
        pins = (5.9, 5.9) if self.bolt == "M6" else (7.9, 7.9)
        words += f"\npins = [{pins[0]}, {pins[1]}]" if over == "pins" else ""
        site.readings.append(TrueReading(words, site.distance(a, b, over, pins), dice.one((0.1, 0.3, 0.5))))

    def faces_and_readings(self, site: TrueSite) -> list[str]:
        dice, lines = self.dice, list[str]()
        size = f', thread = "{self.bolt}"' if self.threads else ""
        for name, face in site.faces.items():
            lines += [f"[faces.{name}]", f"coating = {face.paint}"]
            if dice.odds(0.6):
                lines.append(f"thickness = {dice.one((3, 5, 8))}")
            if name == "rear":
                lines += [f"at = {_row(face.origin, 0)}", f"normal = {_row(face.axes[:, 2], 2)}"]
                if dice.odds(0.4):
                    lines += ['body = "engine"']
                    lines += [
                        "[faces.rear.flexible]",
                        f"stroke = {dice.one(('8', '[6, 6, 10]'))}",
                        'matter = "rubber"',
                        "limit = 110",
                    ]
            lines.append(f"[faces.{name}.holes]")
            for key, hole in face.holes.items():
                said = f"about = {_row(hole.uv, 0)}" + (
                    size or (f", diameter = {hole.diameter:.2f}" if not hole.dragged else "")
                )
                if hole.dragged:
                    said += f", short = {hole.diameter:.2f}, long = {hole.diameter + hole.dragged:.2f}"
                    said += f", direction = {hole.direction}"
                    said += f', unworn = "{hole.unworn}"' if hole.unworn else ""
                lines.append(f"{key} = {{ {said} }}")
        spoiled = dice.whole(0, len(site.readings) - 1) if dice.odds(0.15) else -1
        for number, reading in enumerate(site.readings):
            # Twelve draws from 0 to 1 less 6: close to a normal error.
            error = reading.sigma * (sum(dice.share() for _ in range(12)) - 6)
            error += 12 * reading.sigma if number == spoiled else 0.0
            if "level" in reading.words and dice.odds(0.5):
                continue
            lines += ["[[readings]]", reading.words, f"value = {reading.value + error:.2f}"]
            if dice.odds(0.7):
                lines.append(f"error = {reading.sigma}")
            else:
                tools = {"tilt": "angle finder", "level": "level"}
                lines.append(f'tool = "{tools.get(reading.words.split(chr(34))[1], "tape")}"')
        return lines

    def head(self, site: TrueSite) -> list[str]:
        return ['title = "a place"', 'units = "mm"', f"down = {_row(site.down)}"]

    def here(self, at: Floats) -> Floats:
        """A place or direction in the site's own frame."""
        told: Floats = self.turned.T @ at
        return told

    # -- what hangs there and what stands near

    def some_travel(self) -> str:
        return _row([self.dice.between(0, 6, 0) for _ in range(3)], 0)

    def hung(self, seats: list[Floats], normal: Floats, across: Floats) -> list[str]:
        dice = self.dice
        holder = dice.odds(0.5)
        lines = ["[bodies.engine]", f"travel = {self.some_travel()}", "[carried]", f"mass = {dice.between(0.5, 5)}"]
        lines += [
            "centre = [0, 0, -40]",
            f"at = {_row(self.here(seats[0]), 6)}",
            f"normal = {_row(self.here(normal), 9)}",
        ]
        lines += [f"x = {_row(self.here(across), 9)}", "room = [12, 12, 12]"]
        if holder:
            lines += ['body = "engine"']
            if dice.odds(0.8):
                lines += [
                    "[carried.flexible]",
                    f"stroke = {dice.one(('10', '[12, 9, 9]'))}",
                    f"limit = {dice.one((90, 125))}",
                ]
                lines += [f"surface = {dice.one((60, 110))}", "at = [20, 0, -20]"]
        apart = float(np.linalg.norm(seats[1] - seats[0]))
        lines += [
            "[[carried.holes]]",
            'name = "D"',
            f'bolt = "{self.bolt}"',
            "[[carried.holes]]",
            'name = "E"',
            f'bolt = "{self.bolt}"',
        ]
        lines.append(f"at = [{apart:.3f}, 0]")
        lines += [
            "[carried.things.foot]",
            'shape = "box"',
            f"at = [{apart / 2:.2f}, 0, -3]",
            f"size = [{apart + 30:.2f}, 26, 6]",
            "gap = 0",
        ]
        kind = dice.whole(0, 2)
        if kind == 0:
            lines += ["[carried.things.can]", 'shape = "cylinder"', f'matter = "{dice.one(("fuel", "oil"))}"']
            lines += [
                "at = [20, 0, -8]",
                f"to = [20, 0, {-dice.between(60, 130)}]",
                f"diameter = {dice.between(40, 80)}",
                "gap = 3",
            ]
            if dice.odds(0.7):
                lines.append(f"removal = [0, 0, {-dice.between(20, 60)}]")
                if dice.odds(0.5):
                    tilt = f"{{ tilt = {dice.between(10, 30)}, toward = [1, 0, 0] }}"
                    lines.append(f"removal_then = [{tilt}, {{ move = [0, 60, -60] }}]")
                if dice.odds(0.6):
                    lines.append(f'grip = "{dice.one(("hand", "strap wrench"))}"')
        elif kind == 1:
            lines += ["[carried.things.pump]", 'shape = "box"', f'matter = "{dice.one(_MATTERS)}"', "at = [20, 0, -35]"]
            lines += [f"size = [{dice.between(30, 70)}, 40, 50]", "gap = 2"]
            lines += [f"removal = [0, {dice.between(40, 90)}, -10]"] if dice.odds(0.5) else []
        else:
            lines += ["[carried.things.stub]", 'shape = "pipe"', f'matter = "{dice.one(_MATTERS)}"', "bend_radius = 25"]
            lines += [
                "points = [[20, 0, -10], [20, 0, -60], [90, 20, -70]]",
                f"diameter = {dice.between(10, 24)}",
                "gap = 1",
            ]
        if dice.odds(0.35):
            lines += ["[hoses.feed]", f"length = {dice.between(180, 420, 0)}", f"diameter = {dice.one((12, 16, 22))}"]
            lines += [f"bend_radius = {dice.one((40, 60))}"] if dice.odds(0.7) else []
            lines += [
                f"from = {{ at = {_row(self.here(np.array([-180.0, 20.0, 60.0])))}, way = [1, 0, 0], fitting = 0 }}"
            ]
            lines += ['to = { at = [-20, 0, -25], way = [-1, 0, 0], fitting = 25, on = "carried" }']
        return lines

    def neighbours(self, seats: list[Floats]) -> list[str]:
        dice, lines = self.dice, list[str]()
        middle = sum(seats, np.zeros(3)) / len(seats) / 2
        for number in range(dice.one((0, 1, 1, 1, 2))):
            kind = dice.one(("pipe", "pipe", "cylinder", "box", "wall"))
            matter = dice.one(_MATTERS)
            away = np.array([dice.between(-1, 1), dice.between(-1, 1), dice.between(-0.3, 1)])
            away = away / max(float(np.linalg.norm(away)), 0.2)
            at = middle + away * dice.between(70, 190)
            lines += [f"[neighbours.n{number}]", f'shape = "{kind}"', f'matter = "{matter}"']
            lines += ['body = "engine"'] if dice.odds(0.4) else []
            lines += [f"surface = {_HOT[matter]}"] if matter in _HOT and dice.odds(0.7) else []
            lines += [f"limit = {_SOFT[matter]}"] if matter in _SOFT and dice.odds(0.6) else []
            lines += [f"gap = {dice.one((5, 10, 25))}"] if dice.odds(0.4) else []
            side = np.cross(away, np.array([0.3, 0.5, 0.81]))
            side = side / np.linalg.norm(side)
            if kind == "pipe":
                ends = [at - 150 * side, at + 10 * away, at + 140 * side + 30 * away]
                lines.append("points = [" + ", ".join(_row(self.here(p)) for p in ends) + "]")
                lines += [f"diameter = {dice.between(8, 60)}", f"bend_radius = {dice.between(45, 90)}"]
                if matter == "exhaust":
                    lines += [
                        f'grows_from = "{dice.one(("start", "end"))}"',
                        f'metal = "{dice.one(("409", "304", "S235"))}"',
                    ]
            elif kind == "cylinder":
                lines += [f"at = {_row(self.here(at))}", f"to = {_row(self.here(at + dice.between(40, 150) * side))}"]
                lines.append(f"diameter = {dice.between(20, 90)}")
                if dice.odds(0.3):
                    lines.append(f"removal = {_row(self.here(dice.between(20, 80) * side))}")
            elif kind == "box":
                lines += [f"at = {_row(self.here(at))}", f"size = {_row([dice.between(20, 120) for _ in range(3)])}"]
                if dice.odds(0.5):
                    lines += [f"x = {_row(self.here(side))}", f"z = {_row(self.here(np.cross(side, away)))}"]
            else:
                lines += [f"at = {_row(self.here(at))}", f"normal = {_row(self.here(-away))}"]
        return lines


def _numbers(values: Floats) -> list[str]:
    return [f"{float(v):.3f}" for v in values]
