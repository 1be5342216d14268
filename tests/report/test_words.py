from __future__ import annotations

import math

import pandas as pd
import pytest
from invented_trends import NOTHING, table_of

from trendwear.report.words import clearance_words, events_since, headline, what_to_know


def words_of(**changes) -> str:
    return " ".join(clearance_words(table_of(changes).iloc[0], 3))


def test_the_whole_story_of_a_steady_clearance():
    story = words_of()
    assert "Last reading: 0.165 mm on 2025-04-12." in story
    assert "Limit: 0.250 mm, the largest allowed (manual, page 12). 58 % of the allowance" in story
    assert "It wears 0.0042 mm towards its limit in 1000 running hours" in story
    assert "between 0.0031 and 0.0053" in story
    assert "past its limit by 2027-06; an even chance by 2028-03; 19 in 20 by 2029-01" in story
    assert (
        "between 0.221 mm and 0.268 mm, and the chance that it is past its limit is 34 %" in story
    )
    assert "9 readings in 2 runs" in story
    assert story.endswith("This rests on 9 readings in 2 runs between resets.")


def test_too_few_readings_say_what_to_do():
    story = words_of(**NOTHING, outcome="too few readings", readings=0, segments=0, notes=None)
    assert "There is no reading since the last reset." in story
    assert "What to do: load an as-left reading" in story
    assert "nan" not in story.casefold().replace("another", "")


def test_no_limit_says_what_to_do():
    assert "write the limit and its source into the clearances sheet" in words_of(
        limit=math.nan, outcome="no limit"
    )


def test_every_note_is_a_sentence_of_its_own_and_told_once():
    notes = "limited both ways: one trend, two limits; extrapolated: 1.7 times the longest run"
    both = table_of({"notes": notes}, {"moves": "closes", "notes": notes})
    assert what_to_know(both) == [
        "Limited both ways: one trend, two limits.",
        "Extrapolated: 1.7 times the longest run.",
    ]
    assert what_to_know(table_of({"notes": None})) == []


def test_readings_to_look_at_again_are_listed_elsewhere():
    row = table_of({"notes": "look again, as-found 2022-02-23: more worn than expected; overdue"})
    assert what_to_know(row) == ["Overdue."]


def test_an_event_since_the_last_reading_is_set_apart():
    row = table_of({"notes": "steady wear only; made before this event: wet steam, 2026-02-14"})
    assert events_since(row) == ["Made before this event: wet steam, 2026-02-14."]
    assert what_to_know(row) == ["Steady wear only."]


def test_wear_within_the_error_of_measuring_is_said():
    assert "scatter as much as they move" in words_of(outcome="no measurable wear")


def test_a_gap_that_moves_away_from_its_limit_does_not_wear_towards_it():
    away = {"rate_per_1000h": -0.004, "rate_low": -0.006, "rate_high": -0.002}
    story = words_of(**away, outcome="no measurable wear", allowance_used=-29.0)
    assert "It moves 0.0040 mm away from its limit" in story
    assert "(minus: away from the limit)" in story
    assert "None of the allowance is used." in story
    assert "scatter" not in story
    row = table_of(away | {"outcome": "no measurable wear"}).iloc[0]
    assert headline(row) == "Moves away from this limit"


def test_a_limit_out_of_sight_is_said_once():
    never = {f"hours_to_limit_{share}": math.nan for share in ("p05", "p50", "p95")}
    story = words_of(**never, outcome="beyond horizon")
    assert "Even 1 chance in 20 that it is past its limit comes only after 200,000 h." in story
    assert "19 in 20" not in story


def test_hours_without_dates_say_what_to_load():
    story = words_of(date_p05=pd.NaT, date_p50=pd.NaT, date_p95=pd.NaT)
    assert "past its limit in 9,400 h; an even chance in 14,900 h" in story
    assert "Load a run_log or a duty_plan" in story


def test_one_reading_is_not_plural():
    assert "1 reading in 1 run between" in words_of(readings=1, segments=1)


def test_past_limit_now_is_a_chance_not_a_certainty():
    assert "past its limit with a chance of 71 %" in words_of(
        outcome="past limit", chance_past_now=0.71
    )


@pytest.mark.parametrize(
    ("changes", "line"),
    [
        ({}, "Past its limit: 1 chance in 20 by 2027-06, even chance by 2028-03"),
        ({"outcome": "measured past limit"}, "PAST LIMIT when last read"),
        ({"outcome": "too few readings"}, "Too few readings for a rate"),
    ],
)
def test_the_answer_in_one_line(changes, line):
    assert headline(table_of(changes).iloc[0]) == line


def test_every_outcome_has_a_story(forecast):
    for _, row in forecast.table.iterrows():
        story = clearance_words(row, 3)
        assert len(story) >= 2
        assert all(sentence.endswith(".") for sentence in story)
