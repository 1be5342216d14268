"""The page of overhauls, on small plants that are really planned."""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
import source

import trendwear
from trendwear.dashboard_server import STORE_VARIABLE
from trendwear.planning.around import TODAY

Rows = Sequence[Mapping[str, object]]
AS_OF = datetime.date(2020, 1, 1)


def clearance(name: str, machine: str = "M", **other: object) -> dict[str, object]:
    row: dict[str, object] = {"machine": machine, "clearance": name, "kind": "ring"}
    row |= {"basis": "diametral", "moves": "opens", "unit": "mm", "limit": 0.5, "family": name}
    row |= {"design_min": 0.1, "design_max": 0.2, "part": "ring", "part_no": "R-1"}
    return row | other


def steady(name: str, machine: str = "M", start: float = 0.2) -> list[dict[str, object]]:
    return [
        {
            "machine": machine,
            "clearance": name,
            "date": f"{2010 + number}-01-01",
            "run_hours": 8000 * number,
            "state": "as-found",
            "value": round(start + 0.035 * number, 4),
            "uncertainty": 0.005,
        }
        for number in range(5)
    ]


def plant(machines: Sequence[str] = ("M",)) -> dict[str, Rows]:
    return {
        "clearances": [
            row
            for name in machines
            for row in (
                clearance("fast", name, consequence="leak"),
                clearance("slow", name, consequence="damage"),
            )
        ],
        "readings": [
            row
            for name in machines
            for row in (*steady("fast", name), *steady("slow", name, 0.16))
        ],
        "run_log": [
            {"machine": name, "date": "2019-12-31", "run_hours": 40000} for name in machines
        ],
        "duty_plan": [
            {"machine": name, "from": "2020-01-01", "hours_per_day": 23, "spread": 0.1}
            for name in machines
        ],
        "outages": [
            {"outage": f"spring {year}", "start": f"{year}-05-01", "end": f"{year}-05-20"}
            for year in (2020, 2021, 2022)
        ],
        "parts": [{"part_no": "R-1", "part": "ring", "lead_time_days": 300, "supplier": "A"}],
        "risks": [
            {"consequence": "leak", "accepted": 0.2, "by": "engineer", "date": "2019-05-01"},
            {"consequence": "damage", "accepted": 0.1, "by": "engineer", "date": "2019-05-01"},
        ],
    }  # fmt: skip


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Callable[[dict[str, Rows]], Path]:
    """Return a function that loads sheets into a store, each plant once."""
    made: dict[str, Path] = {}

    def build(sheets: dict[str, Rows]) -> Path:
        key = json.dumps(sheets)
        if key not in made:
            folder = tmp_path_factory.mktemp("plant")
            for name, rows in sheets.items():
                pd.DataFrame(rows).to_csv(folder / f"{name}.csv", index=False)
            made[key] = folder / "plant.duckdb"
            trendwear.load([folder], store=made[key])
        return made[key]

    return build


