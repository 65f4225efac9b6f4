"""The cut file: what it holds, that other readers see the same, and that a wrong file is never written."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from io import StringIO
from math import atan2, cos, hypot, isclose, pi, radians, sin
from pathlib import Path

import ezdxf
import pytest
from ezdxf.math import bulge_to_arc
from hypothesis import given, settings
from hypothesis import strategies as st
from plates_to_cut import QUARTER, rounded_rectangle

from bracketgen.drawing.cut_sheet import Chain, Closure, CutSheet, Layer, Round, canonical
from bracketgen.errors import GeometryFault, WriteFault
from bracketgen.files import dxf
from bracketgen.files.contours import DrawnContour
from bracketgen.files.dxf import Dialect, differences, dxf_bytes, verified_dxf
from bracketgen.files.edges import bulged
from bracketgen.files.group_codes import FLOAT_CODES, read_group_codes
from bracketgen.files.lint import Flaw, lint
from bracketgen.geometry.plane import Point

#: Bulge of a quarter turn, .414214 in the DXF Reference.


#: A breather-can mount: 120 x 80 with 8 mm corners, three holes that have no mirror image, one slot.
MOUNT = CutSheet(
    "can-mount",
    (Round(15.0, 20.0, 4.5), Round(105.0, 20.0, 3.3), Round(30.0, 60.0, 5.5)),
    (rounded_rectangle(0.0, 0.0, 120.0, 80.0, 8.0), rounded_rectangle(50.0, 30.0, 40.0, 10.0, 4.9)),
)


def closed_form_area(w: float, h: float, r: float) -> float:
    """A rectangle less what four rounded corners take: (4 - pi) r²."""
    return w * h - (4.0 - pi) * r * r


def closed_form_length(w: float, h: float, r: float) -> float:
    return 2.0 * (w + h) - (8.0 - 2.0 * pi) * r


MOUNT_AREA = closed_form_area(120, 80, 8) - closed_form_area(40, 10, 4.9) - pi * (4.5**2 + 3.3**2 + 5.5**2)
MOUNT_LENGTH = closed_form_length(120, 80, 8) + closed_form_length(40, 10, 4.9) + 2.0 * pi * (4.5 + 3.3 + 5.5)


# --- the sheet -----------------------------------------------------------------------------------------


def test_area_length_bounds_against_closed_forms() -> None:
    assert MOUNT.area_mm2 == pytest.approx(MOUNT_AREA, rel=1e-14)
    assert MOUNT.cut_length_mm == pytest.approx(MOUNT_LENGTH, rel=1e-14)
    assert MOUNT.bounds_mm == (0.0, 0.0, 120.0, 80.0)
    assert MOUNT.pierces == 5


@pytest.mark.parametrize("turn_deg", [0.0, 10.0, 45.0, 80.0])
def test_bounds_take_in_arcs_that_bulge_past_their_ends(turn_deg: float) -> None:
    steps = (radians(turn_deg + 90.0 * k) for k in range(4))
    disc = Chain(tuple((7.0 + 5.0 * cos(a), -3.0 + 5.0 * sin(a), QUARTER) for a in steps))
    assert disc.bounds_mm == pytest.approx((2.0, -8.0, 12.0, 2.0), abs=1e-12)
    assert disc.area_mm2 == pytest.approx(25.0 * pi, rel=1e-14)
    assert disc.length_mm == pytest.approx(10.0 * pi, rel=1e-14)
    file = read_group_codes(dxf_bytes(CutSheet("disc", (), (disc,))))
    header = [file.header_number(n, c) for n in ("$EXTMIN", "$EXTMAX") for c in (10, 20)]
    assert header == pytest.approx([2.0, -8.0, 12.0, 2.0], abs=1e-9)


@given(st.floats(1e-6, 0.999), st.floats(0.1, 500.0), st.sampled_from([-1.0, 1.0]))
def test_a_circular_segment_against_radius_and_angle(bulge: float, chord: float, side: float) -> None:
    """Segment area r²/2 (a - sin a), arc length r a (any handbook), from an angle that is not the bulge's."""
    sagitta = bulge * chord / 2.0
    radius = chord * chord / (8.0 * sagitta) + sagitta / 2.0
    angle = 2.0 * atan2(chord / 2.0, radius - sagitta)
    bow = Chain(((0.0, 0.0, side * bulge), (chord, 0.0, 0.0)))
    assert bow.length_mm == pytest.approx(chord + radius * angle, rel=1e-9)
    # Near a straight line the handbook's difference loses digits; the parabola's 2/3 does not.
    if bulge > 1e-2:
        assert bow.area_mm2 == pytest.approx(radius**2 / 2.0 * (angle - sin(angle)), rel=1e-9)
    elif bulge < 1e-4:
        assert bow.area_mm2 == pytest.approx(2.0 / 3.0 * chord * sagitta, rel=1e-7)
    assert (bow.signed_area_mm2 > 0.0) == (side > 0.0)


