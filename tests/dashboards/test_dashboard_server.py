from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

from trendwear.dashboard_server import dashboard_command

ROOT = Path(__file__).parents[2]


def test_the_command_serves_this_computer_only_and_reports_nothing():
    command = dashboard_command(Path("/pages/app.py"), 8600)
    assert command[0] == sys.executable
    assert "/pages/app.py" in command
    assert {
        "--server.port=8600",
        "--server.address=127.0.0.1",
        "--browser.gatherUsageStats=false",
        "--client.disableDataExport=true",
    } <= set(command)
    assert not any("0.0.0.0" in word for word in command)


def test_a_checkout_is_served_with_the_same_settings():
    settings = tomllib.loads((ROOT / ".streamlit" / "config.toml").read_text(encoding="utf-8"))
    flags = {word for word in dashboard_command(Path("app.py"), 8600) if word.startswith("--")}
    assert set(flags_of(settings)) == flags - {"--server.port=8600"}


def flags_of(settings: dict, path: str = "--") -> Iterator[str]:
    """The settings of a file as command line flags."""
    for name, value in settings.items():
        if isinstance(value, dict):
            yield from flags_of(value, f"{path}{name}.")
            continue
        for one in value if isinstance(value, list) else [value]:
            text = str(one).lower() if isinstance(one, bool) else one
            yield f"{path}{name}={text}"
