"""A layout as the text of a description that a person can go on with."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from bracketgen.standards.fasteners import Fit
from bracketgen.vehicle.seating.bolts import Touching
from bracketgen.vehicle.span.layout import HOLE_DIGITS, LINE_DIGITS, TURN_DIGITS, LaidHole, LaidPanel, Layout
from bracketgen.vehicle.span.seat import NO_SHIM_MM, SheetSide

#: Radius on corners that stick out, mm: no hand is cut (common practice, no source).
_OUTER_MM: Final = 2.0
#: Shims are written down to this, so that the holes' places are those that were worked out.
_LEAST_SHIM_MM: Final = 0.0005


@dataclass(frozen=True, slots=True)
class Heading:
    """What the description says of itself: title, comment lines at its head, the site's file, hazards."""

    title: str
    told: tuple[str, ...]
    site_file: str
    near: tuple[str, ...] = ()


def described(layout: Layout, heading: Heading) -> str:
    """The description's text."""
    names = {p.name: f"panel {n}" for n, p in enumerate(layout.panels)}
    assert len(names) == len(layout.panels)
    parts = [_head(layout, heading), _parameters(layout), *(_panel(p, layout) for p in layout.panels)]
    return "\n".join([*(p for p in parts if p), _site(layout, heading)])


def number(value: float, digits: int) -> str:
    """A number without needless digits."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".") if digits else f"{value:.0f}"
    return "0" if text in ("-0", "") else text


def _head(layout: Layout, heading: Heading) -> str:
    practice = layout.practice
    lines = [*(f"# {line}" for line in heading.told), f"title = {_text(heading.title[:80])}", 'units = "mm"']
    if heading.near:
        lines.append(f"near = [{', '.join(_text(h) for h in heading.near)}]")
    lines += [
        "",
        "[stock]",
        f"metal = {_text(practice.metal)}",
        f'thickness = "{number(practice.thickness_mm, 4)} mm"',
        f"process = {_text(practice.process)}",
    ]
    if layout.grain_deg is not None:
        lines.append(f'grain = "{layout.grain_deg} deg"    # roll this way in the first panel: the bends run across')
        lines += [
            "",
            "[bend]",
            f"die = {number(practice.die.opening_mm, 3)}    # V opening: it sets the inside radius in air bending",
            'allowance = "DIN 6935"',
            'sizes = "mould"    # sizes run to the corner where the outer faces would meet',
        ]
    lines += ["", "[corners]", f'outer = "{number(_OUTER_MM, 3)} mm"', ""]
    return "\n".join(lines)


def slug(name: str) -> str:
    """A name for a parameter."""
    plain = re.sub(r"[^0-9a-z]+", "_", name.lower()).strip("_")
    return plain if plain[:1].isalpha() else f"p_{plain}"


def _parameters(layout: Layout) -> str:
    lines: list[str] = []
    for panel in layout.panels:
        name, value, told = _parameter(panel)
        if name:
            lines += [f"[parameters.{name}]", f'value = "{number(value, HOLE_DIGITS)} mm"', f"help = {_text(told)}", ""]
    return "\n".join(lines)


def _parameter(panel: LaidPanel) -> tuple[str, float, str]:
    """The length of a panel that is likeliest to be changed."""
    if panel.foot is None and len(panel.holes) > 1:
        a, b = (h.hole.name for h in panel.holes[:2])
        return f"{slug(panel.name)}_spacing", panel.holes[1].x, f"{panel.name}: from hole {a} to hole {b}"
    if panel.foot is not None and panel.holes:
        return f"{slug(panel.name)}_reach", panel.holes[0].y, f"{panel.name}: from the bend's mould line to its hole"
    return "", 0.0, ""


def _panel(panel: LaidPanel, layout: Layout) -> str:
    key = f"panels.{_text(panel.name)}" if re.search(r"[^0-9A-Za-z_-]", panel.name) else f"panels.{panel.name}"
    lines = [_about(panel), f"[{key}]"]
    lines.append(f"outline = {{ {_outline(panel)} }}")
    if panel.foot is not None:
        lines += ["", *_bend(panel, key)]
    for hole in panel.holes:
        lines += ["", *_hole(hole, panel, key)]
    return "\n".join([*lines, ""])


def _about(panel: LaidPanel) -> str:
    if not panel.holes:
        return "# Joins the panels; no bolt. The small rounds give the die a leg that is long enough."
    side = "described face" if panel.touching is Touching.FACE else "back"
    return f"# Lies with its {side} on {panel.name}."


def _outline(panel: LaidPanel) -> str:
    rounds = ", ".join(
        f"{{ at = [{number(x, HOLE_DIGITS)}, {number(y, HOLE_DIGITS)}], radius = {number(r, HOLE_DIGITS)} }}"
        for x, y, r in panel.rounds
    )
    return 'shape = "belt"' + (f", pads = [{rounds}]" if rounds else "")


def _bend(panel: LaidPanel, key: str) -> list[str]:
    foot = panel.foot
    assert foot is not None
    ends = ", ".join(f"[{number(x, LINE_DIGITS)}, {number(y, LINE_DIGITS)}]" for x, y in foot.line)
    return [
        f"[{key}.bend]",
        f"from = {_text(foot.parent)}",
        f"line = [{ends}]",
        f"turn = {number(foot.turn_deg, TURN_DIGITS)}",
        f'way = "{"up" if foot.up else "down"}"',
    ]


def _hole(hole: LaidHole, panel: LaidPanel, key: str) -> list[str]:
    seat = hole.hole
    shim = f", {seat.shim_mm:.2f} mm of washers under the bracket" if seat.shim_mm > NO_SHIM_MM else ""
    lines = [
        f"[[{key}.holes]]    # on {seat.mate}{shim}",
        f"name = {_text(seat.name)}",
        f"bolt = {_text(seat.bolt)}",
        f"at = [{_place(hole, panel)}]",
    ]
    if seat.fit is not Fit.NORMAL:
        lines.append(f'fit = "{seat.fit}"')
    if hole.slot is not None:
        length, direction = (number(v, HOLE_DIGITS) for v in hole.slot)
        lines.append(f'slot = {{ length = {length}, direction = "{direction} deg" }}')
    if hole.pad is not None:
        lines.append(f"pad = {number(hole.pad, HOLE_DIGITS)}")
    return lines


def _place(hole: LaidHole, panel: LaidPanel) -> str:
    """x and y, leaning on the panel's parameter where it has one."""
    name, value, _ = _parameter(panel)
    x, y = number(hole.x, HOLE_DIGITS), number(hole.y, HOLE_DIGITS)
    if not name:
        return f"{x}, {y}"
    if panel.foot is None:
        return f'"{name}", {y}' if hole is panel.holes[1] else f"{x}, {y}"
    off = round(hole.y, HOLE_DIGITS) - round(value, HOLE_DIGITS)
    if abs(off) < 0.5 * 10**-HOLE_DIGITS:
        return f'{x}, "{name}"'
    sign = "+" if off > 0 else "-"
    return f'{x}, "({name} {sign} {number(abs(off), HOLE_DIGITS)} mm)"'


