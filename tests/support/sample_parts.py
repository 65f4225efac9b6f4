"""Descriptions for tests that want every kind of outline, hole and bend; and all shapes of the project."""

from __future__ import annotations

from pathlib import Path

SHAPES = Path(__file__).parents[2] / "shapes"

_HEAD = """
units = "mm"
[stock]
metal = "S235"
thickness = 3
[bend]
inside_radius = 3
sizes = "outside"
"""

_FILTER_MOUNT = """
title = "fuel filter mount"
near = ["fuel"]
units = "mm"
[stock]
metal = "S235"
thickness = "4 mm"
process = "laser"
grain = "90 deg"
[bend]
inside_radius = "6 mm"
sizes = "outside"
[parameters.spacing]
value = "62 mm"
[panels.base]
outline = { shape = "rectangle", width = 110, height = 70, corner_radius = 8 }
[[panels.base.holes]]
name = "tab"
bolt = "M8"
at = [24, 20]
pattern = { kind = "row", count = 2, spacing = "spacing" }
[panels.upright]
outline = { shape = "rectangle", width = 70, height = 55, corner_radius = 6 }
origin = "middle"
bend = { from = "base", edge = "top", turn = 90, way = "up" }
[[panels.upright.holes]]
name = "head"
bolt = "M10"
at = [-19, 38]
pattern = { kind = "row", count = 2, spacing = 38 }
"""

_TRAY = f"""
title = "tray"
{_HEAD}
allowance = "K factor"
k_factor = 0.42
[panels.floor]
outline = {{ shape = "rectangle", width = 120, height = 80 }}
[[panels.floor.cutouts]]
shape = "slot"
at = [60, 40]
size = [50, 14]
turned = "30 deg"
[panels.n]
outline = {{ shape = "rectangle", height = 25, corner_radius = 4 }}
bend = {{ from = "floor", edge = "top", turn = 90, way = "up" }}
[panels.e]
outline = {{ shape = "rectangle", height = 25 }}
bend = {{ from = "floor", edge = "right", turn = 90, way = "up" }}
[panels.s]
outline = {{ shape = "rectangle", height = 25, width = 60, left = 20 }}
bend = {{ from = "floor", edge = "bottom", turn = 120, way = "up" }}
[panels.lip]
outline = {{ shape = "rectangle", height = 20 }}
bend = {{ from = "e", edge = "top", between = 90, way = "down" }}
"""

_BELT = f"""
title = "breather can bracket"
{_HEAD}
relief = {{ shape = "square" }}
[panels.back]
outline = {{ shape = "belt" }}
[[panels.back.holes]]
bolt = "M8"
at = [0, 0]
[[panels.back.holes]]
bolt = "M6"
at = [60, 8]
slot = {{ length = 16, direction = 20 }}
[panels.shelf]
outline = {{ shape = "belt", width = 50, left = 0 }}
bend = {{ from = "back", line = [[5, 40], [55, 40]], turn = 75, way = "down" }}
[[panels.shelf.holes]]
diameter = 8
at = [25, 45]
"""

_ARMS = f"""
title = "three-armed plate"
{_HEAD}
[panels.plate]
outline = {{ shape = "arms", arm = 18, fillet = 12, hub = [0, 0], hub_radius = 22 }}
[[panels.plate.holes]]
bolt = "M8"
pattern = {{ kind = "bolt circle", diameter = 120, count = 3, start = "90 deg" }}
[[panels.plate.holes]]
name = "middle"
diameter = 22
"""

_RING = f"""
title = "flange"
{_HEAD}
[panels.flange]
outline = {{ shape = "disc", diameter = 140, inside = 62 }}
[[panels.flange.holes]]
bolt = "M10"
pattern = {{ kind = "bolt circle", diameter = 105, count = 6 }}
"""

_SADDLE = f"""
title = "hanger tab with a saddle"
{_HEAD}
[corners]
outer = 2
[panels.tab]
outline = {{ shape = "polygon", corners = [[0, 0], [90, 0], [70, 75], [20, 75]], corner_radius = 8 }}
[[panels.tab.saddles]]
tube = 50
at = [45, -8]
gap = 1
[[panels.tab.holes]]
bolt = "M10"
at = [45, 52]
"""

_JOGGLE = f"""
title = "offset bracket"
{_HEAD}
[panels.foot]
outline = {{ shape = "rectangle", width = 60, height = 50 }}
[[panels.foot.holes]]
bolt = "M8"
at = [15, 18]
pattern = {{ kind = "row", count = 2, spacing = 30 }}
[panels.tongue]
outline = {{ shape = "rectangle", width = 36, height = 45, corner_radius = 5 }}
origin = "middle"
joggle = {{ from = "foot", edge = "top", offset = 12, turn = 45, way = "up" }}
[[panels.tongue.holes]]
bolt = "M8"
at = [0, 26]
"""

_HAT = f"""
title = "hat"
{_HEAD}
[strip]
width = 40
bends = [
  {{ turn = 90, way = "up" }},
  {{ turn = 90, way = "down" }},
  {{ turn = 90, way = "down" }},
  {{ turn = 90, way = "up" }},
]
[[strip.legs]]
length = 30
corner_radius = 6
[[strip.legs.holes]]
bolt = "M6"
at = [20, 12]
[[strip.legs]]
length = 35
[[strip.legs]]
length = 50
[[strip.legs]]
length = 35
[[strip.legs]]
length = 30
corner_radius = 6
"""

_OWN = {
    "filter": _FILTER_MOUNT,
    "tray": _TRAY,
    "belt": _BELT,
    "arms": _ARMS,
    "ring": _RING,
    "saddle": _SADDLE,
    "joggle": _JOGGLE,
    "hat": _HAT,
}


def sample_texts() -> dict[str, tuple[str, str]]:
    """Text and folder of every sample and every shape, by name."""
    found = {name: (text, ".") for name, text in _OWN.items()}
    for path in sorted(SHAPES.glob("*.toml")):
        found[f"shapes/{path.stem}"] = (path.read_text(encoding="utf-8"), str(path.parent))
    return found
