"""The wheel works where it is installed: in an environment of its own, away from the checkout."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.request
import venv
from pathlib import Path

import pypdf
import pytest

ROOT = Path(__file__).parents[1]
SURROUNDINGS = {
    name: value
    for name, value in os.environ.items()
    if not name.startswith(("PYTHON", "TRENDWEAR"))
}


def run(*command: str | Path, folder: Path) -> str:
    done = subprocess.run(
        [str(part) for part in command],
        cwd=folder,
        env=SURROUNDINGS,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def elsewhere(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with an environment in which the wheel, and nothing else of ours, is installed."""
    folder = tmp_path_factory.mktemp("elsewhere")
    pip = (sys.executable, "-m", "pip", "--disable-pip-version-check", "--quiet")
    run(*pip, "wheel", "--no-deps", "--wheel-dir", folder, ROOT, folder=folder)
    (wheel,) = folder.glob("trendwear-*.whl")
    venv.create(folder / "env", with_pip=True)
    python = folder / "env" / "bin" / "python"
    pins = ROOT / ".ci" / "constraints.txt"
    install = ("install", "--quiet", "--disable-pip-version-check", "--constraint", pins)
    run(python, "-m", "pip", *install, f"{wheel}[dashboard]", folder=folder)
    return folder


@pytest.mark.install
def test_the_verbs_work_from_the_wheel(elsewhere: Path) -> None:
    command = elsewhere / "env" / "bin" / "trendwear"
    run(command, "demo", "mill", folder=elsewhere)
    loaded = run(command, "load", "mill/mill", "mill/T-101.xlsx", folder=elsewhere)
    assert "readings" in loaded
    told = run(command, "forecast", "--as-of", "2026-11-01", folder=elsewhere)
    assert "T-102" in told
    run(command, "forecast", "--as-of", "2026-11-01", "--out", "table.xlsx", folder=elsewhere)
    assert (elsewhere / "table.xlsx").stat().st_size > 10_000


@pytest.mark.install
def test_documents_find_their_templates_and_fonts_in_the_wheel(elsewhere: Path) -> None:
    command = elsewhere / "env" / "bin" / "trendwear"
    store = ("--store", elsewhere / "documents.duckdb")
    run(command, "demo", "documents", folder=elsewhere)
    run(command, "load", "documents/mill", *store, folder=elsewhere)
    day = ("--as-of", "2026-11-01")
    run(command, "forecast", *store, *day, "--out", "table.pdf", folder=elsewhere)
    run(command, "plan", *store, *day, "--risk", "0.1", "--out", "plan.pdf", folder=elsewhere)
    for name, title in (("table.pdf", "Limit forecast"), ("plan.pdf", "Overhaul plan")):
        pages = pypdf.PdfReader(elsewhere / name).pages
        assert title in pages[0].extract_text()
        fonts = pages[0]["/Resources"]["/Font"].values()
        assert all("DejaVuSans" in font.get_object()["/BaseFont"] for font in fonts)


@pytest.mark.install
def test_the_dashboard_is_served_from_the_wheel(elsewhere: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [elsewhere / "env" / "bin" / "trendwear", "dashboard", "--port", str(port)]
    with subprocess.Popen(
        command, cwd=elsewhere, env=SURROUNDINGS, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    ) as server:
        try:
            assert _healthy(port, server), server.stderr and server.stderr.read()
        finally:
            server.terminate()
            server.wait(10)
    with socket.socket() as probe:
        assert probe.connect_ex(("127.0.0.1", port)) != 0, "a server was left running"


def _healthy(port: int, server: subprocess.Popen[bytes]) -> bool:
    end = time.monotonic() + 60
    while time.monotonic() < end and server.poll() is None:
        try:
            with urllib.request.urlopen(
                f"http://127.0.0.1:{port}/_stcore/health", timeout=2
            ) as page:
                return page.read() == b"ok"
        except OSError:
            time.sleep(0.2)
    return False
