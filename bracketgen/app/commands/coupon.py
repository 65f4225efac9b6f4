"""Find the shop's own K factor and deduction with a test strip.

First without --measured: the strip's cut file, and what to do. Then with --measured: what the strip says.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from bracketgen.app.asking.coupon_question import CouponAsked
    from bracketgen.shop.coupon import CouponAnswer

MetalWord = Annotated[str, typer.Option("--metal", help="As `bracketgen show metals` lists it.")]
Thickness = Annotated[str, typer.Option("--thickness", "-t", metavar="LENGTH", help="Measured: '3.95 mm', '11 ga'.")]
Die = Annotated[str | None, typer.Option("--die", metavar="LENGTH", help="V opening of the die it is bent over.")]
Radius = Annotated[str | None, typer.Option("--radius", "-r", metavar="LENGTH", help="Inside radius, measured.")]
Turn = Annotated[str, typer.Option("--turn", metavar="DEG", help="Turned from flat: 90 square.")]
Measured = Annotated[
    list[str] | None,
    typer.Option(
        "--measured",
        metavar="LENGTH,LEG,LEG",
        help="Before bending, then both legs outside, with units. Once for each strip: their mean is taken.",
    ),
]
MeasuredTurn = Annotated[
    str | None, typer.Option("--measured-turn", metavar="DEG", help="What the bend came out at.  [default: --turn]")
]
ShopTable = Annotated[Path | None, typer.Option("--shop-table", metavar="CSV", help="Where the answer is kept.")]
Out = Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the cut file goes.")]


def coupon(
    metal: MetalWord,
    thickness: Thickness,
    die: Die = None,
    radius: Radius = None,
    turn: Turn = "90",
    measured: Measured = None,
    measured_turn: MeasuredTurn = None,
    shop_table: ShopTable = None,
    out: Out = Path("out"),
) -> None:
    from bracketgen.app.asking.coupon_question import CouponTyped, coupon_question
    from bracketgen.app.telling.outcomes import stop
    from bracketgen.bending.setback import BendFault
    from bracketgen.errors import Fault, InputFaults, Place

    try:
        asked = coupon_question(CouponTyped(metal, thickness, die, radius, turn, tuple(measured or ()), measured_turn))
        if not asked.readings:
            if shop_table is not None:
                raise InputFaults([Fault(Place("--shop-table"), "there is no answer to keep yet", "add --measured")])
            _write_strip(asked, out)
        else:
            _answer(asked, shop_table)
    except BendFault as error:
        stop([Fault(Place("--measured"), error.what, error.cure)])
    except InputFaults as error:
        stop(error.faults)


def _write_strip(asked: CouponAsked, out: Path) -> None:
    from bracketgen.app.commands.make import _folder_faults
    from bracketgen.app.telling.coupon_lines import coupon_lines
    from bracketgen.app.telling.speech import say
    from bracketgen.drawing.to_cut.coupon_sheet import coupon_sheet
    from bracketgen.pipeline import write
    from bracketgen.writers.cut_file.dxf import verified_dxf

    name = f"strip-{asked.metal.id}-{asked.thickness_mm:g}mm".replace("/", "-")
    with _folder_faults(out):
        write({f"{name}.dxf": verified_dxf(coupon_sheet(asked.strip, name))}, out)
    say([*coupon_lines(asked), f"  cut file: {out / f'{name}.dxf'}"])


def _answer(asked: CouponAsked, table: Path | None) -> None:
    """Raises BendFault, InputFaults."""
    from bracketgen.app.telling.coupon_lines import answer_lines
    from bracketgen.app.telling.speech import say
    from bracketgen.shop.coupon import read_coupons

    answer = read_coupons(asked.readings, asked.turn_deg)
    say(answer_lines(asked, answer))
    if table is not None:
        _keep(asked, answer, table)
        say(f'  kept in {table}: name it in a description with allowance = "shop table"')


def _keep(asked: CouponAsked, answer: CouponAnswer, table: Path) -> None:
    """Raises InputFaults."""
    from bracketgen.app.asking.text_file import read_text
    from bracketgen.app.commands.make import _folder_faults
    from bracketgen.bending.deductions import DeductionRow
    from bracketgen.errors import Fault, InputFaults, Place
    from bracketgen.shop.coupon import with_row
    from bracketgen.writers.whole_file import write_whole

    if not answer.believable:
        what = f"K = {answer.k_factor:.3f} is no value of bent sheet"
        raise InputFaults([Fault(Place("--shop-table"), f"not kept: {what}", "measure again")])
    row = DeductionRow(
        asked.metal.id,
        asked.thickness_mm,
        asked.radius_mm,
        asked.die.opening_mm if asked.die else None,
        asked.turn_deg,
        answer.deduction_mm,
    )
    strips = "test strip" if len(asked.readings) == 1 else f"{len(asked.readings)} test strips"
    remark = f"{strips}: K {answer.k_factor:.3f} +/- {answer.k_bar:.3f}; +/- {answer.deduction_bar_mm:.2f} mm (95 %)"
    text = read_text(str(table), "table") if table.exists() else ""
    with _folder_faults(table.parent):
        write_whole(table, with_row(text, str(table), row, remark).encode())
