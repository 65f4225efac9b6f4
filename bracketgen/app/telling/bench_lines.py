"""The answer of the bench in words: figures of the bend, flat of the strip, where its lines go."""

from __future__ import annotations

from bracketgen.app.asking.bench_question import Asked
from bracketgen.app.telling.columns import aligned
from bracketgen.app.telling.speech import Tone, toned, wrapped
from bracketgen.bending.bench import BenchAnswer
from bracketgen.units import MM_PER_INCH, format_mm


def bench_lines(asked: Asked, answer: BenchAnswer) -> list[str]:
    """Everything that the bench wants to know, in mm and inch."""
    return [
        *_head(asked),
        *_figures(answer),
        *_flat(asked, answer),
        *_bend_places(answer),
        *wrapped("Bend a strip of this sheet with this tool first: the radius that comes out rules every figure."),
    ]


def _head(asked: Asked) -> list[str]:
    q = asked.question
    typed = asked.thickness_typed.strip()
    shown = format_mm(q.thickness_mm)
    echo = "" if typed in (shown, shown.removesuffix(" mm")) else f" (typed {typed})"
    said = (
        f"{shown}{echo}, inside radius {format_mm(q.inside_radius_mm)}, turn {q.turn_deg:g} deg "
        f"(between {180.0 - q.turn_deg:g} deg), {q.method.method}"
    )
    lines = wrapped(said, f"{toned('bend', Tone.STRONG)}  ")
    if asked.die is not None:
        lines += wrapped(
            f"a V of {format_mm(asked.die.opening_mm)} leaves about {format_mm(asked.die.natural_radius_mm)} in mild "
            f"steel turned 90 deg and holds outside legs from {format_mm(asked.die.minimum_flange_mm)} up",
            "die   ",
        )
    return lines


def _figures(answer: BenchAnswer) -> list[str]:
    bend = answer.bend
    rows = [
        ["  allowance", *_both(bend.allowance_mm)],
        ["  deduction", *_both(bend.deduction_mm)],
        ["  setback", *_both(bend.setback_mm)],
        ["  K factor", f"{bend.k_factor:.3f}", ""],
    ]
    lines = [
        *aligned(["", "mm", "in"], rows),
        *wrapped(bend.formula, "  formula: "),
        *wrapped(bend.source, "  source: "),
    ]
    return [*lines, ""]


def _flat(asked: Asked, answer: BenchAnswer) -> list[str]:
    if answer.flat_mm is None:
        return []
    q = asked.question
    rows = [
        [f"  leg {n}", f"{leg:.3f}", f"{straight:.3f}", f"{straight / float(MM_PER_INCH):.3f}"]
        for n, (leg, straight) in enumerate(zip(q.legs_mm, answer.straights_mm, strict=True), start=1)
    ]
    flat = f"{answer.flat_mm:.3f} mm ({answer.flat_mm / float(MM_PER_INCH):.3f} in)"
    return [
        *aligned(["", f"{q.reference}_mm", "straight_mm", "straight_in"], rows),
        f"  {toned(f'flat {flat}', Tone.STRONG)}",
        "",
    ]


def _bend_places(answer: BenchAnswer) -> list[str]:
    if not answer.lines:
        return []
    rows = [
        [
            f"  bend {n}",
            f"{line.first_tangent_mm:.2f}",
            f"{line.centre_mm:.2f}",
            f"{line.second_tangent_mm:.2f}",
            f"{line.sight_first_side_clamped_mm:.2f}",
            f"{line.sight_second_side_clamped_mm:.2f}",
        ]
        for n, line in enumerate(answer.lines, start=1)
    ]
    heads = ["", "tangent_line", "centre_line", "tangent_line", "sight_first_clamped", "sight_second_clamped"]
    said = (
        "Lines in mm from the first edge of the flat. The sight line stands right below the nose of a leaf brake; "
        "first or second clamped: which side of the bend is held."
    )
    return [*aligned(heads, rows), *wrapped(said, "  "), ""]


def _both(mm: float) -> tuple[str, str]:
    return f"{mm:.3f}", f"{mm / float(MM_PER_INCH):.3f}"
