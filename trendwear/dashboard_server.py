"""Serving the dashboard: to this computer only, and asking nothing outside it."""

from __future__ import annotations

import importlib.util
import os
import socket
import subprocess
import sys
from pathlib import Path
from typing import Final

from trendwear.bundled import bundled_folder
from trendwear.errors import UsageProblem

__all__ = ["STORE_VARIABLE", "dashboard_command", "serve"]

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


def serve(store: Path, port: int) -> int:
    """Serve the dashboard of ``store`` until it is stopped; return the server's exit code.

    Raises
    ------
    UsageProblem
        The dashboard's packages are not installed, or the port is taken.
    """
    missing = [name for name in ("streamlit", "altair") if importlib.util.find_spec(name) is None]
    if missing:
        raise UsageProblem(
            "trendwear dashboard",
            f"it needs {' and '.join(missing)}, not installed here",
            'Install them with: pip install "trendwear[dashboard]"',
        )
    _claim(port)
    command = dashboard_command(bundled_folder("dashboards") / "app.py", port)
    environment = {**os.environ, STORE_VARIABLE: str(store.resolve())}
    with subprocess.Popen(command, env=environment) as server:
        try:
            return server.wait()
        except KeyboardInterrupt:  # the server hears the same key and stops by itself
            server.wait()
            return 0


def _claim(port: int) -> None:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((_ADDRESS, port))
        except OSError as problem:
            raise UsageProblem(
                f"port {port}",
                f"it cannot be used ({problem.strerror})",
                "Stop what is using it, or choose another with --port",
            ) from problem


def dashboard_command(app: Path, port: int) -> list[str]:
    """Return the command that serves the pages of ``app`` on ``port`` of the loopback address.

    Run it with `STORE_VARIABLE` in its environment.  It needs the ``dashboard``
    extra to be installed.
    """
    return [
        sys.executable, "-P", "-m", "streamlit", "run", str(app), f"--server.port={port}", *_FLAGS,
    ]  # fmt: skip
