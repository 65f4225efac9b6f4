"""Folding for the tests: a cut file and the report's bends make a part in space, by rotations alone.

Nothing of the package is used. `Refolded` knows only what a bending shop is given; `Meant` knows only what the
description says, composed of sharp corners where faces meet, or of the round that a calliper touches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from random_trees import JointSpec, PanelSpec, TreeSpec

from bracketgen.geometry.arrays import Floats

UP = np.array([0.0, 0.0, 1.0])


def rodrigues(points: Floats, at: Floats, axis: Floats, radians: float) -> Floats:
    """Points turned about the line through `at` along the unit vector `axis`."""
    v = points - at
    c, s = math.cos(radians), math.sin(radians)
    turned = v * c + np.cross(axis, v) * s + np.outer(v @ axis, axis) * (1 - c)
    return at + turned.reshape(points.shape)


class Refolded:
    """The blank folded by the report's bends."""

    def __init__(self, report: dict[str, Any]) -> None:
        self.t = float(report["stock"]["thickness_mm"])
        self.by_child = {b["child"]: b for b in report["bends"]}

    def carried(self, panel: str, flat: Any, depth: float = 0.0) -> Floats:
        """Points (x, y) of the blank, `depth` below the face, where the panel carries them in space."""
        xy = np.atleast_2d(np.asarray(flat, dtype=float))
        points = np.column_stack([xy, np.full(len(xy), -depth)])
        while panel in self.by_child:
            bend = self.by_child[panel]
            points = self.bent(bend, points, 1.0)
            panel = bend["parent"]
        return points

    def bent(self, bend: dict[str, Any], points: Floats, share: float) -> Floats:
        """Points of the blank beyond a share of the bend: drawn back by the metal it takes, then turned."""
        start, along, across = self.line(bend)
        taken = bend["allowance_mm"] * share
        tangent = start - across * bend["allowance_mm"] / 2
        radius = bend["inside_radius_mm"]
        up = bend["way"] == "up"
        axis_at = tangent + UP * (radius if up else -self.t - radius)
        turn = math.radians(bend["turn_deg"]) * share
        return rodrigues(points - across * taken, axis_at, along, turn if up else -turn)

    def on_arc(self, bend: dict[str, Any], share: float, depth: float) -> Floats:
        """The two ends of the line in the bend's metal after a share of the turn."""
        start, _, across = self.line(bend)
        end = np.array([*bend["flat_line_mm"][1], 0.0])
        shift = across * bend["allowance_mm"] * (share - 0.5) - UP * depth
        points = self.bent(bend, np.array([start + shift, end + shift]), share)
        parent = bend["parent"]
        while parent in self.by_child:
            upper = self.by_child[parent]
            points = self.bent(upper, points, 1.0)
            parent = upper["parent"]
        return points

    def line(self, bend: dict[str, Any]) -> tuple[Floats, Floats, Floats]:
        """Start, unit direction, and the direction to the child."""
        a, b = (np.array([*p, 0.0]) for p in bend["flat_line_mm"])
        along = (b - a) / np.linalg.norm(b - a)
        return a, along, np.cross(UP, along)


@dataclass
class Axes:
    """A panel in space: zero, x, y on the described face, z out of it."""

    zero: Floats
    x: Floats
    y: Floats
    z: Floats

    def point(self, p: tuple[float, float], depth: float = 0.0) -> Floats:
        return self.zero + p[0] * self.x + p[1] * self.y - depth * self.z


class Meant:
    """Where the description puts every panel."""

    def __init__(self, tree: TreeSpec) -> None:
        self.t = tree.thickness
        self.axes: dict[str, Axes] = {}
        for panel in tree.panels:
            if panel.joint is None:
                self.axes[panel.name] = Axes(np.zeros(3), *np.eye(3))
            else:
                self.axes[panel.name] = self._joined(panel, panel.joint)

    def _joined(self, panel: PanelSpec, joint: JointSpec) -> Axes:
        parent = self.axes[joint.parent]
        start, end = (parent.point(p) for p in (joint.start, joint.end))
        along = (end - start) / np.linalg.norm(end - start)
        line = Axes(start + joint.zero * along, along, np.cross(parent.z, along), parent.z)
        if joint.offset is not None:
            return self._joggled(line, joint, joint.offset)
        return self._bent(line, joint)

    def _bent(self, line: Axes, joint: JointSpec) -> Axes:
        """A bend about the corner where faces meet, or about the round beyond square."""
        sign = 1.0 if joint.way == "up" else -1.0
        turn = math.radians(joint.turn)
        c, s = math.cos(turn), sign * math.sin(turn)
        y, z = line.y * c + line.z * s, line.z * c - line.y * s
        if joint.sizes == "mould" or (joint.sizes in ("outside", "inside") and joint.turn <= 90):
            depth = self._corner_depth(joint)
            return Axes(line.zero - depth * line.z + depth * z, line.x, y, z)
        reach = {"tangent": 0.0, "inside": joint.radius, "outside": joint.radius + self.t}[joint.sizes]
        # From each face the centre of the bend is as far as the inside radius, on the inner side.
        depth = -joint.radius if joint.way == "up" else self.t + joint.radius
        centre = line.zero - reach * line.y - depth * line.z
        return Axes(centre - reach * y + depth * z, line.x, y, z)

    def _corner_depth(self, joint: JointSpec) -> float:
        """How far below the described faces the faces lie that meet in the described line."""
        outer = joint.sizes in ("outside", "mould")
        return self.t if outer == (joint.way == "up") else 0.0

    def _joggled(self, line: Axes, joint: JointSpec, offset: float) -> Axes:
        """Parallel to the parent, `offset` away; along it as far as the slope between the two corners reaches."""
        sign = 1.0 if joint.way == "up" else -1.0
        turn = math.radians(joint.turn)
        c, s = math.cos(turn), math.sin(turn)
        if joint.sizes == "tangent":
            round_ = 2 * joint.radius + self.t
            ahead = round_ * s + (offset - round_ * (1 - c)) / s * c
        else:
            # Side view of a step up. One face of the slope meets the parent's, the other face the child's: with
            # outer corners the slope's lower face starts at the parent's lower face, its upper ends on the child's.
            thick = self.t if joint.sizes in ("outside", "mould") else -self.t
            ahead = -thick * s + (offset + thick - thick * c) / s * c
        return Axes(line.zero + ahead * line.y + sign * offset * line.z, line.x, line.y, line.z)
