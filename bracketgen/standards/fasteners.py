"""Bolts and screws: the holes they go through, the room their heads, nuts and washers take, torques, edge distances."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache
from typing import Final

from bracketgen.standards.table import LookupFault, citation, load_table, row_named, rows

# -- habits of the trade

#: Thread that looks out of a nut, in pitches; common practice, no source. A published solution of a textbook exercise
#: (machine design course, fall 2010, coursehero.com file 6654563) calls two or more adequate.
TIP_PITCHES: Final = 2.0
#: How deep a bolt goes into a thread that is there already, in diameters; common practice, no source.
DEPTH_DIAMETERS: Final = 1.5
#: How deep a bolt goes into an isolator's thread at least, in diameters; common practice, no source.
LEAST_DEPTH_DIAMETERS: Final = 1.0

#: Metal on metal stays tight; common practice, no source. Anything else counts as soft.
_METALLIC: Final = re.compile(r"zinc|galvani[sz]|nickel|chrom|\btin\b|\btinned\b|phosph", re.IGNORECASE)
_SOFT_ALL_THE_SAME: Final = re.compile(r"paint|primer|powder|lacquer|rubber|plastic", re.IGNORECASE)


def is_soft(coating: str) -> bool:
    """Whether a coating, as a person names it, is paint-like: it flows under a washer and the bolt comes loose."""
    if not coating.strip():
        return False
    return bool(_SOFT_ALL_THE_SAME.search(coating)) or not _METALLIC.search(coating)


# -- bolts


@dataclass(frozen=True, slots=True)
class Fastener:
    """One bolt size with its head, nut and washers; lengths in mm, None where no figure is held.

    `head_across_corners_mm` is the sharp hexagon, the most room the head can need. `from_memory` names the
    fields whose figures were not read in a source.
    """

    size: str
    thread: str
    diameter_mm: float
    pitch_mm: float
    head_across_flats_mm: float
    head_across_corners_mm: float
    head_height_mm: float
    nut_across_flats_mm: float
    nut_height_mm: float
    washer_od_mm: float | None
    wide_washer_od_mm: float | None
    tap_drill_mm: float
    tap_drill_printed: str
    rivet_nut_hole_mm: float | None
    source: str
    how: str
    from_memory: tuple[str, ...]

    def how_of(self, *fields: str) -> str:
        """How these figures were had: from memory where one of them was not read."""
        return "memory" if not set(fields).isdisjoint(self.from_memory) else self.how


@cache
def fastener_sizes() -> tuple[str, ...]:
    """All sizes as the table names them: M3 ..., #4 ..., 1/4 ..., 1."""
    return tuple(bolt.size for bolt in rows("fasteners", Fastener))


@cache
def fastener(size: str) -> Fastener:
    """The bolt of that size: 'M8', 'm8', 'M8x1.25', '1/4', '1/4 in', '1/4-20', '#10', 'No. 10'.

    Coarse threads only. Source: the fasteners table. Raises LookupFault.
    """
    wanted, thread = _wanted(size)
    for bolt in rows("fasteners", Fastener):
        if bolt.size == wanted:
            held = bolt.thread.casefold().removesuffix(" unc").replace("-", "x").split("x")[1]
            if thread and float(thread) != float(held):
                raise LookupFault("bolt size", size, reason=f"only the coarse thread {bolt.thread} is held")
            return bolt
    raise LookupFault("bolt size", size, fastener_sizes(), nearest=_nearest_size(size))


def _nearest_size(size: str) -> str:
    """The nearest by number, a bare one taken as metric: M9 is nearer to M8 than to M3, whatever the letters say."""
    given = re.fullmatch(r"([m#]?)([0-9]+(?:\.[0-9]+)?)(?:\s*mm)?", size.strip().casefold())
    if given is None:
        return ""
    alike = [held for held in fastener_sizes() if held[0].casefold() == (given[1] or "m")]
    return min(alike, key=lambda held: abs(float(held[1:]) - float(given[2])))


def _wanted(size: str) -> tuple[str, str]:
    """The table's name for a size, and the pitch or threads per inch given with it ('' if none)."""
    text = size.strip().casefold()
    text = re.sub(r"^no\.?\s*(?=\d)", "#", text)
    if match := re.fullmatch(r"(m\d+)(?:\s*[x×]\s*(\d+(?:\.\d+)?))?", text):
        return match[1].upper(), match[2] or ""
    text = re.sub(r'\s*("|″|in\.?|inch)$', "", re.sub(r"\s*unc$", "", text))
    if match := re.fullmatch(r"(#?\d+(?:/\d+)?)\s*-\s*(\d+)", text):
        return match[1], match[2]
    return text, ""


