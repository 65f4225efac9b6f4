"""Sections of which a person can say with a pencil whether they can be bent, for tests of bend orders.

On a press brake both wings of a square bend stand at 45 degrees in the end. A leg of length H that stands on a base of
length B next to the bend then has its tip at x = (B - H)/sqrt(2), y = (B + H)/sqrt(2) from the punch's tip (thin metal,
sharp corners): where a tool is, that can't be.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from preview_parts import strip_part
from second_replay import BendToMake, StripToBend

from bracketgen.bending.allowance import KFactor, bend_metal
from bracketgen.bending.flat import Flat, unfold
from bracketgen.part.part import Way
from bracketgen.shop.brake.brakes import LeafBrake, PressBrake, usual_leaf, usual_press

UP, DOWN = Way.UP, Way.DOWN
K = 0.42


@dataclass(frozen=True)
class Section:
    """Legs from tangent to tangent, bends as turn and way, on a brake; `makeable` as the pencil says, and `why`.

    `meets` is what the pencil finds in each other's way, metal first, for an order that gets as far as can be: one of
    several where more orders than one get as far.
    """

    name: str
    legs: tuple[float, ...]
    bends: tuple[tuple[float, Way], ...]
    brake: Callable[[], PressBrake | LeafBrake]
    makeable: bool
    why: str
    thickness: float = 2.0
    radius: float = 2.6
    meets: tuple[tuple[str, str], ...] = ()

    def flat(self) -> Flat:
        bends = [(turn, way, self.radius) for turn, way in self.bends]
        part = strip_part(self.name, 60.0, self.legs, bends, thickness=self.thickness)
        metals = {b.id: bend_metal(KFactor(K), self.radius, self.thickness, b.turn_deg) for b in part.bends}
        return unfold(part, metals)

    def strip(self) -> StripToBend:
        bends = tuple(BendToMake(turn, way is UP, self.radius) for turn, way in self.bends)
        return StripToBend(self.thickness, self.legs, bends, K)


def straight_only() -> PressBrake:
    """The usual press brake without its gooseneck: tip and body 13 mm wide, 26 mm from 72 to 100 mm, ram 60 mm."""
    brake = usual_press()
    return replace(brake, punches=tuple(p for p in brake.punches if p.name == "straight"))


SQUARE_UP, SQUARE_DOWN = (90.0, UP), (90.0, DOWN)
CHANNEL = (SQUARE_UP, SQUARE_UP)
HAT = (SQUARE_UP, SQUARE_DOWN, SQUARE_DOWN, SQUARE_UP)
LIPPED = (SQUARE_UP,) * 4

SECTIONS = (
    Section("angle", (40.0, 30.0), (SQUARE_UP,), straight_only, True, "nothing stands in the way"),
    Section("short angle", (40.0, 3.0), (SQUARE_UP,), straight_only, False,
            "3 mm + 4.6 mm setback is less than 8.5 mm, the shortest leg of V 12, the smallest die of 6 t",
            meets=(("leg 0", "die"), ("leg 1", "die"))),
    Section("channel", (30.0, 80.0, 30.0), CHANNEL, straight_only, True, "tip at x = 35, y = 78: clear of 13 mm"),
    Section("deep channel", (60.0, 50.0, 60.0), CHANNEL, straight_only, False, "tip at x = -7, y = 78: in the punch",
            meets=(("leg 0", "punch straight"), ("leg 2", "punch straight"))),
    Section("gooseneck channel", (45.0, 40.0, 45.0), CHANNEL, usual_press, True,
            "tip at x = -4, y = 60, where the gooseneck stands back to x = -22; a straight punch is hit"),
    Section("too deep channel", (120.0, 40.0, 120.0), CHANNEL, usual_press, False,
            "tip at x = -57, y = 113: the leg crosses the gooseneck's neck above 98 mm",
            meets=(("leg 0", "punch"), ("leg 2", "punch"))),
    Section("ram channel", (100.0, 120.0, 100.0), CHANNEL, straight_only, False,
            "tip at x = 14, y = 156: in the ram, which is 30 mm to either side above 100 mm",
            meets=(("leg 0", "ram"), ("leg 2", "ram"))),
    Section("hat", (25.0, 30.0, 60.0, 30.0, 25.0), HAT, straight_only, True, "feet first, then flipped for the crown"),
    Section("narrow hat", (25.0, 60.0, 24.0, 60.0, 25.0), HAT, straight_only, False,
            "second crown bend: the other leg's foot end is at x = (24 - 60)/1.41 = -25, its leg crosses the punch",
            meets=(("leg 1", "punch straight"), ("leg 3", "punch straight"))),
    Section("z", (40.0, 30.0, 40.0), (SQUARE_UP, SQUARE_DOWN), straight_only, True, "web of 30 mm rests on V 16"),
    Section("short z", (40.0, 4.0, 40.0), (SQUARE_UP, SQUARE_DOWN), straight_only, False,
            "the web of 4 mm + 4.6 mm setback is no leg for V 16 (11 mm); V 12 (8.5 mm) holds it, but the first leg, "
            "which hangs 8.6 mm out, is in that die (11 mm to either side)",
            meets=(("leg 1", "die V16"), ("bend 1", "die V12"), ("leg 0", "die V12"))),
    Section("lipped channel", (15.0, 40.0, 95.0, 40.0, 15.0), LIPPED, straight_only, True,
            "lips first; the standing lip ends at x = (104 - 49 - 20)/1.41 = 25, y = 94: the punch is 13 mm to a side"),
    Section("lipped channel on a gooseneck", (15.0, 40.0, 70.0, 40.0, 15.0), LIPPED, usual_press, False,
            "standing lip ends at x = (79 - 49 - 20)/1.41 = 7, y = 76: in the straight punch; the other lip ends at "
            "x = -21, y = 49: in the gooseneck's body; turned round, the first one is in its body",
            meets=(("leg 0", "punch"), ("leg 4", "punch"))),
    Section("narrow lipped channel", (15.0, 60.0, 45.0, 60.0, 15.0), LIPPED, usual_press, False,
            "last leg's end at x = -11 and its lip another 11 mm on, y = 64 to 74: in the gooseneck",
            meets=(("leg 0", "punch"), ("leg 1", "punch"), ("leg 3", "punch"), ("leg 4", "punch"))),
    Section("closed box", (40.0, 40.0, 40.0, 40.0), (SQUARE_UP,) * 3, usual_press, False,
            "the last side has to pass where the punch hangs",
            meets=(("leg 0", "punch"), ("leg 3", "punch"))),
    Section("sharp return", (30.0, 60.0), ((135.0, UP),), straight_only, False,
            "135 degrees: the wings end 22.5 degrees off the punch's middle, its flank is 42 degrees",
            meets=(("leg 0", "punch straight"), ("leg 1", "punch straight"))),
    Section("leaf channel", (25.0, 140.0, 25.0), CHANNEL, usual_leaf, True,
            "base of 140 mm swings up past the clamp, which is 110 mm high"),
    Section("leaf deep channel", (90.0, 60.0, 90.0), CHANNEL, usual_leaf, False,
            "clamped leg: the base of 60 mm stands before a clamp of 110 mm and its other leg reaches 90 mm over it; "
            "clamped base: the leg stands up under a clamp 140 mm deep",
            meets=(("leg 0", "nose"), ("leg 2", "nose"))),
    Section("leaf z", (40.0, 60.0, 40.0), (SQUARE_UP, SQUARE_DOWN), usual_leaf, True,
            "flipped, the first leg hangs down before the leaf's 45 mm, or behind"),
    Section("leaf sharp z", (40.0, 12.0, 40.0), (SQUARE_UP, SQUARE_DOWN), usual_leaf, False,
            "web of 12 mm: the first leg hangs into the leaf (45 mm) or into the bed",
            meets=(("leg 0", "leaf"), ("leg 0", "bed"), ("leg 2", "leaf"), ("leg 2", "bed"))),
    Section("leaf return", (60.0, 40.0), ((120.0, UP),), usual_leaf, True,
            "the leg ends 60 degrees over the sheet, the nose's front rises at 50 (54 mm over 45)"),
    Section("leaf sharp return", (60.0, 40.0), ((135.0, UP),), usual_leaf, False,
            "the leg would end 45 degrees over the sheet, inside the nose's front at 50",
            meets=(("leg 0", "nose"), ("leg 1", "nose"))),
    Section("leaf hat", (20.0, 60.0, 150.0, 60.0, 20.0), HAT, usual_leaf, True,
            "feet first: each hangs 60 mm out, clear of a leaf of 45; the first web stands behind a clamp 140 mm deep"),
    Section("leaf narrow hat", (20.0, 60.0, 60.0, 60.0, 20.0), HAT, usual_leaf, False,
            "second crown bend: the first web stands 60 mm in, where the clamp is; clamped by the web, its foot hangs "
            "into the bed; crown first, the far web lies 60 mm under the sheet, in the leaf",
            meets=(("leg 1", "nose"), ("leg 3", "nose"), ("leg 0", "bed"), ("leg 4", "bed"), ("leg 3", "leaf"))),
    Section("leaf lipped channel", (12.0, 40.0, 160.0, 40.0, 12.0), LIPPED, usual_leaf, True,
            "lips first; a wall 40 mm high with its lip of 12 mm in: the nose's front is 33 mm back there; the other "
            "lip ends 148 mm in, behind the clamp"),
    Section("leaf narrow lipped channel", (12.0, 40.0, 80.0, 40.0, 12.0), LIPPED, usual_leaf, False,
            "second wall: the first stands 80 mm in, in the clamp; clamped by the wall, its lip stands 40 mm in",
            meets=(("leg 1", "nose"), ("leg 3", "nose"), ("leg 0", "nose"), ("leg 4", "nose"))),
    Section("leaf hook", (130.0, 200.0, 115.0, 210.0), (SQUARE_UP,) * 3, usual_leaf, False,
            "the last leg runs 115 mm over the base and 210 mm back, through the lip that stands 130 mm high at 200",
            meets=(("leg 0", "leg 3"),)),
)  # fmt: skip


def corrugated(n: int) -> Flat:
    """Steps up and down, all square."""
    ways = tuple((90.0, UP if i % 2 == 0 else DOWN) for i in range(n))
    return Section("steps", (30.0,) * (n + 1), ways, usual_press, True, "").flat()
