"""The welds of a part in words, with what goes with them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bracketgen.part.part import Part
from bracketgen.part.weld import Weld

#: What a weld must never be read without. Source of the angles: EN 1993-1-8:2005, 4.3.2.1, read where a book on
#: composite bridges quotes it (section 3.10.3). The rest: common practice, no source.
WELD_CAUTION: Final = (
    "Welds: fillets between faces that stand at 60 to 120 degrees; lengths are those of the true edge. Fit the part "
    "and tack it first; no paint, zinc, oil or scale where the weld goes. On the vehicle: battery and control units "
    "disconnected, earth clamp beside the weld, fuel, lines, rubber and wiring well away or out, somebody with an "
    "extinguisher until it is cold. Zinc fume is toxic. No welding on tanks, springs, axles or steering parts, nor on "
    "a frame without its maker's leave. Whether it holds is for a qualified person to judge."
)
_TEMPERED_WORDS: Final = "This metal's temper is lost beside the weld: it is much softer there than elsewhere."


def weld_lines(part: Part, quantity: int) -> tuple[str, ...]:
    """Every weld of `quantity` parts with its length, and the cautions; nothing where nothing is welded."""
    if not part.welds:
        return ()
    lines = [weld_words(weld) for weld in part.welds]
    whole = sum(weld.total_mm for weld in part.welds)
    if quantity > 1 or len(part.welds) > 1:
        lines.append(f"{whole * quantity:.0f} mm of weld in all for {quantity} part{'s' * (quantity != 1)}")
    return (*lines, WELD_CAUTION, *_tempered(part))


def weld_words(weld: Weld) -> str:
    """Such as 'weld tab/weld-1 on saddle 1, to the pipe: fillet a 3 mm (leg 4.2 mm), 54.1 mm on both faces'."""
    to = f", to {weld.to}" if weld.to else ""
    lengths = " + ".join(f"{run.length_mm:.1f}" for run in weld.runs)
    whole = f" = {weld.total_mm:.1f} mm of weld" if weld.total_mm != weld.runs[0].length_mm else ""
    return (
        f"weld {weld.id} on {weld.where}{to}: fillet a {round(weld.throat_mm, 1):g} mm (leg {weld.leg_mm:.1f} mm), "
        f"{lengths} mm {weld.sides.value}{whole}"
    )


def _tempered(part: Part) -> Iterator[str]:
    """Aluminium in a hardened temper loses it; common knowledge of the trade, no source."""
    temper = part.stock.metal.id.rpartition("-")[2]
    if part.stock.metal.family == "aluminium" and temper[:1] in ("T", "H"):
        yield _TEMPERED_WORDS
