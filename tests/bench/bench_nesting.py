"""How full sheets get, against the packing library alone. Run by hand: python tests/bench/bench_nesting.py [seconds]

Holds the bar "utilisation of 40 mixed parts within 2 points of the packing library alone": the library lays all parts
on a strip with the same gap, by finely drawn outlines and nothing else of this project; then `nest` gets a sheet of the
strip's length, and shorter and longer ones, until all parts are on it. By boxes, which need no library, too.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "support"), str(TESTS / "shop")]
sys.path.insert(0, str(TESTS.parent))

import spyrrow  # noqa: E402
from test_nesting import mixed, ring_of  # noqa: E402

from bracketgen.shop.nest import NestMethod, NestPart, Rolled, Spacing, StockSheet, nest  # noqa: E402  # noqa: E402

HIGH_MM, ROOM = 500.0, Spacing(5.0, 0.0)
#: Shares of the library's own length to try, shortest first.
TRIES = (0.98, 0.99, 1.0, 1.005, 1.01, 1.015, 1.02, 1.03, 1.04, 1.06, 1.1, 1.15, 1.2, 1.3, 1.4, 1.6)


def alone_mm(pieces: Sequence[NestPart], seconds: int) -> float:
    """Length of strip that the library needs by itself, lying in the same turns."""
    items = [spyrrow.Item(p.name, ring_of(p), p.quantity, list(p.angles(Rolled.LENGTH))) for p in pieces]
    config = spyrrow.StripPackingConfig(
        total_computation_time=seconds, min_items_separation=ROOM.gap_mm, num_workers=1, seed=7
    )
    return float(spyrrow.StripPackingInstance("alone", HIGH_MM, items).solve(config).width)


def shortest_mm(pieces: Sequence[NestPart], library_mm: float, way: NestMethod, seconds: int) -> float | None:
    for share in TRIES:
        if not nest(pieces, [StockSheet("s", share * library_mm, HIGH_MM)], ROOM, way, seconds).left_over:
            return share * library_mm
    return None


def main(seconds: int) -> None:
    for seed in (3, 4, 5):
        pieces = mixed(40, seed)
        metal = sum(p.area_mm2 for p in pieces)
        alone = alone_mm(pieces, seconds)
        told = [f"seed {seed}, library alone {100 * metal / (alone * HIGH_MM):.1f} %"]
        for way in (NestMethod.OUTLINES, NestMethod.BOXES):
            length = shortest_mm(pieces, alone, way, seconds)
            told.append(f"{way.value} " + ("beyond" if length is None else f"{100 * metal / (length * HIGH_MM):.1f} %"))
        print("; ".join(told), flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
