"""The same description gives the same bytes in any folder and surroundings: cut file, report and models on any machine,
pictures and pages with the same versions of the libraries that draw them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from daily import every

ROOT = Path(__file__).parents[2]

#: Works out every sample and shape, and prints a digest of each file.
_CHILD = """
import hashlib
from bracketgen.pipeline import Outputs, files_of, work_out
from random_trees import random_tree
from sample_parts import sample_texts

kinds = Outputs.DXF | Outputs.JSON | Outputs.STEP | Outputs.STL | Outputs.THREE_MF | Outputs.GLB
texts = dict(sample_texts()) | {f"tree {n}": (random_tree(n).text, ".") for n in (1, 2, 3)}
for name, (text, folder) in texts.items():
    made = work_out(text, name + ".toml", "part", folder=folder)
    for file, data in sorted(files_of(made, kinds).items()):
        print(name, file, len(data), hashlib.sha256(data).hexdigest())
"""

#: Draws two shapes on everything that paper and screen get, and prints a digest of each file.
_PAPERS = """
import hashlib
from bracketgen.commands.sheets import sheet_files
from bracketgen.drawing.sheet import Paper
from bracketgen.drawing.template.pages import template_pages
from bracketgen.pipeline import Outputs, files_of, work_out
from bracketgen.files.pdf import pdf_bytes
from sample_parts import SHAPES

for path in (SHAPES / "filter-mount.toml", SHAPES / "sites" / "exhaust-hanger.toml"):
    name = path.stem
    made = work_out(path.read_text(encoding="utf-8"), path.name, "part", folder=str(path.parent))
    files = files_of(made, Outputs.PNG | Outputs.SITE) | sheet_files(made, Paper.A4, 2)
    files["template"] = pdf_bytes(template_pages(made.flat, made.folded, Paper.A4), "title")
    for file, data in sorted(files.items()):
        print(name, file, len(data), hashlib.sha256(data).hexdigest())
"""


def digests(folder: Path, program: str = _CHILD, **changes: str) -> list[str]:
    """What a fresh process makes in a folder, with these changes to its surroundings."""
    surroundings = {k: v for k, v in os.environ.items() if k in ("PATH", "SYSTEMROOT", "VIRTUAL_ENV")}
    surroundings["PYTHONPATH"] = os.pathsep.join((str(ROOT), str(ROOT / "tests" / "support")))
    command = [sys.executable, "-c", program]
    done = subprocess.run(
        command, cwd=folder, env=surroundings | changes, capture_output=True, text=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


@pytest.fixture(scope="module")
def usual(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """A run with nothing special about it."""
    lines = digests(tmp_path_factory.mktemp("usual"), PYTHONHASHSEED="0")
    assert len(lines) >= 6 * 20
    return lines


@pytest.mark.parametrize("seed", every(["1", "4242", "random"], 3))
def test_under_other_hash_seeds(usual: list[str], tmp_path: Path, seed: str) -> None:
    assert digests(tmp_path, PYTHONHASHSEED=seed) == usual


def test_in_another_folder(usual: list[str], tmp_path: Path) -> None:
    deep = tmp_path / "Ünder a näme with spaces" / ("x" * 40)
    deep.mkdir(parents=True)
    assert digests(deep) == usual


# The third may be missing on this machine; then the program meets a locale that can't be set.
@pytest.mark.sweep
@pytest.mark.parametrize("locale", ["C", "C.UTF-8", "de_DE.UTF-8"])
def test_in_other_locales(usual: list[str], tmp_path: Path, locale: str) -> None:
    assert digests(tmp_path, LC_ALL=locale, LANG=locale, PYTHONUTF8="0", PYTHONCOERCECLOCALE="0") == usual


def test_among_odd_settings(usual: list[str], tmp_path: Path) -> None:
    # A settings file of the drawing library, where that library looks for one, changes nothing.
    ini = "[core]\ndefault_dimension_text_style = odd\ntest_files = /nowhere\n[odafc-addon]\nwin_exec_path = x\n"
    (tmp_path / "ezdxf.ini").write_text(ini, encoding="utf-8")
    home = tmp_path / "home"
    (home / ".config" / "ezdxf").mkdir(parents=True)
    (home / ".config" / "ezdxf" / "ezdxf.ini").write_text(ini, encoding="utf-8")
    odd = {
        "HOME": str(home),
        "XDG_CONFIG_HOME": str(home / ".config"),
        "EZDXF_CONFIG_FILE": str(tmp_path / "ezdxf.ini"),
        "EZDXF_DISABLE_C_EXT": "1",
        "TZ": "Pacific/Kiritimati",
        "COLUMNS": "17",
        "LINES": "3",
        "USER": "someone else",
        "SOURCE_DATE_EPOCH": "1",
        "PYTHONOPTIMIZE": "1",
        "NO_COLOR": "1",
    }
    assert digests(tmp_path, **odd) == usual


@pytest.mark.sweep
def test_pictures_and_pages(tmp_path: Path) -> None:
    plain, odd = tmp_path / "plain", tmp_path / "Ünder a näme with spaces"
    plain.mkdir()
    odd.mkdir()
    (odd / "matplotlibrc").write_text("path.simplify: False\nsavefig.dpi: 7\nfont.size: 3\n", encoding="utf-8")
    usual = digests(plain, _PAPERS, PYTHONHASHSEED="0")
    assert len(usual) >= 8
    surroundings = {"TZ": "Pacific/Kiritimati", "LC_ALL": "C", "MPLBACKEND": "none such"}
    assert digests(odd, _PAPERS, PYTHONHASHSEED="4242", **surroundings) == usual
