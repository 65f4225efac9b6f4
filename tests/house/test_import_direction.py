"""Rooms import downward only, there are no circles, and each outside library has its own door."""

from __future__ import annotations

import pytest
from source_tree import ROOT, imports, modules

#: Lowest first. The first four know nothing of brackets and may lean on each other.
ROOMS = (
    ("", "errors", "findings", "units", "tolerances"),
    ("geometry",),
    ("standards",),
    ("part",),
    ("bending",),
    ("description",),
    ("rules",),
    ("vehicle", "shop"),
    ("drawing",),
    ("files",),
    ("pipeline",),
    ("terminal", "commands", "__main__"),
)
RANK = {room: rank for rank, rooms in enumerate(ROOMS) for room in rooms}

#: Rooms that may import an outside library.
DOORS = {
    # Geometry makes its polygons; bending and rules take its tree of boxes and what it says of such polygons.
    "shapely": {"geometry", "bending"},
    "ezdxf": {"files"},
    "matplotlib": {"files"},
    # Writers make pages with it; drawing asks its fonts for rare letters.
    "reportlab": {"drawing", "files"},
    "PIL": {"files"},
    "pydantic": {"description", "vehicle", "shop"},
    "pydantic_core": {"description", "vehicle"},
    "typer": {"terminal", "commands"},
    "scipy": {"vehicle"},
    "spyrrow": {"shop"},
}


def room_of(name: str) -> str:
    """The part of a dotted name right under the package."""
    return (*name.split("."), "")[1]


def test_every_room_has_a_rank() -> None:
    assert {m.room for m in modules()} <= RANK.keys()


def test_imports_go_downward() -> None:
    wrong = [
        f"{module.path.relative_to(ROOT)}:{line}: {module.room or 'package'} imports {name}"
        for module in modules()
        for line, name in imports(module)
        if name.split(".")[0] == "bracketgen" and RANK[room_of(name)] > RANK[module.room]
    ]
    assert not wrong, "\n".join(wrong)


def test_no_circles() -> None:
    known = {m.name for m in modules()}
    edges = {m.name: {n for _, n in imports(m) if n in known and n != m.name} for m in modules()}
    done: set[str] = set()
    path: list[str] = []

    def visit(name: str) -> None:
        if name in path:
            pytest.fail("a circle of imports: " + " > ".join([*path[path.index(name) :], name]))
        if name in done:
            return
        path.append(name)
        for other in sorted(edges[name]):
            visit(other)
        path.pop()
        done.add(name)

    for name in sorted(edges):
        visit(name)
    assert len(done) == len(known)


def test_outside_libraries_come_in_by_their_own_doors() -> None:
    found = [
        (module, line, name.split(".")[0])
        for module in modules()
        for line, name in imports(module)
        if name.split(".")[0] in DOORS
    ]
    assert {library for _, _, library in found} >= {"shapely", "ezdxf", "matplotlib", "reportlab", "pydantic", "typer"}
    wrong = [f"{m.path.relative_to(ROOT)}:{line}: {lib}" for m, line, lib in found if m.room not in DOORS[lib]]
    assert not wrong, "\n".join(wrong)
