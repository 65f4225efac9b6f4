"""Edges that close to no contour, end to end as far as they hang together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from bracketgen.writers.readback.edges import Edge, Point


def open_chains(edges: Sequence[Edge]) -> Iterator[list[Edge]]:
    """Rows of edges that follow each other; a row ends where an end is loose or more than two meet."""
    at: dict[Point, list[int]] = defaultdict(list)
    for i, edge in enumerate(edges):
        at[edge.start].append(i)
        at[edge.end].append(i)
    unused = set(range(len(edges)))
    # First from the ends, then what is left: rings that hang on a junction.
    starts = [(i, p) for i, e in enumerate(edges) for p in (e.start, e.end) if len(at[p]) != 2]
    for i, point in [*starts, *((i, edges[i].start) for i in range(len(edges)))]:
        if i in unused:
            yield _row(edges, at, unused, i, point)


def _row(edges: Sequence[Edge], at: dict[Point, list[int]], unused: set[int], first: int, start: Point) -> list[Edge]:
    row: list[Edge] = []
    index, here = first, start
    while True:
        unused.discard(index)
        edge = edges[index] if edges[index].start == here else edges[index].reversed()
        row.append(edge)
        here = edge.end
        onward = [i for i in at[here] if i in unused]
        if len(at[here]) != 2 or not onward:
            return row
        index = onward[0]
