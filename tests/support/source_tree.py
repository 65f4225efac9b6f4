"""The package's own source as syntax trees, for tests of the house."""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "bracketgen"


@dataclass(frozen=True)
class Module:
    """One file: its dotted name, where it stands, its text and its tree."""

    name: str
    path: Path
    text: str
    tree: ast.Module

    @property
    def room(self) -> str:
        """The folder or file right under the package; the package's own __init__ has none."""
        parts = self.name.split(".")
        return parts[1] if len(parts) > 1 else ""


@cache
def modules() -> tuple[Module, ...]:
    """Every file of the package."""
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = list(path.relative_to(ROOT).with_suffix("").parts)
        if parts[-1] == "__init__":
            parts.pop()
        text = path.read_text(encoding="utf-8")
        found.append(Module(".".join(parts), path, text, ast.parse(text)))
    return tuple(found)


def imports(module: Module) -> Iterator[tuple[int, str]]:
    """Line and dotted name of everything imported anywhere in the file, functions included."""
    known = {m.name for m in modules()}
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                package = module.name.split(".")
                # A package's own __init__ counts from itself, a plain file from its folder.
                keep = len(package) - node.level + (module.path.name == "__init__.py")
                base = ".".join([*package[:keep], *([base] if base else [])])
            for alias in node.names:
                inner = f"{base}.{alias.name}"
                yield node.lineno, inner if inner in known else base


def tracked_files() -> list[Path]:
    """What a clone holds; without git, what lies in the folders that a clone has."""
    done = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=False)
    if done.returncode == 0 and done.stdout:
        names = done.stdout.decode("utf-8").split("\0")
        return [ROOT / n for n in names if n and (ROOT / n).is_file()]
    folders = [PACKAGE, ROOT / "tests", ROOT / "shapes"]
    found = [p for folder in folders for p in folder.rglob("*") if p.is_file() and "__pycache__" not in p.parts]
    return found + [p for p in ROOT.glob("*") if p.suffix in (".md", ".toml")]
