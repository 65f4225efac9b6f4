"""Card that is folded where the template says, turned about its hinge in space, against the folded metal."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parts import l_part, stock
from preview_parts import KINDS, worked

from bracketgen.drawing.marks.flat_lines import FaceUp
from bracketgen.drawing.sheet import Paper
from bracketgen.drawing.template.card import card_folds
from bracketgen.drawing.template.pages import template_pages
from bracketgen.geometry.plane import Point
from bracketgen.geometry.space import Frame, Vector
from bracketgen.part.part import Way

_BASE_MM, _LEG_MM = 50.0, 30.0


def in_card(way: Way, flat_y: float, x: float, crease_y: float, card: float, thickness: float, turn: float) -> Vector:
    """Where a point on the outer face of the child comes to lie when card folds about its innermost layer.

    The card's outer face lies where the metal's does: on the described face when the bend goes down, on the other one
    when it goes up.
    """
    if way is Way.UP:
        outer, hinge, turned = -thickness, card - thickness, turn
    else:
        outer, hinge, turned = 0.0, -card, -turn
    return Frame.about_x(turned, (0.0, crease_y, hinge)).point((x, flat_y - crease_y, outer - hinge))


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    thickness=st.floats(0.5, 8.0),
    radius=st.floats(0.5, 20.0),
    turn=st.floats(5.0, 135.0),
    way=st.sampled_from(list(Way)),
    card=st.one_of(st.none(), st.floats(0.1, 8.0)),
    k=st.floats(0.25, 0.5),
)
def test_folded_card_against_folded_metal(
    thickness: float, radius: float, turn: float, way: Way, card: float | None, k: float
) -> None:
    """In the best card every hole is where the metal has it; in another it lies `short_mm` nearer to the bend."""
    part = l_part(40.0, _BASE_MM, _LEG_MM, radius, turn, way, stock(thickness))
    flat, folded = worked(part, k)
    (fold,) = card_folds(flat, card)
    hole = Point(12.0, 20.0)
    flat_y = flat.placements["leg"].point(hole).y
    metal = folded.point("leg", hole, thickness if way is Way.UP else 0.0)
    paper = in_card(way, flat_y, hole.x, _BASE_MM + fold.from_parent_mm, fold.card_mm, thickness, turn)
    away = folded.frames["leg"].y
    expected = tuple(m - fold.short_mm * a for m, a in zip(metal, away, strict=True))
    assert paper == pytest.approx(expected, abs=1e-9)
    if card is None:
        assert fold.short_mm == pytest.approx(0.0, abs=1e-9)
        assert fold.from_parent_mm == pytest.approx(fold.strip.metal.allowance_mm / 2, abs=1e-9)


def test_by_hand() -> None:
    """3 mm metal, R 3, square bend, K 0.42: allowance pi/2 (3 + 1.26) = 6.692; best card 6 - 3.346 = 2.654 mm.

    Card of 1.5 mm folds at 4.5 mm, 1.154 mm past the centre line, and leaves 2.308 mm.
    """
    flat, _ = worked(l_part(), 0.42)
    (best,), (own,) = card_folds(flat), card_folds(flat, 1.5)
    assert best.best_card_mm == pytest.approx(6.0 - math.pi / 4 * 4.26, abs=1e-9)
    assert (own.from_parent_mm, own.shift_mm) == pytest.approx((4.5, 1.154), abs=1e-3)
    assert own.short_mm == pytest.approx(2.308, abs=1e-3)


def said(card_mm: float | None, face: FaceUp = FaceUp.DESCRIBED, way: Way = Way.UP) -> str:
    flat, folded = worked(l_part(way=way))
    pages = template_pages(flat, folded, Paper.A4, face=face, card_mm=card_mm)
    return " ".join(" ".join(label.text for sheet in pages for label in sheet.labels).split())


def test_the_sheet_names_the_card_and_where_it_folds() -> None:
    assert "card 2.7 mm thick, folded on the centre line" in said(None)
    own = said(1.5)
    assert "Your 1.5 mm folds on the dotted line, 1.2 mm from the centre line toward the second-named leg" in own
    assert "holes of the second come 2.3 mm too near to the bend" in own
    assert "1.5 mm card folds here (1)" in own and "card folds here" not in said(None)
    thick = said(4.0)
    assert "toward the first-named leg" in thick and "too far from the bend" in thick


@pytest.mark.parametrize(("face", "way", "cut"), [
    (FaceUp.DESCRIBED, Way.UP, "on the back"),
    (FaceUp.DESCRIBED, Way.DOWN, "on the print"),
    (FaceUp.BACK, Way.UP, "on the print"),
    (FaceUp.BACK, Way.DOWN, "on the back"),
])  # fmt: skip
def test_card_is_cut_on_the_outside_of_the_bend(face: FaceUp, way: Way, cut: str) -> None:
    toward = "fold toward you" if cut == "on the back" else "fold away"
    assert f"1: {toward}, 90° from flat (90° between 'base' and 'leg'); cut {cut}." in said(None, face, way)


def test_bends_that_are_alike_share_their_words() -> None:
    folds = card_folds(worked(KINDS["u_bracket"]())[0])
    assert len(folds) == 2 and folds[0].best_card_mm == folds[1].best_card_mm
    flat, folded = worked(KINDS["u_bracket"]())
    text = " ".join(m.text for s in template_pages(flat, folded, Paper.A4) for m in s.labels)
    assert "Bend 1, 2: card" in text


def test_a_part_without_bends_says_nothing_of_folding() -> None:
    flat, folded = worked(replace(l_part(), panels=l_part().panels[:1], bends=()))
    words = [m.text for s in template_pages(flat, folded, Paper.A4) for m in s.labels]
    assert "Fold" not in words and "Cut" in words