def test_the_two_formulas_for_a_flat_bow_meet_without_a_step() -> None:
    """Below a bulge of 0.02 a power series takes over; r²/2 (a - sin a) and it must agree there."""
    below, above = 0.02 * (1.0 - 1e-12), 0.02 * (1.0 + 1e-12)
    series, closed = (Chain(((0.0, 0.0, b), (1.0, 0.0, 0.0))).area_mm2 for b in (below, above))
    assert series == pytest.approx(closed, rel=2e-11)


def test_what_a_sheet_refuses() -> None:
    for build in (
        lambda: Round(0.0, 0.0, 0.0),
        lambda: Round(float("nan"), 0.0, 1.0),
        lambda: Chain(((0.0, 0.0, 0.0),)),
        lambda: Chain(((0.0, 0.0, 1.0), (1.0, 0.0, 1.0))),
        lambda: Chain(((0.0, float("inf"), 0.0), (1.0, 0.0, 0.0))),
        lambda: CutSheet("nothing").bounds_mm,
        lambda: CutSheet("nothing").area_mm2,
    ):
        with pytest.raises(GeometryFault):
            build()


def turned_round(chain: Chain, start: int, backwards: bool) -> Chain:
    """The same closed chain from another start, or run the other way."""
    points = chain.points[start:] + chain.points[:start]
    if backwards:
        reached_by = [points[k - 1][2] for k in range(len(points))]
        points = tuple((p[0], p[1], -b) for p, b in zip(points, reached_by, strict=True))[::-1]
    return replace(chain, points=points)


@given(st.integers(0, 7), st.integers(0, 7), st.booleans(), st.booleans(), st.randoms(use_true_random=False))
def test_start_direction_and_order_do_not_change_the_file(
    first: int, second: int, back: bool, back_too: bool, shuffle: object
) -> None:
    outline, slot = MOUNT.chains
    chains = [turned_round(outline, first, back), turned_round(slot, second, back_too)]
    assert all(abs(c.area_mm2 - o.area_mm2) < 1e-9 for c, o in zip(chains, MOUNT.chains, strict=True))
    rounds = list(MOUNT.rounds)
    shuffle.shuffle(chains)  # type: ignore[attr-defined]
    shuffle.shuffle(rounds)  # type: ignore[attr-defined]
    other = CutSheet(MOUNT.name, tuple(rounds), tuple(chains))
    assert canonical(other) == canonical(MOUNT)
    assert dxf_bytes(other) == dxf_bytes(MOUNT)


def test_canonical_runs_the_outline_left_about_and_holes_right_about() -> None:
    outline, slot = sorted(canonical(MOUNT).chains, key=lambda c: -c.area_mm2)
    assert outline.signed_area_mm2 > 0.0 > slot.signed_area_mm2
    assert outline.points[0][:2] == min(p[:2] for p in outline.points)
    assert canonical(canonical(MOUNT)) == canonical(MOUNT)


def test_canonical_knows_no_minus_nought() -> None:
    sheet = CutSheet("n", (Round(-1e-12, -0.0, 1.0),), (Chain(((-0.0, 0.0, -1e-15), (9.0, -1e-11, 0.0))),))
    assert "-0.0" not in repr(canonical(sheet))
    assert "e-" not in repr(canonical(sheet))


