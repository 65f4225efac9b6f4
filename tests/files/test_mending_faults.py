"""Mended files pass the lint, are read the same by an independent reader, and keep their area."""

from __future__ import annotations

import io
import math
import re
from itertools import pairwise
from typing import Any

import ezdxf
import pytest
from ezdxf.document import Drawing
from faulty_dxf import CLEAN, FAULTS, SQUARE, Faulty, plain, ring, tags, text_line, text_ring
from faulty_plate import AREA, LENGTH
from plain_dxf import area as chain_area
from test_inspect_faults import limits_of

from bracketgen.files.inspecting.drawing import MM
from bracketgen.files.inspecting.inspection import Limits, inspect_bytes
from bracketgen.files.inspecting.mend import Mended, cleaned_names, mend
from bracketgen.files.lint import lint

MENDABLE = [pytest.param(f, v, id=f"{f.kind}, {v}") for f in FAULTS if f.mended for v in f.versions]
OTHERS = [pytest.param(f, f.versions[-1], id=f.kind) for f in FAULTS if not f.mended]


def mended(data: bytes, limits: Limits | None = None, most_mm: float = 0.1) -> Mended:
    limits = limits or Limits()
    made = mend(inspect_bytes(data, limits), limits, most_mm)
    assert made is not None
    return made


def opened(data: bytes) -> Drawing:
    """The file as the library reads and audits it."""
    doc = ezdxf.read(io.StringIO(data.decode("ascii").replace("\r\n", "\n")))
    auditor = doc.audit()
    assert not auditor.errors and not auditor.fixes
    return doc


def areas(doc: Drawing) -> list[float]:
    """Area of every closed contour, by the library's numbers and another formula, the largest first."""
    found = [math.pi * c.dxf.radius**2 for c in doc.modelspace().query("CIRCLE")]
    for line in doc.modelspace().query("LWPOLYLINE"):
        if line.closed:
            found.append(abs(chain_area([(float(x), float(y), float(b)) for x, y, b in line.get_points("xyb")])))
    return sorted(found, reverse=True)


def metal(doc: Drawing) -> float:
    """The largest contour less all others."""
    found = areas(doc)
    return 2.0 * found[0] - math.fsum(found)


@pytest.mark.parametrize(("faulty", "version"), MENDABLE)
def test_a_mended_file_is_clean_and_keeps_its_area(faulty: Faulty, version: str) -> None:
    made = mended(faulty.make(version), limits_of(faulty, version))
    assert [str(f) for f in lint(made.data)] == []
    assert [str(f) for f in made.after.findings] == []
    assert not made.failed
    assert made.done or made.left or faulty.codes <= {"extents", "undeclared-layer", "layer-name"}
    if faulty.area is not None:
        # Written numbers carry nine decimals.
        assert metal(opened(made.data)) == pytest.approx(faulty.area, abs=1e-5 + made.deviation_mm * (LENGTH + 60.0))


@pytest.mark.parametrize(("faulty", "version"), OTHERS)
def test_what_is_not_safe_is_left_and_said(faulty: Faulty, version: str) -> None:
    """What can't be mended is still found in the new file, or is told as left out, and the exit code stays."""
    limits = limits_of(faulty, version)
    before = inspect_bytes(faulty.make(version), limits)
    made = mend(before, limits)
    if made is None:
        assert before.unreadable or not before.drawing or not before.drawing.pieces
        return
    still = {f.code.value for f in made.after.findings}
    assert faulty.codes & still or made.left
    assert made.failed or not before.failed


def test_mending_twice_changes_nothing() -> None:
    for faulty in FAULTS:
        if faulty.mended:
            once = mended(faulty.make(faulty.versions[-1]), limits_of(faulty, faulty.versions[-1]))
            assert mended(once.data).data == once.data, faulty.kind


@pytest.mark.parametrize("name", CLEAN)
def test_a_clean_file_comes_out_with_the_same_contours(name: str) -> None:
    source = CLEAN[name]("R2010").data
    made = mended(source)
    assert made.left == () and made.deviation_mm == 0.0
    if name != "loose lines and arcs":
        assert areas(opened(made.data)) == pytest.approx(areas(ezdxf.read(io.StringIO(source.decode()))), abs=1e-5)


