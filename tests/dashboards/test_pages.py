from __future__ import annotations

import dataclasses
import datetime
import json

import pytest
import source
from invented_trends import every_outcome, steady_trend

from trendwear.errors import StoreBusy, StoreMissing
from trendwear.report.cautions import SHORT_CAUTION


def said(app) -> str:
    kinds = (app.title, app.subheader, app.markdown, app.caption, app.info, app.error, app.warning)
    return "\n".join(str(element.value) for kind in kinds for element in kind)


def clearance_page(app, **query):
    for name, value in query.items():
        app.query_params[name] = value
    return app.switch_page("clearance.py").run()


def test_the_first_page_shows_every_clearance_and_who_comes_first(app, asked):
    app.run()
    assert not app.exception
    governing, everything = (table.value for table in app.dataframe)
    assert list(governing["machine"]) == ["PT-101", "PT-102", "PT-104"]
    assert len(everything) == len(every_outcome().table)
    assert everything["position"].iloc[0] == "gland ring 3"
    assert "4 machines, 9 clearances." in said(app)
    assert "PT\\-103" in said(app)
    assert SHORT_CAUTION in said(app)


def test_the_table_is_narrowed_by_machine_kind_and_answer(app, asked):
    app.run()
    app.multiselect(key="kinds").select("carbon ring").run()
    app.multiselect(key="outcomes").select("past limit").run()
    assert list(app.dataframe[1].value["position"]) == ["gland ring 4"]
    assert not app.exception


def test_the_table_can_be_saved_as_shown(app, asked):
    app.run()
    labels = [button.label for button in app.get("download_button")]
    assert labels == ["Save as XLSX", "Save as CSV", "Save as PDF"]


def test_day_and_interval_are_asked_of_the_source(app, asked):
    app.run()
    assert asked[-1] == (datetime.date(2026, 3, 1), None)
    app.date_input(key="as_of").set_value(datetime.date(2025, 1, 31)).run()
    app.number_input(key="horizon_hours").set_value(16000.0).run()
    assert asked[-1] == (datetime.date(2025, 1, 31), 16000.0)


def test_a_link_leads_straight_to_a_clearance(app, asked):
    clearance_page(app, machine="PT-101", clearance="brg 2")
    assert not app.exception
    assert asked[-1] == (("PT-101", "brg 2"), datetime.date(2026, 3, 1), None)
    assert "Past its limit: 1 chance in 20 by 2027" in said(app).replace("\\", "")
    assert "Last reading: 0.165 mm on 2025-04-12." in said(app).replace("\\", "")
    assert len(app.get("vega_lite_chart")) == 1
    readings = app.dataframe[1].value
    assert readings["as written"].iloc[0] == '0.0065"'
    assert readings["source"].iloc[0] == "openings.xlsx, sheet readings, row 10"


def test_what_else_must_be_known_is_listed_one_by_one(app, asked):
    clearance_page(app, machine="PT-101", clearance="brg 2")
    headings = [heading.value for heading in app.subheader]
    assert headings == ["What to know", "Look again", "Whose readings the rate rests on"]
    shown = said(app).replace("\\", "")
    assert "- Steady wear only: an upset is not in this band." in shown
    assert '- 2025-02-24, as-left, 0.158 mm (written 0.0062"): fell by 0.003' in shown
    assert "About two thirds (66 %) of this rate comes from the readings of this sleeve" in shown
    assert list(app.dataframe[0].value["share of the rate"]) == ["66 %", "12 %", "22 %"]


def test_an_event_since_the_last_reading_is_a_warning(app, asked, monkeypatch):
    trend = steady_trend()
    row = trend.forecast.assign(notes="made before this event: wet steam, 2026-02-14")
    after = dataclasses.replace(trend, forecast=row)
    monkeypatch.setattr(source, "clearance_trend", lambda *_: after)
    clearance_page(app, machine="PT-101", clearance="brg 2")
    assert "Made before this event: wet steam" in app.warning[0].value.replace("\\", "")
    assert "What to know" not in [heading.value for heading in app.subheader]


def family_page(app, **query):
    for name, value in query.items():
        app.query_params[name] = value
    return app.switch_page("family.py").run()


def test_a_family_is_shown_side_by_side(app, asked):
    family_page(app, family="Pump turbine  sleeve-bearing", unit="µm")
    assert not app.exception
    assert asked[-1][0] == "pump turbine sleeve bearing"
    assert "Faster than its sisters: PT-101 brg 1 (8.0)" in said(app).replace("\\", "")
    assert list(app.dataframe[0].value["wears"]) == ["faster", *["as others"] * 3, "no rate yet"]
    chart = json.loads(app.get("vega_lite_chart")[0].proto.spec)
    assert "µm per 1000 h" in json.dumps(chart, ensure_ascii=False)


