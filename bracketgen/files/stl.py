"""One closed mesh as a binary STL file, which every program that prepares 3D prints opens.

Source: 3D Systems, StereoLithography Interface Specification, October 1989, as retold by M. Burns, Automated
Fabrication, section 6.5: 80 bytes of free text, the number of facets, then for each a normal outward, three corners
anticlockwise seen from outside, two empty bytes; little end first, single floats, nothing below zero. The format knows
no unit: the numbers are millimetres (common practice, no source). The text must not begin with 'solid', which marks
the other, written form of the format.
"""

from __future__ import annotations

import struct
from typing import Final

from bracketgen.drawing.solid.mesh import Mesh
from bracketgen.errors import WriteFault
from bracketgen.geometry.space import Vector, cross, length, minus, scaled

_HEADER_BYTES: Final = 80


def stl_bytes(mesh: Mesh, remark: str) -> bytes:
    """The mesh, moved so that nothing lies below zero; as much of `remark` as the header takes stands before it.

    Raises WriteFault for a mesh that is not closed as single floats.
    """
    held = mesh.from_zero().held_as(_single)
    if held.open_edges():
        raise WriteFault(f"{mesh.name}.stl was not written: the mesh is not closed")
    text = f"bracketgen, mm: {remark}".encode("ascii", "replace")[:_HEADER_BYTES]
    facets = [_facet(*(held.points[i] for i in triangle)) for triangle in held.triangles]
    return text.ljust(_HEADER_BYTES) + struct.pack("<I", len(facets)) + b"".join(facets)


def _single(p: Vector) -> Vector:
    """The point as the file will hold it."""
    x, y, z = struct.unpack("<3f", struct.pack("<3f", *p))
    return x, y, z


def _facet(a: Vector, b: Vector, c: Vector) -> bytes:
    out = cross(minus(b, a), minus(c, a))
    size = length(out)
    # A sliver without area has no direction; readers then work it out, or leave it, by its corners.
    normal = scaled(out, 1.0 / size) if size > 0.0 else (0.0, 0.0, 0.0)
    return struct.pack("<12fH", *normal, *a, *b, *c, 0)
