"""The whole story: a description becomes a part, a flat, a folded part, findings, and files.

Nothing here speaks to a person or touches the disk but `write`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import Flag, auto
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bracketgen.bending.flat import Flat, unfold
from bracketgen.bending.fold import Folded, fold
from bracketgen.description.making.build import Job, build
from bracketgen.description.read import Description, read
from bracketgen.drawing.marks.lettering import letter_notes, texts_of
from bracketgen.errors import Fault, GeometryFault, InputFaults, Place
from bracketgen.files.lint import Flaw
from bracketgen.findings import Finding, Level
from bracketgen.part.hazards import with_hazards
from bracketgen.part.mark import stamp
from bracketgen.rules.engine import run_rules
from bracketgen.standards.refused import REFUSED_PART

if TYPE_CHECKING:
    from bracketgen.vehicle.in_place import InPlace
    from bracketgen.vehicle.site import Site


@dataclass(frozen=True, slots=True)
class Made:
    """A description worked out to the end, before any file; `place` is set when it names a site."""

    job: Job
    flat: Flat
    folded: Folded
    findings: tuple[Finding, ...]
    place: InPlace | None = None

    @property
    def failed(self) -> bool:
        """Whether a rule failed that nobody waived."""
        return any(f.level is Level.FAIL and f.waived is None for f in self.findings)

    @property
    def mark(self) -> str:
        """The part's mark, which each of its papers carries."""
        return self.job.part.mark

    @property
    def site_mark(self) -> str:
        """The mark of the site; '' without one."""
        return self.place.mark if self.place else ""

    @property
    def stamp(self) -> str:
        """What a file says that tells of the findings, and so of the site too."""
        return stamp(self.mark, ("site", self.site_mark) if self.place else None)

    @property
    def refused(self) -> bool:
        """Whether it is a part whose failure kills, or may be one for all that its names say."""
        return any(f.rule == REFUSED_PART for f in self.findings)

    def is_withheld(self, even_if_failed: bool = False) -> bool:
        """Whether nothing is written of it.

        Of a refused part there is no file at all, marked or not: a cut file, a picture with sizes or a report with
        contours would be cut from whatever its name says.
        """
        return self.refused or (self.failed and not even_if_failed)

    @property
    def file_stem(self) -> str:
        """Name of its files without ending: nobody shall take those of a failed part for good ones."""
        return f"{FAILED if self.failed else ''}{self.job.part.name}"

    def strict(self) -> Made:
        """The same with every warning raised to a failure."""
        raised = (replace(f, level=Level.FAIL) if f.level is Level.WARN else f for f in self.findings)
        return replace(self, findings=tuple(raised))


#: Stands before the names of a failed part's files.
FAILED: Final = "FAILED-"
#: What a failed part's cut file may show, since rules that failed have said so already.
_OF_A_FAILED_PART: Final = frozenset(
    (
        *(Flaw.SIZE, Flaw.TINY_EDGE, Flaw.CROSSING, Flaw.OUTSIDE_OUTLINE),
        *(Flaw.NESTED, Flaw.DOUBLED_EDGE, Flaw.OVERLAPPING_EDGE),
    )
)


class Outputs(Flag):
    """Which files to make. `SITE`: picture and model of the part in its place; the last four: the folded part alone."""

    DXF = auto()
    PNG = auto()
    JSON = auto()
    SITE = auto()
    STEP = auto()
    STL = auto()
    THREE_MF = auto()
    GLB = auto()

    @property
    def word(self) -> str:
        """What a person calls this one kind; for files of the part alone it is their ending."""
        return str(self.name).lower().replace("three_", "3")

    @property
    def endings(self) -> tuple[str, ...]:
        """How the files of this one kind end, after the part's name."""
        return ("-site.png", "-site.glb") if self is Outputs.SITE else (f".{self.word}",)


#: What is made when nobody says what.
USUAL_OUTPUTS: Final = Outputs.DXF | Outputs.PNG | Outputs.JSON | Outputs.SITE
_MODELS: Final = Outputs.STEP | Outputs.STL | Outputs.THREE_MF | Outputs.GLB


def work_out(
    text: str, file: str, name: str, set_values: Mapping[str, str | int | float] | None = None, folder: str = "."
) -> Made:
    """From the text of a description to its findings.

    `file` stands in faults, `name` in file names, `folder` is where files that the text names are looked for.
    Raises InputFaults.
    """
    reading = read(text, file, set_values, folder)
    job = build(reading, name, folder)
    site = _site_of(reading, folder)
    if site is not None:
        from bracketgen.vehicle.in_place import around_at

        job = replace(job, part=with_hazards(job.part, around_at(site)))
    try:
        flat = unfold(job.part, job.allowances)
        folded = fold(job.part)
    except GeometryFault as fault:
        raise InputFaults([Fault(Place(file), str(fault), fault.cure)]) from None
    place = _in_place(reading, site, flat, folded)
    texts = (*texts_of(reading.source.raw), *(texts_of(place.site.source.raw, "site file") if place else ()))
    also = (*job.remarks, *letter_notes(texts), *(place.findings if place else ()))
    return Made(job, flat, folded, run_rules(flat, folded, also), place)


