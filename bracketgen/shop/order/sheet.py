"""The order sheet as plain text: read in any mail program, printed on anything."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from bracketgen.shop.order.line import OrderLine
from bracketgen.units import MM_PER_INCH, format_mm

_WIDTH: Final = 96
_LABEL: Final = 12
#: Source: NIST SP 811 (2008), appendix B.8: 1 lb = 0.453 592 37 kg.
_KG_PER_LB: Final = 0.45359237
_ON_ALL: Final = (
    "All sizes are nominal: no kerf is taken off or put on. Please let the machine put in its own.",
    "One unit in a cut file is 1 mm. Cut files show the described face up; they must not be mirrored.",
    "If the flat does not come up in the size given below, it was read in the wrong unit: please stop and ask.",
)

#: For each part: its cut file, then those to send if it is refused.
CutFiles = Mapping[str, Sequence[str]]


def order_text(title: str, lines: Sequence[OrderLine], cut_files: CutFiles, left_out: Sequence[str] = ()) -> str:
    """The sheet. `left_out` names parts of the job that are not in the pack, each with its reason."""
    head = [f"ORDER SHEET: {title}", ""]
    for text in _ON_ALL:
        head += textwrap.wrap(text, _WIDTH, initial_indent="- ", subsequent_indent="  ")
    pieces = sum(line.quantity for line in lines)
    mass = sum(line.quantity * line.mass_kg for line in lines)
    head += ["", f"{len(lines)} part{'s' * (len(lines) != 1)}, {pieces} in all, {_mass(mass)} together"]
    head += [f"NOT in this pack: {text}" for text in left_out]
    body = [row for number, line in enumerate(lines, start=1) for row in _part(number, line, cut_files[line.name])]
    return "\n".join([*head, *body, ""])


def _part(number: int, line: OrderLine, files: Sequence[str]) -> Iterator[str]:
    yield from ("", "-" * _WIDTH)
    yield from textwrap.wrap(f"{number}. {line.name}  {line.title}", _WIDTH, subsequent_indent="   ")
    for label, text in _facts(line, files):
        yield from textwrap.wrap(
            text,
            _WIDTH,
            initial_indent=f"   {label:<{_LABEL}}",
            subsequent_indent=" " * (_LABEL + 3),
            break_long_words=False,
            break_on_hyphens=False,
        )


def _facts(line: OrderLine, files: Sequence[str]) -> Iterator[tuple[str, str]]:
    stock = line.stock
    yield "cut file", files[0]
    yield "quantity", f"{line.quantity}"
    yield "metal", f"{stock.metal.id}: {stock.metal.title}, {stock.metal.temper}"
    yield "thickness", _both(stock.thickness_mm)
    yield "process", f"{stock.process.id}: {stock.process.title}"
    yield "grain", "free" if stock.grain_deg is None else f"rolling direction {stock.grain_deg:g} deg from the file's x"
    yield "finish", _finish(line)
    yield from _bending(line)
    yield "flat size", _sizes(line.flat_mm)
    if line.bends:
        yield "folded size", _sizes(line.folded_mm) + " over all, outside"
    yield "mass", f"{_mass(line.mass_kg)} each"
    yield "cutting", f"{line.cut_mm:.0f} mm, {line.pierces} pierce{'s' * (line.pierces != 1)}"
    if len(files) > 1:
        yield "if refused", f"if this file is refused, send that one: {', then '.join(files[1:])}"
    yield from _labelled("hardware", line.hardware)
    yield from _labelled("waived", (f"{w.rule} on {w.subject}: {w.reason}" for w in line.waivers))
    yield from _labelled("caution", line.cautions)


def _finish(line: OrderLine) -> str:
    stock = line.stock
    coat = (
        f"{stock.coating}, {stock.coating_mm:g} mm on a face, put on after bending" if stock.coating else "no coating"
    )
    return "; ".join(text for text in (coat, line.finish) if text)


def _bending(line: OrderLine) -> Iterator[tuple[str, str]]:
    if not line.bends:
        yield "bending", "none, the part stays flat"
        return
    yield "bending", line.bender.value
    yield from _labelled("", line.bends)


def _labelled(label: str, texts: Iterable[str]) -> Iterator[tuple[str, str]]:
    for number, text in enumerate(texts):
        yield ("" if number else label), text


def _both(mm: float) -> str:
    return f"{format_mm(mm)} = {mm / float(MM_PER_INCH):.4f} in"


def _sizes(sizes_mm: Sequence[float]) -> str:
    inches = " x ".join(f"{mm / float(MM_PER_INCH):.3f}" for mm in sizes_mm)
    return f"{' x '.join(f'{mm:.2f}' for mm in sizes_mm)} mm = {inches} in"


def _mass(kg: float) -> str:
    return f"{kg:.3f} kg ({kg / _KG_PER_LB:.2f} lb)"
