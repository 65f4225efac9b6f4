"""Random brackets as the text of a description, of every kind that a description can say; some pass, some fail.

Nothing of the package is used here. The same seed gives the same text: only `random()` is drawn from, and numbers are
rounded to what the text says.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import TypeVar

from random_trees import random_tree

T = TypeVar("T")

#: Metal, and whether gauges are told for it.
_METALS = ("S235", "S355", "A36", "DC01", "DX51D", "1018", "4130N", "304", "316", "409",
           "5052-H32", "5083-H116", "6061-T4", "6061-T6", "6082-T6", "2024-T3")  # fmt: skip
_SOFT = ("S235", "DC01", "304", "5052-H32")
_GAUGED = frozenset({"S235", "A36", "DX51D", "304", "5052-H32", "6061-T6"})
_PROCESSES = ("laser", "laser", "laser", "plasma", "waterjet", "punch", "hand")
_TIDY = ("laser", "laser", "waterjet", "hand")
_BOLTS = ("M5", "M6", "M8", "M8", "M10")
_INCH_BOLTS = ("#10", "1/4", "5/16", "3/8")
_RULES = ("hole-edge", "hole-spacing", "hole-bend", "min-leg", "min-web", "bend-radius", "bend-grain", "sharp-corner")
_STRIP_TREES = 0.25


class Dice:
    """Draws by `random()` alone, whose numbers are the same in every Python."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)

    def share(self) -> float:
        return self._random.random()

    def odds(self, share: float) -> bool:
        return self.share() < share

    def between(self, low: float, high: float, digits: int = 2) -> float:
        return round(low + (high - low) * self.share(), digits)

    def whole(self, low: int, high: int) -> int:
        """From low to high, both included."""
        return low + int((high - low + 1) * self.share())

    def one(self, of: Sequence[T]) -> T:
        return of[int(len(of) * self.share())]


def random_part(seed: int) -> str:
    """The text of a description; files that it names lie in shapes/."""
    dice = Dice(seed)
    if dice.odds(_STRIP_TREES):
        return _tree(seed, dice)
    return _Writing(dice).text()


def _tree(seed: int, dice: Dice) -> str:
    """A tree of bends from the generator of the refolding tests, in another metal and process."""
    stock = f'metal = "{dice.one(_SOFT) if dice.odds(0.6) else dice.one(_METALS)}"'
    text = random_tree(seed).text.replace('metal = "S235"', stock)
    return text.replace('process = "laser"', f'process = "{dice.one(_PROCESSES)}"')