def test_an_open_chain_is_the_same_from_both_ends() -> None:
    there = Chain(((5.0, 1.0, 0.2), (0.0, 0.0, 0.0), (-4.0, 2.0, 0.7)), Closure.OPEN, Layer.BEND)
    back = Chain(((-4.0, 2.0, 0.0), (0.0, 0.0, -0.2), (5.0, 1.0, 0.0)), Closure.OPEN, Layer.BEND)
    sheets = [canonical(CutSheet("b", MOUNT.rounds, (*MOUNT.chains, chain))) for chain in (there, back)]
    assert sheets[0] == sheets[1]
    assert isclose(there.length_mm, back.length_mm)


# --- what stands in the file ---------------------------------------------------------------------------


def test_contract_of_the_cut_file() -> None:
    data = dxf_bytes(MOUNT)
    file = read_group_codes(data)
    assert data.isascii()
    assert data.count(b"\n") == data.count(b"\r\n")
    assert file.header["$ACADVER"][0].value == "AC1015"
    assert [file.header_number(n, 70) for n in ("$INSUNITS", "$MEASUREMENT", "$LUNITS")] == [4, 1, 2]
    assert sorted(file.layers) == ["0", "CUT"]
    assert file.blocks == ("*Model_Space", "*Paper_Space")
    assert [e.kind for e in file.entities] == ["CIRCLE"] * 3 + ["LWPOLYLINE"] * 2
    assert {e.layer for e in file.entities} == {"CUT"}
    assert all(int(e.number(70)) == 1 for e in file.entities if e.kind == "LWPOLYLINE")
    assert lint(data) == ()


@pytest.mark.parametrize("dialect", Dialect)
def test_numbers_are_plain_decimals_everywhere(dialect: Dialect) -> None:
    bow = Chain(((-0.0, 1e-9, 1e-12), (30.0, -1e-8, 2e-9), (30.0, 30.0, -1e-5), (1e-7, 30.0, 0.0)))
    fine = CutSheet("fine", (Round(1e-12, -1e-13, 1 / 3), Round(1234.5, 1e-7, 2.0)), (*MOUNT.chains, bow))
    for tag in read_group_codes(dxf_bytes(fine, dialect)).tags:
        if tag.code in FLOAT_CODES:
            assert re.fullmatch(r"-?\d+\.\d+", tag.value), tag
            assert tag.value != "-0.0"


@pytest.mark.parametrize("dialect", Dialect)
def test_no_clock_no_identifier_no_version(dialect: Dialect) -> None:
    text = dxf_bytes(MOUNT, dialect).decode()
    assert "EZDXF" not in text.upper()
    assert "$TD" not in text
    assert "GUID" not in text
    assert str(Path.cwd()) not in text
    assert ezdxf.__version__ not in text


def test_handles_are_unique_and_below_the_seed() -> None:
    file = read_group_codes(dxf_bytes(MOUNT))
    handles = [int(tag.value, 16) for tag in file.tags if tag.code in (5, 105)]
    seed = handles.pop(0)
    assert len(set(handles)) == len(handles)
    assert max(handles) == seed - 1


def test_the_view_is_on_the_part() -> None:
    document = read_ezdxf(dxf_bytes(MOUNT))
    port = document.viewports.get("*Active")[0]
    assert tuple(port.dxf.center)[:2] == (60.0, 40.0)
    assert port.dxf.height >= 80.0
    assert port.dxf.height * port.dxf.aspect_ratio >= 120.0


MARKED = CutSheet(
    "tab",
    (*MOUNT.rounds, Round(60.0, 70.0, 1.0, Layer.MARK)),
    (
        *MOUNT.chains,
        Chain(((0.0, 50.0, 0.0), (120.0, 50.0, 0.0)), Closure.OPEN, Layer.BEND),
        Chain(((70.0, 60.0, 0.3), (80.0, 60.0, 0.0), (80.0, 65.0, 0.0)), Closure.OPEN, Layer.MARK),
    ),
)