# -- their holes


class Fit(StrEnum):
    """How much play a clearance hole has: ASME words; ISO 273 calls them fine, medium and coarse."""

    CLOSE = "close"
    NORMAL = "normal"
    LOOSE = "loose"

    @classmethod
    def from_word(cls, word: str) -> Fit:
        """The fit for an ASME or ISO 273 word, in any case. Raises LookupFault."""
        iso = {"fine": cls.CLOSE, "medium": cls.NORMAL, "coarse": cls.LOOSE}
        known = {fit.value: fit for fit in cls} | iso
        if word.strip().casefold() not in known:
            raise LookupFault("fit", word, tuple(known))
        return known[word.strip().casefold()]


@dataclass(frozen=True, slots=True)
class ClearanceHole:
    """A hole a bolt goes through; `printed` is the size as the standard names it (mm, fraction or drill)."""

    size: str
    fit: Fit
    diameter_mm: float
    printed: str
    source: str
    how: str


@cache
def clearance_hole(size: str, fit: Fit) -> ClearanceHole:
    """The clearance hole for a bolt size (as `fastener` takes it) and fit.

    ISO 273 for metric, ASME B18.2.8 for inch; loose inch holes at the lower end of the printed range.
    Raises LookupFault.
    """
    held = fastener(size).size
    for hole in rows("clearance_holes", ClearanceHole):
        if (hole.size, hole.fit) == (held, fit):
            return hole
    raise LookupFault("clearance hole", f"{held} {fit.value}", reason="the table has no figure here")


@dataclass(frozen=True, slots=True)
class TapDrill:
    """The drill before tapping the coarse thread; `printed` as the drill is named (mm, fraction, # or letter)."""

    diameter_mm: float
    printed: str
    source: str
    how: str


@cache
def tap_drill(size: str) -> TapDrill:
    """The tap drill for the coarse thread of a bolt size (as `fastener` takes it). Raises LookupFault."""
    bolt = fastener(size)
    return TapDrill(bolt.tap_drill_mm, bolt.tap_drill_printed, bolt.source, bolt.how_of("tap_drill_mm"))


# -- washers


class Series(StrEnum):
    """How large a washer is: the normal one, or the wide one that spreads the load."""

    NORMAL = ""
    WIDE = "wide_"


@dataclass(frozen=True, slots=True)
class _Washer:
    size: str
    thickness_mm: float | None
    wide_thickness_mm: float | None
    most_mm: float | None
    wide_most_mm: float | None


@cache
def washer_thickness_mm(size: str, series: Series = Series.NORMAL) -> float:
    """Basic thickness of the plain washer of a bolt size (as `fastener` takes it), mm.

    A size without a washer in the table gets the thickness of the next larger one of its kind (metric, inch) that has
    one. Number screws have no wide washers: they get the normal ones.
    """
    bolt = fastener(size)
    every = {
        washer.size: getattr(washer, f"{series.value}thickness_mm") for washer in rows("washer_thickness", _Washer)
    }
    held: dict[str, float] = {name: mm for name, mm in every.items() if mm is not None}
    if bolt.size in held:
        return held[bolt.size]
    if bolt.size.startswith("#") and series is Series.WIDE:
        return washer_thickness_mm(size)
    alike = [s for s in held if s.startswith("M") == bolt.size.startswith("M")]
    return min((d, held[s]) for s in alike if (d := fastener(s).diameter_mm) >= bolt.diameter_mm)[1]


@cache
def thickest_washer_mm(size: str, series: Series = Series.NORMAL) -> float:
    """The greatest thickness a washer may have, mm, for a bolt's grip; the basic one where no greatest was read."""
    held = fastener(size).size
    every = rows("washer_thickness", _Washer)
    most = next((getattr(w, f"{series.value}most_mm") for w in every if w.size == held), None)
    return washer_thickness_mm(size, series) if most is None else float(most)


# -- torques


@dataclass(frozen=True, slots=True)
class Torque:
    """A tightening torque in N m, what it holds for in words ('at total friction 0.10'), its source as a citation."""

    nm: float
    condition: str
    source: str


@dataclass(frozen=True, slots=True)
class _TorqueRow:
    size: str
    grade: str
    torque_nm: float
    condition: str
    source: str


