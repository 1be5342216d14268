"""The papers that documents are made for."""

from __future__ import annotations

from enum import Enum

__all__ = ["Paper"]


class Paper(Enum):
    """A size of paper, by the name one asks for."""

    A4 = "a4"
    LETTER = "letter"
