"""What a PDF page draws, from its operators: an own small interpreter on top of pypdf, apart from the writer.

All results are millimetres on the printed page. Source: ISO 32000-1:2008, table 51 and annex A (operators).
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from pypdf import PageObject, PdfReader
from pypdf.generic import ContentStream

#: 1 point = 1/72 in, 1 in = 25.4 mm (both exact definitions).
MM_PER_POINT = 25.4 / 72.0

Matrix = tuple[float, float, float, float, float, float]
Place = tuple[float, float]


@dataclass
class Drawn:
    """One path as painted; `paint` is 'S' or 'f'."""

    chains: list[list[Place]]
    paint: str
    width: float = 0.0
    dash: tuple[float, ...] = ()
    colour: tuple[float, ...] = ()

    @property
    def points(self) -> list[Place]:
        return [p for chain in self.chains for p in chain]

    @property
    def box(self) -> tuple[float, float, float, float]:
        xs, ys = [p[0] for p in self.points], [p[1] for p in self.points]
        return (min(xs), min(ys), max(xs), max(ys))

    @property
    def length(self) -> float:
        return sum(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for c in self.chains for a, b in pairwise(c))


@dataclass
class Written:
    """One text with the start of its base line, letter size, and direction of reading."""

    text: str
    at: Place
    size: float
    along: Place
    font: str
    #: Length of the text by the widths that the file states.
    length: float


@dataclass
class Page:
    """Everything on one page, and its size in mm."""

    width: float
    height: float
    paths: list[Drawn] = field(default_factory=list)
    texts: list[Written] = field(default_factory=list)

    @property
    def said(self) -> str:
        return "\n".join(t.text for t in self.texts)


def times(a: Matrix, b: Matrix) -> Matrix:
    """First `a`, then `b`."""
    return (
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4],
        a[4] * b[1] + a[5] * b[3] + b[5],
    )


@dataclass
class State:
    matrix: Matrix = (MM_PER_POINT, 0.0, 0.0, MM_PER_POINT, 0.0, 0.0)
    width: float = 1.0
    dash: tuple[float, ...] = ()
    stroking: tuple[float, ...] = (0.0,)
    filling: tuple[float, ...] = (0.0,)

    def copy(self) -> State:
        return State(self.matrix, self.width, self.dash, self.stroking, self.filling)

    def point(self, x: float, y: float) -> Place:
        a, b, c, d, e, f = self.matrix
        return (a * x + c * y + e, b * x + d * y + f)


@dataclass
class Font:
    """Letters and widths (in thousandths) by code of one byte."""

    name: str
    letters: dict[int, str]
    widths: dict[int, float]


def fonts_of(page: PageObject) -> dict[str, Font]:
    found = {}
    for name, ref in page["/Resources"].get_object().get("/Font", {}).items():  # type: ignore[union-attr]
        font = ref.get_object()
        assert font["/Subtype"] == "/TrueType" and "/FontFile2" in font["/FontDescriptor"].get_object()
        first, widths = int(font["/FirstChar"]), [float(w) for w in font["/Widths"]]
        found[str(name)] = Font(str(font["/BaseFont"]), letters_of(font), dict(enumerate(widths, first)))
    return found


def letters_of(font: Any) -> dict[int, str]:
    """The letter of each code, as the font's own table tells it to a program that copies text (9.10.3)."""
    lines = font["/ToUnicode"].get_object().get_data().decode().splitlines()
    start = next(i for i, line in enumerate(lines) if line.endswith("beginbfchar"))
    rows = [line.split() for line in lines[start + 1 :] if line.count("<") == 2]
    return {int(a.strip("<>"), 16): bytes.fromhex(b.strip("<>")).decode("utf-16-be") for a, b in rows}


