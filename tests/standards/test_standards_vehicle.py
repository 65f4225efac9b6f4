"""What a vehicle asks for, against the print."""

from __future__ import annotations

import pytest

from bracketgen.standards.table import citation, load_table
from bracketgen.standards.vehicle import heat_limit, hot_expansion, required_gap, worst_limit


@pytest.mark.parametrize(
    ("kind", "compound", "limit_c"),
    # JASO D611 prints 120 for cross-linked polyethylene, SAE J1128 125; a table of gasket materials 500 F for PTFE.
    [("wire", "XLPE", 120), ("plastic", "PTFE", (500 - 32) / 1.8)],
)
def test_heat_limits(kind: str, compound: str, limit_c: float) -> None:
    held = heat_limit(kind, compound)
    assert (held.limit_c, held.how) == (pytest.approx(limit_c), "read")


def test_wire_that_nobody_names_is_held_below_every_class_in_print() -> None:
    # JASO D611: PVC 80; SAE J1128, GPT: 80.
    assert worst_limit("wire").limit_c < 80


def test_hot_stainless() -> None:
    held = hot_expansion("304")
    assert (held.per_k, held.to_c, held.how) == (18.7e-6, 650, "read")
    # 17.2e-6 to 100 degrees C, from a table of steels: the mean grows with heat.
    assert held.per_k > 17.2e-6


#: Quebec, C-24.2, r. 32, s. 92 names what is combustible, wires, the fuel and the brake system.
NAMED = {"brake", "plastic", "rubber", "wire"}


def test_what_the_exhaust_text_does_not_name_is_told_as_an_extension() -> None:
    rows = [r for r in load_table("required_gaps").rows if r["source"] == "quebec-c24.2-r32-92"]
    for row in rows:
        (other,) = {row["a"], row["b"]} - {"exhaust"}
        assert row["gap_mm"] == "50" and (row["how"] == "read") == (other in NAMED), other
    assert {row["a"] for row in rows} | {row["b"] for row in rows} == NAMED | {"air", "coolant", "oil", "exhaust"}


def test_fuel_keeps_more_than_pressurised_gas_asks() -> None:
    assert "150 mm" in citation("quebec-c24.2-r32-92")
    assert required_gap("fuel", "exhaust").still_mm >= 150
