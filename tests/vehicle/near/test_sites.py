"""The sites of the truck: they read clean, and their readings agree with each other as well as tape and rule can."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from sample_parts import SHAPES

from bracketgen.vehicle.site import (
    DistanceReading,
    LevelReading,
    OldHole,
    Site,
    SquareReading,
    StepReading,
    TiltReading,
    read_site,
)

FOLDER = SHAPES / "sites"
FILES = sorted(FOLDER.glob("*.site.toml"))
#: What a reading may be off (one standard deviation, mm or degrees; a person's usual skill, no source).
SPREAD = {
    "tape": 0.5, "ruler": 0.4, "calliper": 0.1, "straight edge": 0.4, "angle finder": 0.5, "level": 0.2,
}  # fmt: skip


def site_of(path: Path) -> Site:
    return read_site(path.read_text(encoding="utf-8"), path.name, path.name.removesuffix(".site.toml"))


class Guess:
    """Places of holes and normals of faces for a vector of unknowns; the first face is the frame."""

    def __init__(self, site: Site) -> None:
        self.faces = site.document.faces
        self.first = next(iter(self.faces))
        self.down = np.array(site.document.down)
        self.names = [f"{f}.{h}" for f, face in self.faces.items() for h in face.holes]

    def start(self) -> np.ndarray:
        values: list[float] = []
        for name, face in self.faces.items():
            for i, hole in enumerate(face.holes.values()):
                if name == self.first:
                    about = hole.about or (60.0 * i, 0.0)
                    values += list(about[: min(i, 2)])
                else:
                    values += [face.at[0] + 40.0 * i, *face.at[1:]]
            if name != self.first:
                values.append(0.0)
        return np.array(values)

    def read(self, values: np.ndarray) -> tuple[dict[str, np.ndarray], dict[str, np.ndarray]]:
        left = list(values)
        holes, normals = {}, {}
        for name, face in self.faces.items():
            for i, hole in enumerate(face.holes):
                if name == self.first:
                    flat = [left.pop(0) for _ in range(min(i, 2))]
                    holes[f"{name}.{hole}"] = np.array([*flat, 0.0, 0.0, 0.0][:3])
                else:
                    holes[f"{name}.{hole}"] = np.array([left.pop(0) for _ in range(3)])
            normals[name] = np.array((0.0, 0.0, 1.0)) if name == self.first else self._normal(name, holes, left.pop(0))
        return holes, normals

    def _normal(self, name: str, holes: dict[str, np.ndarray], turn: float) -> np.ndarray:
        """Square to the line of the face's two holes, turned about it from the rough normal."""
        a, b = (holes[f"{name}.{h}"] for h in self.faces[name].holes)
        along = (b - a) / np.linalg.norm(b - a)
        rough = np.array(self.faces[name].normal)
        rough = rough - along * (rough @ along)
        rough /= np.linalg.norm(rough)
        return rough * math.cos(turn) + np.cross(along, rough) * math.sin(turn)


def width(hole: OldHole) -> float:
    return float(hole.diameter or hole.short or math.nan)


def worn(guess: Guess, name: str) -> np.ndarray:
    """From a hole's true centre to the middle of what wear made of it; the first face only."""
    face, hole = name.split(".")
    old = guess.faces[face].holes[hole]
    if not (old.long and old.short and old.unworn):
        return np.zeros(3)
    turn = math.radians(old.direction or 0.0)
    reach = (old.long - old.short) / 2 * (1.0 if old.unworn == "start" else -1.0)
    return np.array((reach * math.cos(turn), reach * math.sin(turn), 0.0))


def computed(guess: Guess, reading: object, holes: dict, normals: dict) -> float:
    """What the reading should be."""
    match reading:
        case DistanceReading():
            r = [width(guess.faces[h.split(".")[0]].holes[h.split(".")[1]]) / 2 for h in (reading.start, reading.to)]
            more = {
                "centres": 0.0,
                "inner": -r[0] - r[1],
                "outer": r[0] + r[1],
                "left to left": r[0] - r[1],
                "pins": sum(reading.pins or (0.0,)) / 2,
            }[reading.over]
            ends = [holes[h] for h in (reading.start, reading.to)]
            if reading.over == "centres":
                # What a tape finds is the middle of what is there now.
                ends = [p + worn(guess, h) for p, h in zip(ends, (reading.start, reading.to), strict=True)]
            return float(np.linalg.norm(ends[1] - ends[0])) + more
        case SquareReading():
            a, b = (holes[h] for h in reading.line)
            along = (b - a) / np.linalg.norm(b - a)
            left = np.cross(normals[reading.hole.split(".")[0]], along)
            return float((holes[reading.hole] - a) @ left)
        case StepReading():
            on = next(p for h, p in holes.items() if h.startswith(f"{reading.face}."))
            return float((holes[reading.hole] - on) @ normals[reading.face])
        case TiltReading():
            a, b = (normals[f] for f in reading.faces)
            return math.degrees(math.acos(np.clip(a @ b, -1.0, 1.0)))
        case LevelReading():
            way = holes[reading.to] - holes[reading.start]
            return math.degrees(math.asin(-(way @ guess.down) / np.linalg.norm(way)))
    raise AssertionError(reading)


def adjusted(off: Callable[[np.ndarray], np.ndarray], x: np.ndarray) -> np.ndarray:
    """Least squares by Gauss and Newton with numerical slopes."""
    for _ in range(30):
        r = off(x)
        slopes = np.column_stack([(off(x + h) - off(x - h)) / 2e-4 for h in np.eye(len(x)) * 1e-4])
        assert np.linalg.matrix_rank(slopes) == len(x), "the readings leave something loose"
        x = x - np.linalg.lstsq(slopes, r, rcond=None)[0]
    return x


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.name)
def test_readings_agree(path: Path) -> None:
    site = site_of(path)
    guess = Guess(site)
    readings = site.document.readings

    def off(x: np.ndarray) -> np.ndarray:
        holes, normals = guess.read(x)
        return np.array([(computed(guess, r, holes, normals) - r.value) / SPREAD[r.tool or "tape"] for r in readings])

    x = adjusted(off, guess.start())
    assert len(readings) >= len(x) + 2, "too few readings to find a wrong one"
    assert np.abs(off(x)).max() < 2.5
    assert (off(x) ** 2).sum() / (len(readings) - len(x)) < 2.5


def test_there_are_three() -> None:
    assert [p.name for p in FILES] == ["breather-can.site.toml", "exhaust-hanger.site.toml", "filter-head.site.toml"]


def test_the_filter_head_is_measured_in_many_ways() -> None:
    readings = site_of(FOLDER / "filter-head.site.toml").document.readings
    assert {r.kind for r in readings} == {"distance", "step", "tilt", "level"}
    assert {r.over for r in readings if isinstance(r, DistanceReading)} >= {"inner", "outer", "pins", "centres"}
    assert {r.tool for r in readings} == set(SPREAD)
