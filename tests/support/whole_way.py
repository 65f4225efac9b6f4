"""A description taken the whole way to the bytes of its files, whatever the rules say of the part."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from bracketgen.bending.flat import Flat, unfold
from bracketgen.bending.fold import Folded, fold
from bracketgen.description.making.build import Job, build
from bracketgen.description.read import read
from bracketgen.drawing.cut_sheet import cut_sheet
from bracketgen.files.dxf import verified_dxf
from bracketgen.files.report import report_bytes


@dataclass(frozen=True)
class WholeWay:
    """Every station of one part."""

    job: Job
    flat: Flat
    folded: Folded

    @property
    def dxf(self) -> bytes:
        return verified_dxf(cut_sheet(self.flat))

    @property
    def report(self) -> dict[str, Any]:
        told: dict[str, Any] = json.loads(report_bytes(self.flat, self.folded, [], ["part.dxf", "part.json"]))
        return told


def whole_way(text: str, folder: str = ".") -> WholeWay:
    """Raises InputFaults; `dxf` raises WriteFault."""
    job = build(read(text, "part.toml", folder=folder), "part", folder)
    return WholeWay(job, unfold(job.part, job.allowances), fold(job.part))
