"""Sheets whose rows are counted as they are read, for whoever waits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from trendwear.progress import Progress
from trendwear.readings.header_row import Row
from trendwear.readings.tabs import Layout, Tab

__all__ = ["counted"]

_ROWS_BETWEEN = 5_000


def counted(tab: Tab, file: str, progress: Progress) -> Tab:
    """Return the same sheet; who reads its rows tells ``progress`` how many they were."""
    alone = Path(file).stem == tab.name
    about = f"reading {file}" if alone else f"reading {file}, {tab.name}"
    layouts = tuple(_Counted(layout, about, progress).layout() for layout in tab.layouts)
    return replace(tab, layouts=layouts)


class _Counted:
    """One way of parting a sheet into cells, its rows counted."""

    def __init__(self, layout: Layout, about: str, progress: Progress) -> None:
        self.plain, self.about, self.progress = layout, about, progress

    def layout(self) -> Layout:
        return replace(self.plain, rows=self.rows)

    def rows(self) -> Iterator[Row]:
        for count, row in enumerate(self.plain.rows()):
            if count and count % _ROWS_BETWEEN == 0:
                self.progress(self.about, count, 0)
            yield row
