from __future__ import annotations

import socket
import sys
from pathlib import Path

import pytest

from trendwear import dashboard_server
from trendwear.dashboard_server import dashboard_command, serve
from trendwear.errors import UsageProblem


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


def test_a_taken_port_is_said_before_anything_starts(tmp_path):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(UsageProblem, match=f"port {port}"):
            serve(tmp_path / "mill.duckdb", port)


def test_missing_packages_are_named(monkeypatch, tmp_path):
    monkeypatch.setattr(dashboard_server.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(UsageProblem, match=r"trendwear\[dashboard\]"):
        serve(tmp_path / "mill.duckdb", 8600)
