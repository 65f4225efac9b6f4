"""The engine: finds rules by itself, sorts what they say, sets waivers beside it."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from parts import l_part, plate, round_hole, stock
from rule_cases import flattened

import bracketgen.rules
from bracketgen.findings import Finding, Level
from bracketgen.geometry.contour import box_contour
from bracketgen.part.part import Part, Waiver
from bracketgen.rules import blank, cutting
from bracketgen.rules.engine import all_rules, run_rules

_PLAIN = box_contour(0, 0, 100, 60)


def crowded() -> Part:
    """A hole too near the edge, two too near each other, four sharp corners."""
    holes = [round_hole("b", 10, 30, 9, "M8"), round_hole("a", 60, 30, 9, "M8"), round_hole("c", 75, 30, 9, "M8")]
    return plate(_PLAIN, holes)


def found(part: Part) -> tuple[Finding, ...]:
    return run_rules(*flattened(part))


def test_every_rule_has_plain_id_title_and_source() -> None:
    rules = all_rules()
    assert len(rules) >= 20
    assert len({r.id for r in rules}) == len(rules)
    for rule in rules:
        assert re.fullmatch(r"[a-z]+(-[a-z]+)*", rule.id)
        assert rule.title and rule.source


def test_one_new_file_is_one_new_rule(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "too_plain.py").write_text(
        "from bracketgen.findings import Finding, Level\n"
        "from bracketgen.rules.engine import Rule\n"
        "def _check(s):\n"
        "    yield Finding('too-plain', Level.NOTE, 'part', 1.0, 2.0, '', None, 'paint it', 'nobody')\n"
        "TOO_PLAIN = Rule('too-plain', 'Not too plain', 'nobody', _check)\n"
    )
    monkeypatch.setattr(bracketgen.rules, "__path__", [*bracketgen.rules.__path__, str(tmp_path)])
    all_rules.cache_clear()
    try:
        assert "too-plain" in [f.rule for f in found(plate(_PLAIN))]
    finally:
        all_rules.cache_clear()
    monkeypatch.undo()
    assert "too-plain" not in [r.id for r in all_rules()]


def test_findings_come_worst_first_then_by_rule_subject_and_place() -> None:
    findings = found(l_part(leg=5.0, inside_radius=1.0, leg_holes=[round_hole("b", 20, 3, 5)], of=stock(4.0)))
    rank = {Level.FAIL: 0, Level.WARN: 1, Level.NOTE: 2}
    keys = [(rank[f.level], f.rule, f.subject, f.at_mm) for f in findings]
    assert keys == sorted(keys)
    assert {f.level for f in findings} == set(Level)
    assert [f.rule for f in findings] != sorted(f.rule for f in findings)


def test_order_of_holes_does_not_change_what_is_said_about_single_holes() -> None:
    part = crowded()
    turned = plate(_PLAIN, part.panels[0].holes[::-1])
    first, second = found(part), found(turned)
    assert [f for f in first if " and " not in f.subject] == [f for f in second if " and " not in f.subject]


def test_every_finding_says_what_to_do_and_on_whose_word() -> None:
    findings = found(crowded()) + found(l_part(leg=5.0, inside_radius=1.0))
    assert len(findings) > 8
    for f in findings:
        assert f.remedy and f.source and f.subject
        assert f.at_mm is not None
        assert f.measured is not None and f.required is not None and f.measured < f.required


def test_waiver_sets_its_reason_beside_the_finding_and_leaves_the_level() -> None:
    part = replace(crowded(), waivers=(Waiver("hole-edge", "b", "it only holds a cable clip"),))
    edge = {(f.subject, f.level): f.waived for f in found(part) if f.rule == "hole-edge"}
    assert edge[("b", Level.FAIL)] == "it only holds a cable clip"
    assert [w for (s, _), w in edge.items() if s != "b"] == [None] * (len(edge) - 1)
    assert not [f for f in found(part) if f.rule == "waiver-unused"]


def test_star_waives_everything_a_rule_finds() -> None:
    part = replace(crowded(), waivers=(Waiver("sharp-corner", "*", "inside a box"),))
    corners = [f for f in found(part) if f.rule == "sharp-corner"]
    assert len(corners) == 4
    assert {f.waived for f in corners} == {"inside a box"}
    assert not [f for f in found(part) if f.waived and f.rule != "sharp-corner"]


def test_findings_of_earlier_stations_are_sorted_and_waived_with_the_rest() -> None:
    earlier = Finding("corner-reduced", Level.FAIL, "plate", 1.0, 2.0, "mm", (0.0, 0.0), "draw it larger", "the maker")
    part = replace(crowded(), waivers=(Waiver("corner-reduced", "plate", "seen"),))
    findings = run_rules(*flattened(part), also=[earlier])
    assert findings[0] == replace(earlier, waived="seen")
    assert "waiver-unused" not in {f.rule for f in findings}


@pytest.mark.parametrize(("rule", "subject"), [("hole-edge", "z"), ("hole-edges", "b"), ("waiver-unused", "*")])
def test_waiver_that_does_nothing_is_a_finding_itself(rule: str, subject: str) -> None:
    findings = found(replace(crowded(), waivers=(Waiver(rule, subject, "why not"),)))
    idle = [f for f in findings if f.rule == "waiver-unused"]
    assert [(f.level, f.subject, f.waived) for f in idle] == [(Level.WARN, f"{rule} {subject}", None)]
    names_all_rules = all(r.id in idle[0].remedy for r in all_rules())
    assert names_all_rules is (rule != "hole-edge")
    assert not [f for f in findings if f.waived]


def test_limit_that_no_table_holds_fails_instead_of_passing() -> None:
    part = plate(_PLAIN, [round_hole("a", 50, 30, 9, "M7")])
    unknown = [f for f in found(part) if "M7" in f.remedy]
    assert {"hole-edge", "head-flat", "min-web"} <= {f.rule for f in unknown}
    assert {f.level for f in unknown} == {Level.FAIL}


def test_two_rules_with_one_id_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(blank, "SIZE_SANITY", replace(cutting.MIN_HOLE, title="Another title"))
    all_rules.cache_clear()
    try:
        with pytest.raises(RuntimeError, match="min-hole"):
            all_rules()
    finally:
        all_rules.cache_clear()


def grid(n: int) -> Part:
    holes = [round_hole(f"h-{i}", 15 + 20 * (i % 50), 15 + 20 * (i // 50), 6.6, "M6") for i in range(n)]
    return plate(box_contour(0, 0, 1010, 30 + 20 * (n // 50)), holes, stock())


@pytest.mark.parametrize("count", [250, 2000])
def test_a_grid_of_holes_is_judged_like_one_hole(count: int) -> None:
    # How time grows with the count is a benchmark: tests/bench.
    findings = run_rules(*flattened(grid(count)))
    assert {f.rule for f in findings} <= {"hole-edge", "sharp-corner"}
