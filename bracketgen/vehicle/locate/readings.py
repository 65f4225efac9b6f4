"""From what a person wrote to readings that can be adjusted; everything that makes no sense is a fault in its place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from bracketgen.errors import Fault, InputFaults
from bracketgen.standards.deviations import Gives, reading_error, tool_gives
from bracketgen.units import nearest_word
from bracketgen.vehicle.locate.guesses import Hints
from bracketgen.vehicle.locate.network import Network, network_of
from bracketgen.vehicle.locate.observations import (
    Distances,
    Levels,
    MeasuredOver,
    Observations,
    Rims,
    Squares,
    Steps,
    Tilts,
    indices,
)
from bracketgen.vehicle.site import (
    DistanceReading,
    LevelReading,
    OldHole,
    Reading,
    Site,
    SquareReading,
    StepReading,
    TiltReading,
)

#: What is taken to have been used when a reading names no tool.
USUAL_TOOL: Final = {
    "distance": "tape",
    "square": "ruler",
    "step": "straight edge",
    "tilt": "angle finder",
    "level": "level",
}
#: Kinds in the order of their rows.
_KINDS: Final = ("distance", "step", "square", "tilt", "level")
#: Signs of the two radii in a reading over edges, and the points between which it runs.
_OVER: Final = {
    "centres": (0.0, 0.0, MeasuredOver.MIDDLES),
    "inner": (-1.0, -1.0, MeasuredOver.NEAR),
    "outer": (1.0, 1.0, MeasuredOver.FAR),
    # Held so that the first hole is the left one: from its left edge to the left edge of the other.
    "left to left": (1.0, -1.0, MeasuredOver.SAME_SIDE),
    "pins": (0.0, 0.0, MeasuredOver.MIDDLES),
}


@dataclass(frozen=True, slots=True)
class ReadingInWords:
    """One reading in words: what it is, with which tool, and the holes or faces that it joins."""

    text: str
    kind: str
    unit: str
    ends: tuple[str, ...]
    measured: float
    sigma: float


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """Everything that there is to adjust."""

    network: Network
    readings: Observations
    hints: Hints
    in_words: tuple[ReadingInWords, ...]


def problem_of(site: Site) -> Problem:
    """The site's holes and readings as an adjustment. Raises InputFaults with every reading that makes no sense."""
    faces = site.document.faces
    reader = _ReadingReader(site)
    reader.check_holes()
    for number, reading in enumerate(site.document.readings):
        reader.read(number, reading)
    if sum(len(f.holes) for f in faces.values()) > 1 and not site.document.readings:
        what = "there are no readings, so nothing says where the holes are"
        reader.faults.append(Fault(site.source.at(("readings",)), what, "add [[readings]], at least hole to hole"))
    if reader.faults:
        raise InputFaults(list(dict.fromkeys(reader.faults)))
    network = network_of({name: list(face.holes) for name, face in faces.items()}, reader.size_mm())
    return Problem(network, reader.observations(network), _hints(site, network), tuple(reader.in_words))


def shift_to_true_centre(hole: OldHole) -> tuple[float, float]:
    """From a worn hole's middle to its true centre, in the face's x and y, mm; no shift where that isn't known.

    A hole of the short diameter was dragged along until it was long: its true centre lies half the difference from
    the middle, toward the end that kept its round.
    """
    if hole.unworn is None or hole.long is None or hole.short is None or hole.direction is None:
        return (0.0, 0.0)
    reach = (hole.long - hole.short) / 2.0 * (1.0 if hole.unworn == "end" else -1.0)
    turn = math.radians(hole.direction)
    return (reach * math.cos(turn), reach * math.sin(turn))


def round_diameter_mm(hole: OldHole) -> float | None:
    """What a bolt finds: the diameter, or the short one of a worn hole; None where only a thread is known."""
    return hole.diameter if hole.diameter is not None else hole.short


