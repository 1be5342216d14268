"""Steps of long work, shown on the standard error stream while it lasts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

__all__ = ["steps_shown"]


@contextmanager
def steps_shown(what: str) -> Iterator[Callable[[int, int], None]]:
    """Yield a function that is told how many steps are done, of how many.

    What it draws vanishes when the work is done, and is not drawn where the stream is no
    terminal: what goes into a file stays free of it.
    """
    console = Console(stderr=True)
    columns = (TextColumn(what), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(
        *columns, console=console, transient=True, disable=not console.is_terminal
    ) as bar:
        task = bar.add_task(what, total=None)

        def tell(done: int, total: int) -> None:
            bar.update(task, completed=done, total=total)

        yield tell
