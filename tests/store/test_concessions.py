"""Concessions as they come in, what is refused of them, and what comes out of the store."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from trendwear import tables
from trendwear.planning_tables import CONCESSIONS
from trendwear.readings.loaded import LoadReport
from trendwear.store.database import reader
from trendwear.store.history_record import record

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]
REGISTER = (
    "machine,clearance,kind,basis,moves,unit,limit\n"
    "T-1,ring 1,seal ring,diametral,opens,mil,20\n"
    "T-1,ring 2,seal ring,diametral,opens,mil,20\n"
)
HEAD = "machine,clearance,date,by,why,until,accepted_limit,unit\n"


def told(stored: Stored) -> pd.DataFrame:
    return stored("planning_sheets").concessions


def test_what_was_signed_comes_out(take: Take, stored: Stored) -> None:
    report = take(
        clearances=REGISTER,
        concessions=HEAD
        + "t 1,Ring-1,2026-03-01,A. Signer,parts late,2027-05,22,\n"
        + 'T-1,ring 2,2026-03-02,A. Signer,"leak is small",,0.6 mm,\n',
    )
    assert report.clean, report.faults.to_string()
    rows = told(stored)
    tables.check(rows, CONCESSIONS)
    assert rows["machine"].tolist() == ["T-1", "T-1"]
    assert rows["clearance"].tolist() == ["ring 1", "ring 2"]
    assert rows["accepted_limit_mm"].tolist() == pytest.approx([22 * 0.0254, 0.6])
    # A month means its last day.
    assert rows["until"].tolist()[0] == pd.Timestamp("2027-05-31")
    assert pd.isna(rows["until"].tolist()[1])
    again = take(clearances=REGISTER)
    assert not again.changed


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        ("T-1,ring 1,2026-03-01,,parts late,,,", "by", ""),
        ("T-1,ring 1,2026-03-01,A. Signer,,,,", "why", ""),
        ("T-1,ring 1,,A. Signer,parts late,,,", "date", ""),
        ("T-1,ring 1,2026-03-01,A. Signer,late,2026-02-01,,", "until", "before it was signed"),
        ("T-1,ring 1,2026-03-01,A. Signer,late,,0,", "accepted_limit", "above 0"),
    ],
)
def test_what_is_not_signed_or_means_nothing_is_refused(
    take: Take, stored: Stored, row: str, column: str, says: str
) -> None:
    report = take(clearances=REGISTER, concessions=HEAD + row)
    assert report.faults["column"].tolist() == [column]
    assert says in report.faults["reason"][0]
    assert told(stored).empty


def test_one_of_an_unknown_clearance_waits_for_the_register(take: Take, stored: Stored) -> None:
    rows = HEAD + "T-1,ring 9,2026-03-01,A. Signer,parts late,,,\n"
    report = take(clearances=REGISTER, concessions=rows)
    assert report.waiting["clearance"].tolist() == ["ring 9"]
    assert told(stored).empty
    take(clearances=REGISTER + "T-1,ring 9,seal ring,diametral,opens,mil,20\n")
    assert told(stored)["clearance"].tolist() == ["ring 9"]


def test_a_spelling_of_old_sheets_is_that_position(take: Take, stored: Stored) -> None:
    report = take(
        clearances=REGISTER,
        names="machine,as_written,clearance\nT-1,carbon A,ring 1\n",
        concessions=HEAD + "T-1,Carbon A,2026-03-01,A. Signer,parts late,,,\n",
    )
    assert report.clean, report.faults.to_string()
    assert told(stored)["clearance"].tolist() == ["ring 1"]


def test_a_changed_one_replaces_the_old_which_stays_in_the_record(
    take: Take, stored: Stored, store: Path
) -> None:
    for until in ("2027-01-31", "2027-03-31"):
        take(
            clearances=REGISTER,
            concessions=HEAD + f"T-1,ring 1,2026-03-01,A. Signer,parts late,{until},22,\n",
        )
    assert told(stored)["until"].tolist() == [pd.Timestamp("2027-03-31")]
    with reader(store) as connection:
        kept = record(connection, "t 1", "RING 1").query("kind == 'concession'")
    assert kept["counts"].tolist() == ["until load 2 replaced it", "yes"]
    assert kept["former"].tolist() == [None, "until was 2027-01-31"]
    assert kept["what"].str.contains("accepted limit 22 mil").all()
