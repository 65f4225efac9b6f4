"""Why a bend can't be made as tried: what stands in the way of what."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bracketgen.shop.brake.making.metal import Piece


class Why(StrEnum):
    """The kind of obstacle."""

    MEETS_TOOL = "meets a tool"
    MEETS_ITSELF = "meets itself"
    SHORT_LEG = "short leg"
    NO_TOOL = "no tool"
    TOO_HEAVY = "too heavy"


@dataclass(frozen=True, slots=True)
class Obstacle:
    """`metal` and `other` are the two that are in each other's way, at `turn_deg` of the bend's turn.

    For a short leg or missing tools `words` says everything and the turn is 0.
    """

    why: Why
    metal: str
    other: str
    turn_deg: float
    words: str


def piece_name(piece: Piece) -> str:
    """Such as "panel 'foot'" or 'bend 2'."""
    return f"panel {piece.id!r}" if piece.is_panel else bend_name(piece.id)


def bend_name(bend_id: str) -> str:
    """A bend's name with the word, which most names hold already."""
    return bend_id if bend_id.startswith("bend") else f"bend {bend_id!r}"


def meets_tool(piece: Piece, tool: str, turn_deg: float) -> Obstacle:
    """Metal comes too near to a tool."""
    name = piece_name(piece)
    when = "before it is bent" if turn_deg < 0.5 else f"when turned {turn_deg:.0f}°"
    return Obstacle(Why.MEETS_TOOL, name, tool, turn_deg, f"{name} meets the {tool} {when}")


def meets_itself(a: Piece, b: Piece, turn_deg: float) -> Obstacle:
    """Two pieces of the part come into each other."""
    first, second = piece_name(a), piece_name(b)
    return Obstacle(Why.MEETS_ITSELF, first, second, turn_deg, f"{first} meets {second} when turned {turn_deg:.0f}°")


def short_leg(panel: str, tool: str, leg_mm: float, least_mm: float) -> Obstacle:
    """Too little flat metal beside the bend."""
    words = f"panel {panel!r} has {leg_mm:.1f} mm of leg left at the bend, {tool} needs {least_mm:.1f} mm"
    return Obstacle(Why.SHORT_LEG, f"panel {panel!r}", tool, 0.0, words)


def no_tool(words: str, why: Why = Why.NO_TOOL) -> Obstacle:
    """No tool of the shop does for the bend."""
    return Obstacle(why, "", "", 0.0, words)
