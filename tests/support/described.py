"""Descriptions that work, for tests: between them they use nearly every key there is."""

from __future__ import annotations

#: A panel with most kinds of holes and cuts, an arm bent from a polygon's edge, and an offset foot.
PLATE_WITH_EVERYTHING = """\
title = "Carrier plate"
units = "mm"
note = "bench sample"
near = ["fuel", "load"]
[stock]
metal = "6061-T4"
thickness = "11 ga"
process = "plasma"
grain = "45 deg"
sheet = [2000, 1000]
coating = { kind = "powder", film = "0.1 mm" }
[bend]
die = 25
minimum_leg = 10
allowance = "test strip"
sizes = "mould"
relief = { shape = "square", width = 5, depth = 4 }
test_strip = { blank = 100, legs = [52.4, 52.4], turn = 90, sizes = "outside" }
[corners]
outer = 1.5
[rules]
edge_distance = "aviation 2D"
[parameters]
reach = { value = "50 mm", least = "40 mm", most = 60, help = "how far the window stands" }
bolts = { value = 4, kind = "count" }
gap = "(reach / 10)"
[cut_file]
also = ["marks", "bends"]
[panels.base]
origin = "middle"
outline = { shape = "polygon", corner_radius = 4, corners = [[-60, 0], [60, 0], { at = [75, 40], radius = 6 }, \
[60, 80], [-60, 80]] }
[[panels.base.holes]]
name = "circle"
bolt = "M6"
fit = "close"
at = [0, 40]
slot = { length = 12, direction = "radial" }
pattern = { kind = "bolt circle", diameter = 40, count = "bolts", start = 45, over = 360 }
[[panels.base.holes]]
name = "grid"
diameter = 5
at = [-50, 60]
pattern = { kind = "grid", columns = 2, rows = 2, spacing = [10, 9] }
turned = 3
mirrored = "up-down"
[[panels.base.holes]]
tap = "M6"
at = [40, 60]
[[panels.base.holes]]
dowel = 8
at = [-40, 20]
[[panels.base.holes]]
rivet_nut = "M6"
at = [40, 20]
[[panels.base.cutouts]]
name = "window"
shape = "rectangle"
at = [0, "(reach + 22 mm)"]
size = [20, 6]
corner_radius = 1
clearance = 0.5
[[panels.base.cutouts]]
shape = "slot"
at = [0, 10]
size = [20, 6]
turned = 5
[[panels.base.cutouts]]
shape = "polygon"
points = [[-52, 36], [-44, 36], [-48, 42]]
[[panels.base.saddles]]
tube = 30
at = [65, 45]
gap = 1
[[panels.base.marks]]
start = [-10, 25]
end = [10, 25]
[[panels.base.welds]]
edge = 5
throat = 3
length = 30
sides = "face"
to = "rail"
[[panels.base.welds]]
saddle = 1
leg = 5
[panels.arm]
outline = { shape = "belt", width = 40, left = 0, pads = [{ at = [20, 40], radius = 15 }] }
bend = { from = "base", edge = 4, between = 120, way = "down", shift = 30, relief = { shape = "round" } }
pad = 14
[[panels.arm.holes]]
bolt = "M8"
at = [20, 45]
isolator = { kind = "pad", height = 6, hole = 9, sleeve = 8, torque = 7.5 }
[panels.step]
origin = "middle"
outline = { shape = "arms", arm = 12, fillet = 6, width = 50, pads = [{ at = [0, 15], radius = 12 }] }
joggle = { from = "base", edge = 1, way = "up", offset = 12, turn = 45 }
[[panels.step.holes]]
bolt = "M8"
nut = "welded"
at = [-20, 40]
pattern = { kind = "points", points = [[0, 0], [40, 0]] }
pad = 12
[[waivers]]
rule = "hole-edge"
subject = "*"
reason = "bench part, tried before"
"""

#: A strip in inches, an extra panel on one of its legs.
STRIP_IN_INCHES = """\
title = "Saddle over the frame"
units = "in"
[stock]
metal = "304"
thickness = "16 ga"
[bend]
inside_radius = "1/16 in"
allowance = "handbook"
handbook_metal = "medium"
[parameters.rise]
value = 1.25
kind = "length"
[strip]
width = 2
sizes = "outside"
legs = [
  { length = 1, corner_radius = 0.25, holes = [{ bolt = "1/4", at = [1, 0.5] }] },
  { length = "rise" },
  { length = "2-1/2 in", name = "roof", cutouts = [{ shape = "disc", diameter = 0.5, at = [1, 1.2] }], \
marks = [{ start = [0.2, 1], end = [0.4, 1] }] },
  { length = "rise" },
  { length = 1 },
]
bends = [
  { turn = 90, way = "up" },
  { between = 90, way = "down" },
  { turn = 90, way = "down" },
  { turn = 90, way = "up" },
]
[panels.ear]
outline = { shape = "rectangle", width = 1, height = 0.8, corner_radius = 0.1 }
bend = { from = "roof", edge = "left", turn = 45, way = "down", sizes = "tangent", shift = 0.5, inside_radius = 0.125 }
"""

#: A ring, without any bend.
RING = """\
title = "Pump ring"
units = "mm"
[stock]
metal = "S355"
thickness = 8
process = "waterjet"
[panels.flange]
outline = { shape = "disc", diameter = 120, inside = 60, at = [0, 0] }
[[panels.flange.holes]]
bolt = "M8"
pattern = { kind = "bolt circle", diameter = 90, count = 6 }
[[panels.flange.holes]]
name = "corners"
diameter = 4
pattern = { kind = "corners", size = [70, 40] }
"""

#: A belt with a panel bent on along a line.
BELT = """\
title = "Hose guard"
units = "mm"
[stock]
metal = "S235"
thickness = 2
[bend]
nose_radius = 2
allowance = "K factor"
k_factor = 0.42
sizes = "inside"
[panels.plate]
outline = { shape = "belt" }
pad = 15
[[panels.plate.holes]]
bolt = "M6"
pattern = { kind = "row", count = 2, spacing = 60, direction = 0 }
[panels.lip]
outline = { shape = "rectangle", height = 20, width = 40, chamfer = 3, left = 0 }
bend = { from = "plate", line = [[10, -30], [50, -30]], turn = 90, way = "up" }
"""

WORKING = {
    "everything": PLATE_WITH_EVERYTHING,
    "strip": STRIP_IN_INCHES,
    "ring": RING,
    "belt": BELT,
}


def plate(*further: str, outline: str = 'shape = "rectangle", width = 100, height = 80', stock: str = "") -> str:
    """One flat panel 'base' of 2 mm S235 with sharp corners, and whatever else."""
    return "\n".join(
        (
            'title = "Plate"\nunits = "mm"\n[corners]\nouter = 0\n[stock]\nmetal = "S235"\nthickness = 2',
            stock,
            f"[panels.base]\noutline = {{ {outline} }}",
            *further,
            "",
        )
    )


def angle(
    bend: str = "turn = 90",
    *further: str,
    table: str = 'inside_radius = 3\nallowance = "K factor"\nk_factor = 0.4\nsizes = "outside"',
    leg: str = 'shape = "rectangle", height = 30',
    way: str = "up",
) -> str:
    """A base 80 wide and 50 high and a leg of 30 bent from its top edge, 2 mm S235, inside radius 3, K = 0.4."""
    return plate(
        f"[panels.leg]\noutline = {{ {leg} }}",
        f'bend = {{ from = "base", edge = "top", way = "{way}", {bend} }}',
        *further,
        f"[bend]\n{table}",
        outline='shape = "rectangle", width = 80, height = 50',
    )
