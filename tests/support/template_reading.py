"""A printed template as somebody reads it who lays its sheets together by their crosses."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from pdf_reading import Drawn, Page, read_pages

from bracketgen.drawing.sheet import Label, Sheet
from bracketgen.files.pdf import pdf_bytes

Place = tuple[float, float]


@dataclass
class Joined:
    """All sheets of the flat in the first one's frame, mm as printed; chains and centres by what they show."""

    chains: dict[str, list[list[Place]]]
    sheets: int

    def box(self, shows: str) -> tuple[float, float, float, float]:
        points = [p for chain in self.chains[shows] for p in chain]
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        return (min(xs), min(ys), max(xs), max(ys))

    def centres(self, hole: str) -> list[Place]:
        """Where each sheet that shows both cross-hairs of a hole puts its centre."""
        return crossings(self.chains[f"centre of {hole}"])


def crossings(chains: Sequence[Sequence[Place]]) -> list[Place]:
    """x of each upright line with y of the level line that is drawn before or after it."""
    level = [c for c in chains if abs(c[0][1] - c[-1][1]) < 1e-6]
    upright = [c for c in chains if abs(c[0][0] - c[-1][0]) < 1e-6]
    assert len(level) == len(upright) == len(chains) / 2
    return [(u[0][0], lv[0][1]) for u, lv in zip(upright, level, strict=True)]


def on_paper(sheets: Sequence[Sheet], printed: tuple[float, float]) -> list[dict[str, list[list[Place]]]]:
    """What every sheet of the flat shows, as a printer of that scale brings it out; positions come from the file."""
    found = []
    for sheet, page in zip(sheets, read_pages(pdf_bytes(sheets)), strict=True):
        if any(label.shows == "sheet" and label.text.startswith("notes") for label in sheet.labels):
            continue
        marks = [m for m in sheet.marks if not isinstance(m, Label)]
        assert len(marks) == len(page.paths)
        shown: dict[str, list[list[Place]]] = defaultdict(list)
        for mark, drawn in zip(marks, page.paths, strict=True):
            shown[mark.shows] += [[(x * printed[0], y * printed[1]) for x, y in chain] for chain in drawn.chains]
        found.append(shown)
    return found


def joined(sheets: Sequence[Sheet], printed: tuple[float, float] = (1.0, 1.0)) -> Joined:
    """Every sheet moved so that the crosses of its seams lie on those of the sheets that lie already."""
    waiting = on_paper(sheets, printed)
    count = len(waiting)
    lying = [waiting.pop(0)]
    while waiting:
        known = _crosses(lying)
        sheet = next(s for s in waiting if known.keys() & _crosses([s]).keys())
        waiting.remove(sheet)
        own = _crosses([sheet])
        apart = [(known[k][0] - own[k][0], known[k][1] - own[k][1]) for k in known.keys() & own.keys()]
        # Two sheets share two crosses: they must agree about where the second sheet lies.
        assert len(apart) >= 2
        dx, dy = apart[0]
        assert all(abs(x - dx) < 0.005 and abs(y - dy) < 0.005 for x, y in apart)
        lying.append({k: [[(x + dx, y + dy) for x, y in c] for c in v] for k, v in sheet.items()})
    together: dict[str, list[list[Place]]] = defaultdict(list)
    for sheet in lying:
        for shows, chains in sheet.items():
            together[shows] += chains
    return Joined(together, count)


def _crosses(sheets: Sequence[dict[str, list[list[Place]]]]) -> dict[str, Place]:
    return {
        shows: crossings(chains)[0] for sheet in sheets for shows, chains in sheet.items() if shows.startswith("cross ")
    }


def rectangles(page: Page) -> list[Drawn]:
    """Filled upright rectangles."""
    return [d for d in page.paths if d.paint == "f" and len(d.chains) == 1 and len(set(d.chains[0])) == 4]
