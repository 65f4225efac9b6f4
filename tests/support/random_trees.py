"""Random part trees as descriptions: the text of a file, and what the text means, corner by corner.

Nothing of the package is used here. Every number is rounded to what the text says, so that the meaning and the
text can't drift apart. Sizes leave room for holes and reliefs; whether panels overlap in the flat or meet in
space is left to chance.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field

XY = tuple[float, float]

#: Room that a bend takes on a panel beyond its tangent line, for its reliefs and corner rounds.
_RELIEF_ROOM_MM = 9.0
_EDGE_ROOM_MM = 3.0
#: Metal left on the parent beside a bend that takes a part of an edge.
_BESIDE_MM = 14.0

BOTTOM, RIGHT, TOP, LEFT = range(4)
EDGE_WORDS = ("bottom", "right", "top", "left")
REFERENCES = ("outside", "mould", "inside", "tangent")


@dataclass
class HoleSpec:
    name: str
    x: float
    y: float
    diameter: float


@dataclass
class JointSpec:
    """The described line on the parent, with the child on its left, and how the child is bent there.

    `zero` is where x = 0 of the child lies on the line. `offset` is given for a joggle. `takes` is the stretch of
    the line that the bend takes, as described; None = as much as there is.
    """

    parent: str
    edge: int
    turn: float
    way: str
    sizes: str
    radius: float
    offset: float | None = None
    origin: str = "left"
    shift: float = 0.0
    start: XY = (0.0, 0.0)
    end: XY = (0.0, 0.0)
    takes: XY | None = None

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    @property
    def zero(self) -> float:
        return {"left": 0.0, "middle": self.length / 2, "right": self.length}[self.origin] + self.shift


@dataclass
class PanelSpec:
    """`corners` run anticlockwise from the lower left: the outline as described, edges in the order of EDGE_WORDS.

    `loose`: as wide as its bend, which a corner on the parent may have made shorter by an amount of the tool's own.
    """

    name: str
    joint: JointSpec | None
    kind: str = "rectangle"
    corners: list[XY] = field(default_factory=list)
    holes: list[HoleSpec] = field(default_factory=list)
    loose: bool = False
    corner_radius: float = 0.0
    clockwise: bool = False
    bent: dict[int, JointSpec] = field(default_factory=dict)
    words: str = ""
    side_room: float = 0.0
    origin: str = "left"
    left_told: bool = True

    def edge(self, number: int) -> tuple[XY, XY]:
        """The edge as a bend line: what lies beyond it on the left."""
        return self.corners[(number + 1) % 4], self.corners[number]


@dataclass
class TreeSpec:
    text: str
    panels: list[PanelSpec]
    thickness: float
    outer_radius: float

    def panel(self, name: str) -> PanelSpec:
        return next(p for p in self.panels if p.name == name)


class _NoRoom(Exception):
    """This draw can't hold its holes; draw again."""


def random_tree(seed: int) -> TreeSpec:
    """A part of 1 to 5 bends; the same for the same seed."""
    rng = random.Random(seed)
    while True:
        try:
            return _Draw(rng).tree()
        except _NoRoom:
            continue


def setback(sizes: str, radius: float, thickness: float, turn: float) -> float:
    """Room between a described edge and the tangent line; only used to leave room."""
    if sizes == "tangent":
        return 0.0
    reach = radius + (0.0 if sizes == "inside" else thickness)
    return reach if turn > 90 and sizes != "mould" else reach * math.tan(math.radians(turn) / 2)


def own_left(origin: str, width: float) -> float:
    """Left end of a panel that tells only its width."""
    return {"left": 0.0, "middle": -width / 2, "right": -width}[origin]


