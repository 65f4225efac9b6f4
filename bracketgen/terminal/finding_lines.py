"""Findings in words: equal ones together, failures first, waived ones last with their reason."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from bracketgen.findings import Finding, Level
from bracketgen.rules.bends import BEND_RADIUS
from bracketgen.terminal.screen import Tone, toned, wrapped

_WORDS: Final = {Level.FAIL: "FAIL", Level.WARN: "WARN", Level.NOTE: "NOTE"}
_TONES: Final = {Level.FAIL: Tone.BAD, Level.WARN: Tone.WARN, Level.NOTE: Tone.STRONG}
_RANK: Final = (Level.FAIL, Level.WARN, Level.NOTE)


def finding_lines(findings: Sequence[Finding]) -> list[str]:
    """Every finding with its remedy and source; one line when there are none."""
    if not findings:
        return ["  findings    none"]
    lines = ["  findings"]
    for group in _groups(findings):
        lines += _lines(group)
    return lines


def note_lines(notes: Sequence[Finding]) -> list[str]:
    """Notes without a heading, for a command that tells no other findings; nothing when there are none."""
    return finding_lines(notes)[1:] if notes else []


def count_words(findings: Iterable[Finding]) -> str:
    """Such as '1 failed, 2 warnings'; '' for none."""
    open_ = [f for f in findings if f.waived is None]
    words = {Level.FAIL: ("failed", "failed"), Level.WARN: ("warning", "warnings"), Level.NOTE: ("note", "notes")}
    counts = [(sum(f.level is level for f in open_), words[level]) for level in _RANK]
    said = [f"{n} {one if n == 1 else many}" for n, (one, many) in counts if n]
    waived = sum(f.waived is not None for f in findings)
    return ", ".join([*said, *([f"{waived} waived"] if waived else [])])


def _groups(findings: Sequence[Finding]) -> list[list[Finding]]:
    """Findings that differ only in subject and place, together."""
    groups: dict[Finding, list[Finding]] = {}
    for finding in findings:
        # The last digits of the arithmetic make no difference to a person.
        measured = None if finding.measured is None else round(finding.measured, 3)
        alike = replace(finding, subject="", at_mm=None, measured=measured)
        groups.setdefault(alike, []).append(finding)
    return sorted(groups.values(), key=lambda g: (g[0].waived is not None, _RANK.index(g[0].level)))


def _lines(group: list[Finding]) -> list[str]:
    first = group[0]
    subjects = tuple(dict.fromkeys(f.subject for f in group))
    word = toned(_WORDS[first.level], _TONES[first.level]) if first.waived is None else "WAIVED"
    lines = wrapped(f"{first.rule}: {', '.join(subjects)}{_figures(first)}", f"    {word}  ", " " * 10)
    if first.waived is not None:
        lines += wrapped(f"reason: {first.waived}", " " * 10)
    else:
        lines += wrapped(first.remedy, " " * 10)
    lines += wrapped(f"source: {first.source}", " " * 10)
    if first.rule == BEND_RADIUS.id and first.level is Level.FAIL and first.waived is None:
        lines += _waivers(subjects)
    return lines


#: What a waiver of a bend's radius has to be able to say.
_HELD: Final = "a strip of this sheet bent over this radius did not crack"


def _waivers(subjects: Iterable[str]) -> list[str]:
    """Waivers as they stand in a description, unbroken, so that they can be copied."""
    lines = wrapped(f"if {_HELD}, write at the end of the description:", " " * 10)
    for subject in subjects:
        keys = {"rule": BEND_RADIUS.id, "subject": subject, "reason": _HELD}
        lines += [
            " " * 10 + "[[waivers]]",
            *(f"{' ' * 10}{k} = {json.dumps(v, ensure_ascii=False)}" for k, v in keys.items()),
        ]
    return lines


def _figures(finding: Finding) -> str:
    if finding.measured is None or finding.required is None:
        return ""
    unit = f" {finding.unit}" if finding.unit else ""
    return f" (is {finding.measured:.4g}{unit}, limit {finding.required:.4g}{unit})"
