"""The mended drawing as a file: R2000, circles and closed polylines, millimetres, layers with clean names."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from bracketgen.drawing.to_cut.cut_sheet import BULGE_DECIMALS, Chain, Closure, CutSheet, Round, canonical
from bracketgen.errors import WriteFault
from bracketgen.writers.cut_file.dxf import assembled, entity_head, fixed, point_text, tag

_LAYER_RECORD = re.compile(
    r"  0\r\nLAYER\r\n  5\r\n[0-9A-F]+\r\n(?P<rest>(?:(?!  0\r\n).+\r\n)*?  2\r\n)CUT(?P<end>\r\n)"
)
_HANDLE_SEED = re.compile(r"(\$HANDSEED\r\n  5\r\n)([0-9A-F]+)")


@dataclass(frozen=True, slots=True)
class OnLayer:
    """A circle or chain, and the name of its layer."""

    item: Round | Chain
    layer: str


def mended_bytes(items: Sequence[OnLayer]) -> bytes:
    """The file's bytes; the same for the same drawing. GeometryFault for an empty one, WriteFault as for any file."""
    layers = sorted({one.layer for one in items})
    ordered = [OnLayer(item, layer) for layer in layers for item in _canonical(items, layer)]
    rounds = tuple(one.item for one in ordered if isinstance(one.item, Round))
    chains = tuple(one.item for one in ordered if isinstance(one.item, Chain))
    texts = (_text(one) for one in ordered)
    data = assembled(CutSheet("mended", rounds, chains), texts).decode("ascii")
    return _with_layers(data, layers).encode("ascii")


def _canonical(items: Sequence[OnLayer], layer: str) -> tuple[Round | Chain, ...]:
    own = [one.item for one in items if one.layer == layer]
    rounds = tuple(item for item in own if isinstance(item, Round))
    chains = tuple(item for item in own if isinstance(item, Chain))
    return canonical(CutSheet(layer, rounds, chains)).items


def _text(one: OnLayer) -> str:
    item = one.item
    if isinstance(item, Round):
        head = entity_head("CIRCLE", one.layer) + tag(100, "AcDbCircle")
        return head + point_text(item.x_mm, item.y_mm) + tag(30, "0.0") + tag(40, fixed(item.radius_mm))
    head = entity_head("LWPOLYLINE", one.layer) + tag(100, "AcDbPolyline")
    flags = tag(90, str(len(item.points))) + tag(70, "1" if item.closed is Closure.CLOSED else "0")
    return head + flags + "".join(_vertex(point) for point in item.points)


def _vertex(point: tuple[float, float, float]) -> str:
    x, y, bulge = point
    return point_text(x, y) + (tag(42, fixed(bulge, BULGE_DECIMALS)) if bulge else "")


def _with_layers(text: str, layers: Sequence[str]) -> str:
    """The file's one layer CUT replaced by those that are used, each with a handle of its own."""
    record = _LAYER_RECORD.search(text)
    seed = _HANDLE_SEED.search(text)
    if record is None or seed is None:
        raise WriteFault("the empty file is laid out otherwise than expected")
    end = text.index("  0\r\n", record.end())
    tail = text[record.end("end") : end]
    number = int(seed[2], 16)
    records = [
        tag(0, "LAYER") + tag(5, f"{number + k:X}") + record["rest"] + f"{name}\r\n" + tail
        for k, name in enumerate(layers)
    ]
    head, count = text[: record.start()], f"AcDbSymbolTable\r\n 70\r\n{len(layers) + 1}\r\n"
    place = head.rindex("AcDbSymbolTable\r\n")
    after = head.index("  0\r\n", place)
    text = head[:place] + count + head[after:] + "".join(records) + text[end:]
    return _HANDLE_SEED.sub(lambda m: f"{m[1]}{number + len(layers):X}", text, count=1)