@dataclass
class _ReadingReader:
    """The rows so far, kind by kind, and the faults so far."""

    site: Site
    faults: list[Fault] = field(default_factory=list)
    in_words: list[ReadingInWords] = field(default_factory=list)
    rows: dict[str, list[tuple[Any, ...]]] = field(default_factory=lambda: {k: [] for k in USUAL_TOOL})

    def __post_init__(self) -> None:
        faces = self.site.document.faces
        self.holes = {f"{f}.{h}": hole for f, face in faces.items() for h, hole in face.holes.items()}
        self.order = {name: n for n, name in enumerate(self.holes)}
        self.faces = {name: n for n, name in enumerate(faces)}

    def fault(self, path: Sequence[str | int], what: str, cure: str = "") -> None:
        """One more fault, at the value of a path."""
        self.faults.append(Fault(self.site.source.at(tuple(path)), what, cure))

    def check_holes(self) -> None:
        """Worn holes must be worn, on a face that has a direction; directions must have a length."""
        directions: dict[tuple[str, ...], Any] = {
            ("faces", name, "normal"): face.normal for name, face in self.site.document.faces.items()
        }
        directions[("down",)] = self.site.document.down
        for where, way in directions.items():
            if way is not None and not any(way):
                self.fault(where, "this direction has no length", "for example [0, 0, -1]")
        for name, face in self.site.document.faces.items():
            for key, hole in face.holes.items():
                path = ("faces", name, "holes", key)
                if hole.long is not None and hole.short is not None and hole.long < hole.short:
                    cure = "give the longer one as long"
                    self.fault((*path, "long"), "the long diameter is smaller than the short one", cure)
                if hole.unworn is not None and hole.long is None:
                    self.fault((*path, "unworn"), "this hole is not worn: it has one diameter", "leave unworn out")
                if hole.long is not None and len(face.holes) == 1:
                    what = "the direction counts from the line of the face's first two holes, but it has only this one"
                    self.fault((*path, "direction"), what, "give diameter = the short one, and measure to its middle")

    def read(self, number: int, reading: Reading) -> None:
        """One reading, or its faults."""
        before = len(self.faults)
        sigma = self._sigma(number, reading)
        ends: tuple[str, ...]
        match reading:
            case DistanceReading():
                self._distance(number, reading)
                how = {"centres": "centre to centre", "pins": "over pins"}.get(reading.over, reading.over)
                text, ends = f"{reading.start} to {reading.to}, {how}", (reading.start, reading.to)
            case SquareReading():
                self._square(number, reading)
                text, ends = f"{reading.hole} square off {' to '.join(reading.line)}", (reading.hole, *reading.line)
            case StepReading():
                self._step(number, reading)
                text, ends = f"{reading.hole} above {reading.face}", (reading.hole, reading.face)
            case TiltReading():
                self._tilt(number, reading)
                text, ends = f"{' to '.join(reading.faces)}, tilt", reading.faces
            case LevelReading():
                self._level(number, reading)
                text, ends = f"{reading.start} to {reading.to}, rise", (reading.start, reading.to)
        if len(self.faults) == before:
            tool, unit = reading.tool or USUAL_TOOL[reading.kind], _unit_of(reading)
            self.in_words.append(ReadingInWords(f"{text}, {tool}", reading.kind, unit, ends, reading.value, sigma))

    def _sigma(self, number: int, reading: Reading) -> float:
        tool = reading.tool or USUAL_TOOL[reading.kind]
        unit = _unit_of(reading)
        if tool_gives(tool) is not unit:
            known = [t for t in USUAL_TOOL.values() if tool_gives(t) is unit]
            what = f"a {tool} shows {tool_gives(tool)}, but a {reading.kind} is given in {unit}"
            self.fault(("readings", number, "tool"), what, f"such as {' or '.join(known)}")
        if reading.error is not None:
            if reading.error <= 0.0:
                self.fault(("readings", number, "error"), "an error is more than 0", "leave it out for the usual one")
            return float(reading.error)
        return reading_error(tool, abs(reading.value) if unit is Gives.MM else 0.0).sigma

    def _number_of(self, number: int, key: str, name: str, what: str = "hole") -> int | None:
        """The number of a hole, or of a face."""
        known = self.faces if what == "face" else self.order
        if name in known:
            return known[name]
        near = nearest_word(name, known)
        cure = (f"did you mean '{near}'? " if near else "") + f"there are: {', '.join(known)}"
        self.fault(("readings", number, key), f"there is no {what} '{name}'", cure)
        return None

    def _distance(self, number: int, reading: DistanceReading) -> None:
        a, b = self._number_of(number, "from", reading.start), self._number_of(number, "to", reading.to)
        if a is None or b is None or self._same(number, "to", a, b, "hole"):
            return
        sign_a, sign_b, edge = _OVER[reading.over]
        added = sum(self._radius(number, reading, sign, n) for sign, n in ((sign_a, a), (sign_b, b)))
        if reading.pins is not None:
            added = sum(reading.pins) / 2.0
            for name in (reading.start, reading.to):
                if self.holes[name].long is not None:
                    what = f"a pin has no place of its own in the worn hole {name}"
                    self.fault(("readings", number, "over"), what, "measure over its edges: inner or outer")
        self._row(reading.kind, number, a, b, int(edge), added, reading.value)

    def _radius(self, number: int, reading: DistanceReading, sign: float, hole: int) -> float:
        if sign == 0.0:
            return 0.0
        name = list(self.holes)[hole]
        diameter = round_diameter_mm(self.holes[name])
        if diameter is None:
            what = f"'{reading.over}' needs the diameter of {name}, and only its thread is given"
            self.fault(("readings", number, "over"), what, "add its diameter, or measure over pins or centres")
        return sign * (diameter or 0.0) / 2.0

    def _same(self, number: int, key: str, a: int, b: int, what: str) -> bool:
        if a == b:
            self.fault(("readings", number, key), f"both ends are the same {what}", f"name another {what}")
        return a == b

    def _square(self, number: int, reading: SquareReading) -> None:
        hole = self._number_of(number, "hole", reading.hole)
        ends = [self._number_of(number, "line", name) for name in reading.line]
        if hole is None or ends[0] is None or ends[1] is None:
            return
        if len({hole, *ends}) < 3:
            self.fault(("readings", number, "line"), "three different holes are needed", "name the line's two others")
        elif len({name.split(".")[0] for name in (reading.hole, *reading.line)}) > 1:
            what = "a square distance lies on one face, but these holes are on several"
            self.fault(("readings", number, "line"), what, "use a step or distances between faces")
        else:
            self._row(reading.kind, number, hole, ends[0], ends[1], reading.value)

    def _step(self, number: int, reading: StepReading) -> None:
        hole, face = (
            self._number_of(number, "hole", reading.hole),
            self._number_of(number, "face", reading.face, "face"),
        )
        if hole is None or face is None:
            return
        if reading.hole.split(".")[0] == reading.face:
            cure = "name the face that the straight edge lies on"
            self.fault(("readings", number, "face"), f"{reading.hole} is on {reading.face} itself", cure)
        else:
            self._row(reading.kind, number, hole, face, reading.value)

    def _tilt(self, number: int, reading: TiltReading) -> None:
        a, b = (self._number_of(number, "faces", name, "face") for name in reading.faces)
        if a is None or b is None or self._same(number, "faces", a, b, "face"):
            return
        if not 0.0 <= reading.value <= 180.0:
            cure = "0 = the faces look the same way, 180 = opposite ways"
            self.fault(("readings", number, "value"), f"a tilt of {reading.value:g} deg can't be", cure)
        sense = {0.0: 1, 180.0: -1}.get(reading.value, 0)
        # Faces that look the same way are parallel in two directions at once, hence two rows.
        for _ in range(2 if sense else 1):
            self._row(reading.kind, number, a, b, sense, 0.0 if sense else reading.value)

    def _level(self, number: int, reading: LevelReading) -> None:
        a, b = self._number_of(number, "from", reading.start), self._number_of(number, "to", reading.to)
        if a is None or b is None or self._same(number, "to", a, b, "hole"):
            return
        if reading.start.split(".")[0] != reading.to.split(".")[0]:
            what = "a level lies on one face, but these holes are on two"
            self.fault(("readings", number, "to"), what, "name two holes of one face")
        if not -90.0 <= reading.value <= 90.0:
            self.fault(("readings", number, "value"), f"a rise of {reading.value:g} deg can't be", "give -90 to 90")
        self._row(reading.kind, number, a, b, reading.value)

    def _row(self, kind: str, number: int, *values: float) -> None:
        self.rows[kind].append((number, *values))

    def size_mm(self) -> float:
        """About how large the site is: the longest distance or rough place."""
        rows = [row[-1] - row[-2] for row in self.rows["distance"]]
        hints = [abs(v) for hole in self.holes.values() if hole.about for v in hole.about]
        hints += [abs(v) for face in self.site.document.faces.values() if face.at for v in face.at]
        rest = [abs(row[-1]) for kind in ("step", "square") for row in self.rows[kind]]
        return float(max([1.0, *rows, *hints, *rest]))

    def observations(self, network: Network) -> Observations:
        """The arrays of all readings that made sense."""
        d, s, q, t, v = (self.rows[kind] for kind in _KINDS)
        singles = list({row[0]: row for row in t}.values())
        reading = [row[0] for kind in _KINDS for row in self.rows[kind]]
        sigma = [self.in_words[n].sigma for n in reading]
        measured = [row[-1] for kind in _KINDS for row in self.rows[kind]]
        down = np.array(self.site.document.down)
        return Observations(
            self._seen(network),
            -down / np.linalg.norm(down),
            Distances(_int(d, 1), _int(d, 2), _int(d, 3), np.array([r[4] for r in d], dtype=float)),
            Steps(_int(s, 1), _int(s, 2)),
            Squares(_int(q, 1), _int(q, 2), _int(q, 3)),
            Tilts(_int(singles, 1), _int(singles, 2), _int(singles, 3)),
            Levels(_int(v, 1), _int(v, 2)),
            np.array(measured, dtype=float),
            np.array(sigma, dtype=float),
            indices(reading),
        )

    def _seen(self, network: Network) -> Rims:
        holes = list(self.holes.values())
        half = np.zeros((len(holes), 2))
        for n, hole in enumerate(holes):
            if hole.long is not None and hole.short is not None and hole.direction is not None:
                turn = math.radians(hole.direction)
                half[n] = (hole.long - hole.short) / 2.0 * np.array([math.cos(turn), math.sin(turn)])
        paint = [face.coating for face in self.site.document.faces.values()]
        middle = -np.array([shift_to_true_centre(hole) for hole in holes]).reshape(len(holes), 2)
        return Rims(middle, half, np.array(paint, dtype=float)[network.face_of])