def _site_of(reading: Description, folder: str) -> Site | None:
    """The site that the description names. Raises InputFaults."""
    if reading.document.site is None:
        return None
    from bracketgen.vehicle.in_place import site_beside

    return site_beside(reading.document.site, reading.source, folder)


def _in_place(reading: Description, site: Site | None, flat: Flat, folded: Folded) -> InPlace | None:
    """The part at its site. Raises InputFaults with every fault of the readings and of [site]."""
    if site is None or reading.document.site is None:
        return None
    from bracketgen.vehicle.in_place import in_place

    return in_place(flat, folded, reading.document.site, reading.source, site)


def files_of(made: Made, outputs: Outputs = USUAL_OUTPUTS) -> dict[str, bytes]:
    """The files of a part by name, each checked; nothing is written.

    Raises WriteFault, and GeometryFault for a model of a part that is no solid.
    """
    # Each writer loads a heavy library: only those that are asked for.
    name = made.file_stem
    files: dict[str, bytes] = {}
    if Outputs.DXF in outputs:
        from bracketgen.drawing.cut_sheet import Extra, cut_sheet
        from bracketgen.files.dxf import verified_dxf

        sheet = cut_sheet(made.flat, (Extra(e) for e in made.job.also))
        files[f"{name}.dxf"] = verified_dxf(sheet, _OF_A_FAILED_PART if made.failed else frozenset())
    if Outputs.PNG in outputs:
        from bracketgen.drawing.picture.preview import preview
        from bracketgen.files.png import png_bytes

        files[f"{name}.png"] = png_bytes(
            preview(made.flat, made.folded, made.findings, made.site_mark), stamp=made.stamp
        )
    files |= _site_files(made) if Outputs.SITE in outputs else {}
    files |= _model_files(made, outputs) if outputs & _MODELS else {}
    if Outputs.JSON in outputs:
        from bracketgen.files.report import report_bytes
        from bracketgen.shop.hardware import mates_in_place

        names, block, mates = [*files, f"{name}.json"], _site_block(made), mates_in_place(made.place)
        told = (made.flat, made.folded, made.findings, names, made.job.parameters, block, mates, made.job.values)
        files[f"{name}.json"] = report_bytes(*told)
    return files


def _site_block(made: Made) -> dict[str, object] | None:
    if made.place is None:
        return None
    from bracketgen.files.site_report import site_block

    return site_block(made.place)


def _site_files(made: Made) -> dict[str, bytes]:
    """The picture and the model of a part in its place; none without a site."""
    if made.place is None:
        return {}
    from bracketgen.drawing.site.site_sheet import site_meshes, site_page, site_up
    from bracketgen.files.glb import glb_bytes
    from bracketgen.files.png import png_bytes

    said = made.stamp
    model = glb_bytes(site_meshes(made.place), site_up(made.place), made.job.part.cautions, said)
    picture = png_bytes(site_page(made.place), stamp=said)
    return {f"{made.file_stem}-site.png": picture, f"{made.file_stem}-site.glb": model}


def _model_files(made: Made, outputs: Outputs) -> dict[str, bytes]:
    """The folded part alone. Raises GeometryFault."""
    from bracketgen.drawing.solid.mesh import FACETS, folded_model
    from bracketgen.files.glb import glb_bytes
    from bracketgen.files.print_models import stl_bytes, three_mf_bytes
    from bracketgen.files.step import step_bytes

    name, title = made.file_stem, made.job.part.title
    model, said = folded_model(made.folded, name), made.stamp
    told = (said, *model.cautions)
    writers: dict[Outputs, Callable[[], bytes]] = {
        Outputs.STEP: lambda: step_bytes(model.skin, name, title, told),
        Outputs.STL: lambda: stl_bytes(model.mesh, f"{said} {FACETS}"),
        Outputs.THREE_MF: lambda: three_mf_bytes(model.mesh, title, model.about, said),
        Outputs.GLB: lambda: glb_bytes([model.mesh], cautions=model.cautions, stamp=said),
    }
    return {f"{name}.{kind.word}": writer() for kind, writer in writers.items() if kind in outputs}


def write(files: Mapping[str, bytes], folder: Path) -> None:
    """Writes the files of one part, all or none. Raises OSError."""
    from bracketgen.files.disk import write_together

    folder.mkdir(parents=True, exist_ok=True)
    write_together({folder / name: data for name, data in files.items()})
