"""What is held fast of a part and of a place: plain figures out of the reports, and how near they must come again.

The facts in tests/facts were written by the tool itself. They hold changes of the code's structure to the same
results and prove nothing about those being right. That is proven elsewhere: against handbooks and closed forms
(tests/bending, tests/standards, tests/rules), an independent kernel, reader and refolding (tests/whole,
tests/bending/test_refold.py), brute force (tests/geometry, tests/vehicle/near), and simulated readings and builds
(tests/vehicle/locate, tests/vehicle/odds).
"""

from __future__ import annotations

import gzip
import hashlib
import json
import math
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import ezdxf
import front_door
from ezdxf import bbox
from random_parts import random_part
from random_places import SITE_FILE, random_place

Facts = dict[str, Any]

FOLDER = Path(__file__).parents[1] / "facts"
SHAPES = Path(__file__).parents[2] / "shapes"
PARTS = 300
SITES = 300
#: Every so manieth place is looked at with tools, hoses, ways out and odds; the others for places and gaps.
WHOLE_PLACE = 6

#: Two reports tell the same length when they differ by less, mm (degrees, kg), and by less than this share of it. A
#: report rounds to 1e-9 mm, so that figures that are the same but for the last bit may differ by one of these.
_PART = 1.1e-9
_SHARE = 1e-12
#: Rules measure some distances on polygons, where a library's own rounding plays a part; hardware is told to 1e-6 mm.
_MEASURED = 1.1e-6
#: Places out of the adjustment, which stops when it no longer moves.
_LOCATED = 1e-5
#: Gaps come out of a search that stops at a bound. A gap told larger than it is would be the unsafe side: a bracket
#: would pass that touches. So a gap may come out 0.01 mm smaller than written, but hardly larger.
_GAP_SMALLER, _GAP_LARGER = 0.01, 1e-4
_SITE = {
    "gap_mm": _GAP_SMALLER,
    "move_mm": 0.02,
    "measured": 0.02,
    "moved_mm": 0.05,
    "least_mm": 0.05,
    "rest_mm": 0.05,
    "free_mm": 0.05,
    "free_deg": 0.05,
    "beyond_cone_mm": 0.02,
    # One tenth of a percentage point.
    "share": 0.001,
    "share_without": 0.001,
    "low": 0.002,
    "high": 0.002,
}


_BOLT = ("size", "holder", "bolts", "least_mm", "length_mm", "washers", "nuts", "torque_nm")
_WELD = ("id", "throat_mm", "leg_mm", "sides", "total_mm")


# -- out of the reports


def part_facts(report: Facts | None) -> Facts:
    if report is None:
        return {"refused": True}
    flat = report["flat"]
    keep = ("area_mm2", "cut_length_mm", "pierces", "bounds_mm", "mass_kg")
    contours = sorted([_area(c), _length(c)] for c in flat["contours"])
    words = {"formula", "source", "between_deg"}
    return {
        "stock": {k: report["stock"][k] for k in ("metal", "thickness_mm", "density_kg_m3", "process", "grain_deg")},
        "flat": {k: flat[k] for k in keep} | {"contours_area_length": contours},
        "holes": {h["id"]: {k: v for k, v in h.items() if k != "id" and v is not None} for h in report["holes"]},
        "bends": {b["id"]: {k: v for k, v in b.items() if k not in words} for b in report["bends"]},
        "frames": {p["id"]: p["frame"][:3] for p in report["panels"]},
        "findings": _findings(report["findings"]),
        "bolts": [[b[k] for k in _BOLT] for b in report["hardware"]["bolts"]],
        "welds": [[w[k] for k in _WELD] for w in report["hardware"]["welds"]],
    }


def _findings(found: list[Facts]) -> list[Facts]:
    keep = ("rule", "level", "subject", "measured", "required", "unit", "at_mm", "waived")
    told = [{k: f[k] for k in keep if f[k] is not None} for f in found]
    return sorted(told, key=lambda f: [str(f.get(k)) for k in ("rule", "level", "subject", "unit", "measured")])


def _area(chain: list[list[float]]) -> float:
    """Of a closed chain of [x, y, bulge]; the segment of an arc lies beyond its chord."""
    total = 0.0
    for (x, y, bulge), (u, v, _) in _edges(chain):
        total += (x * v - u * y) / 2
        if bulge:
            half, chord = 2 * math.atan(bulge), math.hypot(u - x, v - y)
            radius = chord / (2 * math.sin(half))
            total += radius * radius * (half - math.sin(half) * math.cos(half))
    return total


def _length(chain: list[list[float]]) -> float:
    total = 0.0
    for (x, y, bulge), (u, v, _) in _edges(chain):
        chord, half = math.hypot(u - x, v - y), 2 * math.atan(bulge)
        total += chord * half / math.sin(half) if bulge else chord
    return total


