"""Reading the DXF files that a person names, with one clear fault for each that can't be read."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from bracketgen.errors import Fault, InputFaults, Place

#: A part's drawing is never near this (own choice).
_LARGEST_BYTES: Final = 100_000_000
_TEXT_CURE: Final = "save it as DXF in text form (ASCII), version R12 to R2018, in the program that it came from"
#: How other files begin that are taken for DXF, and what they are.
_OTHERS: Final = (
    (b"AC10", "this is a drawing in a program's own binary form, not DXF"),
    (b"%PDF", "this is a PDF"),
    (b"\x89PNG", "this is a picture"),
    (b"\xff\xd8", "this is a picture"),
    (b"PK\x03\x04", "this is a packed folder"),
    (b"<svg", "this is an SVG picture"),
    (b"<?xml", "this is an XML file"),
    (b"ISO-10303-21", "this is a STEP model"),
)


def read_drawing(file: str) -> bytes:
    """The bytes of a DXF text file. Raises InputFaults."""
    path = Path(file)
    try:
        if path.is_dir():
            raise _fault(file, "this is a folder", f"name the drawings in it, such as {path / '*.dxf'}")
        if not path.exists():
            raise _fault(file, "there is no such file", "check the name and the folder")
        if path.stat().st_size > _LARGEST_BYTES:
            raise _fault(file, f"at {path.stat().st_size} bytes this is no drawing of a part", "send the part alone")
        data = path.read_bytes()
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise _fault(file, f"it can't be read: {why}", "check the name and the right to read it") from None
    # DXF Reference, binary files: 18 letters, then this.
    if data[18:22] == b"\r\n\x1a\0":
        raise _fault(file, "this is DXF in binary form", _TEXT_CURE)
    for begins, what in _OTHERS:
        if data.lstrip().startswith(begins):
            raise _fault(file, what, _TEXT_CURE)
    return data


def _fault(file: str, what: str, cure: str) -> InputFaults:
    return InputFaults([Fault(Place(file), what, cure)])
