"""Pairs of boxes that touch, found by sweeping across them once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bracketgen.writers.readback.edges import Box


def near_pairs(boxes: Sequence[Box], reach_mm: float) -> Iterator[tuple[int, int]]:
    """Index pairs (i < j) of boxes less than `reach_mm` apart in x and in y; each pair once.

    Sweeps along the longer side of the whole, so that a row or a grid of holes stays near linear.
    """
    if not boxes:
        return
    wide = max(b[2] for b in boxes) - min(b[0] for b in boxes)
    high = max(b[3] for b in boxes) - min(b[1] for b in boxes)
    along, across = (0, 1) if wide >= high else (1, 0)
    open_boxes: list[int] = []
    for new in sorted(range(len(boxes)), key=lambda i: boxes[i][along]):
        box = boxes[new]
        least = box[along] - reach_mm
        open_boxes = [i for i in open_boxes if boxes[i][along + 2] >= least]
        low, high_end = box[across] - reach_mm, box[across + 2] + reach_mm
        for other in open_boxes:
            if boxes[other][across] <= high_end and boxes[other][across + 2] >= low:
                yield (other, new) if other < new else (new, other)
        open_boxes.append(new)
