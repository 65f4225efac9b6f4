"""Writes the facts anew: `python tests/support/write_facts.py [parts] [sites] [shapes]`, all when none is named.

Only for a change that means to change results; say in the commit which figures changed, and why.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from itertools import count

import facts

BATCH = 40


def _enough(of: int, made: str) -> dict[str, facts.Facts]:
    """The first so many cases that are made; refused ones before them are kept too, to be refused again."""
    one = facts.random_part_facts if made == "part" else facts.random_place_facts
    cases: dict[str, facts.Facts] = {}
    good = 0
    with ProcessPoolExecutor() as several:
        for first in count(0, BATCH):
            seeds = range(first, first + BATCH)
            for seed, case in zip(seeds, several.map(one, seeds), strict=True):
                cases[f"{made} {seed}"] = case
                good += not case.get("refused") and not case.get("part", {}).get("refused")
                if good == of:
                    return cases
    raise AssertionError


def main() -> None:
    wanted = sys.argv[1:] or ["parts", "sites", "shapes"]
    if "parts" in wanted:
        print(facts.write("parts", _enough(facts.PARTS, "part")))
    if "sites" in wanted:
        print(facts.write("sites", _enough(facts.SITES, "place")))
    if "shapes" in wanted:
        cases = {name: facts.shape_facts(name) for name in facts.shape_names()}
        sites = [name for name in facts.shape_names() if name.endswith(".site.toml")]
        print(facts.write("shapes", cases | {f"span {name}": facts.span_facts(name) for name in sites}))


if __name__ == "__main__":
    main()
