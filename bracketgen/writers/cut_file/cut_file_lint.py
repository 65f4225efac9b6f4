"""Lint of a cut file: everything in the written bytes that spoils a sheet or gets the file refused.

Works on the bytes alone, for our own files and other people's. A library's audit asks whether a program can
open the file; this asks whether a shop can cut from it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import isfinite

from bracketgen.writers.cut_file.cut_geometry_lint import geometry_findings
from bracketgen.writers.cut_file.group_codes import (
    FLOAT_CODES,
    FileEntity,
    GroupCodeFault,
    GroupCodeFile,
    Tag,
    read_group_codes,
)
from bracketgen.writers.cut_file.lint_finding import Flaw, LintFinding

__all__ = ["Flaw", "LintFinding", "lint"]

_PLAIN_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)", re.ASCII)
_LAYER_NAME = re.compile(r"[A-Z][A-Z0-9_]{0,30}", re.ASCII)
#: $INSUNITS 4 = mm, $MEASUREMENT 1 = metric; DXF Reference, header variables.
_UNIT_CODES = {"$INSUNITS": 4, "$MEASUREMENT": 1}
_TEXT_KINDS = {"TEXT", "MTEXT", "ATTRIB", "ATTDEF", "DIMENSION", "LEADER", "MULTILEADER", "TOLERANCE"}
_CUT_KINDS = {"CIRCLE", "LWPOLYLINE", "LINE", "ARC", "POLYLINE", "VERTEX", "SEQEND"}
#: Group codes for a height: z of the points, elevation (38), thickness (39); DXF Reference, entities.
_HEIGHT_CODES = {30, 31, 38, 39}
#: Beyond ten kilometres nothing is worked out any further.
_FAR_MM = 1e7
_EXTRUSION_CODES = {210: 0.0, 220: 0.0, 230: 1.0}


def lint(data: bytes) -> tuple[LintFinding, ...]:
    """Every flaw of a DXF text file, in the order of the checks; none for a file that is fit to cut.

    Never raises for what stands in the file: what can't be read is a finding too.
    """
    try:
        file = read_group_codes(data)
        bad_numbers = tuple(_number_findings(file))
        if any(f.code is Flaw.NOT_FINITE for f in bad_numbers):
            return bad_numbers
        far = tuple(_far_findings(file))
        return (*bad_numbers, *_file_findings(file), *(far or geometry_findings(file)))
    except GroupCodeFault as fault:
        return (LintFinding(Flaw.UNREADABLE, fault.what, line=fault.line),)


def _number_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    for tag in file.tags:
        if tag.code in FLOAT_CODES and not _PLAIN_NUMBER.fullmatch(tag.value):
            yield _bad_number(tag)


def _bad_number(tag: Tag) -> LintFinding:
    try:
        finite = isfinite(float(tag.value))
    except ValueError:
        finite = False
    flaw = Flaw.EXPONENT if finite else Flaw.NOT_FINITE
    return LintFinding(flaw, f"'{tag.value}' under group code {tag.code}", line=tag.line)


def _far_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    for entity in file.entities:
        for tag in entity.tags:
            if tag.code in FLOAT_CODES and abs(tag.number) > _FAR_MM:
                yield LintFinding(Flaw.SIZE, f"a {entity.kind} with a value of {tag.value}", line=tag.line)


def _file_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    yield from _unit_findings(file)
    yield from _layer_findings(file)
    for name in file.blocks:
        if not name.upper().startswith(("*MODEL_SPACE", "*PAPER_SPACE", "$MODEL_SPACE", "$PAPER_SPACE")):
            yield LintFinding(Flaw.BLOCK, f"a block '{name}' is defined")
    for entity in file.entities:
        yield from _entity_findings(entity)


def _unit_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    for name, wanted in _UNIT_CODES.items():
        found = file.header_number(name, 70)
        if found != wanted:
            said = "does not say" if found is None else f"says {found:g}"
            yield LintFinding(Flaw.UNITS, f"{name} {said}")


def _layer_findings(file: GroupCodeFile) -> Iterator[LintFinding]:
    used = {entity.layer: entity.line for entity in reversed(file.entities)}
    for name, line in sorted(used.items()):
        if name not in file.layers:
            yield LintFinding(Flaw.UNDECLARED_LAYER, f"layer '{name}' is used but not declared", line=line)
    # Every file declares layer 0; it is only wrong to draw on it.
    names = set(used) | (set(file.layers) - {"0"})
    for name in sorted(names):
        if not _LAYER_NAME.fullmatch(name):
            yield LintFinding(Flaw.LAYER_NAME, f"a layer called '{name}'", line=used.get(name, 0))


def _entity_findings(entity: FileEntity) -> Iterator[LintFinding]:
    if entity.kind in _TEXT_KINDS:
        yield LintFinding(Flaw.TEXT, f"a {entity.kind}", line=entity.line)
    elif entity.kind == "INSERT":
        yield LintFinding(Flaw.BLOCK, "a block is inserted", line=entity.line)
    elif entity.kind not in _CUT_KINDS:
        yield LintFinding(Flaw.UNKNOWN_ENTITY, f"a {entity.kind}", line=entity.line)
    else:
        yield from _height_findings(entity)
    if any(tag.code == 67 and tag.value == "1" for tag in entity.tags):
        yield LintFinding(Flaw.PAPER_SPACE, f"a {entity.kind} on the paper sheet", line=entity.line)


def _height_findings(entity: FileEntity) -> Iterator[LintFinding]:
    for tag in entity.tags:
        if tag.code in _HEIGHT_CODES and tag.number != 0.0:
            yield LintFinding(Flaw.Z_NOT_ZERO, f"a {entity.kind} at height {tag.value}", line=tag.line)
        elif tag.code in _EXTRUSION_CODES and tag.number != _EXTRUSION_CODES[tag.code]:
            yield LintFinding(Flaw.EXTRUSION, f"a {entity.kind} with extrusion {tag.value}", line=tag.line)
