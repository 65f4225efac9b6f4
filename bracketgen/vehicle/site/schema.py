"""JSON Schema of a site file, from the same model that reads it, for editors that check while one types."""

from __future__ import annotations

from typing import Any

from bracketgen.description.schema import DIALECT, model_schema
from bracketgen.vehicle.site.tables import SiteDocument


def site_schema() -> dict[str, Any]:
    """The schema as plain values. It knows no unknown keys; which keys go together is left to the reader."""
    return {"$schema": DIALECT, **model_schema(SiteDocument), "title": "A place on the vehicle"}
