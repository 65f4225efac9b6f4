"""Written facts of 300 random parts, 300 random places and every shape come out again.

They were written by the tool itself and prove nothing about being right: see tests/support/facts.py. A daily run
takes a sample, evenly chosen; the whole lies under the marker `sweep`.
"""

from __future__ import annotations

from collections.abc import Callable

import facts
import pytest

PARTS, SITES, SHAPES = facts.written("parts"), facts.written("sites"), facts.written("shapes")
#: Shapes in their place and sites: a second or more each.
COSTLY = ("span ", "sites/exhaust-hanger.toml")
#: Every tenth part and every sixtieth place in the daily run: 30 parts and 5 places, the sweep has all.
PART_STEP, SITE_STEP = 10, 60


def _now(name: str) -> facts.Facts:
    kind, _, rest = name.partition(" ")
    one: dict[str, Callable[[], facts.Facts]] = {
        "part": lambda: facts.random_part_facts(int(rest)),
        "place": lambda: facts.random_place_facts(int(rest)),
        "span": lambda: facts.span_facts(rest),
    }
    return one[kind]() if kind in one else facts.shape_facts(name)


def _hold(cases: facts.Facts) -> None:
    off = [line for name, case in cases.items() for line in facts.differences(name, case, _now(name))]
    assert not off, f"{len(off)} figures came out otherwise:\n" + "\n".join(off[:40])


def _every(cases: facts.Facts, step: int, of: int = 0) -> facts.Facts:
    seeds = sorted(cases, key=lambda name: int(name.split()[1]))
    return {name: cases[name] for name in seeds[of::step]}


def test_a_sample_of_the_parts_comes_out_as_written() -> None:
    _hold(_every(PARTS, PART_STEP))


def test_a_sample_of_the_places_comes_out_as_written() -> None:
    _hold(_every(SITES, SITE_STEP))


@pytest.mark.parametrize("name", [n for n in SHAPES if not n.startswith(COSTLY)])
def test_a_shape_comes_out_as_written(name: str) -> None:
    _hold({name: SHAPES[name]})


@pytest.mark.sweep
@pytest.mark.parametrize("block", range(4))
def test_every_part_comes_out_as_written(block: int) -> None:
    _hold(_every(PARTS, 4, block))


@pytest.mark.sweep
@pytest.mark.parametrize("block", range(24))
def test_every_place_comes_out_as_written(block: int) -> None:
    _hold(_every(SITES, 24, block))


@pytest.mark.sweep
@pytest.mark.parametrize("name", [n for n in SHAPES if n.startswith(COSTLY)])
def test_a_costly_shape_comes_out_as_written(name: str) -> None:
    _hold({name: SHAPES[name]})


def test_every_shape_is_written_down() -> None:
    assert set(facts.shape_names()) <= set(SHAPES)


def _made(cases: facts.Facts) -> list[facts.Facts]:
    return [c for c in cases.values() if not c.get("refused") and not c.get("part", {}).get("refused")]


def test_the_facts_are_of_many_kinds() -> None:
    parts, places = [c["part"] for c in _made(PARTS)], _made(SITES)
    assert len(parts) == facts.PARTS and len(places) == facts.SITES
    assert {len(p["bends"]) for p in parts} >= {0, 1, 2, 3, 4, 5, 6}
    failed = [any(f["level"] == "fail" and "waived" not in f for f in p["findings"]) for p in parts]
    assert 90 <= sum(failed) <= 210
    assert len({f["rule"] for p in parts for f in p["findings"]}) >= 18
    assert {h["shape"] for p in parts for h in p["holes"].values()} == {"round", "slot", "outline"}
    purposes = {h["purpose"] for p in parts for h in p["holes"].values()}
    assert len(purposes) >= 5
    assert sum(bool(p["welds"]) for p in parts) >= 5 and len({p["stock"]["metal"] for p in parts}) >= 12
    assert len({p["stock"]["process"] for p in parts}) == 5
    whole = [p["place"] for p in places if "bolts" in p["place"]]
    assert len(whole) >= 40 and sum(0 < w["odds"]["share"] < 1 for w in whole if "odds" in w) >= 10
    gaps = [pair["gap_mm"] for p in places for pair in p["place"]["pairs"].values()]
    assert len(gaps) >= 600 and sum(g < 0 for g in gaps) >= 20
    assert sum("suspect" in p["located"] for p in places) >= 10


def test_cut_contours_add_up_to_the_flat() -> None:
    """The areas are summed here from the contours: outline anticlockwise, openings clockwise."""
    for part in (c["part"] for c in _made(PARTS)):
        areas, lengths = zip(*part["flat"]["contours_area_length"], strict=True)
        assert sum(areas) == pytest.approx(part["flat"]["area_mm2"], abs=1e-4)
        assert sum(lengths) == pytest.approx(part["flat"]["cut_length_mm"], abs=1e-5)


@pytest.mark.parametrize(
    ("key", "by", "told"),
    [
        ("gap_mm", 2e-4, True),
        ("gap_mm", -2e-3, False),
        ("gap_mm", -0.011, True),
        ("share", 0.0011, True),
        ("share", 5e-4, False),
    ],
)
def test_a_figure_that_is_off_is_told_with_its_case(key: str, by: float, told: bool) -> None:
    place = {"pairs": {"part | pipe": {"gap_mm": 12.0}}, "odds": {"share": 0.97}}
    now = {"pairs": {"part | pipe": {"gap_mm": 12.0}}, "odds": {"share": 0.97}}
    (now["pairs"]["part | pipe"] if key == "gap_mm" else now["odds"])[key] += by  # type: ignore[operator]
    off = facts.differences("place 7", {"place": place}, {"place": now})
    assert bool(off) is told
    assert all(line.startswith("place 7: /place/") and key in line and "written" in line for line in off)


def test_a_micrometre_a_finding_and_a_refusal_are_told() -> None:
    part = {"part": {"flat": {"area_mm2": 1000.0}, "findings": [{"rule": "min-leg", "level": "fail"}]}}
    bigger = {"part": {"flat": {"area_mm2": 1000.00000001}, "findings": [{"rule": "min-leg", "level": "fail"}]}}
    milder = {"part": {"flat": {"area_mm2": 1000.0}, "findings": [{"rule": "min-leg", "level": "warn"}]}}
    for other in (bigger, milder, {"part": {"refused": True}}):
        assert facts.differences("part 1", part, other)
    assert not facts.differences("part 1", part, part)
