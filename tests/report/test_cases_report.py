"""Another case for people: tables, sentences and the chart, on a plan made by hand."""

from __future__ import annotations

import json
from dataclasses import replace

import pandas as pd
import pytest

from trendwear import tables
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.case_changes import CancelledWindow
from trendwear.planning.case_compare import COMPARED, Comparison
from trendwear.planning.case_over_time import BothOverTime
from trendwear.planning.cases import Case
from trendwear.planning.over_time import CURVE, MARKS, OverTime
from trendwear.planning.plan import SitePlan
from trendwear.planning_tables import WINDOWS
from trendwear.report.cases.chart import case_chart
from trendwear.report.cases.export import case_bytes
from trendwear.report.cases.table import CASE_HEADINGS, cases_table, moved_words, without_alike
from trendwear.report.cases.words import case_words

DAY = pd.Timestamp("2026-01-01")
FOUND, ABOVE = "latest overhaul found", "above the accepted risk today"


def row(machine: str, **other: object) -> dict[str, object]:
    """A machine for which nothing changes, but for ``other``."""
    same = {
        "latest_date": pd.Timestamp("2027-05-01"),
        "outcome": FOUND,
        "outage": "spring",
        "governed_by": "ring 90 %",
        "order_by": pd.Timestamp("2026-06-01"),
        "renew": "ring",
        "risk": 0.1,
    }
    case = {f"{name}_case": cell for name, cell in same.items()}
    chances = {"window": "spring", "chance_at_window": 0.04, "chance_at_window_case": 0.04}
    told = {"machine": machine, "as_of": DAY, "moved": False, "moved_days": 0.0}
    return told | same | case | chances | other


ROWS = [
    row(
        "A",
        moved=True,
        moved_days=-45.0,
        latest_date_case=pd.Timestamp("2027-03-17"),
        outage_case=None,
        chance_at_window_case=0.12,
    ),
    row(
        "B",
        moved=True,
        moved_days=-485.0,
        latest_date_case=DAY,
        outcome_case=ABOVE,
        chance_at_window_case=None,
        past_today_case="ring",
    ),
    row("C"),
]


def windows(**holds: bool) -> pd.DataFrame:
    rows = [
        {"machine": machine, "outage": "spring", "start": DAY, "end": DAY, "holds": held}
        for machine, held in holds.items()
    ]
    return tables.conform(pd.DataFrame(rows), WINDOWS)


@pytest.fixture
def compared() -> Comparison:
    empty = pd.DataFrame()

    def plan(**holds: bool) -> SitePlan:
        made = SitePlan.__new__(SitePlan)
        for name, part in {
            "as_of": DAY.date(),
            "accepted": accepted_for_all(0.1),
            "overhaul": empty,
            "windows": windows(**holds),
        }.items():
            object.__setattr__(made, name, part)
        return made

    return Comparison(
        case=Case("a case", (CancelledWindow("autumn"),)),
        today=plan(A=True, B=True, C=True),
        then=plan(A=False, B=True, C=True),
        told=SiteForecast.__new__(SiteForecast),
        renewed=[],
        table=tables.conform(pd.DataFrame(ROWS), COMPARED),
        remarks=("the ring is worn",),
    )


def test_side_by_side_what_is_the_same_says_so(compared: Comparison) -> None:
    table = cases_table([compared]).set_index("machine")
    assert list(table.index) == ["B", "A", "C"]  # whose date moves most first
    assert table.loc["A", "in the case"] == "2027-03-17"
    assert table.loc["A", "moves"] == "45 days earlier"
    assert table.loc["A", "window in the case"] == "—"
    assert table.loc["A", "chance by the window"] == "4 %, spring"
    assert table.loc["A", "by it in the case"] == "12 %"
    assert table.loc["B", "in the case"] == "already"
    assert table.loc["B", "moves"] == "16 months earlier"
    assert table.loc["B", "by it in the case"] == "no such window"
    assert table.loc["C", "moves"] == "nothing changes"
    assert set(table.loc["C"][[name for name in table if name.endswith("in the case")]]) == {"same"}


def test_columns_in_which_nothing_is_another_are_left_out(compared: Comparison) -> None:
    shown = without_alike(cases_table([compared]))
    assert not {"renew", "renew in the case", "order by in the case"} & set(shown)
    assert "in the case" in shown


def test_a_chance_that_leaves_out_what_is_past_already_says_so(compared: Comparison) -> None:
    rows = [ROWS[0] | {"past_today_case": "ring"}]
    other = replace(compared, table=tables.conform(pd.DataFrame(rows), COMPARED))
    assert cases_table([other])["by it in the case"].tolist() == ["12 % by the others"]


