"""One closed mesh as a file for 3D prints: binary STL that every such program opens, and 3MF."""

from __future__ import annotations

import struct
from collections.abc import Callable
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from bracketgen.drawing.solid.mesh import Mesh
from bracketgen.errors import WriteFault
from bracketgen.files.disk import fixed_zip
from bracketgen.geometry.space import Vector, cross, length, minus, scaled


def _closed(mesh: Mesh, held: Callable[[Vector], Vector], ending: str) -> Mesh:
    """The mesh as the file will hold its corners, moved so that nothing lies below zero. Raises WriteFault."""
    closed = mesh.from_zero().held_as(held)
    if closed.open_edges():
        raise WriteFault(f"{mesh.name}.{ending} was not written: the mesh is not closed")
    return closed


# -- STL
#
# Source: 3D Systems, StereoLithography Interface Specification, October 1989, as retold by M. Burns, Automated
# Fabrication, section 6.5: 80 bytes of free text, the number of facets, then for each a normal outward, three corners
# anticlockwise seen from outside, two empty bytes; little end first, single floats, nothing below zero. The format
# knows no unit: the numbers are millimetres (common practice, no source). The text must not begin with 'solid', which
# marks the other, written form of the format.

_HEADER_BYTES: Final = 80


def stl_bytes(mesh: Mesh, remark: str) -> bytes:
    """The mesh, moved so that nothing lies below zero; as much of `remark` as the header takes stands before it.

    Raises WriteFault for a mesh that is not closed as single floats.
    """
    held = _closed(mesh, _single, "stl")
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


# -- 3MF: a zip with an XML text in millimetres
#
# Source: 3MF Consortium, 3MF Core Specification 1.2.4: chapter 2 and appendix C (parts, relationships, content types),
# 3.1 and 3.3 (x right, y back, z up; nothing below zero), 3.4 (model, metadata, build), 4.1 (closed, turned outward,
# every corner once). The same bytes for the same mesh: no clock, fixed zip entries.

_HEAD: Final = '<?xml version="1.0" encoding="UTF-8"?>\n'
_MODEL: Final = "3D/3dmodel.model"
_CORE: Final = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_TYPES: Final = (
    f'{_HEAD}<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n'
)
_RELATIONS: Final = (
    f'{_HEAD}<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Target="/{_MODEL}" Id="model" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)
#: Digits after the point, mm: as fine as the model tells two corners apart.
_DIGITS: Final = 7


def three_mf_bytes(mesh: Mesh, title: str, description: str, stamp: str = "") -> bytes:
    """The mesh as the only object of a file, moved so that nothing lies below zero; `stamp` is the zip's comment.

    Raises WriteFault for a mesh that is not closed.
    """
    held = _closed(mesh, _held, "3mf")
    texts = {"[Content_Types].xml": _TYPES, "_rels/.rels": _RELATIONS, _MODEL: _model(held, title, description)}
    return fixed_zip({name: text.encode("utf-8") for name, text in texts.items()}, stamp)


def _held(p: Vector) -> Vector:
    x, y, z = (round(c, _DIGITS) for c in p)
    return x, y, z


def _model(mesh: Mesh, title: str, description: str) -> str:
    told = (("Title", title), ("Application", "bracketgen"), ("Description", description))
    lines = [
        f'{_HEAD}<model unit="millimeter" xmlns="{_CORE}">',
        *(f'<metadata name="{name}">{escape(_plain(words))}</metadata>' for name, words in told),
        f'<resources><object id="1" type="model" name={quoteattr(_plain(mesh.name))}><mesh><vertices>',
        *(f'<vertex x="{_number(x)}" y="{_number(y)}" z="{_number(z)}"/>' for x, y, z in mesh.points),
        "</vertices><triangles>",
        *(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles),
        '</triangles></mesh></object></resources><build><item objectid="1"/></build>',
        "</model>",
    ]
    return "\n".join(lines) + "\n"


def _plain(words: str) -> str:
    """The words on one line without the signs that XML can't hold."""
    return " ".join("".join(c if c.isprintable() else " " for c in words).split())


def _number(value: float) -> str:
    return f"{value:.{_DIGITS}f}".rstrip("0").rstrip(".")