@cache
def usual_torque(size: str) -> Torque | None:
    """The most for a bolt of that size as it is listed, class 8.8 or grade 5; None where none is held.

    Raises LookupFault.
    """
    wanted = fastener(size).size
    usual = [row for row in rows("bolt_torque", _TorqueRow) if row.grade in ("8.8", "5")]
    return next((Torque(t.torque_nm, t.condition, citation(t.source)) for t in usual if t.size == wanted), None)


# -- how far a bolt hole stays from an edge and from the next hole


@dataclass(frozen=True, slots=True)
class EdgeRule:
    """One rule for edge distance and spacing, from hole centres, all lengths in mm.

    Distances are multiples of the hole (`per_hole`) or of the bolt (`per_bolt`); None where the rule has none.
    `edge_table` is the column of the bolt_edge table where the standard prints the edge distance bolt by bolt.
    """

    id: str
    title: str
    edge_per_hole: float | None
    edge_per_bolt: float | None
    pitch_per_hole: float | None
    pitch_per_bolt: float | None
    row_per_hole: float | None
    row_per_bolt: float | None
    maximum_edge_per_t: float | None
    maximum_edge_cap_mm: float | None = field(metadata={"column": "maximum_edge_mm"})
    edge_table: str
    source: str
    how: str

    def edge_mm(self, hole_diameter_mm: float, bolt_diameter_mm: float) -> float:
        """Least distance from hole centre to edge.

        Where the standard prints it bolt by bolt: the printed value; a bolt between two printed ones takes the
        larger bolt's; above the largest the multiple of the bolt. Raises LookupFault below the smallest.
        """
        if self.edge_table:
            return self._printed_edge(bolt_diameter_mm)
        return _larger(self.edge_per_hole, hole_diameter_mm, self.edge_per_bolt, bolt_diameter_mm)

    def pitch_mm(self, hole_diameter_mm: float, bolt_diameter_mm: float) -> float:
        """Least distance between hole centres along the load (p1)."""
        return _larger(self.pitch_per_hole, hole_diameter_mm, self.pitch_per_bolt, bolt_diameter_mm)

    def row_pitch_mm(self, hole_diameter_mm: float, bolt_diameter_mm: float) -> float:
        """Least distance between rows of holes, square to the load (p2)."""
        return _larger(self.row_per_hole, hole_diameter_mm, self.row_per_bolt, bolt_diameter_mm)

    def maximum_edge_mm(self, thickness_mm: float) -> float | None:
        """Greatest distance from hole centre to the nearest edge, or None where the rule sets none."""
        if self.maximum_edge_per_t is None or self.maximum_edge_cap_mm is None:
            return None
        return min(self.maximum_edge_per_t * thickness_mm, self.maximum_edge_cap_mm)

    def _printed_edge(self, bolt_mm: float) -> float:
        printed = _printed_edges(self.edge_table)
        if bolt_mm < printed[0][0] - 1e-6:
            reason = f"{self.id} prints edge distances from a bolt of {printed[0][0]:g} mm up"
            raise LookupFault("bolt", f"{bolt_mm:g} mm", reason=reason)
        if bolt_mm > printed[-1][0] + 1e-6:
            return (self.edge_per_bolt or 0.0) * bolt_mm
        exact = [edge for bolt, edge in printed if abs(bolt - bolt_mm) <= 1e-6]
        # Inch and metric rows interleave, so the larger bolt alone may ask for less than the smaller one.
        below = max(pair for pair in printed if pair[0] <= bolt_mm + 1e-6)
        above = min(pair for pair in printed if pair[0] >= bolt_mm - 1e-6)
        return exact[0] if exact else max(below[1], above[1])


def _larger(per_hole: float | None, hole_mm: float, per_bolt: float | None, bolt_mm: float) -> float:
    return max((per_hole or 0.0) * hole_mm, (per_bolt or 0.0) * bolt_mm)


@cache
def _printed_edges(name: str) -> tuple[tuple[float, float], ...]:
    """Bolt diameters with their edge distances, mm, smallest first."""
    printed = [row for row in load_table("bolt_edge").rows if row[f"{name}_mm"]]
    return tuple(sorted((float(row["bolt_diameter_mm"]), float(row[f"{name}_mm"])) for row in printed))


@cache
def edge_rule_ids() -> tuple[str, ...]:
    """Ids of all rules, in the order of the table."""
    return tuple(rule.id for rule in rows("edge_distance", EdgeRule))


@cache
def edge_rule(rule_id: str) -> EdgeRule:
    """The rule of that id, in any case. Source: the edge distance table. Raises LookupFault."""
    return row_named("edge distance rule", rule_id, rows("edge_distance", EdgeRule), "id")
