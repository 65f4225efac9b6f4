"""The parts of a binary glTF file, taken apart by hand from the layout that its specification prints."""

from __future__ import annotations

import json
import struct
from typing import Any


def taken_apart(data: bytes) -> tuple[dict[str, Any], bytes]:
    """The tables and the numbers of a file (glTF 2.0, section 4.4: header, JSON chunk, binary chunk)."""
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack_from("<I4s", data, 12)
    assert kind == b"JSON" and size % 4 == 0
    tables = json.loads(data[20 : 20 + size].decode("utf-8"))
    at = 20 + size
    rest, kind = struct.unpack_from("<I4s", data, at)
    assert kind == b"BIN\0" and rest % 4 == 0 and at + 8 + rest == len(data)
    return tables, data[at + 8 :]


def numbers(tables: dict[str, Any], body: bytes, accessor: int) -> list[tuple[float, ...]]:
    """The rows of an accessor."""
    a = tables["accessors"][accessor]
    view = tables["bufferViews"][a["bufferView"]]
    letter = {5126: "f", 5125: "I"}[a["componentType"]]
    wide = {"VEC3": 3, "SCALAR": 1}[a["type"]]
    start = view["byteOffset"] + a["byteOffset"]
    return [struct.unpack_from(f"<{wide}{letter}", body, start + 4 * wide * i) for i in range(a["count"])]
