"""The page that brings sheets in: looked at first, stored only when asked twice."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest

import trendwear
from trendwear.dashboard_server import STORE_VARIABLE
from trendwear.store.database import writer

HEAD = "machine,clearance,date,run_hours,state,value,unit\n"
GOOD = (
    HEAD + "P-1,IB brg,2020-01-01,1000,as-left,5,mil\nP-1,IB brg,2022-01-01,9000,as-found,6,mil\n"
)
BAD = HEAD + "P-1,IB brg,2020-01-01,1000,as-left,five or so,mil\n"
REGISTER = (
    "machine,clearance,kind,basis,moves,unit\nP-1,IB brg,sleeve bearing,diametral,opens,mil\n"
)


@pytest.fixture
def store(tmp_path, monkeypatch) -> Path:
    path = tmp_path / "own.duckdb"
    monkeypatch.setenv(STORE_VARIABLE, str(path))
    return path


@pytest.fixture
def page(store, app):
    app.run()
    shown = app.switch_page("bring_in.py").run()
    assert not shown.exception
    return shown


def upload(page, **files: str | bytes):
    """Hand files over; ``readings__csv`` is ``readings.csv``."""
    (field,) = [one for one in page.file_uploader if one.label.startswith("Sheets")]
    handed = [
        (name.replace("__", "."), text if isinstance(text, bytes) else text.encode(), "")
        for name, text in files.items()
    ]
    field.set_value(handed)
    page.run()
    assert not page.exception
    return page


def press(page, label):
    (button,) = [one for one in page.button if one.label == label]
    button.click()
    page.run()
    assert not page.exception
    return page


def said(page) -> str:
    kinds = (page.subheader, page.markdown, page.error, page.info, page.success, page.warning)
    return "\n".join(str(one.value).replace("\\", "") for kind in kinds for one in kind)


def test_nothing_is_stored_by_looking(page, store):
    upload(page, readings__csv=GOOD, clearances__csv=REGISTER)
    assert "Rows: 3 new. Nothing is stored yet." in said(page)
    (counts,) = (one.value for one in page.dataframe)
    assert dict(zip(counts["sheet"], counts["new"], strict=True)) == {
        "clearances": 1,
        "readings": 2,
    }
    assert not store.exists()


def test_it_asks_and_stores_then_says_what_it_did(page, store):
    upload(page, readings__csv=GOOD, clearances__csv=REGISTER)
    press(page, "Bring in …")
    assert "Store this now?" in said(page)
    assert not store.exists()
    press(page, "Yes, bring it in")
    assert "Stored. Rows: 3 new." in said(page)
    assert trendwear.load([], store=store).changed is False
    (field,) = [one for one in page.file_uploader if one.label.startswith("Sheets")]
    assert not field.value


def test_not_now_stores_nothing_and_keeps_the_files(page, store):
    upload(page, readings__csv=GOOD, clearances__csv=REGISTER)
    press(press(page, "Bring in …"), "Not now")
    assert "What would go in" in said(page)
    assert not store.exists()


def test_other_files_are_asked_about_anew(page, store):
    upload(page, readings__csv=GOOD, clearances__csv=REGISTER)
    press(page, "Bring in …")
    upload(page, readings__csv=GOOD.replace(",6,", ",7,"), clearances__csv=REGISTER)
    assert "Store this now?" not in said(page)
    assert not store.exists()


def test_the_same_files_again_change_nothing(page, store):
    for _ in range(2):
        upload(page, readings__csv=GOOD, clearances__csv=REGISTER)
        if any(button.label == "Bring in …" for button in page.button):
            press(press(page, "Bring in …"), "Yes, bring it in")
    assert "There is nothing new in these files" in said(page)
    assert "3 there already" in said(page)


def test_a_refused_row_is_quoted_with_its_place_and_reason(page):
    upload(page, readings__csv=BAD)
    assert "1 refused" in said(page)
    table = page.dataframe[0].value
    assert table["cell"].tolist() == ["row 2"]
    assert table["written"].tolist() == ["five or so"]
    assert table["write instead"].str.len().gt(0).all()


def test_the_cell_of_a_workbook_is_named(page):
    book = openpyxl.Workbook()
    book.active.title = "readings"
    for row in (HEAD.strip().split(","), ["P-1", "a", "2020-01-01", 1, "as-left", "five", "mil"]):
        book.active.append(row)
    content = io.BytesIO()
    book.save(content)
    upload(page, old__xlsx=content.getvalue())
    assert page.dataframe[0].value["cell"].tolist() == ["F2"]


@pytest.mark.parametrize(
    ("name", "content", "why"),
    [
        ("notes__docx", b"PK", "files ending in .docx are not read"),
        ("old__xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old kind of workbook"),
        ("empty__xlsx", b"", "the file is empty"),
        ("pump__csv", b"a,b\n1,2\n", "neither its name nor its headings"),
        ("readings__csv", b"\x00\xff\xfe", ""),
    ],
)
def test_odd_files_are_refused_in_words(page, store, name, content, why):
    upload(page, **{name: content})
    assert why in page.dataframe[0].value["reason"].iloc[0]
    assert "There is nothing new" in said(page) or "Bring in …" in [b.label for b in page.button]
    assert not store.exists()


def test_two_files_of_one_name_are_both_read(page):
    (field,) = [one for one in page.file_uploader if one.label.startswith("Sheets")]
    late = HEAD + "P-1,IB brg,2024-01-01,20000,as-found,7,mil\n"
    field.set_value([("readings.csv", text.encode(), "") for text in (GOOD, late)])
    page.run()
    assert "3 waiting for the register" in said(page)


def test_what_waits_comes_with_a_proposed_register(page, store):
    upload(page, readings__csv=GOOD)
    assert "Waiting for the register: 2 rows" in said(page)
    labels = [one.proto.label for one in page.get("download_button")]
    assert "Save a proposed register" in labels
    press(press(page, "Bring in …"), "Yes, bring it in")
    assert "2 waiting for the register" in said(page)
    assert "Save a proposed register" in [one.proto.label for one in page.get("download_button")]


def test_every_other_page_names_what_waits(store, app):
    trendwear.load(sheet(store.parent, GOOD), store=store)
    app.run()
    assert "2 rows wait until the register knows 1 position." in said(app)


def test_own_headings_are_read_by_a_headings_file(page):
    (field,) = [one for one in page.file_uploader if one.label.startswith("Sheets")]
    (own,) = [one for one in page.file_uploader if one.label.startswith("A headings file")]
    field.set_value([("readings.csv", GOOD.replace("clearance", "Place").encode(), "")])
    own.set_value([("own.toml", b'[headings.readings]\n"Place" = "clearance"\n', "")])
    page.run()
    assert "2 waiting for the register" in said(page)
    (own,) = [one for one in page.file_uploader if one.label.startswith("A headings file")]
    own.set_value([("own.toml", b'[headings.reading]\n"Place" = "clearance"\n', "")])
    page.run()
    assert not page.exception
    assert "'reading' is no sheet" in said(page)


def test_a_busy_store_is_told_and_nothing_is_lost(page, store, monkeypatch):
    trendwear.load(sheet(store.parent, REGISTER, "clearances"), store=store)
    upload(page, readings__csv=GOOD)
    press(page, "Bring in …")
    monkeypatch.setitem(writer.__wrapped__.__kwdefaults__, "patience_s", 0.2)
    with writer(store):
        press(page, "Yes, bring it in")
        assert len(page.error) == 1
    press(page, "Yes, bring it in")
    assert "Stored. Rows: 2 new." in said(page)


def sheet(folder: Path, text: str, name: str = "readings") -> Path:
    path = folder / f"{name}.csv"
    path.write_text(text)
    return path