def test_marks_and_bends_stand_on_their_own_layers() -> None:
    file = read_group_codes(verified_dxf(MARKED))
    assert sorted(file.layers) == ["0", "BEND", "CUT", "MARK"]
    assert len(set(file.layers.values())) == 3  # layer 0 and CUT share the default colour
    drawn = [(e.layer, e.kind) for e in file.entities]
    assert drawn == [("CUT", "CIRCLE")] * 3 + [("CUT", "LWPOLYLINE")] * 2 + [
        ("MARK", "CIRCLE"),
        ("MARK", "LWPOLYLINE"),
        ("BEND", "LWPOLYLINE"),
    ]
    assert MARKED.area_mm2 == MOUNT.area_mm2
    assert MARKED.cut_length_mm == MOUNT.cut_length_mm


# --- other readers -------------------------------------------------------------------------------------


def read_ezdxf(data: bytes) -> ezdxf.document.Drawing:
    return ezdxf.read(StringIO(data.decode("ascii").replace("\r\n", "\n")))


def test_the_library_reads_the_same_part(tmp_path: Path) -> None:
    path = tmp_path / "mount.dxf"
    path.write_bytes(verified_dxf(MARKED))
    document = ezdxf.readfile(path)
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    assert document.units == ezdxf.units.MM
    cut = document.modelspace().query('*[layer=="CUT"]')
    circles = sorted((c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in cut.query("CIRCLE"))
    assert circles == [(15.0, 20.0, 4.5), (30.0, 60.0, 5.5), (105.0, 20.0, 3.3)]
    assert all(p.closed for p in cut.query("LWPOLYLINE"))
    assert [tuple(c.dxf.extrusion) for c in cut.query("CIRCLE")] == [(0.0, 0.0, 1.0)] * 3
    assert len(document.layouts) == 2
    assert len(document.paperspace()) == 0


def test_every_arc_has_the_centre_radius_and_middle_of_its_corner() -> None:
    document = read_ezdxf(dxf_bytes(MOUNT))
    wanted = {(x, y, 8.0) for x in (8.0, 112.0) for y in (8.0, 72.0)}
    wanted |= {(x, y, 4.9) for x in (54.9, 85.1) for y in (34.9, 35.1)}
    found = set()
    for polyline in document.modelspace().query("LWPOLYLINE"):
        points = list(polyline.get_points("xyb"))
        for (x0, y0, bulge), (x1, y1, _) in zip(points, [*points[1:], points[0]], strict=True):
            if bulge:
                centre, first, last, radius = bulge_to_arc((x0, y0), (x1, y1), bulge)
                found.add((round(centre.x, 7), round(centre.y, 7), round(radius, 7)))
                middle = (first + ((last - first) % (2.0 * pi)) / 2.0) % (pi / 2.0)
                assert middle == pytest.approx(pi / 4.0, abs=1e-6)
    assert found == wanted


def test_the_part_is_not_mirrored() -> None:
    """Three holes told apart by size turn the same way round in the model and in the file."""
    big, middle, small = (
        (c.dxf.center.x, c.dxf.center.y)
        for c in sorted(read_ezdxf(dxf_bytes(MOUNT)).modelspace().query("CIRCLE"), key=lambda c: -c.dxf.radius)
    )
    turn = (middle[0] - big[0]) * (small[1] - big[1]) - (middle[1] - big[1]) * (small[0] - big[0])
    # (30, 60) -> (15, 20) -> (105, 20): worked by hand, -15 * -40 - -40 * 75 = 3600.
    assert turn == pytest.approx(3600.0)


@pytest.mark.oracle
def test_another_reader_agrees_on_area_length_and_count(tmp_path: Path) -> None:
    pyogrio = pytest.importorskip("pyogrio")
    shapely = pytest.importorskip("shapely")
    path = tmp_path / "mount.dxf"
    path.write_bytes(verified_dxf(MOUNT))
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.1"})
    try:
        _, _, shapes, _ = pyogrio.raw.read(path)
    finally:
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": None})
    outlines = [shapely.Polygon(shapely.get_coordinates(shape)) for shape in shapely.from_wkb(shapes)]
    assert len(outlines) == 5
    areas = sorted(outline.area for outline in outlines)
    assert 2.0 * areas[-1] - sum(areas) == pytest.approx(MOUNT_AREA, rel=2e-6)
    assert sum(outline.length for outline in outlines) == pytest.approx(MOUNT_LENGTH, rel=2e-6)
    bounds = shapely.union_all(outlines).bounds
    assert bounds == pytest.approx((0.0, 0.0, 120.0, 80.0), abs=1e-4)


# --- never a wrong file --------------------------------------------------------------------------------


def dropped(sheet: CutSheet) -> CutSheet:
    return replace(sheet, rounds=sheet.rounds[1:])


def negated_y(sheet: CutSheet) -> CutSheet:
    rounds = tuple(replace(r, y_mm=-r.y_mm) for r in sheet.rounds)
    chains = tuple(replace(c, points=tuple((x, -y, -b) for x, y, b in c.points)) for c in sheet.chains)
    return replace(sheet, rounds=rounds, chains=chains)


def doubled_radius(sheet: CutSheet) -> CutSheet:
    first, *others = sheet.rounds
    return replace(sheet, rounds=(replace(first, radius_mm=2.0 * first.radius_mm), *others))


def arcs_inside_out(sheet: CutSheet) -> CutSheet:
    return with_bulges(sheet, -1.0)


def with_bulges(sheet: CutSheet, factor: float) -> CutSheet:
    chains = (replace(c, points=tuple((x, y, factor * b) for x, y, b in c.points)) for c in sheet.chains)
    return replace(sheet, chains=tuple(chains))


def arcs_straightened(sheet: CutSheet) -> CutSheet:
    return with_bulges(sheet, 0.0)


def off_by_a_hair(sheet: CutSheet) -> CutSheet:
    first, *others = sheet.rounds
    return replace(sheet, rounds=(replace(first, x_mm=first.x_mm + 2e-9), *others))


def opened(sheet: CutSheet) -> CutSheet:
    return replace(sheet, chains=tuple(replace(c, closed=Closure.OPEN) for c in sheet.chains))


def all_marked(sheet: CutSheet) -> CutSheet:
    return replace(sheet, rounds=tuple(replace(r, layer=Layer.MARK) for r in sheet.rounds))


@pytest.mark.parametrize(
    "spoil",
    [
        dropped,
        negated_y,
        doubled_radius,
        arcs_inside_out,
        arcs_straightened,
        off_by_a_hair,
        opened,
        all_marked,
    ],
)
def test_a_writer_gone_wrong_is_caught(spoil: Callable[[CutSheet], CutSheet], monkeypatch: pytest.MonkeyPatch) -> None:
    assert differences(MOUNT, dxf_bytes(MOUNT)) == ()
    assert differences(MOUNT, dxf_bytes(spoil(MOUNT))) != ()
    monkeypatch.setattr(dxf, "dxf_bytes", lambda sheet, _dialect: dxf_bytes(spoil(sheet)))
    with pytest.raises(WriteFault):
        verified_dxf(MOUNT)


def test_a_negated_coordinate_in_the_text_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    data = dxf_bytes(MOUNT)
    wrong = data.replace(b" 10\r\n15.0\r\n 20\r\n20.0", b" 10\r\n15.0\r\n 20\r\n-20.0")
    assert wrong != data
    monkeypatch.setattr(dxf, "dxf_bytes", lambda *_: wrong)
    with pytest.raises(WriteFault, match="circle 1"):
        verified_dxf(MOUNT)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"$EXTMAX\r\n 10\r\n120.0", b"$EXTMAX\r\n 10\r\n121.0"),
        (b"  9\r\n$EXTMAX\r\n", b"  9\r\n$OTHER\r\n"),
        (b" 40\r\n4.5\r\n", b" 40\r\n4.500000002\r\n"),
        (b" 42\r\n0.414213562373\r\n", b" 42\r\n0.414213565\r\n"),
        (b"  0\r\nEOF\r\n", b""),
    ],
)
def test_a_changed_byte_is_caught(old: bytes, new: bytes) -> None:
    data = dxf_bytes(MOUNT)
    assert old in data
    assert differences(MOUNT, data.replace(old, new, 1)) != ()


