"""Text of the user's that must show as it is written, whatever signs it holds."""

from __future__ import annotations

import re


def plain(text: str) -> str:
    """Return ``text`` so that a page shows it letter by letter."""
    return re.sub(r"([\\`*_{}\[\]()#+\-.!|<>~$:&])", r"\\\1", text)
