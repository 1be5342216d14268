from __future__ import annotations

import dataclasses
import math

import pytest
from invented_trends import family_view

from trendwear.report.family_chart import PICKED, family_chart
from trendwear.report.family_words import family_table, family_words, members_in


def rows_of(chart) -> list[dict]:
    rows = [row for rows in chart.to_dict()["datasets"].values() for row in rows if "place" in row]
    return list({row["place"]: row for row in rows}.values())


def said(view, unit="mm") -> str:
    return " ".join(family_words(view, unit))


def test_a_band_wholly_above_the_mean_is_faster():
    verdicts = list(members_in(family_view(), "mm")["verdict"])
    assert verdicts == ["faster", "as others", "as others", "as others", "no rate yet"]
    assert "Faster than its sisters: PT-101 brg 1 (0.0080)." in said(family_view())


def test_none_stands_out_where_every_band_reaches_the_mean():
    view = dataclasses.replace(family_view(), rate=0.0070)
    assert "None wears faster than its sisters beyond doubt" in said(view)


def test_rates_are_told_in_the_unit_of_the_reader():
    assert "The 5 members wear 0.0042 mm in 1000 h on average" in said(family_view())
    assert "The 5 members wear 4.2 µm in 1000 h on average" in said(family_view(), "um")
    table = family_table(family_view(), "um")
    rates = table["µm per 1000 h"]
    assert (rates.iloc[0], rates.iloc[-1]) == ("8.0 (6.8 to 9.2)", "—")


def test_a_member_without_a_rate_is_counted():
    assert "1 of them has no rate of its own yet" in said(family_view())


def test_a_family_of_one_or_without_rates_says_so():
    view = family_view()
    one = dataclasses.replace(view, members=view.members.iloc[:1])
    assert said(one) == "It has one member only: there is nothing to compare it with."
    assert list(members_in(one, "mm")["verdict"]) == ["as others"]
    none = dataclasses.replace(view, members=view.members.iloc[-1:], rate=math.nan)
    assert said(none) == "No member has two readings in one run yet: no rate can be given."
    assert family_chart(none, "mm", 40) is None


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"power": (1.3, 1.1, 1.6)}, "It wears faster and faster: wear grows with the hours to the "
                                     "power p = 1.30 (between 1.10 and 1.60;"),
        ({"power": (0.6, math.nan, math.nan)}, "fast at first, then slower: wear grows with the "
                                               "hours to the power p = 0.60 (as given;"),
        ({"hours_per_start": (1341.4, 181.0, 2683.0)}, "one start wears as much as 1,340 h of "
                                                       "running (181 h to 2,680 h)"),
    ],
)  # fmt: skip
def test_bend_and_starts_are_put_in_words(changes, words):
    assert words in said(dataclasses.replace(family_view(), **changes))
    assert "power p" not in said(family_view())
    assert "start wears" not in said(family_view())


def test_members_are_drawn_the_fastest_first_as_many_as_asked():
    rows = rows_of(family_chart(family_view(60), "mm", 40))
    assert len(rows) == 40
    rates = [row["rate"] for row in rows]
    assert rates == sorted(rates, reverse=True)
    assert rows[0]["place"] == "PT-101 · brg 1"


def test_a_click_on_a_member_picks_machine_and_clearance():
    params = family_chart(family_view(), "mm", 40).to_dict()["params"]
    assert params[0]["name"] == PICKED
    assert params[0]["select"]["fields"] == ["machine", "clearance"]