def test_a_mark_moved_to_the_bend_layer_is_caught() -> None:
    data = dxf_bytes(MARKED)
    head, tail = data.split(b"ENTITIES", 1)
    assert tail.count(b"\r\nMARK\r\n") == 2
    moved = head + b"ENTITIES" + tail.replace(b"\r\nMARK\r\n", b"\r\nBEND\r\n", 1)
    assert differences(MARKED, data) == ()
    assert differences(MARKED, moved) != ()


def test_a_deleted_entity_is_caught() -> None:
    data = dxf_bytes(MOUNT)
    start = data.index(b"  0\r\nCIRCLE")
    end = data.index(b"  0\r\nCIRCLE", start + 1)
    assert any("circles in the sheet, 2 in the file" in d for d in differences(MOUNT, data[:start] + data[end:]))


def test_a_part_that_can_not_be_cut_is_only_written_on_request() -> None:
    touching = replace(MOUNT, rounds=(*MOUNT.rounds, Round(117.0, 40.0, 3.0)))
    for dialect in Dialect:
        with pytest.raises(WriteFault, match="crossing"):
            verified_dxf(touching, dialect=dialect)
    data = verified_dxf(touching, tolerated=frozenset({Flaw.CROSSING}))
    assert {finding.code for finding in lint(data)} == {Flaw.CROSSING}


