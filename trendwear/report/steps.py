"""Steps of long work, shown on the standard error stream while it lasts."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from time import monotonic
from typing import Final

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, TaskID, TextColumn, TimeElapsedColumn
from rich.progress import Progress as Bar

from trendwear.progress import Progress, silent

__all__ = ["steps_shown"]

_PATIENCE_S: Final = 1.0
"""Work done sooner is not worth a bar."""


@contextmanager
def steps_shown() -> Iterator[Progress]:
    """Yield a `Progress` that draws a bar once the work has gone on for a second.

    The bar vanishes when the work is done, and is not drawn where the stream is no
    terminal: what goes into a file stays free of it.
    """
    console = Console(stderr=True)
    if not console.is_terminal:
        yield silent
        return
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
    )
    bar = Bar(*columns, console=console, transient=True)
    tasks: dict[str, TaskID] = {}
    begin = monotonic()

    def tell(what: str, done: int, of: int) -> None:
        if what not in tasks:
            for before in tasks.values():
                bar.remove_task(before)
            tasks.clear()
            tasks[what] = bar.add_task(what, total=of or None)
        bar.update(tasks[what], completed=done)
        if monotonic() - begin > _PATIENCE_S:
            bar.start()

    try:
        yield tell
    finally:
        bar.stop()
