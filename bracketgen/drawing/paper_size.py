"""The papers that sheets are made for."""

from __future__ import annotations

from enum import Enum


class Paper(Enum):
    """Width and height upright, mm. Source: ISO 216 (A4, A3); ANSI/ASME Y14.1, size A (8.5 x 11 in)."""

    A4 = (210.0, 297.0)
    A3 = (297.0, 420.0)
    LETTER = (215.9, 279.4)

    @property
    def upright(self) -> tuple[float, float]:
        """Width and height, mm, the longer side standing."""
        return self.value

    @property
    def level(self) -> tuple[float, float]:
        """Width and height, mm, the longer side lying."""
        width, height = self.value
        return (height, width)

    @property
    def words(self) -> str:
        """The size in words, such as 'A4 (210 × 297 mm)'."""
        if self is Paper.LETTER:
            return "Letter (8.5 × 11 in)"
        width, height = self.value
        return f"{self.name} ({width:.0f} × {height:.0f} mm)"


#: Width and height of every picture: A4 lying.
WIDTH_MM, HEIGHT_MM = Paper.A4.level
