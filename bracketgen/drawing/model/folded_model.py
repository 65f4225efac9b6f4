"""The folded part on its own as a model in space: its exact skin, and its mesh for mock-ups and 3D prints."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bracketgen.bending.fold import Folded
from bracketgen.drawing.model.brep import Skin, open_rims, skin_of
from bracketgen.drawing.model.model3d import Mesh
from bracketgen.drawing.model.skin_mesh import CHORD_MM, skin_mesh
from bracketgen.drawing.paper.palette import DESCRIBED_FACE
from bracketgen.errors import GeometryFault

#: What stands in the files that are made for printing; the first must fit an STL's header.
FACETS: Final = f"facets within {CHORD_MM:g} mm of the true surface"
MOCK_UP: Final = "A print is for trying the fit: it carries no load and stands no heat."


@dataclass(frozen=True, slots=True)
class FoldedModel:
    """The closed skin of a part, and the mesh that every face of it gave."""

    skin: Skin
    mesh: Mesh
    cautions: tuple[str, ...]

    @property
    def about(self) -> str:
        """What a reader of a printable file should know."""
        return " ".join((f"{FACETS[0].upper()}{FACETS[1:]}.", MOCK_UP, *self.cautions))


def folded_model(folded: Folded, name: str) -> FoldedModel:
    """The part's model. Raises GeometryFault where the metal crosses or touches itself, so that it is no solid."""
    skin = skin_of(folded)
    loose = open_rims(skin)
    if loose:
        x, y, z = skin.corners[skin.rims[loose[0]].start]
        what = f"the folded part touches itself at ({x:.2f}, {y:.2f}, {z:.2f}) mm"
        raise GeometryFault(what, cure="leave a gap between its panels")
    return FoldedModel(skin, skin_mesh(skin, name, DESCRIBED_FACE), folded.part.cautions)
