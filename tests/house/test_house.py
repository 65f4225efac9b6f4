"""Files have telling names and keep to what their room may do."""

from __future__ import annotations

import ast

from source_tree import PACKAGE, ROOT, modules

NAMES_THAT_SAY_NOTHING = {"utils", "util", "helpers", "helper", "common", "misc", "stuff", "tools"}


def test_names_say_what_is_inside() -> None:
    silent = [str(p.relative_to(ROOT)) for p in PACKAGE.rglob("*") if p.stem in NAMES_THAT_SAY_NOTHING]
    assert not silent


def test_every_module_says_what_it_is_for() -> None:
    assert [m.name for m in modules() if not ast.get_docstring(m.tree)] == []


# -- who may write, who may speak

_WRITING_CALLS = {"write_text", "write_bytes", "touch", "symlink_to", "hardlink_to"}
_WRITING_OS_CALLS = {"open", "replace", "rename", "remove", "unlink", "fdopen"}
_WRITING_MODULES = {"tempfile", "shutil"}


def writes(call: ast.Call) -> bool:
    """Whether a call opens a file for writing, or moves files about."""
    match call.func:
        case ast.Name("open"):
            return _for_writing(call, mode_at=1)
        case ast.Attribute(ast.Name("os"), name):
            # What is sent to the null device is written nowhere.
            return name in _WRITING_OS_CALLS and "devnull" not in ast.dump(call)
        case ast.Attribute(ast.Name(module), _) if module in _WRITING_MODULES:
            return True
        case ast.Attribute(_, "open"):
            return _for_writing(call, mode_at=0)
        case ast.Attribute(_, name):
            return name in _WRITING_CALLS
    return False


def _for_writing(call: ast.Call, mode_at: int) -> bool:
    given = [k.value for k in call.keywords if k.arg == "mode"] + call.args[mode_at : mode_at + 1]
    # A mode that is worked out could be anything.
    return any(not isinstance(m, ast.Constant) or bool(set(str(m.value)) & set("wax+")) for m in given)


def test_the_search_for_writing_finds_it() -> None:
    found = "open('a', 'w'); p.open('xb'); p.write_text(''); os.replace(a, b); tempfile.mkstemp(); open('a', mode=m)"
    clean = "open('a'); p.open(); open('a', 'rb'); name.replace('a', 'b'); p.open(encoding='utf-8'); p.read_text()"
    assert all(writes(n) for n in ast.walk(ast.parse(found)) if isinstance(n, ast.Call))
    assert not any(writes(n) for n in ast.walk(ast.parse(clean)) if isinstance(n, ast.Call))


def test_only_writers_open_files_for_writing() -> None:
    calls = [(m, n) for m in modules() for n in ast.walk(m.tree) if isinstance(n, ast.Call) and writes(n)]
    assert any(m.room == "files" for m, _ in calls)
    assert [f"{m.path.relative_to(ROOT)}:{n.lineno}" for m, n in calls if m.room != "files"] == []


def speaks(node: ast.AST) -> bool:
    """Whether a piece of code prints, or holds a stream to the person."""
    match node:
        case ast.Call(ast.Name("print" | "input")):
            return True
        case ast.Attribute(ast.Name("sys"), "stdout" | "stderr" | "__stdout__" | "__stderr__"):
            return True
        case ast.Attribute(ast.Name("typer" | "click"), "echo" | "secho"):
            return True
    return False


def test_only_the_app_speaks() -> None:
    spoken = [(m, n) for m in modules() for n in ast.walk(m.tree) if speaks(n)]
    assert any(m.room == "terminal" for m, _ in spoken)
    where = [
        f"{m.path.relative_to(ROOT)}:{n.lineno}"
        for m, n in spoken
        if m.room not in ("terminal", "commands", "__main__")
    ]
    assert where == []
