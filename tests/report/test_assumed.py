"""Assumed uncertainties: said once a table, and marked beside each reading they act on."""

from __future__ import annotations

import pandas as pd

from trendwear.forecasting.assumed_uncertainty import assumed_uncertainty
from trendwear.report.assumed import assumed_once, without_assumed


def points() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "position": [0, 0, 1, 1, 2, 3],
            "fitted": [True, True, True, True, True, False],
            "u_from": [
                "written resolution",
                "written resolution",
                "starting value",
                "written resolution",
                "method",
                "starting value",
            ],
            "method": [None, None, "feeler", None, "feeler", "feeler"],
        }
    )


def test_what_is_assumed_of_fitted_readings_is_said_once_a_clearance() -> None:
    assert assumed_uncertainty(points()) == {
        0: "uncertainty assumed: one step as written",
        1: "uncertainty assumed: a starting value for feeler, one step as written "
        "for 1 of 2 readings",
    }


def test_of_computed_readings_it_names_what_was_measured() -> None:
    made = points().iloc[2:3].assign(method="bore minus journal")
    assert assumed_uncertainty(made) == {
        1: "uncertainty assumed: a starting value for its bore and journal"
    }


def test_a_table_says_it_once() -> None:
    table = pd.DataFrame(
        {
            "notes": [
                "overdue: 5 h; uncertainty assumed: one step as written",
                "uncertainty assumed: a starting value for feeler",
                None,
            ]
        }
    )
    [line] = assumed_once(table)
    assert line.startswith("2 of 3 rows rest on uncertainties that are assumed")
    assert [without_assumed(notes) for notes in table["notes"].dropna()] == ["overdue: 5 h", ""]
    assert list(assumed_once(table.iloc[2:])) == []
