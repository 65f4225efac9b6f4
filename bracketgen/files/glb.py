"""Meshes as a binary glTF 2.0 file (.glb), which ordinary 3D viewers open.

Source: Khronos Group, glTF 2.0 Specification, version 2.0.1 (ISO/IEC 12113:2022): section 3.4 (metre, right-handed,
+Y up), 3.6.2 (accessors), 3.7.2.1 (without normals every triangle is shown flat), 3.9 (materials), 4 (binary file).
The same bytes for the same meshes: no clock, no path, sorted keys.
"""

from __future__ import annotations

import json
import struct
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from bracketgen.drawing.sheet import Colour
from bracketgen.drawing.solid.mesh import Finish, Mesh
from bracketgen.files.disk import write_whole
from bracketgen.geometry.space import Vector, cross, dot, unit

_MAGIC: Final = 0x46546C67
_JSON_CHUNK: Final = 0x4E4F534A
_BINARY_CHUNK: Final = 0x004E4942
_FLOAT: Final = 5126
_UNSIGNED_INT: Final = 5125
_VERTICES: Final = 34962
_PLACES: Final = 34963
_M_PER_MM: Final = 0.001
#: How much of what lies behind a ghost is hidden.
_GHOST_COVER: Final = 0.25

Table = dict[str, Any]


def glb_bytes(
    meshes: Sequence[Mesh], up: Vector = (0.0, 0.0, 1.0), cautions: Sequence[str] = (), stamp: str = ""
) -> bytes:
    """The meshes (at least one) as a file; `up` is the direction in their frame that is to stand upright.

    Every mesh becomes a named node with its own material; positions are single floats, good to 0.0001 mm at 1 m.
    """
    if not meshes:
        raise ValueError("a model needs a mesh")
    body = _Body()
    axes = _upright(up)
    for mesh in meshes:
        body.add(mesh, axes)
    tables = body.tables()
    # 3.2: whatever a file wants to say beyond the standard goes into `extras`.
    said = ({"cautions": list(cautions)} if cautions else {}) | ({"mark": stamp} if stamp else {})
    tables["asset"] |= {"extras": said} if said else {}
    return _file(tables, bytes(body.data))


def write_glb(meshes: Sequence[Mesh], path: Path, up: Vector = (0.0, 0.0, 1.0)) -> None:
    """Write the model whole or not at all. Raises OSError as the system gives it."""
    write_whole(path, glb_bytes(meshes, up))


class _Body:
    """The tables of the file, and its numbers, while meshes are added."""

    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[Table] = []
        self.accessors: list[Table] = []
        self.meshes: list[Table] = []
        self.materials: dict[tuple[Colour, Finish], int] = {}

    def add(self, mesh: Mesh, axes: tuple[Vector, Vector, Vector]) -> None:
        positions = [_single(tuple(dot(p, a) * _M_PER_MM for a in axes)) for p in mesh.points]
        places = [i for t in mesh.triangles for i in t]
        low = [min(p[k] for p in positions) for k in range(3)]
        high = [max(p[k] for p in positions) for k in range(3)]
        flat = [c for p in positions for c in p]
        corners = self._accessor(f"<{len(flat)}f", flat, _VERTICES)
        corners |= {"componentType": _FLOAT, "count": len(positions), "type": "VEC3", "min": low, "max": high}
        order = self._accessor(f"<{len(places)}I", places, _PLACES)
        order |= {"componentType": _UNSIGNED_INT, "count": len(places), "type": "SCALAR"}
        self.accessors += [corners, order]
        number = len(self.accessors)
        material = self.materials.setdefault((mesh.colour, mesh.finish), len(self.materials))
        drawn = {"attributes": {"POSITION": number - 2}, "indices": number - 1, "material": material, "mode": 4}
        self.meshes.append({"name": mesh.name, "primitives": [drawn]})

    def _accessor(self, layout: str, numbers: Sequence[float], target: int) -> Table:
        """The numbers in a view of their own; every number takes 4 bytes, so every view begins at a multiple of 4."""
        raw = struct.pack(layout, *numbers)
        self.views.append({"buffer": 0, "byteOffset": len(self.data), "byteLength": len(raw), "target": target})
        self.data += raw
        return {"bufferView": len(self.views) - 1, "byteOffset": 0}

    def tables(self) -> Table:
        return {
            "asset": {"version": "2.0", "generator": "bracketgen"},
            "scene": 0,
            "scenes": [{"nodes": list(range(len(self.meshes)))}],
            "nodes": [{"name": mesh["name"], "mesh": i} for i, mesh in enumerate(self.meshes)],
            "meshes": self.meshes,
            "materials": [_material(colour, finish) for colour, finish in self.materials],
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{"byteLength": len(self.data)}],
        }


def _material(colour: Colour, finish: Finish) -> Table:
    cover = _GHOST_COVER if finish is Finish.GHOST else 1.0
    shine = {"baseColorFactor": [*map(_linear, colour), cover], "metallicFactor": 0.0, "roughnessFactor": 0.7}
    name = f"{finish} #{colour[0]:02x}{colour[1]:02x}{colour[2]:02x}"
    return {"name": name, "pbrMetallicRoughness": shine, "alphaMode": "OPAQUE" if cover == 1.0 else "BLEND"}


def _linear(level: int) -> float:
    """Share of light for a screen level of 0 to 255. Source: IEC 61966-2-1 (sRGB), its transfer function."""
    share = level / 255
    return round(share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4, 6)


def _upright(up: Vector) -> tuple[Vector, Vector, Vector]:
    """The file's x, y (up) and z as directions in the meshes' frame; x stays as near to the frame's x as can be."""
    y = unit(up)
    near = (1.0, 0.0, 0.0) if abs(y[0]) < 0.9 else (0.0, 1.0, 0.0)
    z = unit(cross(near, y))
    return cross(y, z), y, z


def _single(p: tuple[float, ...]) -> tuple[float, ...]:
    """The numbers as the file will hold them, so that least and greatest are exactly those of the file."""
    # Adding 0 turns a minus zero into a plain one.
    return struct.unpack("<3f", struct.pack("<3f", *(c + 0.0 for c in p)))


def _file(tables: Table, numbers: bytes) -> bytes:
    text = json.dumps(tables, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False).encode()
    chunks = _chunk(_JSON_CHUNK, text, b" ") + _chunk(_BINARY_CHUNK, numbers, b"\0")
    return struct.pack("<3I", _MAGIC, 2, 12 + len(chunks)) + chunks


def _chunk(kind: int, data: bytes, filler: bytes) -> bytes:
    whole = data + filler * (-len(data) % 4)
    return struct.pack("<2I", len(whole), kind) + whole
