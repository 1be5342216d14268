"""Sheets that are brought in through the page: tried, stored, and the register they lack."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import source
import streamlit as st

from trendwear.drafting import draft_bytes, drafted
from trendwear.readings.headings import Headings, read_headings
from trendwear.readings.loaded import LoadReport
from trendwear.readings.template import template_bytes
from trendwear.store import intake
from trendwear.what_waits import Waits, what_waits


@dataclass(frozen=True)
class Upload:
    """A file as it was handed over."""

    name: str
    content: bytes

    @property
    def mark(self) -> tuple[str, str]:
        """What tells it from any other file."""
        return self.name, hashlib.sha256(self.content).hexdigest()


@dataclass(frozen=True)
class Handed:
    """The files of one load, and the site's headings file where there is one."""

    files: tuple[Upload, ...]
    headings: Upload | None = None

    @property
    def marks(self) -> tuple[object, ...]:
        """What tells these files from any others."""
        return (*(one.mark for one in self.files), self.headings and self.headings.mark)


def preview(handed: Handed) -> LoadReport:
    """What a load of these files would do; nothing is stored."""
    return _tried(source.store_path(), source.revision(), handed.marks, handed)


def bring_in(handed: Handed) -> LoadReport:
    """Store what is good in these files."""
    with _on_disk(handed) as (paths, headings):
        return intake.load(paths, store=source.store_path(), headings=headings)


def draft_book(handed: Handed) -> bytes | None:
    """The proposed register for what waits, these files included; None where nothing lacks."""
    return _drafted(source.store_path(), source.revision(), handed.marks, handed)


def waits() -> Waits:
    """What waits in the store."""
    return _waiting(source.store_path(), source.revision())


@st.cache_data(max_entries=1, show_spinner=False)
def blank_book() -> bytes:
    """The blank workbook."""
    return template_bytes()


@contextmanager
def _on_disk(handed: Handed) -> Iterator[tuple[list[Path], Headings | None]]:
    """Put the files where they can be read, each under its own name."""
    with tempfile.TemporaryDirectory(prefix="trendwear-") as folder:
        paths = _put(Path(folder), handed.files)
        if handed.headings is None:
            yield paths, None
        else:
            (file,) = _put(Path(folder) / "headings", [handed.headings])
            yield paths, read_headings(file)


def _put(folder: Path, files: Sequence[Upload]) -> list[Path]:
    places = []
    for number, file in enumerate(files):
        own = folder / str(number)  # two files may have one name
        own.mkdir(parents=True)
        places.append(own / Path(file.name).name)
        places[-1].write_bytes(file.content)
    return places


@st.cache_resource(max_entries=4, show_spinner="Reading the sheets …")
def _tried(path: Path, stamp: str, marks: tuple[object, ...], _handed: Handed) -> LoadReport:
    with _on_disk(_handed) as (paths, headings):
        return intake.preview(paths, store=path, headings=headings)


@st.cache_resource(max_entries=4, show_spinner="Proposing a register …")
def _drafted(path: Path, stamp: str, marks: tuple[object, ...], _handed: Handed) -> bytes | None:
    with _on_disk(_handed) as (paths, headings):
        made = drafted(paths, path if path.is_file() else None, headings)
    return None if made.draft.is_empty else draft_bytes(made.draft)


@st.cache_resource(max_entries=4, show_spinner=False)
def _waiting(path: Path, stamp: str) -> Waits:
    return what_waits(path) if path.is_file() else Waits(0, 0)