def deed_of(made: Mended, words: str) -> Any:
    """The one deed whose words begin so."""
    (found,) = [d for d in made.done if d.what.startswith(words)]
    return found


def test_a_gap_is_joined_where_the_lines_meet() -> None:
    """Two sides that stop 0.03 short of their corner: both come to the corner itself."""
    short = plain(
        text_line(0, 0, 99.97, 0), text_line(100, 0.03, 100, 60), text_line(100, 60, 0, 60), text_line(0, 60, 0, 0)
    )
    made = mended(short.encode())
    assert deed_of(made, "gap joined").deviation_mm == pytest.approx(0.03)
    assert metal(opened(made.data)) == pytest.approx(6000.0, abs=1e-9)


def test_a_gap_between_parallels_is_joined_half_way() -> None:
    text = plain(text_line(0, 0, 50, 0), text_line(50, 0.04, 100, 0.04), text_line(100, 0.04, 100, 60),
                 text_line(100, 60, 0, 60), text_line(0, 60, 0, 0))  # fmt: skip
    made = mended(text.encode())
    assert deed_of(made, "gap joined").deviation_mm == pytest.approx(0.02)
    (chain,) = opened(made.data).modelspace().query("LWPOLYLINE")
    assert (50.0, 0.02) in [(round(x, 9), round(y, 9)) for x, y in chain.get_points("xy")]


def test_a_gap_wider_than_stated_stays() -> None:
    text = plain(
        text_line(0, 0, 99.8, 0), text_line(100, 0, 100, 60), text_line(100, 60, 0, 60), text_line(0, 60, 0, 0)
    )
    assert mended(text.encode()).failed
    assert not mended(text.encode(), Limits(gap_mm=0.3)).failed


def test_three_ends_near_each_other_are_not_joined() -> None:
    sides = text_line(100, 60, 0, 60) + text_line(0, 60, 0, 0)
    spur = text_line(100, 0.03, 120, 0.03)
    text = plain(text_line(0, 0, 100, 0), text_line(100.02, 0, 100, 60), sides, spur)
    made = mended(text.encode())
    assert made.failed
    assert not [d for d in made.done if d.what == "gap joined"]


@pytest.mark.parametrize("count", [16, 24, 48, 200])
def test_a_faceted_hole_becomes_a_circle_of_the_corners_radius(count: int) -> None:
    """Regular polygon in a circle of 20 mm: the rise of a chord is r (1 - cos(pi / n)); plane geometry."""
    corners = ring(50.0, 30.0, 20.0, count, 9)
    body = tags((0, "LWPOLYLINE"), (8, 0), (90, count), (70, 1)) + "".join(
        tags((10, x), (20, y)) for x, y, _ in corners
    )
    made = mended(plain(text_ring(*SQUARE), body).encode(), most_mm=0.5)
    (circle,) = opened(made.data).modelspace().query("CIRCLE")
    assert circle.dxf.radius == pytest.approx(20.0, abs=1e-6)
    assert deed_of(made, "short lines").deviation_mm == pytest.approx(
        20.0 * (1.0 - math.cos(math.pi / count)), abs=1e-6
    )


def test_facets_coarser_than_allowed_are_left() -> None:
    corners = ring(50.0, 30.0, 20.0, 24, 9)
    body = tags((0, "LWPOLYLINE"), (8, 0), (90, 24), (70, 1)) + "".join(tags((10, x), (20, y)) for x, y, _ in corners)
    made = mended(plain(text_ring(*SQUARE), body).encode(), most_mm=0.1)
    assert not opened(made.data).modelspace().query("CIRCLE")
    assert any("0.1711 mm off" in str(d) for d in made.left)


@pytest.mark.parametrize("sides", [3, 4, 5, 6, 8])
def test_nut_pockets_and_octagons_stay_what_they_are(sides: int) -> None:
    corners = ring(50.0, 30.0, 2.0, sides, 9)
    body = tags((0, "LWPOLYLINE"), (8, 0), (90, sides), (70, 1)) + "".join(
        tags((10, x), (20, y)) for x, y, _ in corners
    )
    made = mended(plain(text_ring(*SQUARE), body).encode(), most_mm=1.0)
    assert not opened(made.data).modelspace().query("CIRCLE")
    assert [d for d in made.done if d.deviation_mm] == []