def test_a_family_s_parts_are_told_by_supplier(app, asked):
    family_page(app, family="pump turbine sleeve bearing", unit="µm")
    assert "Life by supplier" in [heading.value for heading in app.subheader]
    assert "S-1 from B wears 8.0 (6.0 to 10.0) µm in 1000 h" in said(app).replace("\\", "")
    assert list(app.dataframe[1].value["supplier"]) == ["A", "B", "C"]


def test_a_clearance_names_the_part_in_it(app, asked):
    clearance_page(app, machine="PT-101", clearance="brg 2")
    told = said(app).replace("\\", "")
    assert "- In it: S-1, serial 77, from A, since 2013-10-22 (renewed)" in told
    assert "- It runs against serial R-2, since 2016-07-18 (exchanged)." in told
    assert "77" in list(app.dataframe[3].value["serial"])


def test_of_a_large_family_the_fastest_are_drawn_and_all_listed(app, asked):
    family_page(app, family="pump turbine land")
    assert len(app.dataframe[0].value) == 60
    options = next(control for control in app.button_group if control.label == "Members").options
    assert [getattr(option, "content", option) for option in options] == [
        "the fastest 40",
        "all 60",
    ]


def test_without_a_family_the_page_asks_for_one(app, asked):
    family_page(app)
    assert not app.exception
    assert "Choose a family" in said(app)


def test_a_page_come_back_to_shows_what_it_showed(app, asked):
    family_page(app, family="pump turbine land")
    del app.query_params["family"]
    app.switch_page("machines.py").run()
    app.switch_page("family.py").run()
    assert "pump turbine land" in [choice.value for choice in app.selectbox]


def test_the_unit_is_the_readers(app, asked):
    clearance_page(app, machine="PT-101", clearance="brg 2", unit="mil")
    assert "Last reading: 6.50 mil" in said(app).replace("\\", "")
    chart = json.loads(app.get("vega_lite_chart")[0].proto.spec)
    assert "diametral clearance, mil" in json.dumps(chart)


@pytest.mark.parametrize(("by", "missing"), [("hours", True), ("date", False)])
def test_readings_that_cannot_be_drawn_are_counted(app, asked, by, missing):
    clearance_page(app, machine="PT-101", clearance="brg 2", by=by)
    assert ("1 reading without known running hours" in said(app)) == missing


def test_a_position_nobody_has_read_says_what_to_do(app, asked):
    clearance_page(app, machine="PT-103", clearance="land 1")
    assert not app.exception
    assert "What to do: load an as-left reading" in said(app).replace("\\", "")
    assert "Readings: none in the store." in said(app)


def test_without_a_choice_the_page_asks_for_one(app, asked):
    clearance_page(app)
    assert not app.exception
    assert "Choose a machine and one of its clearances." in said(app)


def test_a_link_to_a_machine_that_is_not_there_says_so(app, asked):
    clearance_page(app, machine="PT-999", clearance="brg 2")
    assert not app.exception
    assert "The register has no machine PT-999." in said(app).replace("\\", "")


def test_a_link_may_spell_a_name_as_the_sheets_do(app, asked):
    clearance_page(app, machine="pt 101", clearance="BRG  2")
    assert asked[-1][0] == ("PT-101", "brg 2")


def test_a_store_that_is_not_there_says_what_to_do(app, asked, monkeypatch):
    def missing(as_of, horizon_hours):
        raise StoreMissing("plant.duckdb", "there is no store", "Load a workbook first")

    monkeypatch.setattr(source, "limit_forecast", missing)
    app.run()
    assert not app.exception
    assert "there is no store" in app.error[0].value
    assert "Load a workbook first" in app.info[0].value


def test_a_busy_store_can_be_tried_again(app, asked, monkeypatch):
    def busy(as_of, horizon_hours):
        raise StoreBusy("plant.duckdb", "another load is writing to it", "Try again in a moment")

    monkeypatch.setattr(source, "limit_forecast", busy)
    app.run()
    assert app.button[0].label == "Try again"
    monkeypatch.setattr(source, "limit_forecast", lambda *_: every_outcome())
    app.button[0].click().run()
    assert not app.error
    assert app.dataframe


def test_an_empty_store_says_what_to_load(app, asked, monkeypatch):
    full = every_outcome()
    empty = dataclasses.replace(full, table=full.table.iloc[:0], decimals=full.decimals.iloc[:0])
    monkeypatch.setattr(source, "limit_forecast", lambda *_: empty)
    app.run()
    assert not app.exception
    assert "trendwear load PATH" in app.info[0].value
    assert not app.dataframe


def test_the_sheet_for_the_bench_is_offered(app, asked):
    page = clearance_page(app, machine="PT-101", clearance="gland ring 3")
    assert not page.exception
    labels = [button.label for button in page.get("download_button")]
    assert labels == ["Sheet for the bench (PDF)"]