class _Writing:
    def __init__(self, dice: Dice) -> None:
        self.dice = dice
        self.inch = dice.odds(0.2)
        #: Composed as someone would who knows his trade, so that most of these pass.
        self.tidy = dice.odds(0.6)
        self.metal = dice.one(_SOFT) if self.tidy or dice.odds(0.4) else dice.one(_METALS)
        self.t = dice.one((1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0))
        self.shop_table = dice.odds(0.06)
        if self.shop_table:
            self.metal, self.t = "S235", 4.0
        self.radius = round(self.t * (dice.between(2, 4) if self.tidy else dice.between(0.8, 2.5)), 2)
        self.names: list[str] = []
        self.holes = 0

    def mm(self, value: float) -> str:
        """A bare number in the file's unit, or one with its unit."""
        if self.dice.odds(0.15):
            return f'"{value:.3f} mm"'
        return f"{value / 25.4:.5f}" if self.inch else f"{value:.3f}"

    def at(self, x: float, y: float) -> str:
        return f"[{self.mm(x)}, {self.mm(y)}]"

    def text(self) -> str:
        lines = [*self.head(), *self.first()]
        return "\n".join([*lines, *self.waivers()]) + "\n"

    # -- sheet and bends

    def head(self) -> list[str]:
        dice = self.dice
        lines = ['title = "random"', f'units = "{"in" if self.inch else "mm"}"']
        if dice.odds(0.3):
            lines.append(f'near = ["{dice.one(("fuel", "oil", "brake", "exhaust", "load", "weld", "battery"))}"]')
        lines += ["[stock]", f'metal = "{self.metal}"', f'process = "{dice.one(_TIDY if self.tidy else _PROCESSES)}"']
        if self.metal in _GAUGED and not self.shop_table and dice.odds(0.25):
            lines.append(f'thickness = "{dice.whole(11, 18)} ga"')
        else:
            lines.append(f'thickness = "{self.t} mm"')
        if dice.odds(0.7):
            lines.append(f'grain = "{dice.one((0, 45, 90, 90, 90))} deg"')
        if dice.odds(0.15):
            lines.append(f'coating = {{ kind = "paint", film = "{dice.between(0.03, 0.2)} mm" }}')
        if dice.odds(0.1):
            lines.append('sheet = ["400 mm", "200 mm"]')
        lines += ["[bend]", *self.bending(), "[corners]", f'outer = "{dice.one((0, 1, 2, 3))} mm"']
        if dice.odds(0.4):
            named = ("EN 1993-1-8", "AISC 360-16", "AISC 360-05 sheared", "aviation 2D", "aviation 2.5D countersunk")
            lines += ["[rules]", f'edge_distance = "{dice.one(named)}"']
        lines += ["[parameters.wide]", f'value = "{dice.between(70, 150)} mm"', 'least = "50 mm"', 'most = "400 mm"']
        lines += ["[parameters.rows]", f"value = {dice.whole(2, 4)}", 'kind = "count"']
        return lines

    def bending(self) -> list[str]:
        dice = self.dice
        sizes = f'sizes = "{dice.one(("outside", "outside", "mould", "inside", "tangent"))}"'
        lines = [sizes]
        if dice.odds(0.4):
            relief = f'shape = "{dice.one(("round", "square"))}"'
            relief += f', width = "{dice.between(1, 4)} mm"' if dice.odds(0.3) else ""
            relief += f', depth = "{dice.between(2, 8)} mm"' if dice.odds(0.3) else ""
            lines.append(f"relief = {{ {relief} }}")
        if dice.odds(0.1):
            lines.append(f'minimum_leg = "{dice.between(8, 25)} mm"')
        if self.shop_table:
            self.radius = 5.0
            return [*lines, "die = 32" if not self.inch else 'die = "32 mm"', 'allowance = "shop table"',
                    'table = "shop-deductions.csv"', 'table_metal = "S235"']  # fmt: skip
        how = dice.whole(0, 5)
        if how == 0:
            lines.append(f'die = "{min((12, 16, 20, 25, 32, 40, 50), key=lambda v: abs(v - 8 * self.t))} mm"')
        elif how == 1:
            lines.append(f'punch_radius = "{self.radius} mm"')
        elif how == 2:
            lines.append(f'nose_radius = "{self.radius} mm"')
        else:
            lines.append(f'inside_radius = "{self.radius} mm"')
        if how > 2 and dice.odds(0.12):
            leg = 50.0
            blank = 2 * leg - 2 * (self.radius + self.t) + 1.5708 * (self.radius + dice.between(0.3, 0.48) * self.t)
            strip = f'blank = "{blank:.3f} mm", legs = ["{leg} mm", "{leg} mm"]'
            return [*lines, 'allowance = "test strip"', f"test_strip = {{ {strip} }}"]
        lines += dice.one((
            ['allowance = "K factor"', f"k_factor = {dice.between(0.25, 0.5, 3)}"],
            ['allowance = "DIN 6935"'],
            ['allowance = "FAA"'],
            ['allowance = "handbook"', f'handbook_metal = "{dice.one(("soft", "medium", "hard"))}"'],
            [],
        ))  # fmt: skip
        return lines

    # -- panels

    def first(self) -> list[str]:
        dice = self.dice
        kind = dice.one(("rectangle", "rectangle", "rectangle", "polygon", "polygon", "disc", "belt", "arms"))
        w, h = dice.between(70, 180), dice.between(50, 130)
        lines = ["[panels.first]"]
        left = 0.0
        if kind == "rectangle":
            told = self.mm(w)
            if dice.odds(0.2):
                told, w = '"(wide)"', 70.0
            lines.append(f'outline = {{ shape = "rectangle", width = {told}, height = {self.mm(h)}{self.corner()} }}')
        elif kind == "polygon":
            lines.append(self.polygon(w, h, dice.odds(0.3)))
        elif kind == "disc":
            inside = f", inside = {self.mm(0.3 * w)}" if dice.odds(0.5) else ""
            lines.append(
                f'outline = {{ shape = "disc", diameter = {self.mm(w)}, at = {self.at(w / 2, w / 2)}{inside} }}'
            )
            h = w
        elif kind == "belt":
            pads = f", pads = [{{ at = {self.at(w / 2, h)}, radius = {self.mm(9)} }}]" if dice.odds(0.4) else ""
            lines += [f'outline = {{ shape = "belt"{pads} }}', f"pad = {self.mm(dice.between(12, 20))}"]
        else:
            hub = f", hub = {self.at(w / 2, h / 2)}, hub_radius = {self.mm(18)}" if dice.odds(0.5) else ""
            fillet = f", fillet = {self.mm(dice.between(3, 9))}" if dice.odds(0.6) else ""
            lines.append(f'outline = {{ shape = "arms", arm = {self.mm(dice.between(12, 20))}{fillet}{hub} }}')
        lines += self.inside("first", left, w, h, kind)
        if kind in ("rectangle", "polygon"):
            free = [("first", e, w if e in ("top", "bottom") else h) for e in ("top", "bottom", "left", "right")]
            lines += self.bent(free, kind == "polygon")
        elif kind == "belt" and dice.odds(0.6):
            y = h + dice.between(25, 45)
            line = f"line = [{self.at(0.1 * w, y)}, {self.at(0.9 * w, y)}], turn = {self.turn()}"
            lines += ["[panels.last]", "outline = { shape = \"belt\" }", f"pad = {self.mm(13)}"]  # fmt: skip
            lines += [f'bend = {{ from = "first", {line}, way = "{dice.one(("up", "down"))}" }}']
            lines += self.hole("panels.last", "bolt", 0.4 * w, dice.between(28, 45), 30.0, 30.0)
        return lines

    def corner(self) -> str:
        drawn = self.dice.whole(0, 5)
        if drawn == 0:
            return f", chamfer = {self.mm(self.dice.between(2, 6))}"
        return f", corner_radius = {self.mm(self.dice.between(2, 6))}" if drawn < 4 else ""

    def polygon(self, w: float, h: float, own: bool) -> str:
        dice = self.dice
        a, b = dice.between(0, 0.15 * w), dice.between(0, 0.15 * w)
        corners = [self.at(0, 0), self.at(w, 0), self.at(w - a, h), self.at(b, h)]
        if own:
            corners[2] = f"{{ at = {corners[2]}, radius = {self.mm(dice.between(3, 12))} }}"
            corners[3] = f"{{ at = {corners[3]}, chamfer = {self.mm(dice.between(3, 10))} }}"
        if dice.odds(0.3):
            corners.insert(3, self.at(w / 2, h - dice.between(5, 15)))
        return f'outline = {{ shape = "polygon", corners = [{", ".join(corners)}] }}'

    def turn(self) -> str:
        if self.shop_table:
            return str(self.dice.one((30, 45, 60, 90)))
        return str(self.dice.one((90, 90, 90, 45, 30, 120, 135, self.dice.between(10, 130, 1))))

    def bent(self, free: list[tuple[str, str, float]], polygon: bool) -> list[str]:
        dice, lines = self.dice, list[str]()
        for number in range(dice.one((1, 1, 2, 2, 3, 3, 4, 5, 6, 6))):
            if not free:
                break
            parent, edge, length = free.pop(dice.whole(0, len(free) - 1))
            name = f"p{number + 1}"
            joggle = dice.odds(0.12)
            word: str = f'"{edge}"'
            if polygon and parent == "first":
                word = {"bottom": "1", "right": "2", "top": "3", "left": "4"}[edge]
            words = f'from = "{parent}", edge = {word}, way = "{dice.one(("up", "down"))}"'
            if dice.odds(0.2):
                words += f', relief = {{ shape = "{dice.one(("round", "square"))}" }}'
            if dice.odds(0.15) and not self.shop_table:
                words += f', inside_radius = "{dice.between(1, 2.5) * self.t:.3f} mm"'
            if joggle:
                told = (
                    f"joggle = {{ {words}, offset = {self.mm(2.5 * self.radius + 2 * self.t + dice.between(2, 12))} }}"
                )
            elif dice.odds(0.2) and not self.shop_table:
                told = f"bend = {{ {words}, between = {dice.between(60, 150, 1)} }}"
            else:
                told = f"bend = {{ {words}, turn = {self.turn()} }}"
            high = dice.between(28, 70)
            part = dice.odds(0.4)
            wide = round(length * dice.between(0.4, 0.8), 2) if part else length
            size = f"width = {self.mm(wide)}, " if part else ""
            told_high = self.mm(high)
            corner = self.corner() if dice.odds(0.3) else ""
            lines.append(f"[panels.{name}]")
            lines.append(f'outline = {{ shape = "rectangle", {size}height = {told_high}{corner} }}')
            lines += ['origin = "middle"', told]
            lines += self.inside(name, -wide / 2, wide, high, "rectangle")
            free += [(name, "top", wide)]
            if dice.odds(0.3):
                free += [(name, "left", high), (name, "right", high)]
        return lines

    # -- what is in a panel

    def inside(self, name: str, left: float, w: float, h: float, kind: str) -> list[str]:
        dice, lines, table = self.dice, list[str](), f"panels.{name}"
        needed = 1 if kind in ("belt", "arms") else 0
        for _ in range(max(needed, dice.one((0, 1, 1) if self.tidy else (0, 1, 1, 2, 2, 3)))):
            margin = 0.1 if dice.odds(0.1) else 0.3
            x, y = left + w * dice.between(margin, 0.6, 4), h * dice.between(margin + 0.05, 0.75, 4)
            only = "bolt" if kind in ("belt", "arms") else ""
            lines += self.hole(table, only, x, y, max(12.0, 0.4 * w), max(12.0, 0.3 * h))
        if kind == "arms":
            lines += self.hole(table, "bolt", left + w, h, 20.0, 20.0)
        if kind in ("rectangle", "polygon"):
            lines += self.openings(table, left, w, h)
        return lines

    def hole(self, table: str, only: str, x: float, y: float, across: float, up: float) -> list[str]:
        dice = self.dice
        self.holes += 1
        lines = [f"[[{table}.holes]]", f'name = "h{self.holes}"', f"at = {self.at(x, y)}"]
        kind = only or dice.one(
            ("bolt", "bolt", "bolt", "plain", "plain", "tap", "rivet_nut", "dowel", "drill", "rubber")
        )
        bolt = dice.one(_INCH_BOLTS if self.inch else _BOLTS)
        size = 9.0
        if kind == "bolt":
            lines.append(f'bolt = "{bolt}"')
            if dice.odds(0.3):
                lines.append(f'fit = "{dice.one(("close", "normal", "loose"))}"')
            if dice.odds(0.1):
                lines.append('nut = "welded"')
        elif kind == "tap":
            lines.append(f'tap = "{dice.one(("M4", "M5", "M6", "M8"))}"')
        elif kind == "rivet_nut":
            lines.append(f'rivet_nut = "{dice.one(("M5", "M6", "M8"))}"')
        elif kind == "dowel":
            lines.append(f"dowel = {self.mm(dice.one((5.0, 6.0, 8.0)))}")
        elif kind == "rubber":
            lines += ['bolt = "M8"', f"isolator = {self.rubber()}"]
        elif kind == "drill":
            lines += [f"diameter = {self.mm(dice.between(8, 14))}", f'pilot = "{dice.one((2.5, 3.0, 4.0, 6.0))} mm"']
        else:
            size = dice.between(4, 25) if dice.odds(0.5) else dice.between(2.5, 9)
            lines.append(f"diameter = {self.mm(size)}")
        round_ = False
        if not only and dice.odds(0.3 if self.tidy else 0.45):
            pattern, round_ = self.pattern(across, up, size)
            lines.append(f"pattern = {{ {pattern} }}")
            if dice.odds(0.25):
                lines.append(f"turned = {dice.between(-40, 40, 1)}")
            if dice.odds(0.15):
                lines.append(f'mirrored = "{dice.one(("left-right", "up-down"))}"')
        if kind in ("bolt", "plain") and dice.odds(0.3):
            way = f'"{dice.one(("radial", "around"))}"' if round_ else dice.one((0, 90, dice.between(-90, 90, 1)))
            lines.append(f"slot = {{ length = {self.mm(size * dice.between(1.4, 2.4))}, direction = {way} }}")
        return lines

    def pattern(self, across: float, up: float, size: float) -> tuple[str, bool]:
        dice = self.dice
        step = max(across / 2, 5 * size if self.tidy else 2 * size) * dice.between(0.5, 1)
        kind = dice.whole(0, 4)
        if kind == 0:
            direction = f", direction = {dice.one((0, 90, 20.5))}" if dice.odds(0.5) else ""
            count = '"(rows)"' if dice.odds(0.3) else dice.whole(2, 4)
            return f'kind = "row", count = {count}, spacing = {self.mm(step)}{direction}', False
        if kind == 1:
            spacing = self.at(step / 2 + size, max(up / 3 + size, 3 * size if self.tidy else 0.0))
            return f'kind = "grid", columns = {dice.whole(2, 3)}, rows = {dice.whole(2, 3)}, spacing = {spacing}', False
        if kind == 2:
            return f'kind = "corners", size = {self.at(across / 2, up / 2)}', False
        if kind == 3:
            over = f", over = {dice.one((90, 180, 270))}" if dice.odds(0.3) else ""
            start = f', start = "{dice.between(0, 90, 1)} deg"' if dice.odds(0.5) else ""
            return (
                f'kind = "bolt circle", diameter = {self.mm(min(across, up))}, count = {dice.whole(2, 6)}{start}{over}',
                True,
            )
        return f'kind = "points", points = [[0, 0], {self.at(step / 2, up / 4)}]', False

    def rubber(self) -> str:
        kind = self.dice.whole(0, 3)
        if kind == 0:
            return '{ kind = "bush", height = "20 mm", hole = "16 mm", sleeve = "22 mm" }'
        if kind == 1:
            return '{ kind = "bobbin", height = "25 mm", stud = "20 mm", torque = 12 }'
        if kind == 2:
            return '{ kind = "bobbin", height = "25 mm", depth = "7 mm" }'
        return '{ kind = "pad", height = "6 mm" }'

    def openings(self, table: str, left: float, w: float, h: float) -> list[str]:
        dice, lines = self.dice, list[str]()
        if dice.odds(0.1 if self.tidy else 0.3):
            x, y = left + w * dice.between(0.3, 0.7, 4), h * dice.between(0.4, 0.7, 4)
            if dice.odds(0.3):
                x = left  # runs over the edge: a notch
            lines += [f"[[{table}.cutouts]]", f"at = {self.at(x, y)}"]
            shape = dice.one(("rectangle", "disc", "slot", "polygon"))
            lines.append(f'shape = "{shape}"')
            if shape == "disc":
                lines.append(f"diameter = {self.mm(dice.between(6, 20))}")
            elif shape == "polygon":
                lines.append(f"points = [[0, 0], {self.at(14, 0)}, {self.at(9, 11)}]")
            else:
                lines.append(f"size = {self.at(dice.between(12, 24), dice.between(4, 10))}")
                lines += [f"turned = {dice.between(0, 90, 1)}"] if dice.odds(0.4) else []
            if shape in ("rectangle", "polygon") and dice.odds(0.6):
                lines.append(f"corner_radius = {self.mm(1.5)}")
            if dice.odds(0.15):
                lines.append(f"clearance = {self.mm(1.0)}")
        saddle = dice.odds(0.15)
        if saddle:
            tube = dice.between(25, 60)
            lines += [
                f"[[{table}.saddles]]",
                f"tube = {self.mm(tube)}",
                f"at = {self.at(left + w / 2, h + 0.25 * tube)}",
            ]
            lines += [f"gap = {self.mm(0.5)}"] if dice.odds(0.5) else []
        if dice.odds(0.12):
            lines += [
                f"[[{table}.marks]]",
                f"start = {self.at(left + 8, 0.3 * h)}",
                f"end = {self.at(left + 0.6 * w, 0.3 * h)}",
            ]
        if dice.odds(0.15):
            where = "saddle = 1" if saddle else f"edge = {dice.one((chr(34) + 'all round' + chr(34), '1'))}"
            if not saddle and "polygon" not in table:
                where = f'edge = "{dice.one(("top", "bottom", "left", "all round"))}"'
            lines += [f"[[{table}.welds]]", where, f'{dice.one(("throat", "leg"))} = "{dice.one((2, 3, 4))} mm"']
            lines += [f'sides = "{dice.one(("both", "face", "back"))}"', 'to = "pipe"']
            lines += ['length = "20 mm"'] if dice.odds(0.4) else []
        return lines

    def waivers(self) -> list[str]:
        dice = self.dice
        if not dice.odds(0.3):
            return []
        return ["[[waivers]]", f'rule = "{dice.one(_RULES)}"', 'subject = "*"', 'reason = "seen and accepted"']