# --- the same bytes everywhere -------------------------------------------------------------------------

SCRIPT = """
import hashlib, locale, sys
try:
    locale.setlocale(locale.LC_ALL, "")
except locale.Error:
    pass
from bracketgen.drawing.cut_sheet import Chain, CutSheet, Round
from bracketgen.files.dxf import Dialect, verified_dxf
plate = Chain(((0, 0, 0), (100 / 3, 0, 0.25), (40, 30, 0), (0, 30, 0)))
sheet = CutSheet("tab", (Round(10, 10, 3.3), Round(20, 20, 2.1)), (plate,))
files = [verified_dxf(sheet, dialect=dialect) for dialect in Dialect]
sys.stdout.write(hashlib.sha256(b"".join(files)).hexdigest())
"""
ROOT = Path(__file__).resolve().parents[2]


def run_script(folder: Path, **settings_: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT), **settings_}
    command = [sys.executable, "-c", SCRIPT]
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


def test_the_same_bytes_in_a_hostile_place(tmp_path: Path) -> None:
    calm, hostile = tmp_path / "calm", tmp_path / "hostile"
    calm.mkdir()
    hostile.mkdir()
    lines = ["[core]", "write_fixed_meta_data_for_testing = perhaps", "default_dimension_text_style = Odd"]
    (hostile / "ezdxf.ini").write_text("\n".join(lines), encoding="utf-8")
    one = run_script(calm, PYTHONHASHSEED="1", LC_ALL="C", TZ="UTC")
    two = run_script(hostile, PYTHONHASHSEED="77", LC_ALL="de_DE.UTF-8", TZ="Asia/Tokyo", EZDXF_DISABLE_C_EXT="1")
    assert (one.stderr, two.stderr) == ("", "")
    assert len(one.stdout) == 64
    assert one.stdout == two.stdout


def test_a_broken_setting_of_the_library_is_named(tmp_path: Path) -> None:
    (tmp_path / "ezdxf.ini").write_text("this is no setting", encoding="utf-8")
    result = run_script(tmp_path)
    assert result.returncode != 0
    assert "WriteFault: an ezdxf.ini on this machine can't be read" in result.stderr


@pytest.mark.parametrize("dialect", Dialect)
def test_the_same_bytes_however_often_and_after_whatever(dialect: Dialect, monkeypatch: pytest.MonkeyPatch) -> None:
    first = dxf_bytes(MOUNT, dialect)
    for turn in range(99):
        dxf_bytes(MARKED, list(Dialect)[turn % 3])
        again = dxf_bytes(MOUNT, dialect)
        assert again == first
    monkeypatch.setattr(ezdxf.options, "write_fixed_meta_data_for_testing", True)
    assert dxf_bytes(MOUNT, dialect) == first


# --- any sheet -----------------------------------------------------------------------------------------