def test_a_rounded_end_keeps_its_straight_sides() -> None:
    """A slot 60 x 20 whose ends are 36 short lines each: two straight lines of 40 mm and true half rounds are left."""
    left = [(10 + 10 * math.cos(a), 10 + 10 * math.sin(a)) for a in (math.pi / 2 + math.pi * k / 36 for k in range(37))]
    right = [
        (50 + 10 * math.cos(a), 10 + 10 * math.sin(a)) for a in (-math.pi / 2 + math.pi * k / 36 for k in range(37))
    ]
    made = mended(plain(text_ring(*left, *right)).encode())
    (chain,) = opened(made.data).modelspace().query("LWPOLYLINE")
    points = [(float(x), float(y), float(b)) for x, y, b in chain.get_points("xyb")]
    assert sum(1 for _, _, b in points if b == 0.0) == 2
    assert abs(chain_area(points)) == pytest.approx(40.0 * 20.0 + math.pi * 100.0, abs=1e-4)


def test_an_ellipse_keeps_within_what_is_said() -> None:
    """Both ways: arcs against the true ellipse at many points, by the implicit equation and its gradient."""
    body = tags((0, "ELLIPSE"), (8, 0), (10, 50), (20, 30), (11, 30), (21, 0), (40, 0.4), (41, 0), (42, math.tau))
    made = mended(plain(text_ring(*SQUARE), body).encode())
    told = deed_of(made, "ELLIPSE").deviation_mm
    chain = min(opened(made.data).modelspace().query("LWPOLYLINE"), key=lambda e: len(e) if len(e) != 4 else 999)
    worst = 0.0
    from ezdxf.path import make_path

    for p in make_path(chain).flattening(1e-6):
        x, y = p.x - 50.0, p.y - 30.0
        value = (x / 30.0) ** 2 + (y / 12.0) ** 2 - 1.0
        worst = max(worst, abs(value) / math.hypot(2 * x / 900.0, 2 * y / 144.0))
    assert worst <= told + 1e-4
    assert worst > 0.2 * told
    assert areas(opened(made.data))[-1] == pytest.approx(math.pi * 30.0 * 12.0, abs=told * 140.0)


@pytest.mark.parametrize("seed", range(12))
def test_a_free_spline_keeps_within_what_is_said(seed: int) -> None:
    """The library's own evaluation of the curve against the mended arcs, and the area within."""
    import random

    from ezdxf import math as em

    dice = random.Random(seed)
    controls = [
        (150 + (40 + dice.uniform(-12, 12)) * math.cos(a), 100 + (40 + dice.uniform(-12, 12)) * math.sin(a))
        for a in (math.tau * k / 9 for k in range(9))
    ]
    doc = ezdxf.new("R2010", units=4)
    doc.modelspace().add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    curve = em.closed_uniform_bspline(controls, order=dice.choice((3, 4, 5)))
    doc.modelspace().add_spline().apply_construction_tool(curve)
    stream = io.StringIO()
    doc.write(stream)
    made = mended(stream.getvalue().encode())
    told = deed_of(made, "SPLINE").deviation_mm
    assert told <= 0.005
    points = [(p.x, p.y) for p in curve.approximate(4000)]
    shoelace = 0.5 * math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))
    length = math.fsum(math.dist(a, b) for a, b in pairwise(points))
    assert areas(opened(made.data))[-1] == pytest.approx(abs(shoelace), abs=told * length + 1e-3)
    # Every point of the library's curve lies within the told distance of some arc of the new file.
    ours = min(made.after.outlines.chains.contours, key=lambda c: c.area_mm2)  # type: ignore[union-attr]
    off = max(min(e.distance_mm(p) for e in ours.edges) for p in points[::40])
    assert off <= told + 1e-6


