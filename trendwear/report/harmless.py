"""Text that no spreadsheet program takes for a formula."""

from __future__ import annotations

from typing import Final

__all__ = ["harmless"]

_FORMULA_STARTS: Final = ("=", "+", "-", "@", "|", "\t", "\r", "＝", "＋", "－", "＠")


def harmless(text: str) -> str:
    """Return ``text``, with an apostrophe before it where a spreadsheet would calculate it.

    >>> harmless("=1+1"), harmless("ring 1")
    ("'=1+1", 'ring 1')
    """
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA_STARTS) else text
