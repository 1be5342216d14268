"""The page of other cases, on a small plant's store."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
import source
from small_cases import made

from trendwear import other_cases
from trendwear.dashboard_server import STORE_VARIABLE
from trendwear.planning.case_changes import CancelledWindow, OtherDuty, OtherLimit
from trendwear.planning.cases import Case


@pytest.fixture(scope="module")
def plant(tmp_path_factory) -> Path:
    return made(tmp_path_factory.mktemp("plant"))


@pytest.fixture
def store(plant, tmp_path, monkeypatch) -> Path:
    path = tmp_path / "own.duckdb"
    path.write_bytes(plant.read_bytes())
    monkeypatch.setenv(STORE_VARIABLE, str(path))
    monkeypatch.setattr(source, "today", lambda: datetime.date(2020, 1, 1))
    return path


@pytest.fixture
def page(store, app):
    app.run()
    shown = app.switch_page("cases.py").run()
    assert not shown.exception
    return shown


def press(page, label):
    (button,) = [one for one in page.button if one.label == label]
    button.click()
    page.run()
    assert not page.exception
    return page


def said(page) -> str:
    kinds = (page.subheader, page.markdown, page.error, page.info, page.success)
    return "\n".join(str(element.value).replace("\\", "") for kind in kinds for element in kind)


def named(elements, label):
    (found,) = [one for one in elements if one.label == label]
    return found


def with_more_hours(page):
    named(page.selectbox, "Machine").select("M")
    named(page.number_input, "or: times the planned hours").set_value(1.04)
    return press(page, "Add to the case")


def test_nothing_is_shown_or_stored_before_something_is_supposed(page, store):
    assert not page.dataframe
    assert other_cases.kept_cases(store) == []


def test_a_change_is_shown_beside_todays_plan_at_once(page, store):
    with_more_hours(page)
    assert "M runs 1.04 times its planned hours from today on" in said(page)
    assert "For 1 of 2 machines something changes" in said(page)
    (table,) = (one.value for one in page.dataframe)
    assert table["machine"].tolist() == ["M", "N"]
    assert table["moves"].tolist()[1] == "nothing changes"
    assert page.get("vega_lite_chart")
    assert other_cases.kept_cases(store) == []


def test_several_changes_add_up_and_each_can_be_taken_out(page):
    with_more_hours(page)
    named(page.segmented_control, "What is otherwise?").set_value("A limit").run()
    limits = named(page.selectbox, "Clearance and its limit today")
    limits.select("N / only: 0.5 mm")
    named(page.number_input, "Limit").set_value(0.4)
    press(page, "Add to the case")
    assert "Limit of N / only is 0.4 mm" in said(page)
    assert "For 2 of 2 machines something changes" in said(page)
    first = next(one for one in page.button if one.label == "Take out")
    first.click()
    page.run()
    assert "M runs 1.04" not in said(page)
    assert "Limit of N / only is 0.4 mm" in said(page)


def test_a_change_that_means_nothing_is_refused_and_what_was_supposed_stays(page):
    with_more_hours(page)
    with_more_hours(page)
    assert "two changes of one thing" in said(page)
    named(page.number_input, "or: times the planned hours").set_value(2.0)
    press(page, "Add to the case")
    assert "M would run 46 h a day" in said(page)
    named(page.number_input, "or: times the planned hours").set_value(None)
    press(page, "Add to the case")
    assert "neither is given" in said(page)
    assert "M runs 1.04 times its planned hours" in said(page)


def test_windows_renewals_and_risks(page):
    named(page.segmented_control, "What is otherwise?").set_value("A window").run()
    page.segmented_control(key="window change").set_value("cancelled").run()
    named(page.selectbox, "Window").select("spring 2022")
    press(page, "Add to the case")
    assert "Another last window: M spring 2021 (today spring 2022)" in said(page)
    page.segmented_control(key="window change").set_value("new").run()
    named(page.text_input, "Name of the window").input("autumn")
    named(page.date_input, "Starts").set_value(datetime.date(2022, 9, 1))
    named(page.date_input, "Ends").set_value(datetime.date(2022, 8, 1))
    press(page, "Add to the case")
    assert "before it starts" in said(page)
    named(page.segmented_control, "What is otherwise?").set_value("An accepted risk").run()
    named(page.selectbox, "Of").select("leak")
    named(page.number_input, "Accepted risk, %").set_value(1.0)
    press(page, "Add to the case")
    assert "Accepted risk of leak is 1 %" in said(page)
    named(page.segmented_control, "What is otherwise?").set_value("A renewal").run()
    named(page.selectbox, "Clearance").select("M / fast")
    press(page, "Add to the case")
    assert "renewal: a day or a window: neither is given" in said(page)


def keep(page, name, by):
    named(page.text_input, "Name of the case").input(name)
    named(page.text_input, "Kept by").input(by)
    return press(page, "Keep by name")


def test_kept_by_name_only_when_asked_and_deleted_only_by_its_name(page, store):
    with_more_hours(page)
    keep(page, "busy", "")
    assert other_cases.kept_cases(store) == []
    assert "it is blank" in said(page)
    keep(page, "busy", "Ann")
    (kept,) = other_cases.kept_cases(store)
    assert (kept.name, kept.by) == ("busy", "Ann")
    assert "Case busy is kept" in said(page)
    named(page.text_input, "Write its name again").input("bus")
    named(page.text_input, "Deleted by").input("Ann")
    press(page, "Delete")
    assert len(other_cases.kept_cases(store)) == 1
    named(page.text_input, "Write its name again").input("Busy")
    press(page, "Delete")
    assert other_cases.kept_cases(store) == []
    assert "M runs 1.04 times" in said(page)  # what is on the page is not lost with it


def test_a_kept_case_is_opened_and_worked_out_anew(store, app):
    other_cases.keep_case(store, Case("busy", (OtherDuty("M", factor=1.04),)), "Ann")
    app.run()
    page = app.switch_page("cases.py").run()
    choice = named(page.selectbox, "Kept cases")
    choice.select_index(0)
    page.run()
    press(page, "Open")
    assert "busy" in said(page)
    assert "For 1 of 2 machines something changes" in said(page)
    press(page, "Begin afresh")
    assert not page.dataframe


def test_opening_another_says_that_what_is_not_kept_is_dropped(store, page):
    with_more_hours(page)
    labels = {button.label for button in page.button}
    assert {"Open, drop this case", "Begin afresh, drop this case"} <= labels


def test_a_kept_case_that_no_longer_fits_says_what_is_gone(store, app):
    gone = Case("old", (CancelledWindow("spring 2019"), OtherLimit("M", "fast", 0.4)))
    other_cases.keep_case(store, gone, "Ann")
    app.run()
    page = app.switch_page("cases.py").run()
    named(page.selectbox, "Kept cases").select_index(0)
    page.run()
    press(page, "Open")
    assert "window spring 2019: there is no such window" in said(page)
    assert not page.dataframe
    [one for one in page.button if one.label == "Take out"][1].click()  # limits come first
    page.run()
    assert page.dataframe[0].value["machine"].tolist() == ["M", "N"]
