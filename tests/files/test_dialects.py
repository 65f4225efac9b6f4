"""The cut file as single lines and arcs, and as R12: the same cuts as the usual file, by other readers' word."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

import ezdxf
import pytest
from ezdxf.math import bulge_to_arc
from sample_parts import SHAPES
from whole_way import whole_way

from bracketgen.drawing.cut_sheet import Chain, CutSheet, Round, cut_sheet
from bracketgen.errors import WriteFault
from bracketgen.files import dxf
from bracketgen.files.dxf import Dialect, arc_of, verified_dxf

Layers = Mapping[str, Sequence[Round | Chain]]
OTHERS = [Dialect.LINES_AND_ARCS, Dialect.R12]
PLATE = CutSheet(
    "plate",
    (Round(20.0, 20.0, 4.5),),
    (Chain(((0.0, 0.0, 0.0), (60.0, 0.0, 0.414213562373), (70.0, 10.0, 0.0), (70.0, 40.0, 0.0), (0.0, 40.0, -0.2))),),
)


@pytest.mark.parametrize("bulge", [0.1, 0.414213562373095, 0.99, -0.3, -0.99])
def test_an_arc_is_that_of_another_librarys_formula(bulge: float) -> None:
    (cx, cy), radius, start, end = arc_of((1.0, 2.0, bulge), (5.0, -3.0, 0.0))
    centre, first, last, r = bulge_to_arc((1.0, 2.0), (5.0, -3.0), bulge)
    assert (cx, cy, radius) == pytest.approx((centre.x, centre.y, r), abs=1e-12)
    assert math.cos(math.radians(start) - first) == pytest.approx(1.0)
    assert math.cos(math.radians(end) - last) == pytest.approx(1.0)


@pytest.mark.parametrize("dialect", OTHERS)
def test_entities_and_version_are_the_dialects_own(dialect: Dialect) -> None:
    text = verified_dxf(PLATE, dialect=dialect).decode("ascii")
    document = ezdxf.read(io.StringIO(text.replace("\r\n", "\n")))
    kinds = sorted({e.dxftype() for e in document.modelspace()})
    if dialect is Dialect.R12:
        assert document.dxfversion == "AC1009"
        assert kinds == ["CIRCLE", "POLYLINE"]
    else:
        assert document.dxfversion == "AC1015"
        assert document.header["$INSUNITS"] == 4
        assert kinds == ["ARC", "CIRCLE", "LINE"]
    assert {e.dxf.layer for e in document.modelspace()} == {"CUT"}
    audit = document.audit()
    assert (audit.errors, audit.fixes) == ([], [])


def test_r12_says_its_unit_in_its_name() -> None:
    assert "mm" in Dialect.R12.file_name("plate")


def _totals(text: str) -> tuple[float, float, int]:
    """Area by the true arcs, length, number of circles: ezdxf reads, the sums are this test's own."""
    document = ezdxf.read(io.StringIO(text.replace("\r\n", "\n")))
    length, circles, shares, rounds = 0.0, 0, [], 0.0
    for e in document.modelspace():
        if e.dxftype() == "CIRCLE":
            circles += 1
            length += 2 * math.pi * e.dxf.radius
            rounds += math.pi * e.dxf.radius**2
            continue
        if e.dxftype() == "LINE":
            shares.append((e.dxf.start, e.dxf.end, 0.0))
        elif e.dxftype() == "ARC":
            sweep = math.radians((e.dxf.end_angle - e.dxf.start_angle) % 360)
            shares.append((e.start_point, e.end_point, math.tan(sweep / 4)))
        else:
            points = [(v.dxf.location, v.dxf.get("bulge", 0.0)) for v in e.vertices]
            shares += [(p, points[(i + 1) % len(points)][0], b) for i, (p, b) in enumerate(points)]
    for a, b, bulge in shares:
        chord = math.dist((a.x, a.y), (b.x, b.y))
        length += chord if not bulge else chord * (1 + bulge**2) / (2 * abs(bulge)) * 2 * math.atan(abs(bulge))
    return rounds, length, circles


@pytest.mark.parametrize("path", sorted(SHAPES.glob("*.toml")), ids=lambda p: p.stem)
def test_every_shape_has_the_same_length_and_holes_in_every_dialect(path) -> None:  # type: ignore[no-untyped-def]
    sheet = cut_sheet(whole_way(path.read_text(encoding="utf-8"), str(SHAPES)).flat)
    for dialect in OTHERS:
        rounds, length, circles = _totals(verified_dxf(sheet, dialect=dialect).decode("ascii"))
        assert length == pytest.approx(sheet.cut_length_mm, rel=1e-9)
        assert circles == len(sheet.rounds)
        assert rounds == pytest.approx(math.fsum(math.pi * r.radius_mm**2 for r in sheet.rounds), rel=1e-9)


@pytest.mark.parametrize("dialect", OTHERS)
def test_a_file_that_lost_an_entity_is_refused(dialect: Dialect, monkeypatch: pytest.MonkeyPatch) -> None:
    honest = dxf.layered_dxf
    monkeypatch.setattr(dxf, "layered_dxf", lambda layers, *more: honest({n: i[1:] for n, i in layers.items()}, *more))
    with pytest.raises(WriteFault, match="2 closed cuts in the sheet, 1 in the file"):
        verified_dxf(PLATE, dialect=dialect)


@pytest.mark.parametrize("dialect", OTHERS)
def test_a_mirrored_arc_is_refused(dialect: Dialect, monkeypatch: pytest.MonkeyPatch) -> None:
    """A bulge of the other sign; an arc the other way round."""
    honest = dxf.layered_dxf

    def mirrored(layers: Layers, *more: Any) -> bytes:
        head, entities = honest(layers, *more).split(b"ENTITIES")
        swap = {b" 50\r\n": b" 51\r\n", b" 51\r\n": b" 50\r\n", b" 42\r\n": b" 42\r\n-"}
        return head + b"ENTITIES" + re.sub(rb" (?:50|51|42)\r\n(?!-)", lambda m: swap[m[0]], entities)

    monkeypatch.setattr(dxf, "layered_dxf", mirrored)
    with pytest.raises(WriteFault):
        verified_dxf(PLATE, dialect=dialect)
