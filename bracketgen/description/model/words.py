"""Words that stand for a row of a table; each is looked up while the description is read, so that its fault has
the place of the word itself."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Annotated

from pydantic import AfterValidator

from bracketgen.bending.setback import BendFault, check_k
from bracketgen.description.model.quantities import Number, fault
from bracketgen.standards.edge_distance import edge_rule
from bracketgen.standards.fastener import Fit, fastener, tap_drill
from bracketgen.standards.metal import metal
from bracketgen.standards.process import process
from bracketgen.standards.table import LookupFault
from bracketgen.units import nearest_word


def nearest_in_any_case(word: str, choices: Iterable[str]) -> str | None:
    """The choice that needs the fewest slips to become `word`, large and small letters alike."""
    folded = {choice.casefold(): choice for choice in reversed(list(choices))}
    near = nearest_word(word.casefold(), reversed(folded))
    return folded[near] if near is not None else None


def what_and_cure(error: LookupFault) -> tuple[str, str]:
    """A look-up that failed, in words: what is wrong, and what is known instead."""
    if error.reason:
        return f"{error.what} {error.given}: {error.reason}", ""
    nearest = _nearest_size(error) or nearest_in_any_case(error.given, error.known) or error.nearest
    near = f"did you mean '{nearest}'? " if nearest else ""
    known = f"known: {', '.join(error.known)}" if error.known else ""
    return f"unknown {error.what} '{error.given}'", near + known


_SIZE = re.compile(r"([a-z#]*)([0-9]+(?:\.[0-9]+)?)")


def _nearest_size(error: LookupFault) -> str | None:
    """Of sizes the nearest by number: M9 is nearer to M8 than to M3, whatever the letters say."""
    given = _SIZE.fullmatch(error.given.strip().casefold())
    if given is None or error.what not in ("bolt size", "V opening"):
        return None
    sizes = [(choice, _SIZE.fullmatch(choice.casefold())) for choice in error.known]
    alike = [(abs(float(size[2]) - float(given[2])), choice) for choice, size in sizes if size and size[1] == given[1]]
    return min(alike, key=lambda one: one[0])[1] if alike else None


def _looked_up(look_up: Callable[[str], object]) -> AfterValidator:
    def check(word: str) -> str:
        try:
            look_up(word)
        except LookupFault as error:
            raise fault(*what_and_cure(error)) from None
        return word

    return AfterValidator(check)


def _rivet_nut(size: str) -> str:
    bolt = fastener(size)
    if bolt.rivet_nut_hole_mm is None:
        raise fault(f"no hole size is known for a {bolt.size} rivet nut", "give diameter, as the maker says")
    return size


def _k_factor(k: float) -> float:
    try:
        check_k(k)
    except BendFault as error:
        raise fault(error.what, error.cure) from None
    return k


def _one_line(text: str) -> str:
    if any(ord(sign) < 32 or ord(sign) == 127 for sign in text):
        raise fault("a line break or control sign in a text that stands on one line", "take it out")
    return text


#: A text that is printed on one line.
OneLine = Annotated[str, AfterValidator(_one_line)]
MetalWord = Annotated[str, _looked_up(metal)]
ProcessWord = Annotated[str, _looked_up(process)]
BoltWord = Annotated[str, _looked_up(fastener)]
FitWord = Annotated[str, _looked_up(Fit.from_word)]
TapWord = Annotated[str, _looked_up(tap_drill)]
RivetNutWord = Annotated[str, _looked_up(fastener), AfterValidator(_rivet_nut)]
EdgeRuleWord = Annotated[str, _looked_up(edge_rule)]
KFactorNumber = Annotated[Number, AfterValidator(_k_factor)]
