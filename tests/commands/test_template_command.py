"""`bracketgen template`: files, printer's scale told or corrected, faults of what was typed."""

from __future__ import annotations

import math
from pathlib import Path

import command_line
import pytest
from command_line import ANGLE, FAILING, FAULTY, PLATE, Run, names, words, written
from pdf_reading import read_pages

from bracketgen.drawing.template.sheets import good_within


def run(*arguments: str | Path) -> Run:
    return command_line.run("template", *arguments)


@pytest.fixture
def plate(tmp_path: Path) -> Path:
    return written(tmp_path, plate=PLATE)[0]


def test_a_template_is_written_for_either_paper(tmp_path: Path, plate: Path) -> None:
    for paper, size in (("a4", (210.0, 297.0)), ("Letter", (215.9, 279.4))):
        done = run(plate, "--paper", paper, "--out", tmp_path / "out")
        assert done.code == 0, done.err
        name = f"plate-template-{paper.lower()}.pdf"
        assert name in done.out and "--measured" in done.out
        for page in read_pages((tmp_path / "out" / name).read_bytes()):
            assert (page.width, page.height) == pytest.approx(size, abs=1e-3)
    assert names(tmp_path / "out") == {"plate-template-a4.pdf", "plate-template-letter.pdf"}


def test_measured_bars_give_the_scale_and_a_corrected_file(tmp_path: Path, plate: Path) -> None:
    """100 x 60 mm: 97.0 and 98.5 on the bars; 3 mm are missing on 100."""
    done = run(plate, "--measured", "97.0,98.5", "--out", tmp_path / "out")
    assert done.code == 0
    assert "97.00 % across and 98.50 % up the sheet: off" in words(done.out)
    assert "Over the 100 mm of this part the worse of the two makes 3.0 mm at most" in words(done.out)
    assert names(tmp_path / "out") == {"plate-template-a4-corrected.pdf"}
    page = read_pages((tmp_path / "out" / "plate-template-a4-corrected.pdf").read_bytes())[1]
    boxes = [d.box for d in page.paths if d.paint == "S" and len(set(d.points)) == 4]
    sizes = [(b[2] - b[0], b[3] - b[1]) for b in boxes]
    assert any(w == pytest.approx(100 / 0.97, abs=0.01) and h == pytest.approx(60 / 0.985, abs=0.01) for w, h in sizes)


def test_a_true_printer_is_told_so_and_nothing_is_written(tmp_path: Path, plate: Path) -> None:
    # Setting 0.2 mm; class II within 0.3 mm + 0.2 mm a started metre, equally likely anywhere in it.
    limit = math.sqrt(0.2**2 + 0.5**2 / 3) / 100
    assert good_within() == pytest.approx(limit, rel=1e-9)
    near = 100 * (1 - limit)
    done = run(plate, "--measured", f"{near + 0.005:.3f},100.2", "--out", tmp_path / "out")
    assert done.code == 0 and "true as far as a ruler can tell" in words(done.out)
    assert "nothing new was written" in done.out and not (tmp_path / "out").exists()
    over = run(plate, "--measured", f"{near - 0.005:.3f},100.2", "--out", tmp_path / "out")
    assert "corrected" in over.out and names(tmp_path / "out") == {"plate-template-a4-corrected.pdf"}


def test_inches_are_taken_for_the_four_inch_bars(tmp_path: Path, plate: Path) -> None:
    done = run(plate, "--measured", "3.9in, 4 in", "--out", tmp_path / "out")
    assert "97.50 % across and 100.00 % up" in words(done.out)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("97,0,98,5", "is not two lengths"),
        ("97.0", "is not two lengths"),
        ("50,100", "does not come out '50' long"),
        ("4in,100", ""),
        ("97.0,wide", "wide"),
        ("-97,98", "-97"),
    ],
)
def test_what_no_bar_measures_is_refused(tmp_path: Path, plate: Path, typed: str, said: str) -> None:
    done = run(plate, f"--measured={typed}", "--out", tmp_path / "out")
    if said:
        assert done.code == 2 and said in done.err and "--measured" in done.err
    else:
        assert done.code == 0


