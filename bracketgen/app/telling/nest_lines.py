"""How full the sheets are, what found no room, and what it may cost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from math import fsum
from typing import TYPE_CHECKING

from bracketgen.app.telling.speech import Tone, toned, wrapped
from bracketgen.shop.nest import NestMethod, Rates, estimate

if TYPE_CHECKING:
    from bracketgen.bending.flat import Flat
    from bracketgen.shop.nest import Nest, Spacing
    from bracketgen.shop.order import RatesTable


def nest_lines(
    done: Nest, room: Spacing, way: NestMethod, flats: Mapping[str, Flat], rates: RatesTable | None
) -> list[str]:
    """One line a sheet, then the rest."""
    plain = "by boxes (the extra 'nest' lays closer, by outlines)"
    how = "by outlines where that holds more than boxes" if way is NestMethod.OUTLINES else plain
    lines = [f"gap {room.gap_mm:g} mm, to the edge {room.margin_mm:g} mm, laid {how}"]
    for number, sheet in enumerate(done.filled, start=1):
        plate = sheet.plate
        count = Counter(one.piece.name for one in sheet.lying)
        held = ", ".join(f"{n} x {name}" for name, n in sorted(count.items()))
        size = f"{plate.length_mm:g} x {plate.width_mm:g} mm"
        lines += wrapped(f"{plate.name}, {size}, {100 * sheet.used:.1f} % used: {held}", f"  {number}. ")
    for name, left in sorted(done.left_over.items()):
        lines += wrapped(
            f"{left} x {name}: no sheet has room, or none is rolled as the part needs it",
            f"  {toned('NO ROOM', Tone.BAD)} ",
        )
    return [*lines, *(_cost_lines(done, flats, rates) if rates is not None and done.filled else ())]


def _cost_lines(done: Nest, flats: Mapping[str, Flat], rates: RatesTable) -> list[str]:
    cut = fsum(flats[one.piece.name].cut_length_mm for one in done.lying())
    pierces = sum(flats[one.piece.name].pierces for one in done.lying())
    stock = next(iter(flats.values())).part.stock
    area = fsum(sheet.plate.area_mm2 for sheet in done.filled)
    kg = area * stock.thickness_mm * stock.metal.density_kg_m3 * 1e-9
    own = Rates(rates.cut_mm_per_min, rates.pierce_s, rates.machine_per_hour, rates.metal_per_kg, rates.setup)
    told = estimate(cut, pierces, kg, own)
    money = f" {rates.currency}" if rates.currency else ""
    lines = [
        f"ESTIMATE by the job's own rates: cutting {told.cutting_s / 60:.1f} min ({cut / 1000:.2f} m, {pierces} "
        f"pierces); machine {told.machine:.2f}, metal {told.metal:.2f} ({kg:.1f} kg, whole sheets), setup "
        f"{told.setup:.2f}, in all {told.total:.2f}{money}",
        "Not in it: moves between cuts, loading, slow corners, deburring, bending, finish. No quotation.",
    ]
    return [row for text in lines for row in wrapped(text, "  ")]
