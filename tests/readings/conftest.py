"""Files for the tests of readings."""

from __future__ import annotations

from pathlib import Path

import pytest
from reading_files import Read, Write

from trendwear.readings.headings import Headings
from trendwear.readings.sheet import Incoming, read_paths


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write a text file into the folder of the test."""

    def writing(name: str, text: str) -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return writing


@pytest.fixture
def read(write: Write) -> Read:
    """Read ``readings.csv`` with this text."""

    def reading(text: str, headings: Headings | None = None) -> Incoming:
        return read_paths([write("readings.csv", text)], headings)

    return reading
