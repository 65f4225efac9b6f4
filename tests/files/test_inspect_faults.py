"""Each fault is found, and nothing else; clean files give nothing; a file is never more than a finding."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
from faulty_dxf import CLEAN, FAULTS, Faulty
from faulty_plate import AREA, VERSIONS, Plate

from bracketgen.files.inspecting.drawing import MM
from bracketgen.files.inspecting.inspection import Limits, inspect_bytes
from bracketgen.files.inspecting.mend import mend
from bracketgen.files.lint import lint
from bracketgen.standards.machines import process

CASES = [pytest.param(f, v, id=f"{f.kind}, {v}") for f in FAULTS for v in f.versions]


def limits_of(faulty: Faulty, version: str) -> Limits:
    """R12 can't say its unit, so it is stated, unless that is the fault."""
    given: dict[str, Any] = dict(faulty.limits)
    unit = given.pop("unit", MM if version == "R12" else None)
    row = given.pop("process", None)
    return Limits(unit=unit, process=process(row) if row else None, **given)


@pytest.mark.parametrize(("faulty", "version"), CASES)
def test_one_fault_gives_exactly_its_codes(faulty: Faulty, version: str) -> None:
    found = inspect_bytes(faulty.make(version), limits_of(faulty, version))
    assert {f.code.value for f in found.findings} == faulty.codes, [str(f) for f in found.findings]
    assert all(f.cure and f.what for f in found.findings)


def test_there_are_enough_kinds() -> None:
    assert len({f.kind for f in FAULTS}) >= 60
    assert len(set().union(*(f.codes for f in FAULTS))) >= 40


@pytest.mark.parametrize("version", VERSIONS)
@pytest.mark.parametrize("name", CLEAN)
def test_clean_files_give_nothing(name: str, version: str) -> None:
    unit = MM if version == "R12" else None
    found = inspect_bytes(CLEAN[name](version).data, Limits(unit=unit, process=process("laser"), thickness_mm=3.0))
    assert [str(f) for f in found.findings] == []
    if name == "plate":
        assert found.area_mm2 == pytest.approx(AREA, rel=1e-12)


def damaged(source: bytes, dice: random.Random) -> bytes:
    """Values exchanged, lines lost or doubled, bytes changed, the end cut off."""
    lines = source.split(b"\n")
    start = source[: source.index(b"ENTITIES")].count(b"\n")
    end = start + source[source.index(b"ENTITIES") :].split(b"ENDSEC")[0].count(b"\n")
    values = (
        b"nan",
        b"",
        b"abc",
        b"-1",
        b"0",
        b"1e400",
        b"9" * 50,
        b"1e-300",
        b"LINE",
        b"VERTEX",
        b"100000.0",
        b"-0.0",
    )
    for _ in range(dice.randint(1, 6)):
        low, high = (start, end) if dice.random() < 0.8 else (0, len(lines))
        at = min(dice.randrange(low, high), len(lines) - 1)
        # Mostly values, which stand on every second line: a lost group code makes the whole file unreadable.
        at = min(at | 1, len(lines) - 1) if dice.random() < 0.95 else at
        match dice.randrange(6):
            case 0 | 1 | 2:
                lines[at] = dice.choice(values)
            case 3:
                lines[at] = dice.choice(lines[1::2])
            case 4:
                del lines[at - 1 : at - 1 + 2 * dice.randint(1, 4)]
            case _:
                lines[at - 1 : at - 1] = lines[at - 1 : at - 1 + 2 * dice.randint(1, 8)]
    data = bytearray(b"\n".join(lines))
    for _ in range(dice.choice((0, 0, 1, 3))):
        data[dice.randrange(len(data))] = dice.randrange(256)
    return bytes(data[: dice.randrange(len(data))] if dice.random() < 0.05 else data)


def sources() -> list[bytes]:
    """One file of each kind, in one version."""
    return [f.make(f.versions[-1]) for f in FAULTS if b"ENTITIES" in f.make(f.versions[-1])] + [
        make(v).data for make in CLEAN.values() for v in ("R12", "R2010")
    ]


def survives(data: bytes) -> None:
    """The inspection, and the mending of what could be read, come to an end and say what they found."""
    limits = Limits(process=process("laser"), thickness_mm=3.0)
    found = inspect_bytes(data, limits)
    assert found.findings or found.drawing is not None
    assert all(f.cure and f.what for f in found.findings)
    mended = mend(found, limits)
    assert mended is None or mended.after.drawing is not None


def test_damaged_files_are_never_more_than_findings() -> None:
    dice = random.Random(20_260)
    files = sources()
    for n in range(100):
        survives(damaged(files[n % len(files)], dice))


@pytest.mark.sweep
@pytest.mark.parametrize("block", range(20))
def test_ten_thousand_damaged_files_are_never_more_than_findings(block: int) -> None:
    """500 files a block, of every kind of fault, the clean ones and the drawings of other libraries."""
    dice = random.Random(20_261 + block)
    others = sorted((Path(__file__).parents[1] / "other_writers").glob("*.dxf"))
    files = sources() + [p.read_bytes() for p in others]
    for n in range(500):
        data = damaged(files[(500 * block + n) % len(files)], dice)
        survives(data)
        lint(data)


def test_the_damage_does_damage() -> None:
    """Most files get a finding, and most can still be read, so that it is not the reader alone that is tried."""
    dice = random.Random(7)
    clean = Plate("R2010").data
    found = [inspect_bytes(damaged(clean, dice)) for _ in range(100)]
    assert sum(bool(f.findings) for f in found) > 50
    assert sum(not f.unreadable for f in found) > 50
