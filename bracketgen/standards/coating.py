"""What is put on metal, and whether it gives way under a bolt."""

from __future__ import annotations

import re
from typing import Final

#: Metal on metal stays tight; common practice, no source. Anything else counts as soft.
_METALLIC: Final = re.compile(r"zinc|galvani[sz]|nickel|chrom|\btin\b|\btinned\b|phosph", re.IGNORECASE)
_SOFT_ALL_THE_SAME: Final = re.compile(r"paint|primer|powder|lacquer|rubber|plastic", re.IGNORECASE)


def is_soft(coating: str) -> bool:
    """Whether a coating, as a person names it, is paint-like: it flows under a washer and the bolt comes loose."""
    if not coating.strip():
        return False
    return bool(_SOFT_ALL_THE_SAME.search(coating)) or not _METALLIC.search(coating)
