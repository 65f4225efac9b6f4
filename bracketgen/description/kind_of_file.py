"""Which kind of our files a text is, so that a file of another kind gets one clear fault and not one a key."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, Final

#: Kinds of files: keys that no other kind has, and what such a file is good for.
_KINDS: Final = {
    "a description of a part": (("panels", "strip", "stock"), "make it with bracketgen make"),
    "a site file": (("faces", "readings", "neighbours", "carried"), "it goes with bracketgen locate, span or place"),
    "a job file": (("parts", "sheets", "rates"), "it goes with bracketgen pack or nest"),
    "a tooling file": (("punches", "dies", "noses", "press", "leaf_brake"), "it goes with bracketgen brake --tooling"),
}


def of_another_kind(raw: Mapping[str, Any], own_keys: Collection[str]) -> tuple[str, str, str] | None:
    """A key that gives the other kind away, that kind, and its use; None where any key of the wanted kind stands.

    `own_keys` are the keys of the wanted kind.
    """
    telling = {key for keys, _ in _KINDS.values() for key in keys}
    if any(key in raw for key in telling.intersection(own_keys)):
        return None
    for kind, (keys, use) in _KINDS.items():
        for key in keys:
            if key in raw and key not in own_keys:
                return key, kind, use
    return None
