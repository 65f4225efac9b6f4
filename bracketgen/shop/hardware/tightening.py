"""How tight a bolt is pulled: a printed figure, or the reason why there is none."""

from __future__ import annotations

from dataclasses import dataclass

from bracketgen.part.stock import Stock
from bracketgen.shop.hardware.bolts import Holder, Joint
from bracketgen.standards.coating import is_soft
from bracketgen.standards.fastener import fastener
from bracketgen.standards.torque import Torque, torque_8_8


@dataclass(frozen=True, slots=True)
class Tightening:
    """A torque in N m (None = none is given) with what goes with it; `table` is set where it is a printed one."""

    nm: float | None
    words: str
    table: Torque | None = None


def tightening(joint: Joint, stock: Stock) -> Tightening:
    """The torque of a bolt: its isolator's, else a printed one where head and nut press on hard metal only."""
    rubber = joint.isolator
    if rubber is not None and rubber.torque_nm is not None:
        return Tightening(rubber.torque_nm, f"{rubber.torque_nm:g} N m, the isolator maker's as the description says")
    why = _why_none(joint, stock)
    if why:
        return Tightening(None, why)
    printed = torque_8_8(joint.size)
    if printed is None:
        return Tightening(None, "torque by the maker's figures, none is held here")
    if rubber is None and is_soft(stock.coating) and stock.coating_mm > 0:
        film = f"{stock.coating} in the grip gives way, {stock.coating_mm:g} mm on each face"
        return Tightening(printed.nm, f"{printed.nm:g} N m, only on seats masked bare: {film}", printed)
    return Tightening(printed.nm, f"{printed.nm:g} N m{' on the steel sleeve' if rubber else ''}", printed)


def _why_none(joint: Joint, stock: Stock) -> str:
    """Why no table holds for this joint; '' where one does."""
    if joint.isolator is not None and joint.isolator.is_squeezed:
        return "no torque from a table: rubber in the grip; by the isolator maker's figure, locked"
    match joint.holder:
        case Holder.BOBBIN | Holder.STUD:
            return "no torque from a table: the bobbin turns and tears; hold it, by its maker's figure"
        case Holder.RIVET_NUT:
            return "no torque from a table: by the figures on the rivet nuts' box"
        case Holder.WELDED_NUT:
            return "no torque from a table: welding softens a nut; weld nuts by their maker's figure"
        case Holder.PART:
            share = stock.thickness_mm / fastener(joint.size).diameter_mm
            return (
                f"no torque from a table: only {stock.thickness_mm:g} mm of thread in the part, {share:.2g} diameters"
            )
        case Holder.MATE:
            return "torque by the maker's figures, none is held here"
        case Holder.NUT:
            return ""
