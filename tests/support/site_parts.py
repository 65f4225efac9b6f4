"""A flat bracket and a site for it, for tests of the place: two tab holes 80 mm apart, the plate hanging down."""

from __future__ import annotations

from bracketgen.bending.flat import unfold
from bracketgen.bending.fold import Folded, fold
from bracketgen.description.making.build import build
from bracketgen.description.read import Description, read
from bracketgen.findings import Finding
from bracketgen.geometry.arrays import Floats
from bracketgen.geometry.space import Frame, Vector
from bracketgen.vehicle.in_place import InPlace, seen_in_place
from bracketgen.vehicle.locate.locate import Located, LocatedHole
from bracketgen.vehicle.site import Site, read_site

#: The plate: x from -20 to 100, y from -60 to 20, its back on the tabs, so metal from z = 0 to 3 of the site.
PLATE = """
title = "plate on two tabs"
units = "mm"
[stock]
metal = "S235"
thickness = 3
[panels.plate]
outline = { shape = "polygon", corners = [[-20, -60], [100, -60], [100, 20], [-20, 20]] }
[[panels.plate.holes]]
name = "tab"
bolt = "M8"
at = [0, 0]
pattern = { kind = "row", count = 2, spacing = 80 }
[site]
file = "truck.site.toml"
[site.bolts]
"plate/tab-1" = "tabs.A"
"plate/tab-2" = "tabs.B"
"""

SITE = """
title = "two tabs"
units = "mm"
down = [0, -1, 0]
[faces.tabs]
thickness = 5
[faces.tabs.holes]
A = { diameter = 9 }
B = { diameter = 9 }
"""


def site_of(text: str) -> Site:
    return read_site(text, "truck.site.toml", "truck")


def located_at(site: Site, places: dict[str, Vector], normals: dict[str, Vector] | None = None) -> Located:
    """Old holes exactly where a test says; the normal of a face is z unless given."""
    import numpy as np

    holes = []
    for id_, at in places.items():
        face, _, name = id_.partition(".")
        old = site.document.faces[face].holes[name]
        normal = (normals or {}).get(face, (0.0, 0.0, 1.0))
        holes.append(LocatedHole(id_, face, site.document.faces[face].body, at, normal, old.diameter, old.thread))
    none: Floats = np.zeros((3 * len(holes), 3 * len(holes)))
    frames = {face: Frame() for face in site.document.faces}
    return Located(tuple(holes), none, frames, (), 0.0, 0, None, (), (), ())


TABS: dict[str, Vector] = {"tabs.A": (0.0, 0.0, 0.0), "tabs.B": (80.0, 0.0, 0.0)}


def folded_of(text: str) -> tuple[Description, Folded]:
    reading = read(text, "plate.toml")
    job = build(reading, "plate")
    unfold(job.part, job.allowances)
    return reading, fold(job.part)


def seen(
    more: str = "",
    plate: str = PLATE,
    site: str = SITE,
    places: dict[str, Vector] | None = None,
    normals: dict[str, Vector] | None = None,
) -> InPlace:
    """The plate at the site, with `more` lines at the end of the site file; no tool is tried on its bolts."""
    reading, folded = folded_of(plate)
    table = reading.document.site
    assert table is not None
    here = site_of(site + more)
    return seen_in_place(folded, table, reading.source, here, located_at(here, places or TABS, normals), tools=False)


def found(rule: str, place: InPlace) -> list[Finding]:
    return [f for f in place.findings if f.rule == rule]