@pytest.fixture
def page(app: Any, built: Any, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """Return a function that opens the page on a plant."""

    def opened(sheets: dict[str, Rows], **query: str) -> Any:
        monkeypatch.setenv(STORE_VARIABLE, str(built(sheets)))
        monkeypatch.setattr(source, "today", lambda: AS_OF)
        app.run()
        for name, value in query.items():
            app.query_params[name] = value
        app.switch_page("overhaul.py").run()
        assert not app.exception
        return app

    return opened


def said(app: Any) -> str:
    kinds = (app.title, app.header, app.subheader, app.markdown, app.caption, app.info)
    kinds += (app.warning, app.error)
    text = "\n".join(str(one.value) for kind in kinds for one in kind)
    return text.replace("\\", "").replace("\N{NO-BREAK SPACE}", " ")


def table_with(app: Any, column: str) -> pd.DataFrame:
    (found,) = [one.value for one in app.dataframe if column in one.value.columns]
    return found


def test_the_answer_what_sets_it_and_what_to_order(page: Any) -> None:
    app = page(plant(["M", "N"]))
    assert "Overhaul M by 20" in app.header[0].value.replace("\\", "")
    shown = said(app)
    assert "By clearances alone; cracks, trips, vibration, oil and law are not in it." in shown
    assert "leak 20 %, damage 10 % (engineer, 2019-05-01)" in shown
    for point in ("Window:", "If it slips by one window:", "What sets it:", "Renew:", "Order by:"):
        assert f"**{point}**" in shown
    assert "fast (" in shown
    assert list(table_with(app, "latest overhaul")["machine"]) == ["M", "N"]
    chart = json.dumps(json.loads(app.get("vega_lite_chart")[0].proto.spec))
    assert '["damage", "leak"]' in chart or '["leak", "damage"]' in chart
    labels = [button.label for button in app.get("download_button")]
    assert labels == ["Save as XLSX", "Save as CSV", "Save as PDF", "Save as ICS"]


def test_a_link_names_machine_and_risk_in_any_spelling(page: Any) -> None:
    app = page(plant(["M", "N"]), machine="n", risk="0.02")
    assert app.header[0].value.replace("\\", "").startswith("Overhaul N by")
    assert "2 %, for all limits of a machine together, for this look only." in said(app)
    assert app.number_input(key="percent").value == 2.0
    assert app.selectbox(key="machine").value == "N"


@pytest.mark.parametrize("risk", ["much", "nan"])
def test_a_link_with_no_risk_says_so(page: Any, risk: str) -> None:
    app = page(plant(), risk=risk)
    assert f"{risk} is no risk" in said(app)
    assert "engineer" in said(app)


def test_a_link_to_a_machine_that_is_not_there_says_so(page: Any) -> None:
    app = page(plant(), machine="X")
    assert "The register has no machine X." in said(app)
    assert "Overhaul M by" in said(app)


def test_late_parts_are_told_in_words(page: Any) -> None:
    app = page(plant(), risk="0.0001")
    assert "LATE: the order-by date of" in app.error[0].value
    parts = table_with(app, "lead time")
    assert parts["order by"].str.endswith("LATE").any()


def test_a_risk_moved_on_the_page_moves_the_date(page: Any) -> None:
    app = page(plant())
    dates = [app.header[0].value]
    for percent in (1.0, 60.0):
        app.number_input(key="percent").set_value(percent).run()
        assert not app.exception
        dates.append(app.header[0].value)
    assert dates[1] < dates[0] < dates[2]
    assert app.query_params["risk"] == "0.6"


def test_without_a_risk_the_page_shows_three_and_asks(page: Any) -> None:
    sheets = {name: rows for name, rows in plant().items() if name != "risks"}
    app = page(sheets)
    assert "Choose the risk that is accepted" in said(app)
    assert "Renew or leave" not in said(app)
    assert [name for name in table_with(app, "due").columns if "%" in name] == [
        "latest at 5 %",
        "latest at 10 %",
        "latest at 20 %",
    ]
    assert "Save as ICS" not in [button.label for button in app.get("download_button")]
    (button,) = [one for one in app.button if one.label == "Look at 10 %"]
    button.click().run()
    assert not app.exception
    assert "10 %, for all limits of a machine together" in said(app)
    assert "Renew or leave" in said(app)


@pytest.mark.parametrize("risk", ["0", "1"])
def test_risk_none_and_risk_certain(page: Any, risk: str) -> None:
    app = page(plant(), risk=risk)
    word = "above the accepted risk today" if risk == "0" else "not reached within 200,000"
    assert word in said(app)


def test_another_window_is_looked_at(page: Any) -> None:
    app = page(plant())
    choice = app.selectbox[-1]
    assert [option for option in choice.options if "today" in option]
    choice.set_value(TODAY).run()
    assert not app.exception
    assert "before spring 2020" in said(app)


def test_an_empty_store_says_what_to_load(page: Any) -> None:
    app = page({"machines": [{"machine": "M", "description": "pump"}]})
    assert "trendwear load PATH" in app.info[0].value


def changed(name: str, rows: Rows | None, machines: Sequence[str] = ("M",)) -> dict[str, Rows]:
    sheets = plant(machines)
    if rows is None:
        del sheets[name]
    else:
        sheets[name] = rows
    return sheets


def test_no_windows(page: Any) -> None:
    shown = said(page(changed("outages", None)))
    assert "load an `outages` sheet" in shown
    assert "no coming window in the outages sheet" in shown
    assert "The whole site" not in shown


def test_no_limits(page: Any) -> None:
    rows = [clearance("fast", limit=None), clearance("slow", limit=None)]
    shown = said(page(changed("clearances", rows)))
    assert "No clearance limits M" in shown
    assert "There is nothing to draw" in shown


def test_unknown_duty(page: Any) -> None:
    sheets = changed("duty_plan", None)
    del sheets["run_log"]
    sheets["readings"] = [{**row, "date": None} for row in sheets["readings"]]
    app = page(sheets)
    assert "Its duty is unknown, so there is no date" in said(app)
    assert "running hours from now" in app.get("vega_lite_chart")[0].proto.spec


def test_zero_duty(page: Any) -> None:
    rows = [{"machine": "M", "from": "2020-01-01", "hours_per_day": 0, "spread": 0.1}]
    assert "planned to run too little" in said(page(changed("duty_plan", rows)))


def test_past_its_limit_today(page: Any) -> None:
    sheets = plant()
    rows = [*steady("fast", "M", 0.4), *steady("slow", "M", 0.16)]
    shown = said(page({**sheets, "readings": rows}))
    assert "M is past its limit today: fast (as last read)." in shown
    assert "**What sets it:** fast (100 %)" in shown


def test_only_due_dates(page: Any) -> None:
    sheets = plant()
    sheets["due_dates"] = [{"machine": "M", "what": "inspection", "due": "2020-02-01"}]
    app = page(sheets)
    assert (
        app.header[0]
        .value.replace("\\", "")
        .startswith("Open M by 2020-02-01 (inspection). Its clearances alone would allow 20")
    )


def test_many_machines(page: Any) -> None:
    app = page(plant([f"M-{number}" for number in range(1, 49)]))
    names = list(table_with(app, "latest overhaul")["machine"])
    assert names == [f"M-{number}" for number in range(1, 49)]
    assert "No machine needs one of these windows." in said(app)


def test_the_site_is_placed_and_a_machine_that_does_not_fit_is_told(page: Any) -> None:
    sheets = plant(["M", "N"])
    rows = [{**row, "machines": 1} for row in sheets["outages"]]
    app = page({**sheets, "outages": rows}, risk="0.001")
    shown = said(app)
    assert "The whole site in its windows" in shown
    matrix = table_with(app, "spring 2020").set_index("machine")
    assert matrix.map(lambda cell: cell.startswith("OPENED")).sum(axis=1).max() == 1


def test_a_concession_stands_apart_and_is_told(page: Any) -> None:
    sheets = plant()
    sheets["readings"] = [*steady("fast", "M", 0.4), *steady("slow", "M", 0.16)]
    sheets["concessions"] = [
        {
            "machine": "M",
            "clearance": "fast",
            "date": "2019-12-01",
            "by": "engineer",
            "why": "no ring on the shelf",
            "until": "2020-06-30",
        }
    ]
    app = page(sheets)
    shown = said(app)
    assert "Open M by 2020-06-30 (end of the concession for fast)." in shown
    assert "run on by concession: fast (signed by engineer" in shown
    assert "without it the latest overhaul would be today" in shown
