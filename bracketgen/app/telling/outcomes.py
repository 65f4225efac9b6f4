"""Telling how a part went."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import NoReturn

import typer

from bracketgen.app.outcome import Exit, Outcome
from bracketgen.app.telling.finding_lines import count_words, finding_lines, note_lines
from bracketgen.app.telling.speech import Tone, say, say_faults, toned, wrapped
from bracketgen.app.telling.summary import aside_lines, brief_line, file_lines, summary_lines
from bracketgen.drawing.paper.lettering import LETTERS
from bracketgen.errors import Fault
from bracketgen.findings import Level


def stop(faults: Sequence[Fault]) -> NoReturn:
    """Tell what is wrong with the input and end the command."""
    say_faults(faults)
    raise typer.Exit(Exit.INPUT)


def tell_in_full(outcome: Outcome) -> None:
    """Everything about a part: summary, findings, files."""
    if outcome.made is not None:
        say([*summary_lines(outcome.made), *file_lines(outcome), _verdict(outcome), ""])
    _tell_trouble(outcome)


def tell_brief(outcome: Outcome) -> None:
    """One line a part, and what failed."""
    if outcome.made is not None:
        failed = [f for f in outcome.made.findings if f.level is Level.FAIL and f.waived is None]
        say([brief_line(outcome), *(finding_lines(failed)[1:] if failed else []), *aside_lines(outcome)])
    _tell_trouble(outcome)


def tell_page(outcome: Outcome) -> None:
    """One line a part, what failed, and which letters its pages can't show."""
    tell_brief(outcome)
    if outcome.written and outcome.made is not None:
        lines = note_lines([f for f in outcome.made.findings if f.rule == LETTERS])
        if lines:
            say(lines)


def tell_findings(outcome: Outcome) -> None:
    """The findings alone, of a part that was only checked."""
    made = outcome.made
    if made is not None:
        part = made.job.part
        say([*wrapped(f"{toned(part.name, Tone.STRONG)}  {part.title}"), *finding_lines(made.findings)])
        say([_verdict(outcome), ""])
    _tell_trouble(outcome)


def _tell_trouble(outcome: Outcome) -> None:
    if outcome.made is None:
        say_faults(outcome.faults)
        if outcome.trouble:
            say(outcome.trouble, sys.stderr)
        lines = aside_lines(outcome)
        if lines:
            say([f"{outcome.name or 'parts'}: not made", *lines])
    elif outcome.faults:
        say_faults(outcome.faults)


def _verdict(outcome: Outcome) -> str:
    assert outcome.made is not None
    said = count_words(outcome.made.findings)
    word = toned("FAILED", Tone.BAD) if outcome.made.failed else toned("OK", Tone.GOOD)
    return f"  {word}{': ' + said if said else ''}"
