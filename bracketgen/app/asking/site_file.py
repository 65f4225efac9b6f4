"""A site file as typed on the command line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bracketgen.fit.site.site import Site


def site_from(file: str, settings: tuple[str, ...]) -> Site:
    """The site in a file, with parameters set as typed. Raises InputFaults."""
    from bracketgen.app.asking.text_file import read_text
    from bracketgen.description.overrides import read_settings, settable
    from bracketgen.description.part_name import part_name
    from bracketgen.errors import InputFaults
    from bracketgen.fit.site.site import read_site

    values, faults = read_settings(list(settings))
    if faults:
        raise InputFaults(faults)
    text = read_text(file, "site")
    can = settable(text, file)
    typed = {key: can.with_unit(key, value) for key, value in values.items()}
    return read_site(text, file, part_name(Path(file).stem.removesuffix(".site")) or "site", typed)
