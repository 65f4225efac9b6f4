"""What a description asks for: the part, the metal its bends take, and what had to be decided on the way."""

from __future__ import annotations

from dataclasses import dataclass

from bracketgen.bending.allowance import BendMetal
from bracketgen.findings import Finding
from bracketgen.part.part import Part


@dataclass(frozen=True, slots=True)
class Job:
    """A part ready to be unfolded.

    `parameters` pairs every parameter with its value as read. `remarks` are findings of the making itself, such
    as a corner radius that had no room. `also` is what the cut file holds beyond the cuts: marks, bends.
    """

    part: Part
    allowances: dict[str, BendMetal]
    parameters: tuple[tuple[str, str], ...]
    remarks: tuple[Finding, ...]
    also: tuple[str, ...] = ()
