"""How far a bolt hole must stay from an edge and from the next hole."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bracketgen.standards.table import LookupFault, Row, load_table, number, number_or_none


@dataclass(frozen=True, slots=True)
class EdgeRule:
    """One rule for edge distance and spacing, from hole centres, all lengths in mm.

    Distances are multiples of the hole (`per_hole`) or of the bolt (`per_bolt`); 0 where the rule has none.
    `bolt_edge` holds (bolt, edge) pairs where the standard prints the edge distance bolt by bolt.
    """

    id: str
    title: str
    edge_per_hole: float
    edge_per_bolt: float
    pitch_per_hole: float
    pitch_per_bolt: float
    row_per_hole: float
    row_per_bolt: float
    maximum_edge_per_t: float | None
    maximum_edge_cap_mm: float | None
    bolt_edge: tuple[tuple[float, float], ...]
    source: str
    how: str

    def edge_mm(self, hole_diameter_mm: float, bolt_diameter_mm: float) -> float:
        """Least distance from hole centre to edge.

        Where the standard prints it bolt by bolt: the printed value; a bolt between two printed ones takes the
        larger bolt's; above the largest the multiple of the bolt. Raises LookupFault below the smallest.
        """
        if self.bolt_edge:
            return self._printed_edge(bolt_diameter_mm)
        return max(self.edge_per_hole * hole_diameter_mm, self.edge_per_bolt * bolt_diameter_mm)

    def pitch_mm(self, hole_diameter_mm: float, bolt_diameter_mm: float) -> float:
        """Least distance between hole centres along the load (p1)."""
        return max(self.pitch_per_hole * hole_diameter_mm, self.pitch_per_bolt * bolt_diameter_mm)

    def row_pitch_mm(self, hole_diameter_mm: float, bolt_diameter_mm: float) -> float:
        """Least distance between rows of holes, square to the load (p2)."""
        return max(self.row_per_hole * hole_diameter_mm, self.row_per_bolt * bolt_diameter_mm)

    def maximum_edge_mm(self, thickness_mm: float) -> float | None:
        """Greatest distance from hole centre to the nearest edge, or None where the rule sets none."""
        if self.maximum_edge_per_t is None or self.maximum_edge_cap_mm is None:
            return None
        return min(self.maximum_edge_per_t * thickness_mm, self.maximum_edge_cap_mm)

    def _printed_edge(self, bolt_mm: float) -> float:
        smallest, largest = self.bolt_edge[0][0], self.bolt_edge[-1][0]
        if bolt_mm < smallest - 1e-6:
            reason = f"{self.id} prints edge distances from a bolt of {smallest:g} mm up"
            raise LookupFault("bolt", f"{bolt_mm:g} mm", reason=reason)
        if bolt_mm > largest + 1e-6:
            return self.edge_per_bolt * bolt_mm
        exact = [edge for bolt, edge in self.bolt_edge if abs(bolt - bolt_mm) <= 1e-6]
        # Inch and metric rows interleave, so the larger bolt alone may ask for less than the smaller one.
        return exact[0] if exact else max(edge for bolt, edge in self._neighbours(bolt_mm))

    def _neighbours(self, bolt_mm: float) -> tuple[tuple[float, float], ...]:
        below = max(pair for pair in self.bolt_edge if pair[0] < bolt_mm)
        above = min(pair for pair in self.bolt_edge if pair[0] > bolt_mm)
        return below, above


@cache
def edge_rule_ids() -> tuple[str, ...]:
    """Ids of all rules, in the order of the table."""
    return tuple(row["id"] for row in load_table("edge_distance").rows)


@cache
def edge_rule(rule_id: str) -> EdgeRule:
    """The rule of that id, in any case. Source: the edge distance table. Raises LookupFault."""
    for row in load_table("edge_distance").rows:
        if row["id"].casefold() == rule_id.strip().casefold():
            return _rule(row)
    raise LookupFault("edge distance rule", rule_id, edge_rule_ids())


def _rule(row: Row) -> EdgeRule:
    return EdgeRule(
        id=row["id"],
        title=row["title"],
        edge_per_hole=number_or_none(row, "edge_per_hole") or 0.0,
        edge_per_bolt=number_or_none(row, "edge_per_bolt") or 0.0,
        pitch_per_hole=number_or_none(row, "pitch_per_hole") or 0.0,
        pitch_per_bolt=number_or_none(row, "pitch_per_bolt") or 0.0,
        row_per_hole=number_or_none(row, "row_per_hole") or 0.0,
        row_per_bolt=number_or_none(row, "row_per_bolt") or 0.0,
        maximum_edge_per_t=number_or_none(row, "maximum_edge_per_t"),
        maximum_edge_cap_mm=number_or_none(row, "maximum_edge_mm"),
        bolt_edge=_bolt_edge(row["edge_table"]),
        source=row["source"],
        how=row["how"],
    )


def _bolt_edge(column: str) -> tuple[tuple[float, float], ...]:
    if not column:
        return ()
    rows = [row for row in load_table("bolt_edge").rows if row[f"{column}_mm"]]
    return tuple(sorted((number(row, "bolt_diameter_mm"), number(row, f"{column}_mm")) for row in rows))