@st.composite
def sheets(draw: st.DrawFn) -> tuple[CutSheet, float, float]:
    """A rounded plate with a row of round holes and slots, turned; with its closed-form area and length."""
    turn = draw(st.floats(0.0, 360.0))
    count = draw(st.integers(0, 6))
    w, h = 20.0 * count + draw(st.floats(20.0, 300.0)), draw(st.floats(20.0, 300.0))
    r = draw(st.floats(0.5, 9.0))
    x, y = draw(st.floats(-500.0, 500.0)), draw(st.floats(-500.0, 500.0))
    outline = rounded_rectangle(x, y, w, h, r, turn)
    area, length = closed_form_area(w, h, r), closed_form_length(w, h, r)
    c, s = cos(radians(turn)), sin(radians(turn))
    rounds, chains = [], [outline]
    for k in range(count):
        size = draw(st.floats(0.5, 7.0))
        if draw(st.booleans()):
            hx, hy = x + 15.0 + 20.0 * k, y + 10.0
            rounds.append(Round(hx * c - hy * s, hx * s + hy * c, size))
            area, length = area - pi * size**2, length + 2.0 * pi * size
        else:
            corner = draw(st.floats(0.1, 0.45)) * size
            chains.append(rounded_rectangle(x + 12.0 + 20.0 * k, y + 10.0, size, size, corner, turn))
            area -= closed_form_area(size, size, corner)
            length += closed_form_length(size, size, corner)
    return CutSheet("any", tuple(rounds), tuple(chains)), area, length


@settings(max_examples=60, deadline=None)
@given(sheets())
def test_any_sheet_goes_through_and_adds_up(case: tuple[CutSheet, float, float]) -> None:
    sheet, area, length = case
    assert sheet.area_mm2 == pytest.approx(area, rel=1e-9, abs=1e-6)
    assert sheet.cut_length_mm == pytest.approx(length, rel=1e-9)
    # Short edges of a small opening are a flaw of the drawn sheet, not of the writer.
    data = verified_dxf(sheet, tolerated=frozenset({Flaw.TINY_EDGE}))
    document = read_ezdxf(data)
    found = sorted((c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in document.query("CIRCLE"))
    wanted = sorted((r.x_mm, r.y_mm, r.radius_mm) for r in sheet.rounds)
    assert all(
        hypot(a[0] - b[0], a[1] - b[1]) < 1e-9 and abs(a[2] - b[2]) < 1e-9 for a, b in zip(found, wanted, strict=True)
    )


@settings(deadline=None)
@given(
    st.floats(0.01, 3.0), st.sampled_from([-1.0, 1.0]), st.floats(-90.0, 90.0), st.floats(0.5, 90.0), st.floats(0, 6)
)
def test_the_readers_arcs_are_the_librarys(size: float, side: float, x: float, y: float, turn: float) -> None:
    """Both ways round, and over a half circle as well, as other people's files have them."""
    start, end = (x, y), (x + 40.0 * cos(turn), y + 40.0 * sin(turn))
    edge = bulged(start, end, side * size)
    centre, first, last, radius = bulge_to_arc(start, end, side * size)
    assert edge.centre == pytest.approx((centre.x, centre.y), abs=1e-7 + 1e-9 * radius)
    assert edge.radius_mm == pytest.approx(radius, rel=1e-9)
    assert abs(edge.sweep_rad) == pytest.approx((last - first) % (2.0 * pi), rel=1e-9)
    assert edge.point_at(edge.start_rad) == pytest.approx(start, abs=1e-7)
    assert edge.point_at(edge.start_rad + edge.sweep_rad) == pytest.approx(end, abs=1e-7)


@given(st.floats(-6.0, 6.0), st.sampled_from([-5.0, -3.0, 0.0, 2.5, 4.0]), st.floats(0.0, 90.0))
def test_inside_of_a_disc_of_four_arcs(x: float, y: float, turn_deg: float) -> None:
    """Points on the level of a joint included: the distance from the centre decides."""
    corners = [(5.0 * cos(a), 5.0 * sin(a)) for a in (radians(turn_deg + 90.0 * k) for k in range(4))]
    edges = tuple(bulged(p, q, QUARTER) for p, q in zip(corners, [*corners[1:], corners[0]], strict=True))
    distance = hypot(x, y)
    if abs(distance - 5.0) > 1e-6:
        assert DrawnContour(edges, 0).true().holds(Point(x, y)) == (distance < 5.0)
