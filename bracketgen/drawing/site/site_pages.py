"""From the part in its place to what is shown of it: the sheet, and the model in space."""

from __future__ import annotations

from typing import Final

from bracketgen.drawing.model.mesh_of import part_meshes, solid_mesh
from bracketgen.drawing.model.model3d import Finish, Mesh
from bracketgen.drawing.paper.palette import DESCRIBED_FACE
from bracketgen.drawing.sheet import Sheet
from bracketgen.drawing.site.scene import GapMark, Role, Shown, Verdict
from bracketgen.drawing.site.site_view import site_sheet
from bracketgen.findings import Level
from bracketgen.fit.in_place import InPlace
from bracketgen.fit.near.clearance import PairCheck
from bracketgen.fit.near.clearance_findings import pair_findings
from bracketgen.fit.near.clearance_scene import Role as Standing_role
from bracketgen.fit.near.clearance_scene import Standing
from bracketgen.geometry.frame import Vector
from bracketgen.geometry.vector import scaled, unit

#: How far the model's triangles may lie from the true surface, mm.
CHORD_MM: Final = 0.1


def site_page(place: InPlace) -> Sheet:
    """The sheet of the part in its place."""
    return site_sheet(
        place.placed,
        shown_things(place),
        [gap_mark(pair) for pair in place.pairs],
        site_title=place.site.document.title,
        down=unit(place.site.document.down),
    )


def site_meshes(place: InPlace) -> list[Mesh]:
    """The part, its bolts and everything near as meshes in the site's frame; rooms of moving things as ghosts."""
    meshes = part_meshes(place.placed.folded, place.placed.frame, DESCRIBED_FACE, chord_mm=CHORD_MM)
    for thing in shown_things(place):
        finish = Finish.GHOST if thing.role is Role.ENVELOPE else Finish.SOLID
        for n, solid in enumerate(thing.solids, 1):
            name = thing.name if len(thing.solids) == 1 else f"{thing.name} {n}"
            meshes.append(solid_mesh(solid, name, thing.colour, chord_mm=CHORD_MM, finish=finish))
    return meshes


def site_up(place: InPlace) -> Vector:
    """Upward at the site."""
    return scaled(unit(place.site.document.down), -1.0)


def shown_things(place: InPlace) -> list[Shown]:
    """Neighbours, what is carried, bolts, and pipes where they stand hot."""
    shown = [_shown(thing) for thing in place.scene.things]
    for bolt in place.scene.bolts:
        solids = tuple(solid for _, solid in bolt.all)
        shown.append(Shown(f"{bolt.bolt.size} at {bolt.bolt.part_hole}", "metal", solids, Role.BOLT))
    for thing in place.scene.things:
        if thing.growth is not None:
            hot = tuple(thing.states[-1][1])
            shown.append(Shown(f"{thing.title}, hot", thing.kind.matter, hot, Role.ENVELOPE))
    return shown


def _shown(thing: Standing) -> Shown:
    role = Role.CARRIED if thing.role is Standing_role.CARRIED else Role.NEIGHBOUR
    return Shown(thing.title, thing.kind.matter, thing.solids, role)


def gap_mark(pair: PairCheck) -> GapMark:
    """One pair as the sheet shows it: what is asked is the larger of gap and heat."""
    asked = [n.mm for n in (pair.needed, pair.heat) if n is not None and n.mm is not None]
    failed = any(f.level is Level.FAIL for f in pair_findings(pair))
    required = max(asked) if asked and pair.needed.mm is not None else None
    return GapMark(pair.a, pair.b, pair.least.gap, required, Verdict.FAIL if failed else Verdict.CLEAR)
