"""Steps of long work, shown on the standard error stream while it lasts."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeRemainingColumn
from rich.progress import Progress as Bar

from trendwear.progress import Progress

__all__ = ["steps_shown"]


@contextmanager
def steps_shown() -> Iterator[Progress]:
    """Yield a `Progress` that draws a bar.

    The bar vanishes when the work is done, and is not drawn where the stream is no
    terminal: what goes into a file stays free of it.
    """
    console = Console(stderr=True)
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
    )
    with Bar(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("", total=None)

        def tell(what: str, done: int, of: int) -> None:
            bar.update(task, description=what, completed=done, total=of)

        yield tell
