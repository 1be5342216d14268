"""How names and set words compare: trimmed, blanks and hyphens collapsed, case-folded.

``As Found`` is ``as-found`` and ``101.0`` is ``101``; the spelling that is kept
and shown is the one the register uses.
"""

from __future__ import annotations

import re
import unicodedata
from typing import Final

import pandas as pd

__all__ = ["fold", "fold_column"]

_GAPS: Final = re.compile(r"[\s\-_‐‑‒–—]+")
_WHOLE_NUMBER: Final = re.compile(r"(?<![\d.])(\d+)\.0+(?![\d.])")


def fold(text: str) -> str:
    """Return the form of ``text`` in which two spellings of one name are equal.

    >>> fold("  As  Found ") == fold("as-found"), fold("101.0")
    (True, '101')
    """
    plain = unicodedata.normalize("NFKC", text).strip().casefold()
    return _WHOLE_NUMBER.sub(r"\1", _GAPS.sub(" ", plain).strip())


def fold_column(column: pd.Series) -> pd.Series:
    """Fold a column of text; empty cells become None.  Each spelling is folded once."""
    spellings = {text: fold(text) for text in column.dropna().unique()}
    folded = column.map(spellings).astype("object")
    return folded.where(folded.notna(), None)