def _unit_of(reading: Reading) -> Gives:
    return Gives.DEG if reading.kind in ("tilt", "level") else Gives.MM


def _int(rows: Iterable[tuple[Any, ...]], column: int) -> Any:
    return indices([int(row[column]) for row in rows])


def _hints(site: Site, network: Network) -> Hints:
    """Rough places as they were given, holes moved into the frame of their face."""
    about = np.full((len(network.holes), 2), np.nan)
    at, normal = np.full((len(network.faces), 3), np.nan), np.full((len(network.faces), 3), np.nan)
    for f, face in enumerate(site.document.faces.values()):
        about[network.holes_on(f)] = _about(list(face.holes.values()))
        if f and face.at is not None:
            at[f] = face.at
        if f and face.normal is not None:
            normal[f] = np.array(face.normal) / np.linalg.norm(face.normal)
    return Hints(np.where(network.hole_columns == network.unknowns, np.nan, about), at, normal)


def _about(holes: list[OldHole]) -> np.ndarray[Any, Any]:
    """Rough places from the first hole, turned so that the second lies on +x where both are given."""
    given = np.array([hole.about if hole.about is not None else (np.nan, np.nan) for hole in holes], dtype=float)
    start = given[0] if not np.isnan(given[0]).any() else np.zeros(2)
    placed = given - start
    if len(holes) > 1 and not np.isnan(placed[1]).any() and np.linalg.norm(placed[1]) > 0.0:
        x = placed[1] / np.linalg.norm(placed[1])
        placed = placed @ np.array([[x[0], -x[1]], [x[1], x[0]]])
    return placed
