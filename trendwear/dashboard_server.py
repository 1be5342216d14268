"""Serving the dashboard: to this computer only, and asking nothing outside it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final

__all__ = ["STORE_VARIABLE", "dashboard_command"]

STORE_VARIABLE: Final = "TRENDWEAR_STORE"
"""The environment variable by which the pages learn where the store is."""

_ADDRESS: Final = "127.0.0.1"
_FLAGS: Final = (
    f"--server.address={_ADDRESS}",
    f"--server.allowedHosts={_ADDRESS}",
    "--server.allowedHosts=localhost",
    "--server.headless=true",
    "--server.fileWatcherType=none",
    "--browser.gatherUsageStats=false",
    "--client.toolbarMode=viewer",
    "--client.showErrorDetails=type",
    # The table's own export would let text become a formula; ours does not.
    "--client.disableDataExport=true",
    "--theme.light.primaryColor=#0072B2",
    "--theme.dark.primaryColor=#56B4E9",
    "--theme.baseRadius=small",
    "--theme.paddingTop=0.5rem",
    "--theme.headingFontSizes=1.4rem",
)


def dashboard_command(app: Path, port: int) -> list[str]:
    """Return the command that serves the pages of ``app`` on ``port`` of the loopback address.

    Run it with `STORE_VARIABLE` in its environment.  It needs the ``dashboard``
    extra to be installed.
    """
    return [
        sys.executable, "-P", "-m", "streamlit", "run", str(app), f"--server.port={port}", *_FLAGS,
    ]  # fmt: skip
