"""The dashboard as its users meet it: a real store, a real server, a real browser."""

from __future__ import annotations

import csv
import os
import re
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pypdf
import pytest
from playwright.sync_api import Page, expect, sync_playwright

import trendwear
from trendwear.bundled import bundled_folder
from trendwear.dashboard_server import STORE_VARIABLE, dashboard_command
from trendwear.demo_plant import write_demo
from trendwear.tables import LIMIT_FORECAST

pytestmark = pytest.mark.browser

CHROMIUM = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
RING = "clearance?machine=T-101&clearance=Steam+end+carbon+ring+3&as_of=2026-11-01"


@pytest.fixture(scope="module")
def store(tmp_path_factory) -> Path:
    """The demo plant, loaded."""
    folder = tmp_path_factory.mktemp("plant")
    place = folder / "mill.duckdb"
    trendwear.load(write_demo(folder / "sheets"), store=place)
    return place


@pytest.fixture(scope="module")
def server(store, tmp_path_factory) -> Iterator[str]:
    """The dashboard's address, served from a folder that is not the project's."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    with subprocess.Popen(
        dashboard_command(bundled_folder("dashboards") / "app.py", port),
        cwd=elsewhere,
        env={**os.environ, STORE_VARIABLE: str(store)},
        stdout=subprocess.DEVNULL,
    ) as process:
        address = f"http://127.0.0.1:{port}"
        _wait_for(f"{address}/_stcore/health")
        yield address
        process.terminate()


def _wait_for(address: str) -> None:
    until = time.monotonic() + 30
    while True:
        try:
            with urllib.request.urlopen(address, timeout=1):
                return
        except (urllib.error.URLError, ConnectionError):
            if time.monotonic() > until:
                raise
            time.sleep(0.1)


@pytest.fixture(scope="module")
def browser():
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=CHROMIUM)
        yield chromium
        chromium.close()


@pytest.fixture
def page(browser, server) -> Iterator[Page]:
    """A page that fails the test if it asked anything of another computer."""
    asked: list[str] = []
    context = browser.new_context(
        base_url=f"{server}/", viewport={"width": 1440, "height": 900}, color_scheme="light"
    )
    page = context.new_page()
    page.on("request", lambda request: asked.append(request.url))
    page.on("websocket", lambda socket: asked.append(socket.url))
    yield page
    context.close()
    own = re.compile(r"^(https?|ws)://127\.0\.0\.1:\d+/|^(data|blob):")
    assert [url for url in asked if not own.match(url)] == []
    assert asked


def settled(page: Page) -> None:
    """Wait until the page has drawn all it has to."""
    app = page.get_by_test_id("stApp")
    expect(app).to_have_attribute("data-test-script-state", "notRunning", timeout=30_000)


def opened(page: Page, address: str, heading: str) -> Page:
    page.goto(address)
    expect(page.get_by_role("heading", name=heading)).to_be_visible(timeout=30_000)
    settled(page)
    return page


def test_a_row_of_the_first_page_leads_to_its_clearance_and_keeps_the_day(page):
    opened(page, "?as_of=2026-11-01", "Machines")
    expect(page.get_by_text("10 machines, 95 clearances.")).to_be_visible()
    page.get_by_test_id("stDataFrame").first.click(position={"x": 160, "y": 52})
    page.wait_for_url(re.compile(r"/clearance\?.*machine=T-102"), timeout=15_000)
    settled(page)
    assert "as_of=2026-11-01" in page.url
    expect(page.get_by_role("heading", name="T-102")).to_be_visible()


def test_a_reading_shows_where_it_came_from(page):
    opened(page, RING, "T-101, Steam end carbon ring 3")
    marks = page.locator("[data-testid=stVegaLiteChart] .mark-symbol.role-mark path")
    expect(marks.first).to_be_visible()
    labels = [mark.get_attribute("aria-label") or "" for mark in marks.all()]
    readings = [label for label in labels if "source: " in label]
    assert len(readings) == 11
    assert any("T-101.xlsx, readings, F7" in label for label in readings)
    marks.nth(labels.index(readings[0])).hover(force=True)
    tip = page.locator("#vg-tooltip-element.visible")
    expect(tip).to_contain_text("as written")


def test_words_and_tables_stand_beneath_the_chart(page):
    opened(page, RING, "T-101, Steam end carbon ring 3")
    expect(page.get_by_text("Last reading: 11.6 mil on 2025-02-11.")).to_be_visible()
    expect(page.get_by_text("A forecast is not permission to run.")).to_be_visible()
    page.get_by_role("tab", name="Work done").click()
    expect(page.get_by_test_id("stDataFrame").locator("visible=true")).to_have_count(1)


def test_unit_and_axis_are_part_of_the_address(page):
    opened(page, RING, "T-101, Steam end carbon ring 3")
    page.get_by_role("radio", name="mm", exact=True).click()
    expect(page.get_by_text("Last reading: 0.295 mm on 2025-02-11.")).to_be_visible()
    page.get_by_role("radio", name="date", exact=True).click()
    page.wait_for_url(re.compile(r"by=date"))
    opened(page, page.url, "T-101, Steam end carbon ring 3")
    expect(page.get_by_text("Last reading: 0.295 mm on 2025-02-11.")).to_be_visible()


def test_the_table_is_saved_as_csv_xlsx_and_pdf(page, tmp_path):
    opened(page, "?as_of=2026-11-01", "Machines")
    for kind in ("CSV", "XLSX", "PDF"):
        with page.expect_download() as download:
            page.get_by_role("button", name=f"Save as {kind}").click()
        assert download.value.suggested_filename == f"limit-forecast-2026-11-01.{kind.lower()}"
        download.value.save_as(tmp_path / f"table.{kind.lower()}")
    with open(tmp_path / "table.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == list(LIMIT_FORECAST)
    book = openpyxl.load_workbook(tmp_path / "table.xlsx")
    assert book["limit forecast"].max_row == 1 + len(rows) == 97
    assert "Limit forecast" in pypdf.PdfReader(tmp_path / "table.pdf").pages[0].extract_text()


def test_a_clearance_leads_to_its_family_and_a_member_of_it_back(page):
    opened(page, RING, "T-101, Steam end carbon ring 3")
    page.get_by_role("link", name="Its family side by side").click()
    page.wait_for_url(re.compile(r"/family\?.*family=mill"), timeout=15_000)
    expect(page.get_by_role("heading", name="mill drive turbine / carbon ring")).to_be_visible()
    settled(page)
    assert "as_of=2026-11-01" in page.url
    expect(page.get_by_text("Faster than their sisters: T-102")).to_be_visible()
    marks = page.locator("[data-testid=stVegaLiteChart] .mark-symbol.role-mark path")
    expect(marks.first).to_be_visible()
    box = marks.first.bounding_box()
    assert box is not None
    page.mouse.click(box["x"] - 40, box["y"] + box["height"] / 2)
    page.wait_for_url(re.compile(r"/clearance\?.*machine=T-102"), timeout=15_000)
    expect(page.get_by_role("heading", name="T-102, Exhaust end carbon ring 1")).to_be_visible()


def test_a_load_shows_on_the_next_look(page, store, tmp_path):
    opened(page, RING, "T-101, Steam end carbon ring 3")
    expect(page.get_by_text("Last reading: 11.6 mil")).to_be_visible()
    sheet = tmp_path / "readings.csv"
    sheet.write_text(
        "machine,clearance,date,run_hours,state,value,unit\n"
        "T-101,Steam end carbon ring 3,2026-10-20,94500,check,14.1,mil\n"
    )
    trendwear.load([sheet], store=store)
    page.reload()
    expect(page.get_by_text("Last reading: 14.1 mil on 2026-10-20.")).to_be_visible(timeout=30_000)


def test_the_overhaul_page_opens_on_the_first_machine_and_a_row_chooses_another(page):
    opened(page, "overhaul?as_of=2026-11-01", "Overhaul")
    expect(page.get_by_role("heading", name="T-103 is past its limit today")).to_be_visible()
    page.get_by_test_id("stDataFrame").first.click(position={"x": 90, "y": 38 + 35 * 9 + 17})
    page.wait_for_url(re.compile(r"/overhaul\?.*machine=F-401"), timeout=15_000)
    expect(page.get_by_role("heading", name="Overhaul F-401 by 20")).to_be_visible(timeout=15_000)
    assert "as_of=2026-11-01" in page.url
    marks = page.locator("[data-testid=stVegaLiteChart] .mark-symbol.role-mark path")
    expect(marks.first).to_be_visible()


def test_a_tick_on_the_overhaul_page_shows_what_follows_and_can_be_taken_back(page):
    opened(page, "overhaul?as_of=2026-11-01&machine=T-201&risk=0.1", "Overhaul")
    expect(page.get_by_text("As the plan recommends", exact=True)).to_be_visible()
    editor = page.locator(".st-key-beside_renew [data-testid=stDataFrame]")
    editor.scroll_into_view_if_needed()
    settled(page)
    editor.click(position={"x": 38, "y": 38 + 17})
    expect(page.get_by_text("Your choice")).to_be_visible(timeout=15_000)
    expect(page.get_by_text(re.compile("EXCEEDED")).first).to_be_visible()
    page.get_by_role("button", name="Back to what the plan recommends").click()
    expect(page.get_by_text("Your choice")).to_have_count(0, timeout=15_000)
    settled(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="Save as CSV").click()
    assert download.value.suggested_filename == "overhaul-plan-2026-11-01.csv"


def test_sheets_are_brought_in_through_the_page(page, store, tmp_path):
    opened(page, "bring_in", "Bring in")
    sheet = tmp_path / "methods.csv"
    sheet.write_text("method,uncertainty,unit\nfinger and thumb,5,mil\nguess,a lot,mil\n")
    page.locator("input[type=file]").first.set_input_files([sheet])
    expect(page.get_by_text("Rows: 1 new, 1 refused. Nothing is stored yet.")).to_be_visible(
        timeout=30_000
    )
    settled(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the refused rows as CSV").click()
    assert "a lot" in Path(download.value.path()).read_text(encoding="utf-8-sig")
    with page.expect_download() as download:
        page.get_by_role("button", name="Save a blank workbook to write in").click()
    download.value.save_as(tmp_path / "blank.xlsx")
    assert "readings" in openpyxl.load_workbook(tmp_path / "blank.xlsx").sheetnames
    page.get_by_role("button", name="Bring in …").click()
    page.get_by_role("button", name="Yes, bring it in").click()
    expect(page.get_by_text("Stored. Rows: 1 new, 1 refused.")).to_be_visible(timeout=30_000)
    assert trendwear.load([sheet], store=store).count_of("methods").unchanged == 1
