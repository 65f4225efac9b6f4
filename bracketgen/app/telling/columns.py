"""Rows of cells in aligned columns, broken into blocks where they would be too wide."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bracketgen.app.telling.speech import WIDTH

_GAP: Final = "  "


def aligned(heads: Sequence[str], rows: Sequence[Sequence[str]], keys: int = 1) -> list[str]:
    """Lines of a table. A heading's `_` begins a new line of it; numbers stand to the right, texts to the left.

    What does not fit side by side goes into further blocks, each with the first `keys` columns again.
    """
    columns = [_column(head, [row[n] for row in rows]) for n, head in enumerate(heads)]
    lines: list[str] = []
    for block in _blocks([len(column[0]) for column in columns], keys):
        chosen = [columns[n] for n in block]
        lines += [*([""] if lines else []), *(_GAP.join(cells).rstrip() for cells in _level(chosen))]
    return lines


def _column(head: str, cells: list[str]) -> list[str]:
    words = head.split("_")
    width = max(len(text) for text in (*words, *cells))
    right = all(_is_number(cell) for cell in cells if cell) and any(cells)
    put = str.rjust if right else str.ljust
    return [put(text, width) for text in (*words, "-" * width, *cells)]


def _level(columns: list[list[str]]) -> list[list[str]]:
    """The columns with headings of the same height, row by row."""
    highest = max(len(column) for column in columns)
    filled = [[" " * len(column[0])] * (highest - len(column)) + column for column in columns]
    return [list(row) for row in zip(*filled, strict=True)]


def _blocks(widths: list[int], keys: int) -> list[list[int]]:
    blocks: list[list[int]] = [list(range(keys))]
    for n in range(keys, len(widths)):
        needed = sum(widths[i] + len(_GAP) for i in blocks[-1]) + widths[n]
        if needed > WIDTH and len(blocks[-1]) > keys:
            blocks.append(list(range(keys)))
        blocks[-1].append(n)
    return blocks


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True
