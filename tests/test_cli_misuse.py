"""The command line as a process of its own: strange surroundings, misuse, start-up."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from command_line import FAILING, PLATE, names, run, written

_ROOT = Path(__file__).parent.parent
_START = "from bracketgen.app.cli import main; main()"


def _process(folder: Path, *arguments: str, **surroundings: str) -> subprocess.CompletedProcess[bytes]:
    """`bracketgen ARGUMENTS` in a folder with these environment variables and no others."""
    environment = {"PYTHONPATH": str(_ROOT), "PATH": os.environ.get("PATH", "")} | surroundings
    command = [sys.executable, "-c", _START, *arguments]
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, timeout=60, check=False)


def test_hostile_surroundings_change_no_byte(tmp_path: Path) -> None:
    text = PLATE.replace("Plain plate", "Plätte ≥ 4")
    for name in ("calm", "hostile"):
        (tmp_path / name).mkdir()
        written(tmp_path / name, plate=text)
    calm = _process(tmp_path / "calm", "make", "plate.toml", HOME=str(tmp_path))
    hostile = _process(
        tmp_path / "hostile",
        "make",
        "plate.toml",
        LANG="xx_YY.nonsense",
        LC_ALL="C",
        PYTHONIOENCODING="ascii",
        PYTHONHASHSEED="77",
        MPLBACKEND="no_such_backend",
        MPLCONFIGDIR="/nowhere/at/all",
        DISPLAY=":77",
        TZ="Pacific/Kiritimati",
        COLUMNS="20",
    )
    assert (calm.returncode, calm.stderr) == (0, b"")
    assert (hostile.returncode, hostile.stderr) == (0, b"")
    assert hostile.stdout.isascii()
    assert names(tmp_path / "calm/out") == {"plate.dxf", "plate.png", "plate.json"}
    for name in names(tmp_path / "calm/out"):
        assert (tmp_path / "calm/out" / name).read_bytes() == (tmp_path / "hostile/out" / name).read_bytes()


@pytest.mark.parametrize(
    "arguments",
    [
        ("mak",),
        ("make",),
        ("make", "--stric", "x"),
        ("make", "x", "--only"),
        ("check",),
        ("bend",),
        ("bend", "-t"),
        ("new", "tab"),
        ("show", "a", "b"),
        ("schema", "x"),
        ("make", "\0"),
        ("make", ""),
        ("make", "a" * 5000),
        ("check", "."),
        ("check", "x", "--table", "\0"),
        ("show", ""),
        ("new", "../angle", "x.toml"),
        ("new", "", ""),
        ("bend", "-t", "", "-r", ""),
        ("bend", "-t", "9" * 400, "-r", "1e400"),
        ("make", "x.toml", "--set", "=" * 50),
        ("check", "x", "--only", "dxf"),
    ],
)
def test_misuse_ends_in_code_2_without_a_traceback(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run(*arguments)
    assert done.code == 2
    assert "Traceback" not in done.out + done.err
    assert done.err.strip()
    assert names(tmp_path) == set()


def test_an_error_outside_every_part_is_one_line_and_code_3(tmp_path: Path) -> None:
    start = "import bracketgen.app.cli as c, bracketgen.app.asking.tasks as t\nt.gather = None\nc.main()"
    done = subprocess.run(
        [sys.executable, "-c", start, "check", "x.toml"],
        cwd=tmp_path,
        env={"PYTHONPATH": str(_ROOT)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 3
    assert len(done.stderr.splitlines()) == 1
    assert "internal error, TypeError" in done.stderr


def test_a_reader_that_leaves_early_does_no_harm(tmp_path: Path) -> None:
    command = [sys.executable, "-c", _START, "show", "sources"]
    environment = {"PYTHONPATH": str(_ROOT)}
    with subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None and process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0


def test_help_loads_none_of_the_heavy_libraries() -> None:
    start = (
        "import sys\n"
        "from bracketgen.app.cli import app\n"
        "try:\n"
        "    app(['--help'])\n"
        "except SystemExit:\n"
        "    heavy = {'ezdxf', 'matplotlib', 'shapely', 'numpy', 'pydantic', 'rich', 'PIL', 'csv', 'tomllib'}\n"
        "    print(sorted(heavy & set(sys.modules)), file=sys.stderr)\n"
    )
    environment = {"PYTHONPATH": str(_ROOT)}
    command = [sys.executable, "-c", start]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=60, check=False)
    assert done.stderr.strip() == "[]"


def test_colour_only_where_it_is_wanted(monkeypatch: pytest.MonkeyPatch) -> None:
    import io

    from bracketgen.app.telling.speech import Tone, say, toned

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    for variable in ("NO_COLOR", "TERM"):
        monkeypatch.delenv(variable, raising=False)
    seen = []
    for stream, name, value in (
        (Terminal(), "TERM", "xterm"),
        (Terminal(), "NO_COLOR", "1"),
        (Terminal(), "NO_COLOR", ""),
        (Terminal(), "TERM", "dumb"),
        (io.StringIO(), "TERM", "xterm"),
    ):
        monkeypatch.setenv(name, value)
        say(toned("bad", Tone.BAD), stream)
        seen.append(stream.getvalue())
    coloured = "\x1b[1;31mbad\x1b[0m\n"
    assert seen == [coloured, "bad\n", coloured, "bad\n", "bad\n"]


def test_a_failure_of_the_disk_leaves_nothing_half_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from bracketgen.writers import whole_file

    monkeypatch.chdir(tmp_path)
    written(tmp_path, plate=PLATE, small=FAILING)
    run("make", "plate.toml", "--only", "dxf,json")
    before = {name: (tmp_path / "out" / name).read_bytes() for name in names(tmp_path / "out")}

    def full(path: Path, data: bytes) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(whole_file, "_create", full)
    done = run("make", "plate.toml", "--only", "dxf,json", "--set", "bore=12 mm")
    assert done.code == 2
    assert "No space left on device" in done.err
    assert {
        name.removeprefix("OLD-"): (tmp_path / "out" / name).read_bytes() for name in names(tmp_path / "out")
    } == before
