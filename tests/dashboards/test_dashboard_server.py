from __future__ import annotations

import sys
from pathlib import Path

from trendwear.dashboard_server import dashboard_command


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
