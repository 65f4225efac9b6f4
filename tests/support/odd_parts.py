"""Odd parts that are hard to put on paper: many holes, long, tiny, many bends, long words, inches, many findings."""

from __future__ import annotations

from functools import cache

from bracketgen.bending.flat import Flat
from bracketgen.bending.fold import Folded
from bracketgen.findings import Finding
from bracketgen.pipeline import work_out

_THIRTY = """
title = "Thirty holes"
units = "mm"
[stock]
metal = "S235"
thickness = 3
process = "hand"
[panels.plate]
outline = { shape = "rectangle", width = 210, height = 130, corner_radius = 6 }
[[panels.plate.holes]]
bolt = "M6"
at = [15, 15]
pattern = { kind = "grid", columns = 6, rows = 5, spacing = [36, 25] }
"""

_RAIL = """
title = "Cable rail along the left side of the bed"
units = "mm"
[stock]
metal = "S355"
thickness = 4
process = "plasma"
grain = "0 deg"
[bend]
inside_radius = 5
sizes = "outside"
[panels.rail]
outline = { shape = "rectangle", width = 900, height = 45 }
[[panels.rail.holes]]
bolt = "M8"
at = [30, 20]
pattern = { kind = "row", count = 8, spacing = 120 }
[panels.lip]
outline = { shape = "rectangle", height = 40, corner_radius = 5 }
bend = { from = "rail", edge = "top", turn = 90, way = "up" }
"""

_TINY = """
title = "Lock tab"
units = "mm"
[stock]
metal = "304"
thickness = 1
process = "laser"
[panels.tab]
outline = { shape = "rectangle", width = 20, height = 15, corner_radius = 2 }
[[panels.tab.holes]]
bolt = "M4"
at = [7, 7.5]
"""

_FIVE = """
title = "Stepped stay"
units = "mm"
near = ["fuel", "exhaust", "brake", "battery", "load"]
[stock]
metal = "S235"
thickness = 2
process = "laser"
grain = "90 deg"
[bend]
inside_radius = 2
sizes = "outside"
[strip]
width = 30
bends = [
  { turn = 90, way = "up" },
  { turn = 90, way = "down" },
  { turn = 45, way = "up" },
  { turn = 45, way = "down" },
  { turn = 120, way = "up" },
]
[[strip.legs]]
length = 40
corner_radius = 6
[[strip.legs.holes]]
bolt = "M6"
at = [15, 15]
[[strip.legs]]
length = 35
[[strip.legs]]
length = 45
[[strip.legs]]
length = 30
[[strip.legs]]
length = 45
[[strip.legs]]
length = 35
corner_radius = 6
"""

_LONG_WORDS = """
title = "Bracket for the auxiliary hydraulic oil cooler's return hose, behind the cab"
units = "in"
near = ["oil", "fuel", "exhaust"]
[stock]
metal = "A36"
thickness = "3/16 in"
process = "plasma"
coating = { kind = "paint", film = "0.003 in" }
[bend]
inside_radius = "1/4 in"
sizes = "outside"
[panels.the_face_that_lies_on_the_frame_rail]
outline = { shape = "rectangle", width = "5 1/2", height = 3, corner_radius = "3/8" }
[[panels.the_face_that_lies_on_the_frame_rail.holes]]
name = "hole for the bolt nearest the cab"
bolt = "3/8"
at = [1, 1]
[[panels.the_face_that_lies_on_the_frame_rail.holes]]
bolt = "5/16"
slot = { length = "3/4", direction = 30 }
at = [4, 1]
[panels.the_leg_that_carries_the_cooler]
outline = { shape = "rectangle", height = "2 1/4", corner_radius = "3/8" }
bend = { from = "the_face_that_lies_on_the_frame_rail", edge = "top", turn = 90, way = "up" }
"""

_FINDINGS = """
title = "Full of faults"
units = "mm"
near = ["fuel"]
[stock]
metal = "S235"
thickness = 5
process = "plasma"
[bend]
inside_radius = 3
sizes = "outside"
[panels.base]
outline = { shape = "rectangle", width = 120, height = 70 }
[[panels.base.holes]]
diameter = 3
at = [4, 4]
pattern = { kind = "grid", columns = 6, rows = 3, spacing = [8, 8] }
[[panels.base.holes]]
name = "near"
bolt = "M8"
at = [60, 60]
[panels.leg]
outline = { shape = "rectangle", height = 12 }
bend = { from = "base", edge = "top", turn = 90, way = "down" }
"""

ODD = {
    "thirty holes": _THIRTY,
    "rail of 900": _RAIL,
    "tiny tab": _TINY,
    "five bends": _FIVE,
    "long words": _LONG_WORDS,
    "many findings": _FINDINGS,
}


@cache
def odd_part(name: str) -> tuple[Flat, Folded, tuple[Finding, ...]]:
    """The flat, the folded part and what the rules say."""
    made = work_out(ODD[name], f"{name}.toml", name)
    return made.flat, made.folded, made.findings
