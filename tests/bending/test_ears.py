"""Bends on a part of a slanted edge, beside corners that lean: made, and judged by another polygon library.

The judge chords the pieces' true outlines by itself, lays them over each other on a grid, and knows nothing of how the
package adds and cuts them.
"""

from __future__ import annotations

import math
from itertools import combinations

import pytest
import shapely
from described import plate
from random_ears import random_ears

from bracketgen.bending.flat import Flat
from bracketgen.errors import InputFaults
from bracketgen.geometry.contour import Contour
from bracketgen.geometry.edge import Arc
from bracketgen.pipeline import Made, work_out

#: More than this on one sheet is an overlap, less than a tenth of it is none; between them both are right.
OVERLAP_MM2 = 0.05


def made(text: str) -> Made:
    return work_out(text, "part.toml", "part")


def judged(outline: Contour) -> shapely.Polygon:
    """Chords within 0.0002 mm of the arcs of 5 mm that reliefs have."""
    points: list[tuple[float, float]] = []
    for edge in outline.edges:
        points.append((edge.start.x, edge.start.y))
        if isinstance(edge, Arc):
            begin = math.atan2(edge.start.y - edge.centre.y, edge.start.x - edge.centre.x)
            steps = 1 + int(abs(edge.sweep_rad) / 0.02)
            for n in range(1, steps):
                at = begin + edge.sweep_rad * n / steps
                points.append((edge.centre.x + edge.radius * math.cos(at), edge.centre.y + edge.radius * math.sin(at)))
    return shapely.set_precision(shapely.Polygon(points), 1e-6)


def shared_areas(flat: Flat) -> dict[frozenset[str], float]:
    """What every two pieces share, mm2, by the judge."""
    pieces = {p.id: judged(p.outline.moved(flat.placements[p.id])) for p in flat.part.panels}
    pieces |= {s.bend.id: judged(s.outline()) for s in flat.strips}
    assert all(piece.is_valid for piece in pieces.values())
    return {frozenset(pair): pieces[pair[0]].intersection(pieces[pair[1]]).area for pair in combinations(pieces, 2)}


def hold_against_judge(seed: int) -> tuple[int, int]:
    """Ears flush with a corner and overlaps of one random part; fails on a false alarm and on a missed overlap."""
    drawn = random_ears(seed)
    part = made(drawn.text)
    told = {frozenset(f.subject.split(" and ")) for f in part.findings if f.rule == "flat-overlap"}
    shared = shared_areas(part.flat)
    assert {pair for pair, area in shared.items() if area >= OVERLAP_MM2} <= told, f"missed, seed {seed}"
    assert told <= {pair for pair, area in shared.items() if area > OVERLAP_MM2 / 10}, f"false alarm, seed {seed}"
    if not told:
        # Nothing lies on anything, so the blank is as large as its pieces.
        pieces = [judged(p.outline).area for p in part.flat.part.panels] + [s.area_mm2 for s in part.flat.strips]
        assert judged(part.flat.outline).area == pytest.approx(math.fsum(pieces), abs=0.01)
    return drawn.flush, len(told)


def test_ears_are_made_and_only_true_overlaps_are_told() -> None:
    counted = [hold_against_judge(seed) for seed in range(60)]
    assert sum(flush for flush, _ in counted) >= 20
    assert sum(told for _, told in counted) >= 2


@pytest.mark.sweep
@pytest.mark.parametrize("block", range(5))
def test_many_ears(block: int) -> None:
    for seed in range(60 * block, 60 * (block + 1)):
        hold_against_judge(seed)


# -- by hand: an ear on the top edge of a base 100 wide, sizes over the outer faces, R = 3, t = 2: 5 mm of setback


def ear(left: float, width: float, corners: str, height: float = 30) -> str:
    return plate(
        f'[panels.ear]\noutline = {{ shape = "rectangle", width = {width}, height = {height} }}',
        f'bend = {{ from = "base", edge = 3, turn = 90, way = "up", shift = {left}, sizes = "outside" }}',
        '[bend]\ninside_radius = 3\nallowance = "K factor"\nk_factor = 0.4',
        'relief = { shape = "square", width = 4, depth = 2 }',
        outline=f'shape = "polygon", corners = [{corners}]',
    )


OUTWARD = "[-5, 0], [120, 0], [100, 50], [0, 50]"
INWARD = "[0, 0], [80, 0], [100, 50], [0, 50]"


def base_of(text: str) -> tuple[Made, shapely.Polygon]:
    part = made(text)
    return part, judged(part.job.part.panels[0].outline)


def test_an_ear_flush_with_a_corner_that_leans_outward_is_relieved() -> None:
    """The side runs from (100, 50) to (120, 0): at y = 45 it has spread by 2 mm, which a relief of 4 mm takes away."""
    part, base = base_of(ear(60, 40, OUTWARD))
    assert part.flat.strips[0].bend.width_mm == pytest.approx(40)
    assert not base.intersects(shapely.box(60, 45.001, 130, 60))
    assert not base.intersects(shapely.box(100.001, 43.001, 130, 45))
    assert base.contains(shapely.Point(100.2, 42.9))
    assert {f.rule for f in part.findings if f.level.value == "fail"} == set()


def test_a_corner_beyond_the_tangent_line_falls_off() -> None:
    """The side from (80, 0) to (100, 50) meets y = 45 at 98: of the corner past an ear up to 98.5 nothing hangs."""
    part, base = base_of(ear(60, 38.5, INWARD))
    assert part.flat.strips[0].bend.width_mm == pytest.approx(38)
    assert not base.intersects(shapely.box(60, 45.001, 130, 60))


def test_a_horn_on_a_thin_neck_goes_with_the_relief_and_a_broad_one_stays() -> None:
    """Beside the ear the base is 5 mm wide: a relief of 4 mm would leave 1 mm. With 20 mm it leaves 16 mm."""
    usual = 'relief = { shape = "square", depth = 2 }'
    square = "[0, 0], [100, 0], [100, 50], [0, 50]"
    for beside, stays in ((5, False), (20, True)):
        text = ear(50, 50 - beside, square).replace('relief = { shape = "square", width = 4, depth = 2 }', usual)
        _, base = base_of(text)
        assert base.intersects(shapely.box(100 - beside, 46, 100, 50)) is stays


def test_a_hole_on_what_falls_off_is_refused() -> None:
    text = ear(60, 38.5, INWARD).replace(
        "[panels.ear]", "[[panels.base.holes]]\ndiameter = 0.5\nat = [98.9, 49]\n[panels.ear]"
    )
    with pytest.raises(InputFaults, match="lies outside its panel"):
        made(text)