def _edges(chain: list[list[float]]) -> Iterator[tuple[list[float], list[float]]]:
    return zip(chain, chain[1:] + chain[:1], strict=True)


def located_facts(report: Facts) -> Facts:
    holes = {
        h["id"]: {k: h[k] for k in ("at_mm", "normal", "sigma_mm", "axes_mm", "axes_95_mm")} for h in report["holes"]
    }
    keep = ("residual", "sigma", "redundancy", "w", "suspect")
    told = (
        "variance_factor",
        "covariance_widened_by",
        "freedom",
        "suspect",
        "suspect_error",
        "suspect_alike",
        "mirror",
        "loose",
    )
    return {
        "holes": holes,
        "readings": [{k: r[k] for k in keep if r[k] is not None} for r in report["readings"]],
        **{k: report[k] for k in told if report[k] is not None},
    }


def place_facts(site: Facts) -> Facts:
    """Of the report's 'site'. Points of the least gap are left out: two places may be equally near."""
    told: Facts = {"pairs": _pairs(site["pairs"])}
    if "bolts" not in site:
        return told
    odds = site["odds"]
    told |= {
        k: site[k] for k in ("bodies", "tools", "removals", "growth", "drips", "frame", "carried_frame") if site[k]
    }
    told["bolts"] = {b["hole"]: {k: b[k] for k in ("mate", "off_mm", "lift_mm", "tilt_deg", "play_mm", "slot_play_mm")}
                     for b in site["bolts"]}  # fmt: skip
    told["steps"] = {s["hole"]: {k: s[k] for k in ("step_mm", "free_mpa", "square_mpa") if s[k] is not None}
                     for s in site["steps"]}  # fmt: skip
    told["joints"] = [
        {k: j[k] for k in ("travel_mm", "growth_mm", "axis", "gives_mm", "has_to_give_mm")} for j in site["joints"]
    ]
    told["hoses"] = {h["hose"]: {k: h[k] for k in ("free_mm", "rest_mm", "moved_mm", "least_mm") if h[k] is not None}
                     for h in site["hoses"]}  # fmt: skip
    if odds:
        causes = {c["cause"]: {"share_without": c["share_without"]} for c in odds["causes"]}
        told["odds"] = {k: odds[k] for k in ("share", "low", "high")} | {"causes": causes}
    for drip in told.get("drips", ()):
        del drip["at_mm"]
    return told


def _pairs(pairs: list[Facts]) -> Facts:
    told: Facts = {}
    for pair in pairs:
        name, number = f"{pair['a']} | {pair['b']}", 1
        while name in told:
            number += 1
            name = f"{pair['a']} | {pair['b']} {number}"
        needed = {k: pair[k]["mm"] for k in ("required", "heat") if pair[k] is not None}
        told[name] = {"gap_mm": pair["gap_mm"], "travel_mm": pair["travel_mm"], **needed}
        told[name] |= {} if pair["move_mm"] is None else {"move_mm": pair["move_mm"]}
    return told


# -- one case of each kind


def _mark(*texts: str) -> str:
    return hashlib.sha256("\n".join(texts).encode()).hexdigest()[:10]


def random_part_facts(seed: int) -> Facts:
    text = random_part(seed)
    return {"text": _mark(text), "part": part_facts(front_door.part_report(text, SHAPES)[0])}


def random_place_facts(seed: int) -> Facts:
    case = random_place(seed)
    facts: Facts = {"text": _mark(case.site, case.part)}
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / SITE_FILE).write_text(case.site, encoding="utf-8")
        whole = seed % WHOLE_PLACE == 0
        report, located = (front_door.part_report if whole else front_door.gaps_report)(case.part, Path(folder))
    if report is None or located is None:
        return facts | {"refused": True}
    facts["located"] = located_facts(located)
    if not whole:
        return facts | {"place": place_facts(report)}
    return facts | {"place": place_facts(report["site"]) | {"findings": _findings(report["findings"])}}


def shape_facts(name: str) -> Facts:
    """Of a file in shapes/, by its path from there: a part, a part in its place, a site, or a job."""
    path = SHAPES / name
    if name.endswith(".site.toml"):
        return {"located": located_facts(front_door.located_report(path))}
    if name.endswith(".job.toml"):
        return {"job": _job_facts(path)}
    report, located = front_door.part_report(path.read_text(encoding="utf-8"), path.parent)
    assert report is not None
    facts = {"part": part_facts(report)}
    if located is not None:
        findings = facts["part"].pop("findings")
        facts |= {"located": located_facts(located), "place": place_facts(report["site"]) | {"findings": findings}}
    return facts