class Interpreter:
    def __init__(self, page: PageObject) -> None:
        box = page.mediabox
        assert (float(box.left), float(box.bottom)) == (0.0, 0.0)
        assert "/UserUnit" not in page and page.get("/Rotate", 0) == 0
        self.page = Page(float(box.width) * MM_PER_POINT, float(box.height) * MM_PER_POINT)
        self.fonts = fonts_of(page)
        self.state, self.kept = State(), list[State]()
        self.chains: list[list[Place]] = []
        self.text_matrix: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
        self.font, self.size, self.begun = "", 0.0, False

    def run(self, operations: Sequence[tuple[Sequence[Any], bytes]]) -> Page:
        for operands, operator in operations:
            self.step(operator.decode(), [x if isinstance(x, (list, bytes)) else _plain(x) for x in operands])
        assert not self.kept and not self.chains, "the page ends in the middle of something"
        return self.page

    def step(self, operator: str, v: list[Any]) -> None:
        s = self.state
        match operator:
            case "q":
                self.kept.append(s.copy())
            case "Q":
                self.state = self.kept.pop()
            case "cm":
                s.matrix = times(tuple(v), s.matrix)  # type: ignore[arg-type]
            case "m":
                self.chains.append([s.point(*v)])
            case "l":
                self.chains[-1].append(s.point(*v))
            case "h":
                self.chains[-1].append(self.chains[-1][0])
            case "re":
                x, y, w, h = v
                corners = ((x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y))
                self.chains.append([s.point(*c) for c in corners])
            case "c":
                self.bezier(v)
            case "S" | "s" | "f" | "f*" | "B" | "n":
                self.paint(operator)
            case "w":
                s.width = v[0]
            case "d":
                s.dash = tuple(float(d) for d in v[0])
            case "RG" | "G":
                s.stroking = tuple(v)
            case "rg" | "g":
                s.filling = tuple(v)
            case "BT":
                self.text_matrix, self.begun = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), False
            case "Tf":
                self.font, self.size = str(v[0]), v[1]
            case "Tm":
                self.text_matrix, self.begun = tuple(v), False  # type: ignore[assignment]
            case "Tj":
                self.show(v[0])
            case "ET" | "TL" | "J" | "j" | "M" | "i" | "ri" | "gs":
                pass
            case _:
                raise AssertionError(f"operator {operator} is not known here")

    def bezier(self, v: list[float]) -> None:
        p0 = self.chains[-1][-1]
        p1, p2, p3 = (self.state.point(v[i], v[i + 1]) for i in (0, 2, 4))
        for i in range(1, 65):
            u, w = i / 64, 1 - i / 64
            share = (w**3, 3 * w * w * u, 3 * w * u * u, u**3)
            xs = sum(k * p[0] for k, p in zip(share, (p0, p1, p2, p3), strict=True))
            ys = sum(k * p[1] for k, p in zip(share, (p0, p1, p2, p3), strict=True))
            self.chains[-1].append((xs, ys))

    def paint(self, operator: str) -> None:
        s, scale = self.state, (self.state.matrix[0] ** 2 + self.state.matrix[1] ** 2) ** 0.5
        if operator == "s":
            self.chains[-1].append(self.chains[-1][0])
        dash = tuple(d * scale for d in s.dash)
        if operator in ("S", "s", "B"):
            self.page.paths.append(Drawn(self.chains, "S", s.width * scale, dash, s.stroking))
        if operator in ("f", "f*", "B"):
            self.page.paths.append(Drawn(self.chains, "f", colour=s.filling))
        self.chains = []

    def show(self, data: Any) -> None:
        """A piece of text; it goes on behind the piece before, which may have been of another font."""
        codes = data if isinstance(data, bytes) else data.original_bytes
        font = self.fonts[self.font]
        m = times(self.text_matrix, self.state.matrix)
        scale = (m[0] ** 2 + m[1] ** 2) ** 0.5
        length = sum(font.widths[c] for c in codes) / 1000.0 * self.size * scale
        text = "".join(font.letters.get(c, "\N{REPLACEMENT CHARACTER}") for c in codes)
        if self.begun:
            self.page.texts[-1].text += text
            self.page.texts[-1].length += length
            return
        along = (m[0] / scale, m[1] / scale)
        self.page.texts.append(Written(text, (m[4], m[5]), self.size * scale, along, font.name, length))
        self.begun = True


def _plain(value: Any) -> Any:
    return float(value) if isinstance(value, (int, float)) or hasattr(value, "as_numeric") else value


def read_pages(data: bytes) -> list[Page]:
    """Every page of a PDF file."""
    reader = PdfReader(io.BytesIO(data), strict=True)
    pages = []
    for page in reader.pages:
        content = page.get_contents()
        assert content is not None
        pages.append(Interpreter(page).run(ContentStream(content, reader).operations))
    return pages
