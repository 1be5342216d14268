"""The page of past forecasts."""

from __future__ import annotations

import datetime
import json

import pytest
import source
from invented_past import invented_past


def said(app) -> str:
    kinds = (app.title, app.subheader, app.markdown, app.caption, app.info, app.error)
    return "\n".join(str(element.value) for kind in kinds for element in kind).replace("\\", "")


@pytest.fixture
def page(app, asked, monkeypatch):
    """The page, run, and the days it asked for."""
    days: list[datetime.date] = []

    def hindcast(as_of):
        days.append(as_of)
        return invented_past()

    monkeypatch.setattr(source, "hindcast", hindcast)
    app.run()
    return app.switch_page("past_forecasts.py").run(), days


def test_the_record_is_told_drawn_and_listed(page):
    app, days = page
    assert not app.exception
    assert days == [datetime.date(2026, 3, 1)]
    assert app.title[0].value == "Past forecasts"
    assert "36 of 40 readings lay inside the 90 % band" in said(app)
    assert "Of 4 plans at 10 %, 1 was late" in said(app)
    assert "4 outside their 90 % band." in said(app)
    charts = app.get("vega_lite_chart")
    assert len(charts) == 2
    assert "readings inside the band" in json.dumps(json.loads(charts[0].proto.spec))
    labels = [button.label for button in app.get("download_button")]
    assert labels == ["Save as XLSX", "Save as CSV", "Save as MD"]


def test_plans_are_listed_at_the_risk_that_is_chosen(page):
    app, _ = page
    column = "planned for, at the latest"
    assert set(app.dataframe[-1].value[column]) == {"9,000 h"}
    app.button_group(key="risk").set_value(0.20).run()
    assert not app.exception
    assert set(app.dataframe[-1].value[column]) == {"10,000 h"}


def test_the_day_is_the_readers(page):
    app, days = page
    app.date_input(key="as_of").set_value(datetime.date(2020, 5, 1)).run()
    assert days[-1] == datetime.date(2020, 5, 1)


def test_an_empty_past_says_so(app, asked, monkeypatch):
    monkeypatch.setattr(source, "hindcast", lambda _: invented_past(readings=0, closings=0))
    app.run()
    app.switch_page("past_forecasts.py").run()
    assert not app.exception
    assert "there is no past forecast to judge" in said(app)
    assert not app.get("vega_lite_chart")