def test_inch_files_come_out_in_millimetres() -> None:
    text = plain(text_ring((0, 0), (4, 0), (4, 2), (0, 2)), header="  9\n$INSUNITS\n 70\n1\n")
    made = mended(text.encode())
    assert metal(opened(made.data)) == pytest.approx(8 * 25.4**2)
    assert "inches turned into millimetres" in [d.what for d in made.done]
    unsaid = plain(text_ring((0, 0), (4, 0), (4, 2), (0, 2)), header="")
    stated = mended(unsaid.encode(), Limits(unit=1))
    assert metal(opened(stated.data)) == pytest.approx(8 * 25.4**2)


def test_layer_names_stay_apart_and_marks_stay_marks() -> None:
    layers = ("0", "CUT", "cut", "Außenkontur", "2nd op", "bend lines")
    body = "".join(
        tags((0, "CIRCLE"), (8, name), (10, 10 + 12 * n), (20, 30), (40, 4)) for n, name in enumerate(layers[:5])
    )
    text = plain(text_ring(*SQUARE), body, text_line(0, 50, 100, 50, layers[5]))
    made = mended(text.encode())
    doc = opened(made.data)
    found = sorted({e.dxf.layer for e in doc.modelspace()})
    assert found == ["AUSSENKONTUR", "BEND_LINES", "CUT", "CUT_2", "L_2ND_OP"]
    assert {layer.dxf.name for layer in doc.layers} >= set(found)
    assert lint(made.data) == ()


_LONG = "a" * 26  # with " mark" behind it as long as a layer's name may be: DXF R12, 31 characters


@pytest.mark.parametrize(
    "names",
    [
        ("nöte", "märker"),  # cut as typed; without their dots they hold the words NOTE and MARK
        ("CUT", "cut märk", "märk", "mark"),
        (_LONG + " and then bend", _LONG + " mark"),  # the word that says so is cut off with what is too long
        (_LONG + " mark", _LONG + "-mark", _LONG + ".mark"),  # or by the number that keeps them apart
    ],
)
def test_no_new_name_turns_a_cut_into_a_mark_or_a_mark_into_a_cut(names: tuple[str, ...]) -> None:
    made = cleaned_names(names)
    assert len(set(made.values())) == len(names)
    assert all(re.fullmatch(r"[A-Z][A-Z0-9_]{0,30}", new) for new in made.values())
    words = ("MARK", "NOTE", "BEND")
    for old, new in made.items():
        assert any(w in new for w in words) is any(w in old.upper() for w in words), (old, new)


def test_the_plate_itself() -> None:
    """The area that all faults are held against, from the library's own reading of the clean plate."""
    doc = ezdxf.read(io.StringIO(CLEAN["plate"]("R2000").data.decode()))
    assert metal(doc) == pytest.approx(AREA, rel=1e-12)
    assert Limits().unit != MM


def test_many_short_lines_drift_no_farther_than_is_said() -> None:
    """400 lines of 0.01 mm along one side: they go, and the told figure holds the whole way from old to new."""
    side = [(0.01 * k, 0.0) for k in range(401)]
    made = mended(plain(text_ring(*side, (60.0, 0.0), (60.0, 40.0), (0.0, 40.0))).encode())
    assert [str(f) for f in made.after.findings] == []
    (chain,) = opened(made.data).modelspace().query("LWPOLYLINE")
    corners = [(float(x), float(y)) for x, y in chain.get_points("xy")]
    for corner in ((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0)):
        assert min(math.dist(corner, c) for c in corners) <= made.deviation_mm + 1e-9
    assert metal(opened(made.data)) == pytest.approx(2400.0, abs=made.deviation_mm * 200.0)
    assert made.deviation_mm <= 0.05


def test_the_told_distance_is_measured_from_old_to_new() -> None:
    """A gap closed half way moves two long lines by the half of it, whatever the words of single deeds say."""
    sides = text_line(100, 0.04, 100, 60) + text_line(100, 60, 0, 60) + text_line(0, 60, 0, 0)
    text = plain(text_line(0, 0, 50, 0), text_line(50, 0.04, 100, 0.04), sides)
    assert mended(text.encode()).deviation_mm == pytest.approx(0.02, abs=1e-6)
