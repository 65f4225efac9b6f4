"""Damaged descriptions: whatever is done to a text, it ends in faults with places inside the file, or in a part."""

from __future__ import annotations

import math
import random
import re
from collections.abc import Iterator
from itertools import islice

import pytest
from described import WORKING
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from bracketgen.description.read import read
from bracketgen.errors import InputFaults
from bracketgen.pipeline import Made, work_out

QUICK = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


def made_or_told(text: str) -> Made | None:
    """The part, or None when there are faults; every fault has a place inside the text and says something."""
    try:
        return work_out(text, "part.toml", "part")
    except InputFaults as told:
        lines = text.removeprefix("\ufeff").split("\n")
        assert told.faults
        for fault in told.faults:
            assert fault.what
            assert 1 <= fault.place.line <= len(lines)
            assert 1 <= fault.place.column <= len(lines[fault.place.line - 1]) + 1
        return None


def look_of(made: Made) -> tuple[object, ...]:
    """What the shop gets, whatever panels and parameters are called."""
    cuts = sorted((round(c.area, 6), c.bounds()) for c in made.flat.cuts())
    bends = [(s.centre_line, s.bend.turn_deg, s.bend.way, s.metal) for s in made.flat.strips]
    return made.flat.outline, cuts, bends


# -- keys

_KEYS = re.compile(r"(?m)(?<![\w\"])([a-z_]+)(?= =)|(?<=[\[.])([a-z_]+)(?=[\].])")


def damaged(word: str) -> Iterator[str]:
    """One letter lost, doubled, or swapped with the next."""
    for i, letter in enumerate(word):
        yield word[:i] + word[i + 1 :]
        yield word[:i] + letter + word[i:]
        if word[i + 1 : i + 2] not in ("", letter):
            yield word[:i] + word[i + 1] + letter + word[i + 2 :]


def key_damage(text: str) -> Iterator[str]:
    for found in _KEYS.finditer(text):
        for word in damaged(found[0]):
            yield text[: found.start()] + word + text[found.end() :]


@pytest.mark.parametrize("name", WORKING)
def test_a_slip_in_every_seventh_place_is_told_or_changes_nothing(name: str) -> None:
    _slip(name, 7)


@pytest.mark.sweep
@pytest.mark.parametrize("name", WORKING)
def test_a_slip_in_any_key_is_told_or_changes_nothing(name: str) -> None:
    tried = _slip(name, 1)
    assert tried > 300 or name in ("ring", "belt")


def _slip(name: str, step: int) -> int:
    """Every so manieth slip; how many were tried."""
    whole = look_of(work_out(WORKING[name], "part.toml", "part"))
    tried = told = 0
    for text in islice(key_damage(WORKING[name]), 0, None, step):
        tried += 1
        try:
            read(text, "part.toml")
        except InputFaults:
            told += 1
            continue
        made = made_or_told(text)
        assert made is None or look_of(made) == whole, text
        told += made is None
    # Only the names of panels on which no other hangs can change unseen.
    assert told > 0.9 * tried
    return tried


# -- values

_VALUES = re.compile(r'"[^"\n]*"|(?<![\w.])-?\d+(?:\.\d+)?|\btrue\b')
_OTHER = (
    *("0", "-1", "1", "1e9", "0.001", "nan", "inf", "true", "[]", "{}", "[1, 2]", '""', "2024-01-01", "45", "180", "3"),
    *('"0 mm"', '"3/8 in"', '"12,7 mm"', '"(1 / 0)"', '"(reach * 2)"', '"top"', '"base"', '"M12"', '"11 ga"', '"up"'),
    *('"polygon"', '"disc"', '"inside"', '"(((("', '"\\u0000"', "[[0, 0], [9, 0], [0, 9]]", '{ shape = "disc" }', "60"),
)


@st.composite
def value_damage(draw: st.DrawFn) -> str:
    text = draw(st.sampled_from(list(WORKING.values())))
    for _ in range(draw(st.integers(1, 3))):
        spots = list(_VALUES.finditer(text))
        spot = draw(st.sampled_from(spots))
        number = st.floats(-200, 200).map(lambda v: f"{v:.3f}")
        new = draw(st.one_of(st.sampled_from(_OTHER), number, st.text(max_size=8).map(lambda t: f"'{t}'")))
        text = text[: spot.start()] + new + text[spot.end() :]
    return text


@given(value_damage())
@settings(QUICK, max_examples=100)
def test_a_value_ends_in_faults_or_a_part(text: str) -> None:
    _part_or_told(text)


@pytest.mark.sweep
@given(value_damage())
@settings(QUICK, max_examples=500)
def test_any_value_ends_in_faults_or_a_part(text: str) -> None:
    _part_or_told(text)


