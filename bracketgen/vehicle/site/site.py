"""A site file, read and checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bracketgen.description.read import Source, read_tables
from bracketgen.vehicle.site.tables import SiteDocument


@dataclass(frozen=True)
class Site:
    """What a site file says, and where everything stands in it."""

    name: str
    document: SiteDocument
    source: Source


def read_site(text: str, file: str, name: str, set_values: Mapping[str, str | int | float] | None = None) -> Site:
    """The site in `text`. Raises InputFaults with every fault of the file."""
    source, document, _ = read_tables(text, file, SiteDocument, set_values or {})
    return Site(name, document, source)
