"""The demo plant's generator, and its sheets written once."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import pytest

from trendwear.demo_plant import load_plant, write_demo


@pytest.fixture(scope="session")
def plant() -> ModuleType:
    return load_plant()


@pytest.fixture(scope="session")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    return write_demo(tmp_path_factory.mktemp("demo"))
