"""Readers of STL and 3MF of their own, from what the formats' descriptions print; nothing of the package is used."""

from __future__ import annotations

import io
import math
import struct
import zipfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

Corner = tuple[float, float, float]
Facet = tuple[Corner, Corner, Corner]

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
_PACKAGE = "{http://schemas.openxmlformats.org/package/2006/%s}"


@dataclass(frozen=True)
class ReadStl:
    header: bytes
    normals: list[Corner]
    facets: list[Facet]


@dataclass(frozen=True)
class Read3mf:
    metadata: dict[str, str]
    name: str
    points: list[Corner]
    triangles: list[tuple[int, int, int]]

    @property
    def facets(self) -> list[Facet]:
        return [(self.points[a], self.points[b], self.points[c]) for a, b, c in self.triangles]


def read_stl(data: bytes) -> ReadStl:
    """80 bytes, a count, then 50 bytes a facet: normal, three corners, two bytes that are to be 0."""
    (count,) = struct.unpack_from("<I", data, 80)
    assert len(data) == 84 + 50 * count
    assert not data.startswith(b"solid")
    normals, facets = [], []
    for numbers in struct.iter_unpack("<12fH", data[84:]):
        assert numbers[12] == 0
        normals.append(numbers[0:3])
        facets.append((numbers[3:6], numbers[6:9], numbers[9:12]))
    return ReadStl(data[:80], normals, facets)


def read_3mf(data: bytes) -> Read3mf:
    """By the way of the package: root relationship, its target's content type, then the model part."""
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        assert package.testzip() is None
        types = ElementTree.fromstring(package.read("[Content_Types].xml"))
        relations = ElementTree.fromstring(package.read("_rels/.rels"))
        assert types.tag == _PACKAGE % "content-types" + "Types"
        kinds = {d.attrib["Extension"]: d.attrib["ContentType"] for d in types}
        assert kinds["rels"] == "application/vnd.openxmlformats-package.relationships+xml"
        (start,) = [
            r.attrib["Target"]
            for r in relations.iter(_PACKAGE % "relationships" + "Relationship")
            if r.attrib["Type"] == "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
        ]
        assert start.startswith("/") and kinds[start.rpartition(".")[2]] == (
            "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
        )
        assert len(package.namelist()) == 3
        model = ElementTree.fromstring(package.read(start[1:]))
    return _model(model)


def _model(model: ElementTree.Element) -> Read3mf:
    assert model.tag == f"{CORE}model" and model.attrib["unit"] == "millimeter"
    *metadata, resources, build = model
    assert all(m.tag == f"{CORE}metadata" for m in metadata)
    assert (resources.tag, build.tag) == (f"{CORE}resources", f"{CORE}build")
    (thing,), (item,) = resources, build
    assert thing.attrib["type"] == "model" and item.attrib == {"objectid": thing.attrib["id"]}
    (mesh,) = thing
    vertices, triangles = mesh
    points = [(float(v.attrib["x"]), float(v.attrib["y"]), float(v.attrib["z"])) for v in vertices]
    faces = [(int(t.attrib["v1"]), int(t.attrib["v2"]), int(t.attrib["v3"])) for t in triangles]
    told = {m.attrib["name"]: m.text or "" for m in metadata}
    assert len(told) == len(metadata) and len(set(points)) == len(points)
    return Read3mf(told, thing.attrib["name"], points, faces)


def open_sides(facets: Sequence[Facet]) -> list[tuple[Corner, Corner]]:
    """Sides, by the places of their ends, that are not run along exactly once each way."""
    runs = Counter((f[i], f[(i + 1) % 3]) for f in facets for i in range(3))
    return [(a, b) for (a, b), n in runs.items() if n != 1 or runs[(b, a)] != 1 or a == b]


def volume(facets: Sequence[Facet]) -> float:
    """Divergence theorem: positive when the facets look outward."""
    return (
        math.fsum(
            a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0])
            for a, b, c in facets
        )
        / 6.0
    )
