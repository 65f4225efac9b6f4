"""Everything of a DXF R2000 file but its geometry: header, tables, blocks and objects, with places left open.

The library writes an empty document once for each set of layers; its text is kept for the running process.
"""

from __future__ import annotations

import configparser
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from io import StringIO
from typing import Any

from bracketgen.drawing.to_cut.cut_sheet import Layer
from bracketgen.errors import WriteFault
from bracketgen.writers.cut_file.group_codes import FLOAT_CODES

#: Colour number of each layer (DXF Reference, group 62): 7 is black or white, 3 green, 5 blue. Own choice.
_COLOURS = {Layer.CUT: 7, Layer.MARK: 3, Layer.BEND: 5}

#: Header variables that a reader of a flat cut file can use; all others (clocks, identifiers, dimension
#: styles) are left out, and readers take their own defaults.
_HEADER = (
    "$ACADVER",
    "$DWGCODEPAGE",
    "$INSBASE",
    "$EXTMIN",
    "$EXTMAX",
    "$LIMMIN",
    "$LIMMAX",
    "$CLAYER",
    "$LTSCALE",
    "$LUNITS",
    "$LUPREC",
    "$AUNITS",
    "$ANGBASE",
    "$ANGDIR",
    "$HANDSEED",
    "$TILEMODE",
    "$MEASUREMENT",
    "$INSUNITS",
)

#: Numbers that stand for themselves in the library's text until the open places are cut out of it.
#: Odd enough not to occur there otherwise, which is counted.
_STAND_INS = {
    "x0": (-70101.25, 4),
    "y0": (-70102.25, 4),
    "x1": (70103.25, 4),
    "y1": (70104.25, 4),
    "middle_x": (70105.25, 1),
    "middle_y": (70106.25, 1),
    "height": (70107.25, 1),
}


@dataclass(frozen=True, slots=True)
class Skeleton:
    """A file's text with %(name)s places: x0 y0 x1 y1 middle_x middle_y height handle_seed entities.

    `owner` is the handle of the model space, `first_handle` the first number free for an entity's handle.
    """

    text: str
    owner: str
    first_handle: int


@lru_cache(maxsize=8)
def skeleton(layers: tuple[Layer, ...]) -> Skeleton:
    """The skeleton that declares these layers. WriteFault when the library's set-up can't be used."""
    with _fixed_identity() as library:
        document = _empty_document(library, layers)
        stream = StringIO()
        document.write(stream)
    tags = list(_plain(_header_kept(_pairs(stream.getvalue()))))
    seed = int(document.header["$HANDSEED"], 16)
    return Skeleton(_with_places(tags), document.modelspace().layout_key, seed)


@contextmanager
def _fixed_identity() -> Iterator[Any]:
    """The library, told to write no clock and no random identifiers; its own setting is put back afterwards."""
    library = _library()
    section, switch = "core", "WRITE_FIXED_META_DATA_FOR_TESTING"
    before = library.options.get(section, switch)
    library.options.set(section, switch, "true")
    try:
        yield library
    finally:
        library.options.set(section, switch, before)


def _library() -> Any:
    try:
        import ezdxf
    except (configparser.Error, ValueError, SystemExit) as fault:
        # The library reads ezdxf.ini from the home and working folders while it is imported.
        raise WriteFault(f"an ezdxf.ini on this machine can't be read; remove or mend it: {fault}") from fault
    return ezdxf


def _empty_document(library: Any, layers: Sequence[Layer]) -> Any:
    document = library.new("R2000", setup=False, units=4)
    header, model, paper = document.header, document.modelspace(), document.paperspace()
    header["$INSUNITS"], header["$MEASUREMENT"], header["$LUNITS"] = 4, 1, 2
    document.layers.remove("Defpoints")
    for layer in layers:
        document.layers.add(layer.value, color=_COLOURS[layer])
    stand_in = {name: number for name, (number, _) in _STAND_INS.items()}
    low, high = (stand_in["x0"], stand_in["y0"]), (stand_in["x1"], stand_in["y1"])
    model.dxf.extmin, model.dxf.extmax = (*low, 0.0), (*high, 0.0)
    model.dxf.limmin, model.dxf.limmax = low, high
    paper.dxf.extmin, paper.dxf.extmax = (0.0, 0.0, 0.0), (*paper.dxf.limmax, 0.0)
    document.set_modelspace_vport(stand_in["height"], (stand_in["middle_x"], stand_in["middle_y"]))
    return document


def _pairs(text: str) -> Iterator[tuple[int, str]]:
    lines = text.split("\n")
    return ((int(code), value) for code, value in zip(lines[0::2], lines[1::2], strict=False) if code)


def _header_kept(tags: Iterator[tuple[int, str]]) -> Iterator[tuple[int, str]]:
    section, keep, last = "", True, ""
    for code, value in tags:
        if last == "SECTION" and code == 2:
            section = value
        last = value if code == 0 else ""
        if section == "HEADER" and code == 9:
            keep = value in _HEADER
        if code == 0:
            keep = True
        if keep:
            yield code, value


def _plain(tags: Iterator[tuple[int, str]]) -> Iterator[tuple[int, str]]:
    """Numbers in plain decimals, never with an exponent."""
    for code, value in tags:
        exponent = code in FLOAT_CODES and "e" in value.lower()
        yield code, f"{Decimal(value):f}" if exponent else value


def _with_places(tags: Sequence[tuple[int, str]]) -> str:
    found = dict.fromkeys(_STAND_INS, 0)
    names = {str(number): name for name, (number, _) in _STAND_INS.items()}
    lines: list[str] = []
    for index, (code, value) in enumerate(tags):
        name = names.get(value) if code in FLOAT_CODES else None
        if name:
            found[name] += 1
        elif tags[index - 1] == (9, "$HANDSEED"):
            name = "handle_seed"
        text = f"%({name})s" if name else value.replace("%", "%%")
        lines.append(f"{code:3d}\r\n{text}\r\n")
        if (code, value) == (2, "ENTITIES"):
            lines.append("%(entities)s")
    if found != {name: count for name, (_, count) in _STAND_INS.items()}:
        raise WriteFault(f"this version of ezdxf lays its files out otherwise: {found}")
    return "".join(lines)
