"""An independent exact kernel measures every sample and every shape: area of the flat, volume of the folded part."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from random_trees import random_tree
from sample_parts import sample_texts
from whole_way import WholeWay, whole_way

from bracketgen.bending.fold import folded_volume_mm3
from bracketgen.errors import InputFaults
from bracketgen.geometry.contour import Circle, Contour
from bracketgen.part.part import Bend, Way

pytest.importorskip("OCP")
import exact_kernel as kernel

pytestmark = pytest.mark.oracle

#: The bar, as a share of the whole.
SHARE = 1e-9
SAMPLES = sample_texts()
#: Parts that are also joined into one body. A tray's corners and a hat's legs are in.
FUSED = [name for name in SAMPLES if name in ("filter", "tray", "belt", "joggle", "hat") or name.startswith("shapes/")]

Vertex = tuple[float, float, float]


@pytest.fixture(params=SAMPLES)
def part(request: pytest.FixtureRequest) -> WholeWay:
    return whole_way(*SAMPLES[request.param])


def test_flat_area(part: WholeWay) -> None:
    flat = part.report["flat"]
    outline, *holes = flat["contours"]
    assert kernel.area(kernel.face_of(outline, holes)) == pytest.approx(flat["area_mm2"], rel=SHARE)


def test_folded_volume(part: WholeWay) -> None:
    volume = math.fsum(kernel.volume(solid) for solid in solids_of(part))
    assert volume == pytest.approx(folded_volume_mm3(part.job.part), rel=SHARE)


@pytest.mark.parametrize("name", FUSED)
def test_panels_and_bends_join_into_one_solid(name: str) -> None:
    part = whole_way(*SAMPLES[name])
    whole = kernel.fused(solids_of(part))
    assert kernel.is_one_valid_solid(whole)
    assert kernel.volume(whole) == pytest.approx(folded_volume_mm3(part.job.part), rel=SHARE)


def test_random_trees() -> None:
    made = 0
    for seed in range(25):
        try:
            part = whole_way(random_tree(seed).text)
        except InputFaults:
            continue
        made += 1
        volume = math.fsum(kernel.volume(solid) for solid in solids_of(part))
        assert volume == pytest.approx(folded_volume_mm3(part.job.part), rel=SHARE), seed
    assert made >= 20


# -- from the report's frames and the panels' own lines to solids


def solids_of(part: WholeWay) -> list[Any]:
    """A plate for each panel with its finished holes, a sector for each bend."""
    t = part.job.part.stock.thickness_mm
    frames = {p["id"]: p["frame"] for p in part.report["panels"]}
    plates = []
    for panel in part.job.part.panels:
        holes = [backwards(vertices(h.cut)) for h in panel.holes]
        plates.append(kernel.plate(kernel.face_of(vertices(panel.outline), holes), t, frames[panel.id]))
    return plates + [bend_solid(b, t, np.array(frames[b.parent])) for b in part.job.part.bends]


def bend_solid(bend: Bend, t: float, frame: np.ndarray[Any, Any]) -> Any:
    """The rectangle under the tangent line, turned about the centre of the bend."""

    def placed(x: float, y: float, z: float) -> tuple[float, float, float]:
        p = frame @ (x, y, z, 1.0)
        return (float(p[0]), float(p[1]), float(p[2]))

    (ax, ay), (bx, by) = bend.parent_line.start, bend.parent_line.end
    up = bend.way is Way.UP
    corners = [placed(ax, ay, 0), placed(bx, by, 0), placed(bx, by, -t), placed(ax, ay, -t)]
    at = placed(ax, ay, bend.inside_radius_mm if up else -t - bend.inside_radius_mm)
    along = frame[:3, :3] @ (bx - ax, by - ay, 0.0)
    axis = along if up else -along
    return kernel.sector(corners, at, tuple(float(v) for v in axis), math.radians(bend.turn_deg))


def vertices(cut: Contour | Circle) -> list[Vertex]:
    """Anticlockwise points with bulges; a circle as four quarters."""
    if isinstance(cut, Circle):
        (x, y), r = cut.centre, cut.radius
        quarter = math.tan(math.pi / 8)
        return [(x + r, y, quarter), (x, y + r, quarter), (x - r, y, quarter), (x, y - r, quarter)]
    return [(e.start.x, e.start.y, e.bulge) for e in cut.anticlockwise().edges]


def backwards(points: Sequence[Vertex]) -> list[Vertex]:
    """The same edges the other way round."""
    back = points[::-1]
    return [(p[0], p[1], -q[2]) for p, q in zip(back, [*back[1:], back[0]], strict=True)]
