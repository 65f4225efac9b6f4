"""The usual cautions for what a bracket carries or stands beside."""

from __future__ import annotations

from collections.abc import Sequence

#: General good practice of the trade; none of it replaces the rules that hold where the vehicle is used.
CAUTIONS = {
    "fuel": "Fuel: keep lines clear of heat and moving parts, no hot work near it; leak-test before use.",
    "oil": "Oil: a leak onto an exhaust burns; keep joints away from hot parts and check for leaks after warming up.",
    "brake": "Brakes: work on brake lines belongs to a licensed workshop; test before the vehicle moves.",
    "exhaust": "Exhaust: hot parts burn and ignite; let pipes grow, keep lines and rubber clear or shielded.",
    "load": "Carries a load: the rules here check making, not strength; have load paths judged by someone qualified.",
    "weld": "Hot work: disconnect the battery, clear fuel and rubber away, ventilate; zinc fume is toxic.",
    "battery": "Battery: a dropped spanner can bridge the posts; insulate, and disconnect the earth lead first.",
}
GENERAL = "Cut edges are sharp: deburr. Local vehicle codes and the judgement of a licensed workshop come first."


def cautions(near: Sequence[str]) -> tuple[str, ...]:
    """The cautions for these hazards, and the general one last."""
    return (*(CAUTIONS[hazard] for hazard in dict.fromkeys(near)), GENERAL)
