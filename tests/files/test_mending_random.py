"""Random plates with random faults, mended: the new file passes both inspections and keeps the plate's area.

The true area is worked out from the corners; every fault moves lines by no more than is written beside it.
"""

from __future__ import annotations

import math
import random

import pytest
from faulty_dxf import plain, tags, text_line
from plain_dxf import Vertex, perimeter
from plain_dxf import area as chain_area
from test_inspect_faults import damaged, sources
from test_mending_faults import metal, opened

from bracketgen.files.inspecting.inspection import Limits, inspect_bytes
from bracketgen.files.inspecting.mend import mend
from bracketgen.files.lint import Flaw, lint
from bracketgen.standards.machines import process

#: How far the ends of lines are moved, mm: less than half of the gap that is joined.
SHAKEN_MM = 0.015
#: A hole drawn in this many chords of its circle.
CHORDS = 72


def rounded_polygon(dice: random.Random) -> list[Vertex]:
    """Corners on a circle of 80 mm, each rounded: tangent points r / tan(half the corner) away, plane geometry."""
    count = dice.randint(3, 7)
    turns = [math.tau * (k + dice.uniform(-0.25, 0.25)) / count for k in range(count)]
    corners = [(100 + 80 * math.cos(a), 100 + 80 * math.sin(a)) for a in turns]
    found: list[Vertex] = []
    for n, (x, y) in enumerate(corners):
        (px, py), (qx, qy) = corners[n - 1], corners[(n + 1) % count]
        back, on = math.atan2(py - y, px - x), math.atan2(qy - y, qx - x)
        inner = (back - on) % math.tau
        inner = min(inner, math.tau - inner)
        away = dice.uniform(3.0, 8.0) / math.tan(inner / 2)
        found.append((x + away * math.cos(back), y + away * math.sin(back), math.tan((math.pi - inner) / 4)))
        found.append((x + away * math.cos(on), y + away * math.sin(on), 0.0))
    return found


def loose(points: list[Vertex], dice: random.Random) -> list[str]:
    """Lines and arcs in any order and direction, ends of lines shaken, some drawn twice."""
    drawn = []
    for (ax, ay, bulge), (bx, by, _) in zip(points, points[1:] + points[:1], strict=True):
        if bulge:
            drawn.append(text_arc((ax, ay), (bx, by), bulge))
            continue
        a, b = ((x + dice.uniform(-1, 1) * SHAKEN_MM / 2, y + dice.uniform(-1, 1) * SHAKEN_MM / 2)
                for x, y in ((ax, ay), (bx, by)))  # fmt: skip
        drawn.append(text_line(*a, *b) if dice.random() < 0.5 else text_line(*b, *a))
    drawn += [d for d in drawn if dice.random() < 0.2]
    dice.shuffle(drawn)
    return drawn


def text_arc(a: tuple[float, float], b: tuple[float, float], bulge: float) -> str:
    """Anticlockwise from a to b: radius by chord and included angle, centre left of the chord's middle."""
    chord, half = math.dist(a, b), 2 * math.atan(bulge)
    radius, lift = chord / (2 * math.sin(half)), chord / (2 * math.tan(half))
    ux, uy = (b[0] - a[0]) / chord, (b[1] - a[1]) / chord
    x, y = (a[0] + b[0]) / 2 - lift * uy, (a[1] + b[1]) / 2 + lift * ux
    first, last = (math.degrees(math.atan2(p[1] - y, p[0] - x)) for p in (a, b))
    return tags((0, "ARC"), (8, "0"), (10, x), (20, y), (40, radius), (50, first), (51, last))


def hole(dice: random.Random, x: float, y: float, r: float) -> str:
    """A round hole as a circle, twice a circle, chords, an ellipse, or two half rounds."""
    match dice.randrange(5):
        case 0:
            return tags((0, "CIRCLE"), (8, "0"), (10, x), (20, y), (40, r))
        case 1:
            return 2 * tags((0, "CIRCLE"), (8, "0"), (10, x), (20, y), (40, r))
        case 2:
            steps = (math.tau * k / CHORDS for k in range(CHORDS))
            body = "".join(tags((10, x + r * math.cos(a)), (20, y + r * math.sin(a))) for a in steps)
            return tags((0, "LWPOLYLINE"), (8, "0"), (90, CHORDS), (70, 1)) + body
        case 3:
            return tags((0, "ELLIPSE"), (8, "0"), (10, x), (20, y), (11, r), (21, 0), (40, 1), (41, 0), (42, math.tau))
    return text_arc((x - r, y), (x + r, y), 1.0) + text_arc((x + r, y), (x - r, y), 1.0)


@pytest.mark.parametrize("seed", range(40))
def test_a_random_faulty_plate_is_mended(seed: int) -> None:
    dice = random.Random(seed)
    outline, radii = rounded_polygon(dice), [dice.uniform(2.0, 6.0) for _ in range(dice.randint(0, 4))]
    # Within a triangle's inner circle of 40 mm / 2, less its corners' shift.
    places = [(100 + 16 * math.cos(math.tau * n / 4), 100 + 16 * math.sin(math.tau * n / 4)) for n in range(4)]
    holes = list(zip(places, radii, strict=False))
    words = [tags((0, "TEXT"), (8, "0"), (10, 5), (20, 5), (40, 3), (1, "4 mm"))] if dice.random() < 0.5 else []
    drawn = [*loose(outline, dice), *(hole(dice, x, y, r) for (x, y), r in holes), *words]
    dice.shuffle(drawn)
    made = mend(inspect_bytes(plain(*drawn).encode()), Limits())
    assert made is not None
    assert [str(f) for f in lint(made.data)] == [] and [str(f) for f in made.after.findings] == []
    assert not made.failed
    area = chain_area(outline) - math.fsum(math.pi * r * r for _, r in holes)
    length = perimeter(outline) + math.fsum(math.tau * r for _, r in holes)
    assert metal(opened(made.data)) == pytest.approx(area, abs=(made.deviation_mm + SHAKEN_MM) * length + 1e-3)
    assert len(opened(made.data).modelspace()) == 1 + len(holes)


TWICE = {Flaw.DOUBLED_EDGE, Flaw.OVERLAPPING_EDGE}
#: Parts that lie beside or in each other, or are larger than a sheet, may be meant.
MEANT = {Flaw.OUTSIDE_OUTLINE, Flaw.NESTED, Flaw.SIZE, Flaw.EMPTY, Flaw.FACETED_ARC}


@pytest.mark.sweep
def test_what_is_mended_of_damaged_files_passes_the_lint() -> None:
    """By the lint of the project's own files, which knows nothing of the mending; an area keeps within what is told."""
    dice, files, clean = random.Random(11), sources(), 0
    limits = Limits(process=process("laser"), thickness_mm=3.0)
    for n in range(90):
        before = inspect_bytes(damaged(files[n % len(files)], dice), limits)
        made = mend(before, limits)
        if made is None or made.failed:
            continue
        clean += 1
        assert [str(f) for f in lint(made.data) if f.code not in MEANT] == []
        assert before.drawing is not None and before.outlines is not None
        # What is there twice is counted twice before, what does not close not at all.
        if not before.outlines.chains.broken and not {f.code for f in before.findings} & TWICE:
            length = math.fsum(e.length_mm for p in before.drawing.pieces for e in p.edges)
            assert made.after.area_mm2 == pytest.approx(before.area_mm2, abs=made.deviation_mm * length + 1e-4)
    assert clean >= 4
