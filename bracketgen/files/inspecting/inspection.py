"""The whole look at a drawing from anyone: read, every check tried, and what there is to print and to show."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, ceil
from typing import Final

from bracketgen.drawing.picture.inspect_view import Linework, NumberedFinding
from bracketgen.files.contours import box_round
from bracketgen.files.edges import Box, Edge
from bracketgen.files.group_codes import GroupCodeFault, read_group_codes
from bracketgen.files.inspecting.checks import (
    entity_findings,
    extents_findings,
    layer_findings,
    process_findings,
    size_findings,
)
from bracketgen.files.inspecting.drawing import Drawing, read_drawing, unit_of
from bracketgen.files.inspecting.outlines import Outlines, outlines_of
from bracketgen.files.lint import Flaw, LintFinding
from bracketgen.findings import Finding, Level
from bracketgen.geometry.plane import Point
from bracketgen.standards.machines import Process

#: Ends this near are told as a gap that can be closed, unless another is asked for. Own choice: the shortest edge
#: that is cut.
USUAL_GAP_MM: Final = 0.05
_RANK: Final = {Level.FAIL: 0, Level.WARN: 1, Level.NOTE: 2}
#: A chord of the picture strays from its arc by this part of the drawing's size at most: far under a pixel.
_CHORD: Final = 1 / 40_000
_MOST_CHORDS: Final = 256


@dataclass(frozen=True, slots=True)
class Limits:
    """What a file is held against: gap to close in mm, unit as $INSUNITS number if a person states it, process."""

    gap_mm: float = USUAL_GAP_MM
    unit: int | None = None
    process: Process | None = None
    thickness_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Inspection:
    """What was found, the gravest first; `drawing` and `outlines` are None for a file that can't be read."""

    findings: tuple[LintFinding, ...]
    drawing: Drawing | None = None
    outlines: Outlines | None = None

    @property
    def unreadable(self) -> bool:
        """Whether the file can't be read at all."""
        return self.drawing is None

    @property
    def failed(self) -> bool:
        """Whether the file is unfit to cut from."""
        return any(f.level is Level.FAIL for f in self.findings)

    @property
    def cut_layers(self) -> tuple[str, ...]:
        """Layers that are taken as cut."""
        return tuple(sorted({p.entity.layer for p in self.drawing.cut})) if self.drawing else ()

    @property
    def other_layers(self) -> tuple[str, ...]:
        """Layers that are taken as marks or notes."""
        return tuple(sorted({p.entity.layer for p in self.drawing.not_cut})) if self.drawing else ()

    @property
    def box(self) -> Box | None:
        """The box round everything that was read, mm."""
        if self.drawing is None or not self.drawing.pieces:
            return None
        return box_round(e.box for p in self.drawing.pieces for e in p.edges)

    @property
    def area_mm2(self) -> float:
        """Metal left: outlines less openings, of the contours that close."""
        return self.outlines.area_mm2 if self.outlines else 0.0


def inspect_bytes(data: bytes, limits: Limits | None = None) -> Inspection:
    """Look through the bytes of a DXF text file. Never raises for what stands in it."""
    limits = limits or Limits()
    try:
        file = read_group_codes(data)
    except GroupCodeFault as fault:
        return Inspection((LintFinding(Flaw.UNREADABLE, fault.what, line=fault.line),))
    unit, said = unit_of(file, limits.unit)
    drawing = read_drawing(file, unit)
    cut = drawing.cut
    outlines = outlines_of(cut, limits.gap_mm)
    found = [*said, *drawing.troubles, *entity_findings(drawing), *layer_findings(drawing), *extents_findings(drawing)]
    if cut:
        found += [*size_findings(box_round(e.box for p in cut for e in p.edges)), *outlines.findings]
        if limits.process is not None and limits.thickness_mm is not None:
            found += process_findings(outlines, limits.process, limits.thickness_mm)
    else:
        found.append(LintFinding(Flaw.EMPTY, "there is nothing to cut in the model space"))
    return Inspection(tuple(sorted(found, key=lambda f: _RANK[f.level])), drawing, outlines)


@dataclass(frozen=True, slots=True)
class Group:
    """Every finding of one kind; `number` counts from 1, the gravest first."""

    number: int
    members: tuple[LintFinding, ...]

    @property
    def first(self) -> LintFinding:
        """The one that stands for all."""
        return self.members[0]

    @property
    def places(self) -> tuple[tuple[float, float], ...]:
        """Where they are, mm, as far as they are anywhere."""
        return tuple(dict.fromkeys(f.at_mm for f in self.members if f.at_mm is not None))

    @property
    def for_sheet(self) -> NumberedFinding:
        """The group as one finding with its places, for a sheet."""
        more = f", and {len(self.members) - 1} more like it" if len(self.members) > 1 else ""
        place = self.places[0] if self.places else None
        first = self.first
        finding = Finding(first.code.value, first.level, first.what + more, None, None, "", place, first.cure, "")
        return NumberedFinding(self.number, finding, tuple(Point(*p) for p in self.places))


def grouped(findings: Sequence[LintFinding]) -> tuple[Group, ...]:
    """The findings by kind, in their order, numbered as on the picture and in the printed lines."""
    kinds: dict[Flaw, list[LintFinding]] = defaultdict(list)
    for finding in findings:
        kinds[finding.code].append(finding)
    return tuple(Group(n, tuple(members)) for n, members in enumerate(kinds.values(), 1))


def linework(inspection: Inspection) -> Linework:
    """The drawing as chains of points, mm: what is metal, what stayed open, what is not cut."""
    box, drawing, outlines = inspection.box, inspection.drawing, inspection.outlines
    if box is None or drawing is None or outlines is None:
        return Linework((0.0, 0.0, 0.0, 0.0))
    chord = max(box[2] - box[0], box[3] - box[1], 1e-6) * _CHORD
    contours = [_points(c.edges, chord) for c in outlines.chains.contours]
    openings: dict[int | None, list[tuple[Point, ...]]] = defaultdict(list)
    for ring, outer in zip(contours, outlines.around, strict=True):
        openings[outer].append(ring)
    metal = tuple((ring, *openings[i]) for i, ring in enumerate(contours) if outlines.depth[i] % 2 == 0)
    loose = tuple(_points((e,), chord) for e in outlines.chains.broken)
    return Linework(box, metal, loose, tuple(_points(p.edges, chord) for p in drawing.not_cut))


def _points(edges: Sequence[Edge], chord_mm: float) -> tuple[Point, ...]:
    found = [Point(*edges[0].start)]
    for edge in edges:
        count = 1
        if not edge.is_line:
            half = acos(max(0.5, 1.0 - chord_mm / edge.radius_mm)) if edge.radius_mm > chord_mm else 1.0
            count = min(_MOST_CHORDS, max(1, ceil(abs(edge.sweep_rad) / (2.0 * half))))
        found += [Point(*edge.point_at(edge.start_rad + edge.sweep_rad * k / count)) for k in range(1, count)]
        found.append(Point(*edge.end))
    return tuple(found)
