"""How far a long piece of work has come, told to whoever wants to show it."""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["Progress", "silent"]

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how much of it is done, and of how much (0: not known)."""


def silent(what: str, done: int, of: int) -> None:
    """Show nothing."""
