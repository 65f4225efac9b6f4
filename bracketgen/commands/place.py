"""Find the best place for what is carried.

Tries the room that [carried] allows and takes the place whose least margin over all required gaps, ways out and
tools is greatest; says by how much the wished place falls short.

Exit code: 0 the wished place keeps every gap, 1 it does not, 2 an input is wrong, 3 internal error.
"""

from __future__ import annotations

from typing import Annotated

import typer

from bracketgen.terminal.input_files import site_from
from bracketgen.terminal.options import Settings

SiteFile = Annotated[str, typer.Argument(metavar="SITE", help="Site file (.toml) with [carried] and its room.")]


def place(site: SiteFile, set_: Settings = None) -> None:
    import sys

    from bracketgen.errors import GeometryFault, InputFaults
    from bracketgen.standards.table import LookupFault
    from bracketgen.terminal.parts import Exit, internal_line
    from bracketgen.terminal.screen import say, say_faults
    from bracketgen.vehicle.near.site_solids import ShapeFault

    try:
        code = _work(site, tuple(set_ or ()))
    except InputFaults as error:
        say_faults(error.faults)
        code = Exit.INPUT
    except (GeometryFault, LookupFault, ShapeFault) as error:
        say(f"{site}: {error}", sys.stderr)
        code = Exit.INPUT
    except Exception as error:
        say(internal_line(error, site), sys.stderr)
        code = Exit.INTERNAL
    raise typer.Exit(code)


def _work(file: str, settings: tuple[str, ...]) -> int:
    from bracketgen.errors import Fault, InputFaults
    from bracketgen.terminal.parts import Exit
    from bracketgen.terminal.screen import say, wrapped
    from bracketgen.vehicle.locate.locate import locate
    from bracketgen.vehicle.placing.best_place import best_place

    site = site_from(file, settings)
    if site.document.carried is None:
        where = site.source.at(())
        raise InputFaults([Fault(where, "the site carries nothing", "add [carried] with its room")])
    found = best_place(site.document, locate(site))
    say([f"{site.name}  {site.document.title}", *(part for line in found.lines() for part in wrapped(line, "  "))])
    if found.best is not found.today:
        say([f"  gained: {found.gain_mm:.1f} mm; to take it, change at in [carried] by the shift above"])
    return Exit.CLEAN if found.today.least_mm >= 0.0 else Exit.FAILED
