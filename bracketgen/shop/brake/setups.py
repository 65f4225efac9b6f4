"""Which tools of the shop do for a bend, best first, and how their pieces are put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.bending.flat import Flat, Strip
from bracketgen.part.part import Bend, Stock
from bracketgen.shop.brake.brakes import BrakeDie, BrakeTool, LeafBrake, PressBrake, Punch
from bracketgen.shop.brake.figures import Force, estimated_force, foldable_mm
from bracketgen.shop.brake.leaf import LeafSetup, leaf_setup
from bracketgen.shop.brake.metal import Obstacle, Why, bend_name, no_tool
from bracketgen.shop.brake.press import PressSetup, press_setup
from bracketgen.standards.metals import brake_metal

#: Least and greatest V opening for a thickness. Source: the rule of the air bending chart, 6 t to 12 t.
LEAST_PER_T: Final = 6.0
MOST_PER_T: Final = 12.0
#: The natural inside radius of an air bend is about this share of the V. Source: the same chart.
RADIUS_PER_OPENING: Final = 0.16
#: How far a tool may be shorter than the bend, in thicknesses over both ends. Common practice, no source.
_SHORTER_PER_T: Final = 2.0
#: A punch or nose may be rounder than the bend by this, as radii are ground. Common practice, no source.
_ROUNDER_MM: Final = 0.05
_STEP_MM: Final = 0.1
_MOST_SUMS: Final = 20_000

Setup = PressSetup | LeafSetup


@dataclass(frozen=True, slots=True)
class ToolChoice:
    """The setups for one bend, best first; without any, the obstacle says why."""

    setups: tuple[Setup, ...]
    obstacle: Obstacle | None = None


def put_together_mm(lengths_mm: Sequence[float], wanted_mm: float) -> float | None:
    """The shortest sum of some of the lengths that is at least the wanted one; None when all are too short."""
    sums = {0}
    for piece in sorted(lengths_mm, reverse=True):
        sums |= {s + round(piece / _STEP_MM) for s in sums}
        if len(sums) > _MOST_SUMS:
            break
    good = [s * _STEP_MM for s in sums if s * _STEP_MM >= wanted_mm - 1e-6]
    return min(good, default=None)


def tool_mm(tool: BrakeTool, bend: Bend, stock: Stock, most_mm: float) -> float | None:
    """The length of a tool for a bend; None when its pieces or the machine are too short."""
    found = put_together_mm(tool.lengths_mm, bend.width_mm - _SHORTER_PER_T * stock.thickness_mm)
    return found if found is not None and found <= most_mm else None


def press_force(stock: Stock, bend: Bend, die: BrakeDie) -> Force:
    """The force to reckon with for a bend on a die."""
    strength = brake_metal(stock.metal.id).most_ultimate_mpa
    return estimated_force(strength, stock.thickness_mm, die.opening_mm, bend.width_mm)


def wanted_opening_mm(bend: Bend, thickness_mm: float) -> float:
    """The V that the description declares, else the one whose natural radius is the bend's, within the rule."""
    if bend.die_mm is not None:
        return bend.die_mm
    natural = bend.inside_radius_mm / RADIUS_PER_OPENING
    return min(max(natural, LEAST_PER_T * thickness_mm), MOST_PER_T * thickness_mm)


