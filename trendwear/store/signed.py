"""Who answers for a correction, and why."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import duckdb

from trendwear.errors import UsageProblem
from trendwear.store import failures
from trendwear.store.database import rehearsal, writer

__all__ = ["Signed", "correcting", "trying"]


@dataclass(frozen=True)
class Signed:
    """Who makes a correction, and why."""

    by: str
    why: str

    def __post_init__(self) -> None:
        """Refuse a correction that nobody answers for."""
        for name in ("by", "why"):
            if not getattr(self, name).strip():
                raise UsageProblem(f"--{name}", "it is blank", "A correction needs who and why.")

    @property
    def bound(self) -> dict[str, str]:
        """The two, as queries take them."""
        return {"by": self.by.strip(), "why": self.why.strip()}


@contextmanager
def correcting(store: Path | str) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a store that is there; a correction makes none."""
    if not Path(store).exists():
        raise failures.missing(Path(store))
    with writer(store) as connection:
        yield connection


@contextmanager
def trying(store: Path | str) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a store that is there, and take everything back at the end."""
    if not Path(store).exists():
        raise failures.missing(Path(store))
    with rehearsal(store) as connection:
        yield connection
