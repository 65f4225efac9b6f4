"""Find the best place for what is carried.

Tries the room that [carried] allows and takes the place whose least margin over all required gaps, ways out and
tools is greatest; says by how much the wished place falls short.

Exit code: 0 the wished place keeps every gap, 1 it does not, 2 an input is wrong, 3 internal error.
"""

from __future__ import annotations

from functools import partial
from typing import Annotated

import typer

from bracketgen.errors import Fault, GeometryFault, InputFaults, Place
from bracketgen.standards.table import LookupFault
from bracketgen.terminal.exits import Exit, exit_of
from bracketgen.terminal.named_files import site_from
from bracketgen.terminal.options import Settings
from bracketgen.terminal.screen import say, wrapped
from bracketgen.vehicle.locate.locate import locate
from bracketgen.vehicle.near.solids import ShapeFault
from bracketgen.vehicle.placing.best_place import best_place

SiteFile = Annotated[str, typer.Argument(metavar="SITE", help="Site file (.toml) with [carried] and its room.")]


def place(site: SiteFile, set_: Settings = None) -> None:
    raise typer.Exit(exit_of(partial(_best_place, site, set_), site))


def _best_place(file: str, settings: list[str] | None) -> Exit:
    site = site_from(file, settings)
    if site.document.carried is None:
        raise InputFaults([Fault(site.source.at(()), "the site carries nothing", "add [carried] with its room")])
    try:
        found = best_place(site.document, locate(site))
    except (GeometryFault, LookupFault, ShapeFault) as error:
        raise InputFaults([Fault(Place(file), str(error))]) from None
    say([f"{site.name}  {site.document.title}", *(part for line in found.lines() for part in wrapped(line, "  "))])
    if found.best is not found.today:
        say([f"  gained: {found.gain_mm:.1f} mm; to take it, change at in [carried] by the shift above"])
    return Exit.CLEAN if found.today.least_mm >= 0.0 else Exit.FAILED