def press_choice(brake: PressBrake, flat: Flat, strip: Strip) -> ToolChoice:
    """Every punch with the die that the flat was made for; without one with the die nearest to the bend's radius, then
    with the narrowest that does."""
    bend, stock = strip.bend, flat.part.stock
    t = stock.thickness_mm
    dies = [d for d in brake.dies if _is_in_rule(d, bend, t)]
    if not dies and bend.die_mm is not None:
        what = f"no die with the V of {bend.die_mm:g} mm that the flat was made for at {bend_name(bend.id)}"
        return ToolChoice((), no_tool(what))
    if not dies:
        asked = f"{LEAST_PER_T * t:g} to {MOST_PER_T * t:g} mm ({LEAST_PER_T:g} to {MOST_PER_T:g} t)"
        return ToolChoice((), no_tool(f"no die with a V of {asked} for {bend_name(bend.id)}"))
    punches = [p for p in brake.punches if p.radius_mm <= bend.inside_radius_mm + _ROUNDER_MM]
    if not punches:
        least = min(p.radius_mm for p in brake.punches)
        radius = f"R{bend.inside_radius_mm:g}"
        return ToolChoice(
            (), no_tool(f"no punch goes into {radius} of {bend_name(bend.id)}: the sharpest has R{least:g}")
        )
    light = [d for d in dies if _too_heavy(brake, stock, bend, d, punches) is None]
    if not light:
        return ToolChoice((), _too_heavy(brake, stock, bend, max(dies, key=lambda d: d.opening_mm), punches))
    wanted = wanted_opening_mm(bend, t)
    best = min(light, key=lambda d: (abs(d.opening_mm - wanted), d.opening_mm))
    # Another V hardly changes what is in the way, but the narrowest holds the shortest legs.
    ordered = list(dict.fromkeys((best, min(light, key=lambda d: d.opening_mm))))
    made = [s for d in ordered for p in punches if (s := _press_setup(brake, stock, bend, p, d)) is not None]
    if not made:
        return ToolChoice(
            (), no_tool(f"no punch and die can be put together for the {bend.width_mm:g} mm of {bend_name(bend.id)}")
        )
    return ToolChoice(tuple(made))


def _is_in_rule(die: BrakeDie, bend: Bend, thickness_mm: float) -> bool:
    if bend.die_mm is not None:
        return abs(die.opening_mm - bend.die_mm) < _STEP_MM
    least, most = LEAST_PER_T * thickness_mm, MOST_PER_T * thickness_mm
    return least - _STEP_MM <= die.opening_mm <= most + _STEP_MM


def _press_setup(brake: PressBrake, stock: Stock, bend: Bend, punch: Punch, die: BrakeDie) -> PressSetup | None:
    if not _carries(stock, bend, punch, die):
        return None
    above, below = (tool_mm(tool, bend, stock, brake.length_mm) for tool in (punch, die))
    return press_setup(brake, punch, die, above, below) if above is not None and below is not None else None


def _carries(stock: Stock, bend: Bend, punch: Punch, die: BrakeDie) -> bool:
    load = press_force(stock, bend, die).kn_per_m
    return all(load <= tool.most_kn_per_m for tool in (punch, die) if tool.most_kn_per_m is not None)


def _too_heavy(brake: PressBrake, stock: Stock, bend: Bend, die: BrakeDie, punches: Sequence[Punch]) -> Obstacle | None:
    """Why a bend is too heavy for machine and tools; None when it is not."""
    force = press_force(stock, bend, die)
    if force.kn > brake.capacity_kn:
        takes = f"{bend_name(bend.id)} takes about {force.kn:.0f} kN on die {die.name}"
        return no_tool(f"{takes}, the brake has {brake.capacity_kn:g} kN", Why.TOO_HEAVY)
    if not any(_carries(stock, bend, punch, die) for punch in punches):
        words = (
            f"{bend_name(bend.id)} takes about {force.kn_per_m:.0f} kN/m on die {die.name}, more than the tools carry"
        )
        return no_tool(words, Why.TOO_HEAVY)
    return None


def leaf_choice(brake: LeafBrake, flat: Flat, strip: Strip) -> ToolChoice:
    """The noses that a bend can be folded round, the one nearest to its radius first."""
    bend, stock = strip.bend, flat.part.stock
    most = foldable_mm(brake.most_thickness_mm, brake_metal(stock.metal.id).most_ultimate_mpa)
    if stock.thickness_mm > most:
        words = f"{stock.thickness_mm:g} mm {stock.metal.id} is too thick: the brake folds about {most:.1f} mm of it"
        return ToolChoice((), no_tool(words, Why.TOO_HEAVY))
    sharp = [n for n in brake.noses if n.radius_mm <= bend.inside_radius_mm + _ROUNDER_MM]
    if not sharp:
        return ToolChoice((), no_tool(f"no nose is as sharp as R{bend.inside_radius_mm:g} of {bend_name(bend.id)}"))
    ordered = sorted(sharp, key=lambda n: -n.radius_mm)
    lengths = [(n, tool_mm(n, bend, stock, brake.length_mm)) for n in ordered]
    made = tuple(leaf_setup(brake, n, length) for n, length in lengths if length is not None)
    if not made:
        return ToolChoice(
            (), no_tool(f"no nose can be put together for the {bend.width_mm:g} mm of {bend_name(bend.id)}")
        )
    return ToolChoice(made)
