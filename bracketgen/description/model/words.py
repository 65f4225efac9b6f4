"""Words that stand for a row of a table; each is looked up while the description is read, so that its fault has
the place of the word itself."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated

from pydantic import AfterValidator

from bracketgen.bending.setback import BendFault, check_k
from bracketgen.description.model.quantities import Number, fault
from bracketgen.standards.fasteners import Fit, edge_rule, fastener, tap_drill
from bracketgen.standards.machines import process
from bracketgen.standards.metals import metal
from bracketgen.standards.table import LookupFault


def what_and_cure(error: LookupFault) -> tuple[str, str]:
    """A look-up that failed, in words: what is wrong, and what is known instead."""
    if error.reason:
        return f"{error.what} {error.given}: {error.reason}", ""
    near = f"did you mean '{error.nearest}'? " if error.nearest else ""
    known = f"known: {', '.join(error.known)}" if error.known else ""
    return f"unknown {error.what} '{error.given}'", near + known


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
