"""An issued plan beside the plan now, as people read it: screen, Markdown, CSV, workbook, PDF."""

from __future__ import annotations

import datetime as dt
import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pypdf
import pytest
from issued_plants import AS_OF, LATER, PLANT, SINCE, load

import trendwear
from trendwear.errors import UsageProblem
from trendwear.plan_comparison import moved_since
from trendwear.planning.moved import Moved
from trendwear.report.issued.export import check_compare_suffix, comparison_bytes
from trendwear.report.issued.tables import (
    COMPARED_FILE,
    came_in_table,
    compared_table,
    scope_lines,
    steps_table,
)
from trendwear.report.issued.terminal import compare_lines
from trendwear.report.issued.words import head_words, latest_words

READ = "new reading: inner ring read .0145 in, as-found 2015-01-12"


@pytest.fixture(scope="module")
def moved(tmp_path_factory: pytest.TempPathFactory) -> Moved:
    """The plant's plan, held against what came in with two groups of sheets."""
    store = load(PLANT, tmp_path_factory.mktemp("plant") / "plant.duckdb")
    trendwear.issue_plan(store, "Spring | =1+1", as_of=dt.date.fromisoformat(AS_OF), by="planner")
    for group in ("new readings", "windows, due dates and parts"):
        load(SINCE[group], store)
    return moved_since(store, "spring | =1+1", as_of=dt.date.fromisoformat(LATER))


def test_the_screen_holds_every_machine_within_its_width(moved: Moved) -> None:
    lines = compare_lines(moved, 100)
    assert max(map(len, lines)) <= 100
    text = "\n".join(lines)
    assert "Plan Spring | =1+1, issue 1, as of 2014-07-01; issued" in text
    words = text.replace("\n", " ")
    assert "by planner. Held against" in words
    assert "Accepted risks then: damage 10 % (engineer, 2014-01-01); leak 20 % (engineer" in words
    assert "Came in since: new readings 1, windows, due dates and parts 2; --out" in words
    row = moved.table.set_index("machine").loc["M-1"]
    was, now = (row[f"latest_date_{side}"] for side in ("issued", "now"))
    assert f"M-1  latest overhaul {was:%Y-%m-%d} -> {now:%Y-%m-%d}, " in text
    assert f"days: {READ}" in text
    assert "order by: 2019-08-19 -> 2019-04-01" in text  # 60, now 200 days of lead time
    assert "permission to run" in text


def test_days_by_step_add_up_in_the_table(moved: Moved) -> None:
    table = steps_table(moved)
    steps = [name for name in table if name[0].isdigit()]
    assert len(steps) == len(moved.steps)
    assert table[steps].sum(axis=1).tolist() == table["whole move, days"].tolist()


def test_all_that_came_in_is_listed(moved: Moved) -> None:
    told = came_in_table(moved)
    assert told["what"].tolist() == [
        "inner ring read .0145 in, as-found 2015-01-12",
        "window Stop 2016: start 2016-04-01 -> 2016-05-15, end 2016-04-20 -> 2016-06-03, "
        "freeze 2015-11-01 -> 2015-12-01",
        "part R-2: lead time days 60 -> 200",
    ]


def test_csv(moved: Moved) -> None:
    table = pd.read_csv(io.BytesIO(comparison_bytes(moved, ".csv")))
    assert table.columns.tolist() == list(COMPARED_FILE)
    assert READ in table.set_index("machine").at["M-1", "moved_by"]


def test_workbook_holds_the_plan_as_issued(moved: Moved) -> None:
    book = openpyxl.load_workbook(io.BytesIO(comparison_bytes(moved, ".xlsx")))
    assert {"overview", "days by step", "came in", "scope changes"} <= set(book.sheetnames)
    overhaul = book["issued overhaul"]
    names = [cell.value for cell in overhaul[1]]
    told = overhaul.cell(2, names.index("latest_date") + 1).value
    assert pd.Timestamp(told) == moved.issued.plan.overhaul["latest_date"].iloc[0]
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert not any(cell.data_type == "f" for cell in cells)


def test_markdown(moved: Moved) -> None:
    text = comparison_bytes(moved, ".md").decode()
    assert "# Plan Spring | =1+1, issue 1, and what moved since" in text
    assert "## What came in" in text
    assert "part R-2: lead time days 60 -> 200" in text


def test_pdf(moved: Moved) -> None:
    content = comparison_bytes(moved, ".pdf")
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "what moved since issue 1" in text
    assert "inner ring read .0145 in" in text
    assert comparison_bytes(moved, ".pdf") == content


def test_an_unknown_ending_is_refused() -> None:
    with pytest.raises(UsageProblem, match=r"\.csv, \.xlsx, \.md or \.pdf"):
        check_compare_suffix(Path("plan.doc"))


def test_scope_changes_by_window_and_machine(moved: Moved) -> None:
    scope = moved.scope.iloc[:0]
    rows = pd.DataFrame(
        {
            "outage": ["Stop 2015", "Stop 2018", "Stop 2018", "Stop 2018"],
            "machine": ["M-2", "M-1", "M-1", "M-1"],
            "clearance": ["ring", "a", "b", "c"],
            "need_now": [None, "firm", "firm", "firm"],
            "change": ["the window has begun", "added", "added", "likely -> firm"],
        }
    )
    told = replace(moved, scope=pd.concat([scope, rows], ignore_index=True))
    assert scope_lines(told) == [
        "Stop 2015 has begun: its scope stays as issued.",
        "Stop 2018, M-1: added (firm): a, b; likely -> firm: c",
    ]


def test_machines_new_and_gone_in_words(moved: Moved) -> None:
    table = moved.table.assign(standing=["new", "gone"])
    text = "\n".join(compare_lines(replace(moved, table=table), 100))
    assert "M-1  new in the register since; latest overhaul 20" in text
    assert "M-2  no longer in the register; latest overhaul as issued 20" in text
    said = compared_table(replace(moved, table=table, moves=moved.moves.iloc[:0]))
    assert said["what moved it"].tolist() == [
        "new in the register since",
        "no longer in the register",
    ]


def test_a_latest_date_that_is_none() -> None:
    assert latest_words(pd.Timestamp("2015-02-01"), "past its limit today") == (
        "already (past its limit today)"
    )
    assert latest_words(pd.NaT, "duty unknown") == "duty unknown"


def test_a_machine_without_a_date_then_and_now_has_not_moved(moved: Moved) -> None:
    """Else the program would be said to have changed wherever one machine has no date."""
    first = moved.moves["step"] == 0
    without = moved.moves.assign(days=moved.moves["days"].where(~first, np.nan))
    some = without.assign(days=without["days"].mask(first & (without["machine"] != "M-1"), 0.0))
    for moves in (without, some):
        assert "come out otherwise" not in " ".join(head_words(replace(moved, moves=moves)))
    other = some.assign(days=some["days"].mask(first & (some["machine"] != "M-1"), 2.0))
    assert "come out otherwise" in " ".join(head_words(replace(moved, moves=other)))
