"""The whole look at a file from anyone: read, every check tried, and what there is to show in a picture."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bracketgen.findings import Level
from bracketgen.standards.machines import Process
from bracketgen.writers.cut_file.group_codes import GroupCodeFault, read_group_codes
from bracketgen.writers.cut_file.lint_finding import Flaw, LintFinding
from bracketgen.writers.inspecting.chain_checks import Outlines, outlines_of
from bracketgen.writers.inspecting.cut_layers import is_cut
from bracketgen.writers.inspecting.entity_checks import entity_findings
from bracketgen.writers.inspecting.file_checks import extents_findings, layer_findings, size_findings
from bracketgen.writers.inspecting.process_checks import process_findings
from bracketgen.writers.readback.contours import box_round
from bracketgen.writers.readback.drawn import Drawn, drawn
from bracketgen.writers.readback.edges import Box
from bracketgen.writers.readback.file_unit import unit_of

#: Ends this near are told as a gap that can be closed, unless another is asked for. Own choice: the shortest edge
#: that is cut.
USUAL_GAP_MM = 0.05
_RANK = {Level.FAIL: 0, Level.WARN: 1, Level.NOTE: 2}


@dataclass(frozen=True, slots=True)
class Limits:
    """What a file is held against: gap to close in mm, unit as $INSUNITS number if a person states it, process."""

    gap_mm: float = USUAL_GAP_MM
    unit: int | None = None
    process: Process | None = None
    thickness_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Inspection:
    """What was found, the gravest first; `drawn` and `outlines` are None for a file that can't be read."""

    findings: tuple[LintFinding, ...]
    drawn: Drawn | None = None
    outlines: Outlines | None = None

    @property
    def unreadable(self) -> bool:
        """Whether the file can't be read at all."""
        return self.drawn is None

    @property
    def failed(self) -> bool:
        """Whether the file is unfit to cut from."""
        return any(f.level is Level.FAIL for f in self.findings)

    @property
    def cut_layers(self) -> tuple[str, ...]:
        """Layers that are taken as cut."""
        used = {p.entity.layer for p in self.drawn.pieces} if self.drawn else set()
        return tuple(sorted(name for name in used if is_cut(name)))

    @property
    def other_layers(self) -> tuple[str, ...]:
        """Layers that are taken as marks or notes."""
        used = {p.entity.layer for p in self.drawn.pieces} if self.drawn else set()
        return tuple(sorted(used - set(self.cut_layers)))

    @property
    def box(self) -> Box | None:
        """The box round everything that was read, mm."""
        if self.drawn is None or not self.drawn.pieces:
            return None
        return box_round(e.box for p in self.drawn.pieces for e in p.edges)

    @property
    def area_mm2(self) -> float:
        """Metal left: outlines less openings, of the contours that close."""
        if self.outlines is None:
            return 0.0
        signs = (1.0 if depth % 2 == 0 else -1.0 for depth in self.outlines.nesting.depth)
        return sum(s * c.area_mm2 for s, c in zip(signs, self.outlines.chains.contours, strict=True))


def inspect_bytes(data: bytes, limits: Limits | None = None) -> Inspection:
    """Look through the bytes of a DXF text file. Never raises for what stands in it."""
    limits = limits or Limits()
    try:
        file = read_group_codes(data)
        unit, said = unit_of(file, limits.unit)
    except GroupCodeFault as fault:
        return Inspection((LintFinding(Flaw.UNREADABLE, fault.what, line=fault.line),))
    read = drawn(file, unit)
    cut = [p for p in read.pieces if is_cut(p.entity.layer)]
    outlines = outlines_of(cut, limits.gap_mm)
    found = [*said, *read.troubles, *entity_findings(read), *layer_findings(read), *extents_findings(read)]
    found += _whole_findings(read, outlines, limits)
    return Inspection(tuple(sorted(found, key=lambda f: _RANK[f.level])), read, outlines)


def _whole_findings(read: Drawn, outlines: Outlines, limits: Limits) -> Iterator[LintFinding]:
    cut = [p for p in read.pieces if is_cut(p.entity.layer)]
    if not cut:
        yield LintFinding(Flaw.EMPTY, "there is nothing to cut in the model space")
        return
    yield from size_findings(box_round(e.box for p in cut for e in p.edges))
    yield from outlines.findings
    if limits.process is not None and limits.thickness_mm is not None:
        yield from process_findings(outlines, limits.process, limits.thickness_mm)