def _site(layout: Layout, heading: Heading) -> str:
    bolts = [(f"{p.name}/{h.hole.name}", h.hole.mate) for p in layout.panels for h in p.holes]
    if len(bolts) < 2:
        return ""
    lines = ["# Where it goes: checked against the site by `make`.", "[site]", f"file = {_text(heading.site_file)}", ""]
    lines += ["[site.bolts]", *_pairs(bolts)]
    touching = [pair for p in layout.panels for pair in _touching(p)]
    if touching:
        lines += ["", "[site.touching]", *_pairs(touching)]
    holes = [(p, h.hole) for p in layout.panels for h in p.holes]
    shims = [(f"{p.name}/{h.name}", h.shim_mm) for p, h in holes if h.shim_mm > _LEAST_SHIM_MM]
    if shims:
        lines += ["", "# Washers between the bracket and the face, mm.", "[site.shims]"]
        lines += [f"{_text(name)} = {number(mm, HOLE_DIGITS)}" for name, mm in shims]
    return "\n".join([*lines, ""])


def _touching(panel: LaidPanel) -> list[tuple[str, str]]:
    """What does not touch with its back: the panel, and holes that the mate meets from the other side."""
    own = [(panel.name, "face")] if panel.touching is Touching.FACE else []
    away = "back" if panel.touching is Touching.FACE else "face"
    return own + [(f"{panel.name}/{h.hole.name}", away) for h in panel.holes if h.hole.side is SheetSide.AWAY]


def _pairs(pairs: Iterable[tuple[str, str]]) -> Sequence[str]:
    return [f"{_text(key)} = {_text(value)}" for key, value in pairs]


def _text(value: str) -> str:
    """A TOML string; JSON's escapes are TOML's too."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