def shape_names() -> list[str]:
    kinds = ("*.toml", "sites/*.toml", "jobs/*.toml")
    return sorted(p.relative_to(SHAPES).as_posix() for kind in kinds for p in SHAPES.glob(kind))


def span_facts(name: str) -> Facts:
    """Of the first bracket that `span` proposes for a site."""
    with tempfile.TemporaryDirectory() as folder:
        text = Path(folder) / "proposed.toml"
        site = Path(folder) / Path(name).name
        site.write_bytes((SHAPES / name).read_bytes())
        code = front_door.command("span", site, "--choose", "1", "--write", text, "--out", folder)
        if not text.exists():
            return {"code": code, "refused": True}
        report, _ = front_door.part_report(text.read_text(encoding="utf-8"), Path(folder))
    assert report is not None
    facts = part_facts(report)
    findings = facts.pop("findings")
    return {"code": code, "located": {"part": facts}, "place": place_facts(report["site"]) | {"findings": findings}}


def _job_facts(path: Path) -> Facts:
    """What is packed, and where every cut lies on the sheets when the parts are laid by boxes."""
    with tempfile.TemporaryDirectory() as folder:
        packed, laid = Path(folder) / "packed", Path(folder) / "laid"
        codes = [
            front_door.command("pack", path, "--out", packed),
            front_door.command("nest", path, "--boxes", "--out", laid),
        ]
        names = sorted(p.relative_to(packed).as_posix() for p in packed.rglob("*") if p.is_file())
        sheets = {p.name: _cuts(p) for p in sorted(laid.rglob("*.dxf"))}
    return {"codes": codes, "files": names, "sheets": sheets}


def _cuts(path: Path) -> list[list[float]]:
    boxes = [bbox.extents([e]) for e in ezdxf.readfile(path).modelspace()]  # type: ignore[attr-defined]
    corners = [(b.extmin.x, b.extmin.y, b.extmax.x, b.extmax.y) for b in boxes if b.has_data]
    return sorted([round(v, 6) + 0.0 for v in corner] for corner in corners)


# -- held against what was written


def differences(name: str, written: Facts, now: Facts) -> list[str]:
    """Every figure that comes out otherwise: the case, where in it, what was written, what comes out."""
    if written.get("text") != now.get("text"):
        return [f"{name}: the text of the case is another one, so the generator changed and nothing can be compared"]
    return [f"{name}: {where}: written {a!r}, now {b!r}" for where, a, b in _unlike("", written, now, "")]


def _unlike(where: str, a: Any, b: Any, section: str) -> Iterator[tuple[str, Any, Any]]:
    key = where.rpartition("/")[2].partition("[")[0]
    if isinstance(a, dict) and isinstance(b, dict):
        for k in sorted(a.keys() | b.keys()):
            if k not in a or k not in b:
                yield f"{where}/{k}", a.get(k, "nothing"), b.get(k, "nothing")
            else:
                yield from _unlike(f"{where}/{k}", a[k], b[k], section or k)
    elif isinstance(a, list) and isinstance(b, list):
        if len(a) != len(b):
            yield where, a, b
        else:
            for n, (one, other) in enumerate(zip(a, b, strict=True)):
                yield from _unlike(f"{where}[{n}]", one, other, section)
    elif isinstance(a, bool) or isinstance(b, bool) or not (isinstance(a, int | float) and isinstance(b, int | float)):
        if a != b:
            yield where, a, b
    elif not _same(key, a, b, section, where):
        yield where, a, b


def _same(key: str, a: float, b: float, section: str, where: str) -> bool:
    off = b - a
    if key == "gap_mm" and off > _GAP_LARGER:
        return False
    allowed = _PART
    if section in ("located", "job"):
        allowed = _LOCATED
    elif section == "place":
        allowed = _SITE.get(key, 0.02 if key == "at_mm" else _LOCATED)
    elif any(block in where for block in ("/findings", "/part/bolts", "/part/welds")):
        allowed = _MEASURED
    share = 1e-5 if key.endswith("_mpa") else _SHARE
    return abs(off) <= allowed + share * abs(a)


# -- on the disk


def write(name: str, cases: Facts) -> Path:
    """One file of facts: the same cases give the same bytes."""
    about = (
        "Written by the tool itself: these figures hold changes of the code's structure to the same results and prove "
        "nothing about being right. That is proven by tests against outside figures: see tests/support/facts.py."
    )
    data = json.dumps({"about": about, "cases": cases}, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    FOLDER.mkdir(exist_ok=True)
    path = FOLDER / f"{name}.json.gz"
    path.write_bytes(gzip.compress(data.encode(), 9, mtime=0))
    return path


def written(name: str) -> Facts:
    cases: Facts = json.loads(gzip.decompress((FOLDER / f"{name}.json.gz").read_bytes()))["cases"]
    return cases
