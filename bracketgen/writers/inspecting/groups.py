"""Findings of one kind together, numbered as on the picture and in the printed lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bracketgen.findings import Finding
from bracketgen.writers.cut_file.lint_finding import Flaw, LintFinding


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
    def finding(self) -> Finding:
        """The group as one finding, for a sheet."""
        more = f", and {len(self.members) - 1} more like it" if len(self.members) > 1 else ""
        place = self.places[0] if self.places else None
        first = self.first
        return Finding(first.code.value, first.level, first.what + more, None, None, "", place, first.cure, "")


def grouped(findings: Sequence[LintFinding]) -> tuple[Group, ...]:
    """The findings by kind, in their order."""
    kinds: dict[Flaw, list[LintFinding]] = {}
    for finding in findings:
        kinds.setdefault(finding.code, []).append(finding)
    return tuple(Group(n, tuple(members)) for n, members in enumerate(kinds.values(), 1))
