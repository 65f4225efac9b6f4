"""Reading a DXF file as it stands, group code by group code, with no outside library.

A DXF text file is pairs of lines: a number (the group code) and a value; DXF Reference, 'Group codes in
numerical order'. Only what a flat cut file needs is given a structure; the rest is kept as plain tags.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

#: Group codes whose value is a number with a fraction; DXF Reference, 'Group code value types'.
_FLOAT_RANGES = ((10, 59), (110, 149), (210, 239), (460, 469), (1010, 1059))
FLOAT_CODES = frozenset(code for first, last in _FLOAT_RANGES for code in range(first, last + 1))

_COMMENT = 999


class GroupCodeFault(ValueError):
    """A file that can't be read as DXF; `line` is counted from 1."""

    def __init__(self, line: int, what: str) -> None:
        self.line = line
        self.what = what
        super().__init__(f"line {line}: {what}")


class Tag(NamedTuple):
    """One group code with its value; `line` is the value's, counted from 1."""

    code: int
    value: str
    line: int

    @property
    def number(self) -> float:
        """The value as a number (nan and inf included); GroupCodeFault when it is none."""
        try:
            return float(self.value)
        except ValueError:
            raise GroupCodeFault(self.line, f"'{self.value}' is not a number") from None

    @property
    def whole(self) -> int:
        """The value as a whole number; GroupCodeFault when it is none."""
        try:
            return int(self.value)
        except ValueError:
            raise GroupCodeFault(self.line, f"'{self.value}' is not a whole number") from None


@dataclass(frozen=True, slots=True)
class FileEntity:
    """One drawn thing (or table row) of a file: its kind, its layer, and its tags in file order."""

    kind: str
    layer: str
    tags: tuple[Tag, ...]
    line: int

    def number(self, code: int, default: float | None = None) -> float:
        """The first value of a group code. GroupCodeFault when it is missing and there is no default."""
        for tag in self.tags:
            if tag.code == code:
                return tag.number
        if default is None:
            raise GroupCodeFault(self.line, f"{self.kind} without group code {code}")
        return default

    def whole(self, code: int, default: int) -> int:
        """The first value of a group code for whole numbers (flags, counts, colours)."""
        return next((tag.whole for tag in self.tags if tag.code == code), default)

    def text(self, code: int) -> str:
        """The first value of a group code as it stands; '' when there is none."""
        return next((tag.value for tag in self.tags if tag.code == code), "")

    def numbers(self, code: int) -> tuple[float, ...]:
        """Every value of a group code, in file order."""
        return tuple(tag.number for tag in self.tags if tag.code == code)


@dataclass(frozen=True, slots=True)
class DxfBlock:
    """A named drawing within the file, placed by INSERT; `head` carries its base point and flags."""

    name: str
    head: FileEntity
    entities: tuple[FileEntity, ...]


@dataclass(frozen=True, slots=True, eq=False)
class GroupCodeFile:
    """A whole file: header variables, declared layers with their colours, blocks, drawn entities.

    `layer_rows` are the layer table's rows whole.
    """

    header: Mapping[str, tuple[Tag, ...]]
    layers: Mapping[str, int]
    layer_rows: Mapping[str, FileEntity]
    block_table: Mapping[str, DxfBlock]
    entities: tuple[FileEntity, ...]
    tags: tuple[Tag, ...]

    @property
    def blocks(self) -> tuple[str, ...]:
        """The blocks' names, in file order."""
        return tuple(self.block_table)

    def header_number(self, name: str, code: int) -> float | None:
        """A header variable's value under one group code; None when the file does not say."""
        for tag in self.header.get(name, ()):
            if tag.code == code:
                return tag.number
        return None

    def extents(self) -> tuple[float | None, ...]:
        """What the header says of the drawing's bounds: least x, least y, greatest x, greatest y."""
        return tuple(self.header_number(name, code) for name in ("$EXTMIN", "$EXTMAX") for code in (10, 20))


