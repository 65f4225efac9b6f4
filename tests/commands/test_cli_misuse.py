"""The command line as a process of its own: strange surroundings, misuse, start-up."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from command_line import ANGLE, FAILING, FAULTY, PLATE, names, run, written

_ROOT = Path(__file__).parents[2]
_START = "from bracketgen.terminal.cli import main; main()"


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
    start = "import bracketgen.terminal.cli as c, bracketgen.terminal.parts as t\nt.gather = None\nc.main()"
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


def test_a_part_without_a_site_loads_nothing_for_sites_pictures_and_pages(tmp_path: Path) -> None:
    start = (
        "import sys\n"
        "from bracketgen.terminal.cli import app\n"
        "try:\n"
        "    app(['make', sys.argv[1], '--only', 'dxf,json', '--out', sys.argv[2]])\n"
        "except SystemExit as end:\n"
        "    heavy = ('matplotlib', 'PIL', 'reportlab', 'scipy', 'bracketgen.vehicle')\n"
        "    print(end.code, sorted(m for m in sys.modules if m in heavy), file=sys.stderr)\n"
    )
    command = [sys.executable, "-c", start, str(_ROOT / "shapes" / "filter-mount.toml"), str(tmp_path)]
    done = subprocess.run(
        command, env={"PYTHONPATH": str(_ROOT)}, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.stderr.strip() == "0 []"


def test_help_loads_none_of_the_heavy_libraries() -> None:
    start = (
        "import sys\n"
        "from bracketgen.terminal.cli import app\n"
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

    from bracketgen.terminal.screen import Tone, say, toned

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
    from bracketgen.files import disk as whole_file

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


# -- a file of another kind, values that no bend has, and what an earlier run left

SITE = """\
title = "Rail"
units = "mm"
[faces.rail.holes]
A = { diameter = 11 }
B = { diameter = 11 }
"""
JOB = """\
title = "Order"
units = "mm"
[[parts]]
file = "plate.toml"
[[sheets]]
size = [250, 160]
"""
TOOLING = 'title = "Ours"\nunits = "mm"\n[press]\nlength = 2000\n'


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("make", "site.toml"), "site.toml:3:2: with 'faces' this is a site file"),
        (("check", "job.toml"), "job.toml:3:3: with 'parts' this is a job file"),
        (("make", "tooling.toml"), "tooling.toml:3:2: with 'press' this is a tooling file"),
        (("locate", "plate.toml"), "plate.toml:12:2: with 'panels' this is a description of a part"),
        (("place", "job.toml"), "job.toml:3:3: with 'parts' this is a job file"),
        (("nest", "plate.toml"), "plate.toml:12:2: with 'panels' this is a description of a part"),
        (("brake", "angle.toml", "--tooling", "plate.toml"), "plate.toml:12:2: with 'panels' this is a description"),
    ],
)
def test_a_file_of_another_kind_is_one_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    written(tmp_path, site=SITE, job=JOB, tooling=TOOLING, plate=PLATE, angle=ANGLE)
    done = run(*arguments)
    assert done.code == 2
    assert len(done.err.splitlines()) == 1
    assert said in done.err
    assert not (tmp_path / "out").exists()


def test_a_misspelt_table_of_the_right_kind_is_a_fault_of_its_key(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE.replace("[panels.", "[parts.").replace("[[panels.", "[[parts."))
    done = run("check", tmp_path / "plate.toml")
    assert done.code == 2
    assert "the key 'parts' is not known here" in done.err and "job file" not in done.err


def test_what_a_job_says_wrongly_stands_at_its_place_in_the_job(tmp_path: Path) -> None:
    parts = '[[parts]]\nfile = "{}"\nset = {{ {} }}\n'
    more = (
        parts.format("gone.toml", "") + parts.format("plate.toml", "bor = 3") + parts.format("plate.toml", "bore = 90")
    )
    written(tmp_path, plate=PLATE, faulty=FAULTY, job=JOB + more + '[[parts]]\nfile = "faulty.toml"\n')
    for command in ("pack", "nest"):
        done = run(command, tmp_path / "job.toml", "--out", tmp_path / "out")
        assert done.code == 2
        job, faulty = tmp_path / "job.toml", tmp_path / "faulty.toml"
        assert f"{job}:8:8: there is no file 'gone.toml'; it is looked for from the job file's folder" in done.err
        assert f"{job}:12:15: there is no parameter 'bor' to set; did you mean 'bore'?" in done.err
        assert f"{job}:15:16: '" in done.err
        # What a description says itself keeps its own place.
        assert f"{faulty}:5:13: '4,5 mm' has a comma" in done.err
    assert not any((tmp_path / "out").glob("*.dxf"))


def test_a_folder_in_a_job_is_told(tmp_path: Path) -> None:
    (tmp_path / "folder.toml").mkdir()
    written(tmp_path, job=JOB.replace("plate", "folder"))
    done = run("nest", tmp_path / "job.toml")
    assert done.code == 2
    assert "job.toml:4:8: 'folder.toml' is a folder" in done.err


@pytest.mark.parametrize(
    ("radius", "said"),
    [
        ("-1 mm", "an inside radius of -1 mm does not exist"),
        # A strip of 150 mm; pi / 2 x (R + 2) = 150 at R = 93.49.
        ("93.6 mm", "the bend alone takes 150 mm, but the strip is 150 mm long"),
        ("93.4 mm", ""),
        ("0 mm", ""),
    ],
)
def test_a_coupon_is_not_bent_round_what_it_cannot_reach(tmp_path: Path, radius: str, said: str) -> None:
    done = run("coupon", "--metal", "S235", "-t", "4 mm", "-r", radius, "--out", tmp_path / "out")
    assert done.code == (2 if said else 0)
    assert said in done.err
    assert (tmp_path / "out").exists() is not bool(said)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--choose", "0"), "--choose: there is no proposal 0"),
        (("--write", "x.toml"), "--write: no proposal is chosen"),
    ],
)
def test_what_span_cannot_write_is_told_before_the_work(tmp_path: Path, options: tuple[str, ...], said: str) -> None:
    written(tmp_path, site=SITE)
    done = run("span", tmp_path / "site.toml", *options)
    assert (done.code, done.out) == (2, "")
    assert said in done.err


def test_a_file_named_as_the_folder_is_told(tmp_path: Path) -> None:
    written(tmp_path, plate=PLATE)
    (tmp_path / "note").write_bytes(b"mine")
    done = run("make", tmp_path / "plate.toml", "--out", tmp_path / "note", "--only", "dxf")
    assert done.code == 2
    assert "this is a file, and files can't be put into it" in done.err
    assert (tmp_path / "note").read_bytes() == b"mine"


def test_sheets_of_an_earlier_nest_never_stay_looking_fresh(tmp_path: Path) -> None:
    out = tmp_path / "out"
    written(tmp_path, plate=PLATE, job=JOB.replace("[[sheets]]\n", "quantity = 5\n[[sheets]]\nquantity = 2\n"))
    assert run("nest", tmp_path / "job.toml", "--boxes", "--out", out).code == 0
    assert "job-sheet-2.dxf" in names(out)
    (out / "job-sheet-mine.dxf").write_bytes(b"mine")
    written(tmp_path, job=JOB)
    done = run("nest", tmp_path / "job.toml", "--boxes", "--out", out)
    assert done.code == 0
    kept = {"job-sheet-1.dxf", "job-sheet-1.png", "job-sheet-mine.dxf"}
    assert names(out) == kept | {"OLD-job-sheet-2.dxf", "OLD-job-sheet-2.png"}
    assert "OLD-job-sheet-2.dxf (out of date)" in done.out