def _part_or_told(text: str) -> None:
    made = made_or_told(text)
    if made is not None:
        assert math.isfinite(made.flat.area_mm2)
        assert made.flat.outline.area > 0


_ONE_SIZE = given(st.sampled_from(list(WORKING)), st.floats(0.02, 30.0), st.integers(0, 10_000))


@_ONE_SIZE
@settings(QUICK, max_examples=40)
def test_one_size_ends_in_faults_or_a_part(name: str, factor: float, which: int) -> None:
    _resized(name, factor, which)


@pytest.mark.sweep
@_ONE_SIZE
@settings(QUICK, max_examples=150)
def test_any_one_size_ends_in_faults_or_a_part(name: str, factor: float, which: int) -> None:
    _resized(name, factor, which)


def _resized(name: str, factor: float, which: int) -> None:
    text = WORKING[name]
    numbers = [m for m in _VALUES.finditer(text) if m[0][0].isdigit()]
    spot = numbers[which % len(numbers)]
    made_or_told(f"{text[: spot.start()]}{float(spot[0]) * factor:.3f}{text[spot.end() :]}")


# -- bytes and lines


@given(
    st.sampled_from(list(WORKING.values())),
    st.lists(
        st.tuples(st.integers(0, 10_000), st.integers(0, 3), st.characters(codec="utf-8")), min_size=1, max_size=4
    ),
)
@settings(QUICK, max_examples=500)
def test_any_letter_ends_in_faults_or_a_part(text: str, changes: list[tuple[int, int, str]]) -> None:
    for at, cut, letter in changes:
        i = at % len(text)
        text = text[:i] + letter + text[i + cut :]
    made_or_told(text)


@given(st.sampled_from(list(WORKING.values())), st.randoms(use_true_random=False), st.integers(1, 6))
@settings(QUICK, max_examples=100)
def test_lines_lost_doubled_and_moved_end_in_faults_or_a_part(text: str, chance: random.Random, count: int) -> None:
    lines = text.split("\n")
    for _ in range(count):
        i = chance.randrange(len(lines))
        taken = lines[i] if chance.random() < 0.5 else lines.pop(i)
        if chance.random() < 0.6:
            lines.insert(chance.randrange(len(lines) + 1), taken)
    made_or_told("\n".join(lines))


@given(st.text())
@example("")
@example("# only remarks\n# and more\n")
@example("\ufeff")
@settings(QUICK, max_examples=100)
def test_any_text_at_all_is_told(text: str) -> None:
    assert made_or_told(text) is None


# -- odd files

RING = WORKING["ring"]


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("\ufeff" + RING, id="byte order mark"),
        pytest.param(RING.replace("\n", "\r\n"), id="line ends of another system"),
        pytest.param(RING + "# remark\n" * 20_000, id="long remarks"),
        pytest.param(RING.replace(" = ", "\t=\t"), id="tabs"),
        pytest.param(RING.replace("Pump ring", "Pump\u2028ring \U0001f527"), id="signs of other scripts"),
    ],
)
def test_odd_but_sound(text: str) -> None:
    assert look_of(work_out(text, "part.toml", "part")) == look_of(work_out(RING, "part.toml", "part"))


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        pytest.param(RING.replace("units", "un\0its"), (2, 3), "name = value", id="zero byte"),
        pytest.param("x = " + "[" * 5000 + "]" * 5000, (1, 1), "nested too deeply", id="deep lists"),
        pytest.param("x = " + "{ a = " * 3000 + "1" + " }" * 3000, (1, 1), "nested too deeply", id="deep tables"),
        pytest.param(RING.replace("120", "1" * 5000), (8, 40), "endless number", id="long number"),
        pytest.param(RING.replace("120", f'"{"(" * 300}1{")" * 300}"'), (8, 40), "too long", id="long arithmetic"),
        pytest.param(RING.replace("120", f'"{"(" * 90}1{")" * 90}"'), (8, 40), "nested too deeply", id="deep sums"),
        pytest.param(RING.replace("count = 6", "count = 3000"), (9, 1), "3004 holes are too many", id="holes"),
        pytest.param(RING.replace("\n", "\r"), (1, 20), "something follows", id="line ends of an old system"),
        pytest.param('\ufefftitel = "x"\n' + RING, (1, 1), "did you mean 'title'", id="byte order mark is no column"),
    ],
)
def test_odd_and_faulty(text: str, place: tuple[int, int], words: str) -> None:
    with pytest.raises(InputFaults) as told:
        work_out(text, "part.toml", "part")
    fault = told.value.faults[0]
    assert (fault.place.line, fault.place.column) == place
    assert words in str(fault)