# The lint and the comparison read the same bytes one after the other.
@lru_cache(maxsize=1)
def read_group_codes(data: bytes) -> GroupCodeFile:
    """Read the bytes of a DXF text file of any version. Raises GroupCodeFault with the line.

    Sections may be missing or in any order, line ends may be any; binary DXF is refused.
    """
    tags = _tags(data)
    header: dict[str, tuple[Tag, ...]] = {}
    layer_rows: dict[str, FileEntity] = {}
    blocks: dict[str, DxfBlock] = {}
    entities: tuple[FileEntity, ...] = ()
    for name, body in _sections(tags):
        if name == "HEADER":
            header = _header(body)
        elif name == "TABLES":
            layer_rows = {row.text(2): row for row in _entities(body) if row.kind == "LAYER"}
        elif name == "BLOCKS":
            blocks = _blocks(_entities(body))
        elif name == "ENTITIES":
            entities = _entities(body)
    layers = {name: row.whole(62, 7) for name, row in layer_rows.items()}
    return GroupCodeFile(header, layers, layer_rows, blocks, entities, tags)


def _tags(data: bytes) -> tuple[Tag, ...]:
    if b"\0" in data:
        raise GroupCodeFault(1, "not a DXF text file (it holds binary data)")
    lines = _decoded(data).replace("\r\n", "\n").replace("\r", "\n").split("\n")
    while lines and not lines[-1].strip():
        lines.pop()
    if not lines:
        raise GroupCodeFault(1, "the file is empty")
    tags: list[Tag] = []
    for number in range(0, len(lines) - 1, 2):
        try:
            code = int(lines[number])
        except ValueError:
            raise GroupCodeFault(number + 1, f"'{lines[number][:40]}' where a group code is due") from None
        if code != _COMMENT:
            tags.append(Tag(code, lines[number + 1].strip(), number + 2))
    if len(lines) % 2 or tags[-1][:2] != (0, "EOF"):
        raise GroupCodeFault(len(lines), "the file ends too early (no EOF)")
    return tuple(tags)


def _decoded(data: bytes) -> str:
    """UTF-8, as from R2007 on, else the code page of western Europe: only names and texts can come out wrong."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _sections(tags: tuple[Tag, ...]) -> Iterator[tuple[str, tuple[Tag, ...]]]:
    start = -1
    for index, tag in enumerate(tags):
        if tag.code != 0:
            continue
        if tag.value == "SECTION":
            start = index
        elif tag.value == "ENDSEC" and start >= 0:
            head = tags[start + 1]
            if head.code != 2:
                raise GroupCodeFault(head.line, "a section without a name")
            yield head.value, tags[start + 2 : index]
            start = -1
    if start >= 0:
        raise GroupCodeFault(tags[start].line, "a section that does not end")


def _header(body: tuple[Tag, ...]) -> dict[str, tuple[Tag, ...]]:
    starts = [i for i, tag in enumerate(body) if tag.code == 9]
    return {body[i].value: body[i + 1 : j] for i, j in pairwise([*starts, len(body)])}


def _entities(body: tuple[Tag, ...]) -> tuple[FileEntity, ...]:
    starts = [i for i, tag in enumerate(body) if tag.code == 0]
    return tuple(_entity(body[i], body[i + 1 : j]) for i, j in pairwise([*starts, len(body)]))


def _blocks(rows: tuple[FileEntity, ...]) -> dict[str, DxfBlock]:
    found: dict[str, DxfBlock] = {}
    head: FileEntity | None = None
    inside: list[FileEntity] = []
    for row in rows:
        if row.kind == "BLOCK":
            head, inside = row, []
        elif row.kind == "ENDBLK" and head is not None:
            found[head.text(2)] = DxfBlock(head.text(2), head, tuple(inside))
            head = None
        else:
            inside.append(row)
    return found


def _entity(head: Tag, tags: tuple[Tag, ...]) -> FileEntity:
    layer = next((tag.value for tag in tags if tag.code == 8), "0")
    return FileEntity(head.value, layer, tags, head.line)
