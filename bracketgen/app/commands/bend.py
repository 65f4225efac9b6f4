"""Work out a bend for the bench.

Allowance, deduction, setback and K factor; with legs also the flat and its lines.

For example: bracketgen bend -t "3 mm" -r "3 mm" --turn 90 --legs 40mm,25mm
"""

from __future__ import annotations

from typing import Annotated

import typer

Thickness = Annotated[str, typer.Option("--thickness", "-t", metavar="LENGTH", help="Such as '4 mm' or '11 ga'.")]
Metal = Annotated[
    str | None, typer.Option("--metal", help="For a gauge, and as the shop's table names it; see show metals.")
]
Radius = Annotated[
    str | None, typer.Option("--radius", "-r", metavar="LENGTH", help="Inside radius, measured on a bend.")
]
Die = Annotated[
    str | None, typer.Option("--die", metavar="LENGTH", help="V opening of the die instead: it sets the radius.")
]
Turn = Annotated[
    str | None, typer.Option("--turn", metavar="DEG", help="Turned from flat: 0 flat, 90 square.  [default: 90]")
]
Between = Annotated[
    str | None, typer.Option("--between", metavar="DEG", help="Instead of turn, between the legs: 180 flat, 90 square.")
]
MethodWord = Annotated[
    str, typer.Option("--method", "-m", help="K factor, DIN 6935, FAA, handbook, shop table or test strip.")
]
KFactorOption = Annotated[str | None, typer.Option("--k", metavar="K", help="The K factor, 0.25 to 0.50.")]
HandbookMetal = Annotated[
    str, typer.Option("--handbook-metal", metavar="ROW", help="For the handbook: soft, medium or hard.")
]
ShopCsv = Annotated[str | None, typer.Option("--shop-table", metavar="CSV", help="The shop's own deductions.")]
Strip = Annotated[
    str | None,
    typer.Option("--strip", metavar="BLANK,LEG,LEG", help="A test strip: blank, then both legs, each with its unit."),
]
Legs = Annotated[
    str | None,
    typer.Option("--legs", metavar="LEG,LEG,...", help="Legs of a strip in order, each with its unit: 40mm,25mm."),
]
Sizes = Annotated[
    str, typer.Option("--sizes", help="What the legs are measured to: outside, mould, inside or tangent.")
]
Unit = Annotated[str, typer.Option("--unit", help="Unit of numbers without one: mm or in.")]


def bend(
    thickness: Thickness,
    radius: Radius = None,
    die: Die = None,
    turn: Turn = None,
    between: Between = None,
    method: MethodWord = "DIN 6935",
    k: KFactorOption = None,
    metal: Metal = None,
    handbook_metal: HandbookMetal = "medium",
    shop_table: ShopCsv = None,
    strip: Strip = None,
    legs: Legs = None,
    sizes: Sizes = "outside",
    unit: Unit = "mm",
) -> None:
    from bracketgen.app.asking.bench_question import Typed, bench_question
    from bracketgen.app.telling.bench_lines import bench_lines
    from bracketgen.app.telling.outcomes import stop
    from bracketgen.app.telling.speech import say
    from bracketgen.bending.bench import answer_bench
    from bracketgen.bending.setback import BendFault
    from bracketgen.errors import Fault, InputFaults, Place

    typed = Typed(
        thickness, radius, die, turn, between, method, k, metal, handbook_metal, shop_table, strip, legs, sizes, unit
    )
    try:
        asked = bench_question(typed)
        say(bench_lines(asked, answer_bench(asked.question)))
    except InputFaults as error:
        stop(error.faults)
    except BendFault as error:
        stop([Fault(Place("bend"), error.what, error.cure)])