def test_wrong_words_are_told_together(tmp_path: Path, plate: Path) -> None:
    done = run(plate, "--paper", "a5", "--face", "bak", "--card", "40 mm", "--out", tmp_path / "out")
    assert done.code == 2
    for said in ("--paper", "a4", "did you mean back?", "--card", "20 mm"):
        assert said in done.err
    assert not (tmp_path / "out").exists()


def test_back_and_card_reach_the_sheets(tmp_path: Path) -> None:
    (angle,) = written(tmp_path, angle=ANGLE)
    done = run(angle, "--face", "back", "--card", "0.5 mm", "--out", tmp_path / "out")
    assert done.code == 0, done.out + done.err
    assert names(tmp_path / "out") == {"angle-template-a4-back.pdf"}
    pages = read_pages((tmp_path / "out" / "angle-template-a4-back.pdf").read_bytes())
    assert all("BACK FACE UP (MIRRORED)" in page.said for page in pages)
    # The bend goes down, away from the described face: toward whoever looks at the back.
    assert "fold toward you" in pages[-1].said and "0.5 mm card folds here (1)" in pages[-1].said


def test_a_failed_part_gets_none_unless_asked_and_then_it_says_so(tmp_path: Path) -> None:
    (file,) = written(tmp_path, bad=FAILING)
    out = tmp_path / "out"
    done = run(file, "--out", out)
    assert done.code == 1 and not out.exists() and "--even-if-failed" in done.out
    asked = run(file, "--out", out, "--even-if-failed")
    assert asked.code == 1 and names(out) == {"FAILED-bad-template-a4.pdf"}
    pages = read_pages((out / "FAILED-bad-template-a4.pdf").read_bytes())
    assert all("DO NOT CUT METAL" in page.said for page in pages)


def test_old_templates_of_a_part_that_now_fails_are_set_aside(tmp_path: Path) -> None:
    (file,) = written(tmp_path, part=PLATE)
    out = tmp_path / "out"
    assert run(file, "--out", out).code == 0
    assert run(file, "--out", out, "--face", "back").code == 0
    (out / "other-template-a4.pdf").write_text("another part's", encoding="utf-8")
    written(tmp_path, part=FAILING)
    done = run(file, "--out", out)
    assert done.code == 1 and done.out.count("set aside") == 2
    expected = {"OLD-part-template-a4.pdf", "OLD-part-template-a4-back.pdf", "other-template-a4.pdf"}
    assert names(out) == expected


def test_the_wrong_bars_are_suspected(tmp_path: Path, plate: Path) -> None:
    said = "be sure that it was the 100 mm bars"
    assert said in words(run(plate, "--measured", "101.6,101.5", "--out", tmp_path / "out").out)
    assert said not in words(run(plate, "--measured", "101.6,99.0", "--out", tmp_path / "out").out)


def test_faults_of_the_description(tmp_path: Path) -> None:
    (file,) = written(tmp_path, faulty=FAULTY)
    done = run(file, "--out", tmp_path / "out")
    assert done.code == 2 and f"{file}:" in done.err


def test_a_family_gets_a_template_each(tmp_path: Path, plate: Path) -> None:
    table = tmp_path / "sizes.csv"
    table.write_text("name,bore\nsmall,8 mm\nlarge,16 mm\n", encoding="utf-8")
    done = run(plate, "--table", table, "--out", tmp_path / "out")
    assert done.code == 0, done.err
    assert names(tmp_path / "out") == {"small-template-a4.pdf", "large-template-a4.pdf"}


def test_a_folder_that_cant_be_written_is_an_input_fault(tmp_path: Path, plate: Path) -> None:
    (tmp_path / "out").write_text("in the way", encoding="utf-8")
    done = run(plate, "--out", tmp_path / "out")
    assert done.code == 2 and "files can't be put into it" in done.err