def test_at_several_risks_each_row_says_which(compared: Comparison) -> None:
    table = cases_table([compared, compared])
    assert list(table) == list(CASE_HEADINGS)
    assert len(table) == 6
    assert set(table["accepted risk"]) == {"10 %"}
    assert b"At 10 % accepted: For 2 of 3 machines" in case_bytes([compared, compared], ".md")


def test_what_it_comes_to_in_sentences(compared: Comparison) -> None:
    assert case_words(compared) == [
        "For 2 of 3 machines something changes; the latest overhaul is earlier for 2 and later "
        "for 0.",
        "Moves most: B, from 2027-05-01 to 2026-01-01 (16 months earlier).",
        "Past its limit already in the case: B (ring).",
        "Another last window: A none in time (today spring).",
        "The accepted risk no longer holds until the window of today's plan: A (spring).",
        "The ring is worn.",
    ]
    still = replace(compared, table=compared.table.iloc[2:].reset_index(drop=True))
    assert case_words(still)[0].startswith("Nothing moves")


@pytest.mark.parametrize(
    ("days", "said"),
    [(1.0, "1 day later"), (-120.0, "120 days earlier"), (121.0, "4 months later"), (None, "—")],
)
def test_moves_in_words(days: float, said: str) -> None:
    assert moved_words(float("nan") if days is None else days) == said


def test_text_that_a_spreadsheet_would_run_is_not_run(compared: Comparison) -> None:
    rows = [ROWS[0] | {"renew_case": "=1+1"}]
    other = replace(compared, table=tables.conform(pd.DataFrame(rows), COMPARED))
    assert b"'=1+1" in case_bytes([other], ".csv")


def over_time(heading: str, chance: float, latest: str | None, **other: object) -> OverTime:
    dates = pd.date_range(DAY, periods=30, freq="30D")
    curve = pd.DataFrame(
        {"heading": heading, "date": dates, "hours": [600.0 * n for n in range(30)]}
        | {"chance": [chance * n / 30 for n in range(30)]}
    )
    mark = {"heading": heading, "risk": 0.1, "sets": latest is not None, "hours": 3000.0}
    marks = pd.DataFrame([mark | {"date": pd.Timestamp(latest) if latest else pd.NaT}])
    due = pd.DataFrame(columns=["what", "due", "overdue"])
    told = {
        "machine": "A",
        "as_of": DAY,
        "until": dates[-1],
        "until_hours": 17400.0,
        "curve": tables.conform(curve, CURVE),
        "marks": tables.conform(marks, MARKS),
        "windows": windows(A=True),
        "due": due,
    }
    return OverTime(**(told | other))


def spec(both: BothOverTime) -> dict[str, object]:
    drawn: dict[str, object] = json.loads(case_chart(both).to_json())
    return drawn


def values(drawn: dict[str, object], field: str) -> set[object]:
    """Everything that stands under a field in the data of the chart."""
    sets = drawn["datasets"]
    assert isinstance(sets, dict)
    return {line[field] for rows in sets.values() for line in rows if field in line}


def test_both_curves_and_both_latest_overhauls_are_drawn() -> None:
    case = over_time("leak", 0.9, "2026-05-01")
    drawn = spec(BothOverTime(over_time("leak", 0.5, "2026-11-01"), case))
    assert values(drawn, "side") == {"today", "in the case"}
    assert {"today: 2026-11-01", "in the case: 2026-05-01", "accepted 10 %"} <= values(
        drawn, "words"
    )


def test_already_above_is_said_and_another_heading_is_named() -> None:
    both = BothOverTime(over_time("leak", 0.5, "2026-11-01"), over_time("any limit", 0.9, str(DAY)))
    words = values(spec(both), "words")
    assert "in the case: already above" in words
    assert {"accepted 10 % (leak)", "accepted in the case 10 % (any limit)"} <= words


def test_a_window_of_today_that_the_case_has_not_is_drawn_apart() -> None:
    none = tables.empty(WINDOWS)
    gone = BothOverTime(
        over_time("leak", 0.5, "2026-11-01"), over_time("leak", 0.5, "2026-11-01", windows=none)
    )
    assert "spring (today)" in values(spec(gone), "words")
    stays = over_time("leak", 0.5, "2026-11-01")
    assert "spring (today)" not in values(spec(BothOverTime(stays, stays)), "words")


def test_without_dates_it_is_drawn_by_hours_and_without_curves_not_at_all() -> None:
    by_hours = over_time("leak", 0.5, "2026-11-01", until=None)
    drawn = json.dumps(spec(BothOverTime(by_hours, over_time("leak", 0.9, None))))
    assert "running hours from now" in drawn
    nothing = over_time("leak", 0.5, None, curve=tables.empty(CURVE))
    assert case_chart(BothOverTime(nothing, nothing)) is None
