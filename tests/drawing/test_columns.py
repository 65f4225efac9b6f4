"""Tables in columns of a page."""

from __future__ import annotations

import pytest

from bracketgen.drawing.columns import PrintedTable, table_bands
from bracketgen.drawing.sheet import Label


def test_columns_too_wide_for_the_page_share_what_the_narrow_ones_leave() -> None:
    """Two long columns get half each of what the short one leaves; the words stay in their columns."""
    long = "a table that is too wide for its page goes on in further lines of its cells"
    table = PrintedTable("", ("no.", "what", "then"), (), (("17", long, f"{long} {long}"),))
    bands = table_bands(table, 100.0)
    cells: dict[float, float] = {}
    for label in (m for band in bands for m in band.marks if isinstance(m, Label)):
        x0, _, x1, _ = label.box
        cells[round(x0, 6)] = max(cells.get(round(x0, 6), 0.0), x1)
    first, second, third = sorted(cells)
    assert third - second == pytest.approx(100.0 + first - third, abs=1e-6)
    assert second < 15.0
    assert all(cells[x] <= end for x, end in ((first, second), (second, third), (third, 100.0)))