class _Draw:
    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.inch = rng.random() < 0.2
        self.t = self.q(rng.choice([1.0, 1.5, 2.0, 3.0, 4.0, 5.0]))
        self.strip_method = rng.random() < 0.1
        self.radius = self.q(self.t * rng.uniform(0.6, 2.0))
        self.sizes = rng.choice(REFERENCES)
        self.outer = rng.choice([0.0, 0.0, self.q(1.0), self.q(2.5)])
        self.panels: list[PanelSpec] = []
        self.strip = rng.random() < 0.15

    def q(self, mm: float) -> float:
        """The length that the text will say."""
        return round(mm / 25.4, 5) * 25.4 if self.inch else round(mm, 3)

    def q2(self, mm: float) -> float:
        """The same, and so that its half can be said too."""
        return 2 * self.q(mm / 2)

    def say(self, mm: float) -> str:
        number, unit = (f"{mm / 25.4:.5f}", "in") if self.inch else (f"{mm:.3f}", "mm")
        return f'"{number} {unit}"' if self.rng.random() < 0.1 else number

    def tree(self) -> TreeSpec:
        self.topology(self.strip)
        for panel in self.panels:
            self.outline(panel)
            self.fill(panel)
        text = "\n".join(self.head() + (self.strip_words() if self.strip else self.panel_words())) + "\n"
        return TreeSpec(text, self.panels, self.t, self.outer)

    # -- which panel hangs where

    def topology(self, strip: bool) -> None:
        self.panels = [PanelSpec("first", None)]
        free = [(self.panels[0], e) for e in ([TOP] if strip else range(4))]
        bends = self.rng.randint(1, 5)
        while bends > 0 and free:
            parent, edge = free.pop(self.rng.randrange(len(free)))
            joggle = not strip and bends > 1 and self.rng.random() < 0.12
            bends -= 2 if joggle else 1
            joint = self.joint(parent.name, edge, joggle, strip)
            parent.bent[edge] = joint
            child = PanelSpec(f"p{len(self.panels)}", joint)
            self.panels.append(child)
            free += [(child, e) for e in ([TOP] if strip else (TOP, RIGHT, LEFT))]

    def joint(self, parent: str, edge: int, joggle: bool, strip: bool) -> JointSpec:
        rng = self.rng
        turn = rng.choice([90.0, 90.0, 90.0, 45.0, 30.0, 120.0, 135.0, 14.0, round(rng.uniform(10, 135), 2)])
        own = not strip and not self.strip_method and rng.random() < 0.4
        radius = self.q(self.t * rng.uniform(0.6, 2.5)) if own else self.radius
        sizes = rng.choice(REFERENCES) if not strip and rng.random() < 0.4 else self.sizes
        joint = JointSpec(parent, edge, turn, rng.choice(["up", "down"]), sizes, radius)
        if joggle:
            joint.turn = round(rng.uniform(20, 80), 1)
            rise = math.radians(joint.turn)
            least = (2 * radius + self.t) * (1 - math.cos(rise)) + math.sin(rise)
            joint.offset = self.q(least + rng.uniform(0.5, 15))
        if not strip:
            joint.origin = rng.choice(["left", "middle", "right"])
        return joint

    # -- how big

    def room(self, panel: PanelSpec, edge: int) -> float:
        joint = panel.joint if edge == BOTTOM and panel.joint else panel.bent.get(edge)
        if joint is None:
            return _EDGE_ROOM_MM + (panel.side_room if edge in (LEFT, RIGHT) else 0.0)
        return setback(joint.sizes, joint.radius, self.t, joint.turn) + _RELIEF_ROOM_MM

    def outline(self, panel: PanelSpec) -> None:
        rng, joint = self.rng, panel.joint
        up = self.room(panel, BOTTOM) + self.room(panel, TOP)
        sides = bool(panel.bent.keys() & {LEFT, RIGHT})
        height = self.q2(up + rng.uniform(40, 80) if sides or not joint else up + rng.uniform(14, 45))
        across = self.room(panel, LEFT) + self.room(panel, RIGHT)
        if joint is None:
            width = self.q2(across + rng.uniform(60, 130))
            panel.origin = "left" if self.strip else rng.choice(["left", "middle", "right"])
            panel.left_told = not self.strip and rng.random() < 0.4
            left = self.q(rng.uniform(-20, 20)) if panel.left_told else own_left(panel.origin, width)
        else:
            left, width = self.seat(panel, joint)
        if width < self.room(panel, LEFT) + self.room(panel, RIGHT) + 14:
            raise _NoRoom
        self.draw_outline(panel, left, width, height)

    def seat(self, panel: PanelSpec, joint: JointSpec) -> XY:
        """Left end and width of a bent panel, and which stretch of the parent's line it takes."""
        rng = self.rng
        parent = next(p for p in self.panels if p.name == joint.parent)
        joint.start, joint.end = parent.edge(joint.edge)
        beside = [(joint.edge + 1) % 4, (joint.edge - 1) % 4]  # at the start of the line, at its end
        crowded = any(e in parent.bent or (e == BOTTOM and parent.joint) for e in beside)
        straight = parent.kind == "rectangle" or joint.edge in (BOTTOM, TOP)
        mode = rng.choice(["bend", "whole", "part", "part"] if straight else ["bend", "part"])
        if self.strip:
            mode = "bend"
        if mode == "bend":
            panel.loose = crowded or parent.kind != "rectangle"
            if panel.loose and panel.bent:
                raise _NoRoom
            panel.words = "bend"
            # A corner round on the parent takes this much off the child's sides.
            panel.side_room = max(self.room(parent, e) for e in beside) if panel.loose else 0.0
            return -joint.zero, joint.length
        if mode == "whole":
            joint.takes = (0.0, joint.length)
            return self.q(-joint.zero), self.q(joint.length)
        low, high = (self.room(parent, e) + _BESIDE_MM for e in beside)
        if rng.random() < 0.25 and not crowded and parent.kind == "rectangle":
            low = 0.0
        width = self.q2((joint.length - low - high) * rng.uniform(0.4, 1.0))
        if width < 25:
            raise _NoRoom
        start = low if low == 0.0 else rng.uniform(low, joint.length - high - width)
        if rng.random() < 0.4:
            left = own_left(joint.origin, width)
            joint.shift = self.q(start - left - joint.zero)
            panel.left_told = False
        else:
            joint.shift = self.q(rng.uniform(-5, 5)) if low else 0.0
            left = self.q(start - joint.zero)
        joint.takes = (left + joint.zero, left + joint.zero + width)
        return left, width

    def draw_outline(self, panel: PanelSpec, left: float, width: float, height: float) -> None:
        rng = self.rng
        right = left + width
        kinds = ["rectangle"] * 4 + ["polygon"] + ["belt"] * (panel.joint is not None and not panel.bent)
        panel.kind = "rectangle" if panel.words == "bend" or self.strip else rng.choice(kinds)
        panel.corners = [(left, 0.0), (right, 0.0), (right, height), (left, height)]
        if panel.kind == "polygon":
            a, b = self.q2(rng.uniform(-12, 0.2 * width)), self.q2(rng.uniform(-12, 0.2 * width))
            left, right = self.q(left), self.q(right)
            panel.corners = [(left, 0.0), (right, 0.0), (right - a, height), (left + b, height)]
            panel.clockwise = rng.random() < 0.3
        end = panel is self.panels[0] or panel is self.panels[-1]
        if panel.kind != "belt" and (end or not self.strip):
            panel.corner_radius = self.q(rng.choice([0.0, 0.0, 3.0, rng.uniform(1, 6)]))

    # -- what is in it

    def fill(self, panel: PanelSpec) -> None:
        rng = self.rng
        xs, ys = zip(*panel.corners, strict=True)
        for n in range(rng.randint(1, 4)):
            for _ in range(60):
                d = self.q(rng.uniform(3, 9))
                x, y = self.q(rng.uniform(min(xs), max(xs))), self.q(rng.uniform(min(ys), max(ys)))
                apart = all(math.dist((x, y), (h.x, h.y)) > (h.diameter + d) / 2 + 1 for h in panel.holes)
                if apart and self.fits(panel, x, y, d / 2):
                    panel.holes.append(HoleSpec(f"h{n + 1}", x, y, d))
                    break
        if not panel.holes:
            raise _NoRoom

    def fits(self, panel: PanelSpec, x: float, y: float, r: float) -> bool:
        for edge in range(4):
            (bx, by), (ax, ay) = panel.edge(edge)
            inside = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / math.hypot(bx - ax, by - ay)
            # The pad of a belt is up to twice the hole's diameter in radius, and must not reach the bend.
            if inside < self.room(panel, edge) + (4 * r if panel.kind == "belt" else r):
                return False
        return True

    # -- how a person writes it

    def head(self) -> list[str]:
        rng = self.rng
        say = self.say
        lines = [f'title = "tree"\nunits = "{"in" if self.inch else "mm"}"']
        lines.append(f'[stock]\nmetal = "S235"\nthickness = {say(self.t)}\nprocess = "laser"')
        lines.append(f'[bend]\nsizes = "{self.sizes}"\ninside_radius = {say(self.radius)}')
        lines.append(f'relief = {{ shape = "{rng.choice(["round", "square"])}" }}')
        lines.append(self.method())
        lines.append(f"[corners]\nouter = {say(self.outer)}")
        return lines

    def method(self) -> str:
        rng = self.rng
        if self.strip_method:
            k, leg = rng.uniform(0.3, 0.48), self.q(50.0)
            blank = 2 * leg - 2 * (self.radius + self.t) + math.pi / 2 * (self.radius + k * self.t)
            measured = f"blank = {self.say(self.q(blank))}, legs = [{self.say(leg)}, {self.say(leg)}]"
            return f'allowance = "test strip"\ntest_strip = {{ {measured} }}'
        return rng.choice([
            f'allowance = "K factor"\nk_factor = {rng.uniform(0.25, 0.5):.3f}',
            'allowance = "DIN 6935"',
            'allowance = "FAA"',
            f'allowance = "handbook"\nhandbook_metal = "{rng.choice(["soft", "medium", "hard"])}"',
        ])  # fmt: skip

    def strip_words(self) -> list[str]:
        first = self.panels[0].corners
        lines = [f"[strip]\nwidth = {self.say(first[1][0] - first[0][0])}"]
        for panel in self.panels:
            lines.append(f'[[strip.legs]]\nname = "{panel.name}"\nlength = {self.say(panel.corners[2][1])}')
            end = panel in (self.panels[0], self.panels[-1])
            lines.append(f"corner_radius = {self.say(panel.corner_radius)}" if end else "")
            lines += self.hole_words("strip.legs", panel)
        for panel in self.panels[1:]:
            assert panel.joint
            lines.append(f'[[strip.bends]]\nturn = {panel.joint.turn}\nway = "{panel.joint.way}"')
        return lines

    def panel_words(self) -> list[str]:
        lines = []
        for panel in self.panels:
            lines += [f"[panels.{panel.name}]", f"outline = {self.outline_words(panel)}"]
            if panel.joint:
                lines.append(self.joint_words(panel.joint))
            origin = panel.joint.origin if panel.joint else panel.origin
            if origin != "left" or self.rng.random() < 0.5:
                lines.append(f'origin = "{origin}"')
            lines += self.hole_words(f"panels.{panel.name}", panel)
        return lines

    def outline_words(self, panel: PanelSpec) -> str:
        say, corners = self.say, panel.corners
        width = f"width = {say(corners[1][0] - corners[0][0])}"
        if panel.left_told:
            width += f", left = {say(corners[0][0])}"
        if panel.kind == "belt":
            return f'{{ shape = "belt", {width} }}'
        radius = f", corner_radius = {say(panel.corner_radius)}" if panel.corner_radius else ""
        if panel.kind == "polygon":
            told = corners[::-1] if panel.clockwise else corners
            points = ", ".join(f"[{say(x)}, {say(y)}]" for x, y in told)
            return f'{{ shape = "polygon", corners = [{points}]{radius} }}'
        own = "" if panel.words == "bend" else f"{width}, "
        return f'{{ shape = "rectangle", {own}height = {say(corners[2][1])}{radius} }}'

    def joint_words(self, joint: JointSpec) -> str:
        parent = next(p for p in self.panels if p.name == joint.parent)
        edge = f'"{EDGE_WORDS[joint.edge]}"'
        if parent.kind == "polygon":
            edge = str((3, 2, 1, 4)[joint.edge] if parent.clockwise else joint.edge + 1)
        words = f'from = "{joint.parent}", edge = {edge}, way = "{joint.way}"'
        if joint.sizes != self.sizes:
            words += f', sizes = "{joint.sizes}"'
        if joint.radius != self.radius:
            words += f", inside_radius = {self.say(joint.radius)}"
        if joint.shift:
            words += f", shift = {self.say(joint.shift)}"
        if joint.offset is not None:
            return f"joggle = {{ {words}, turn = {joint.turn}, offset = {self.say(joint.offset)} }}"
        if self.rng.random() < 0.3:
            return f"bend = {{ {words}, between = {180 - joint.turn} }}"
        return f"bend = {{ {words}, turn = {joint.turn} }}"

    def hole_words(self, table: str, panel: PanelSpec) -> list[str]:
        return [
            f'[[{table}.holes]]\nname = "{h.name}"\n'
            f"at = [{self.say(h.x)}, {self.say(h.y)}]\ndiameter = {self.say(h.diameter)}"
            for h in panel.holes
        ]
