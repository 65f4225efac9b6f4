"""A class name means one thing in the whole house, and a fact stands in one module."""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterable

import pytest
from source_tree import Module, modules


def class_names(of: Iterable[Module]) -> Counter[str]:
    """How often each class name is defined, private and nested classes included."""
    return Counter(node.name for m in of for node in ast.walk(m.tree) if isinstance(node, ast.ClassDef))


def doubles(of: Iterable[Module]) -> set[str]:
    return {name for name, times in class_names(of).items() if times > 1}


def planted(text: str) -> Module:
    """A module of the house that is not in the house."""
    return Module("bracketgen.geometry.planted", modules()[0].path, text, ast.parse(text))


def test_a_class_name_is_defined_once() -> None:
    assert doubles(modules()) == set()


def test_a_planted_double_is_found() -> None:
    slip = planted("class Contour: ...\n\ndef f():\n    class Placement: ...\n")
    assert {"Contour", "Placement"} <= doubles([*modules(), slip])
    assert "Placement" not in doubles(modules())


def numbers(module: Module) -> set[float]:
    """Every number that is written out in a module."""
    found = (node.value for node in ast.walk(module.tree) if isinstance(node, ast.Constant))
    return {float(value) for value in found if isinstance(value, int | float) and not isinstance(value, bool)}


#: Figure: the module that holds it, and those in which it still stands besides. The shorter side of A4, 210 mm, is a
#: group code of DXF and an angle too; whoever writes a sheet writes its longer side with it.
FIGURES = {
    "a pound in kg": ({0.45359237}, {"units"}),
    "an inch in mm": ({25.4}, set[str]()),
    "sizes of paper": (
        {297.0, 215.9, 279.4},
        {
            "drawing.sheet",
        },
    ),
}


def holders(figures: set[float], of: Iterable[Module]) -> set[str]:
    """The modules that write out any of the figures, without the package's name."""
    return {m.name.removeprefix("bracketgen.") for m in of if numbers(m) & figures}


@pytest.mark.parametrize("fact", FIGURES)
def test_a_figure_stands_where_it_belongs(fact: str) -> None:
    figures, where = FIGURES[fact]
    assert holders(figures, modules()) == where


@pytest.mark.parametrize("fact", FIGURES)
def test_a_planted_figure_is_found(fact: str) -> None:
    figures, where = FIGURES[fact]
    for figure in figures:
        slip = planted(f"def f(mm: float) -> float:\n    return mm / {figure!r}\n")
        assert holders(figures, [*modules(), slip]) == where | {"geometry.planted"}
    words = planted("'''A4 is 297 mm long, an inch 25.4 mm, a pound 0.45359237 kg, Letter 215.9 x 279.4 mm.'''\n")
    assert "geometry.planted" not in holders(figures, [words])


def array_names(module: Module) -> set[str]:
    """What arrays are called in a module: names bound, at any depth, to a type of numpy's arrays."""
    found: set[str] = set()
    for node in ast.walk(module.tree):
        match node:
            case ast.Assign([ast.Name(name)], value) | ast.AnnAssign(ast.Name(name), _, value):
                if value and ast.unparse(value).split("[")[0] in ("npt.NDArray", "np.ndarray", "NDArray", "ndarray"):
                    found.add(name)
    return found


#: Arrays of a type that one module alone has.
OWN_ARRAYS = {"bracketgen.drawing.marks.free_room": {"Ints"}}


def test_array_types_are_named_in_one_module() -> None:
    named = {m.name: array_names(m) for m in modules()}
    there = {name: found for name, found in named.items() if found}
    assert there == {"bracketgen.geometry.arrays": {"Floats", "Indices", "Bools"}, **OWN_ARRAYS}


def test_a_planted_name_for_an_array_is_found() -> None:
    slip = planted("Truths = npt.NDArray[np.bool_]\nx: Floats = np.zeros(3)\ndef f() -> npt.NDArray[np.intp]: ...\n")
    assert array_names(slip) == {"Truths"}


def layer_words(module: Module) -> set[str]:
    """Names of the cut file's layers that a module binds to a name of its own."""
    return {
        node.value.value
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.Constant)
        and node.value.value in ("CUT", "MARK", "BEND")
    }


def test_layers_are_named_and_coloured_in_one_module_each() -> None:
    named = {m.name for m in modules() if layer_words(m)}
    assert named == {"bracketgen.drawing.cut_sheet"}
    coloured = {m.name for m in modules() if colours_by_layer(m)}
    assert coloured == {"bracketgen.files.dxf"}


def colours_by_layer(module: Module) -> bool:
    """Whether a module has a table from layers to numbers."""
    return any(
        isinstance(node, ast.Dict)
        and any(key and ast.unparse(key) in ("Layer.CUT", "'CUT'") for key in node.keys)
        and all(isinstance(value, ast.Constant) and isinstance(value.value, int) for value in node.values)
        for node in ast.walk(module.tree)
    )


def test_planted_layers_are_found() -> None:
    assert layer_words(planted('_CUT = "CUT"\nclass Lines:\n    BEND = "BEND"\n')) == {"CUT", "BEND"}
    assert not layer_words(planted('name = "CUT" if clean else other\nTITLE = "BENDS"\n'))
    assert colours_by_layer(planted("COLOURS = {Layer.CUT: 7, Layer.MARK: 3}\n"))
    assert colours_by_layer(planted("COLOURS = {'CUT': 1}\n"))
    assert not colours_by_layer(planted("WORDS = {Layer.CUT: 'cut through'}\n"))
