"""``trendwear plan --issue`` and ``trendwear compare``: what they keep, print and refuse."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Callable
from pathlib import Path

import duckdb
import pandas as pd
import pytest
from issued_plants import AS_OF, LATER, PLANT, SINCE, load

import trendwear
from trendwear import cli, issued_plans
from trendwear.errors import StoreProblem, UnknownName, UsageProblem
from trendwear.outlook import read_site
from trendwear.planning.issued import plan_name
from trendwear.planning.issued_tables import inputs_of, tables_of

DAY = dt.date.fromisoformat(AS_OF)
Ask = Callable[..., tuple[int, str, str]]


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with the plant, nothing issued."""
    return load(PLANT, tmp_path_factory.mktemp("plant") / "plant.duckdb")


@pytest.fixture
def store(plant: Path, tmp_path: Path) -> Path:
    """A store of one's own."""
    return Path(shutil.copy(plant, tmp_path / "plant.duckdb"))


@pytest.fixture
def ask(store: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Ask:
    """Run a verb on it: exit code, output, errors."""

    def run(*words: str, as_of: str = AS_OF) -> tuple[int, str, str]:
        argv = ["trendwear", *words, "--store", str(store), "--as-of", as_of]
        monkeypatch.setattr("sys.argv", argv)
        monkeypatch.setenv("COLUMNS", "100")
        with pytest.raises(SystemExit) as end:
            cli.main()
        told = capsys.readouterr()
        return int(end.value.code or 0), told.out, told.err

    return run


def test_nothing_is_kept_unless_it_is_issued(ask: Ask, store: Path) -> None:
    assert ask("plan")[0] == 0
    assert issued_plans.issues(store) == []
    code, out, _ = ask("plan", "--issue", " Spring  2015 ", "--by", "planner")
    assert code == 0
    assert "Issued by planner: plan Spring 2015, issue 1. What has moved since: trendwear" in out
    [issue] = issued_plans.issues(store)
    assert (issue.name, issue.number, issue.issued_by) == ("Spring 2015", 1, "planner")
    assert issue.as_of == DAY


def test_a_plan_is_read_back_as_issued_whatever_came_since(ask: Ask, store: Path) -> None:
    told, site = trendwear.plan(store, as_of=DAY), read_site(store)
    ask("plan", "--issue", "Spring")
    first = trendwear.issued_plan(store, "spring")
    for sheets in SINCE.values():
        load(sheets, store)
    ask("plan", "--issue", "spring", "--risk", "0.05")
    again = trendwear.issued_plan(store, "SPRING", 1)
    pd.testing.assert_frame_equal(again.plan.overhaul, told)
    for name, frame in inputs_of(again.frozen.site).items():
        pd.testing.assert_frame_equal(frame, inputs_of(site)[name], check_exact=True, obj=name)
    for name, frame in tables_of(first.frozen).items():
        pd.testing.assert_frame_equal(frame, tables_of(again.frozen)[name], obj=name)
    assert again.issue == first.issue
    second = trendwear.issued_plan(store, "Spring")
    assert second.issue.number == 2
    assert second.plan.accepted.for_all == 0.05
    assert not second.plan.overhaul.equals(told)


def test_the_scope_list_of_each_window(ask: Ask, store: Path) -> None:
    ask("plan", "--issue", "Spring")
    scope = trendwear.issued_plan(store, "Spring").frozen.scope
    first = scope[scope["renew"]].iloc[0]
    assert (first["outage"], first["machine"], first["clearance"]) == (
        "Stop 2018",
        "M-1",
        "inner ring",
    )
    assert (first["need"], first["part_no"], first["crew_days"]) == ("firm", "R-1", 6.0)
    assert first["freeze"] == pd.Timestamp("2017-11-01")
    assert first["order_by"] == pd.Timestamp("2017-11-01") - pd.Timedelta(days=90 + 14)


def test_some_machines_alone(ask: Ask, store: Path, tmp_path: Path) -> None:
    out = tmp_path / "plan.csv"
    assert ask("plan", "m 2", "--issue", "Fan", "--out", str(out))[0] == 0
    assert out.exists()
    told = trendwear.issued_plan(store, "Fan")
    assert told.frozen.machines == ("M-2",)
    assert told.plan.overhaul["machine"].tolist() == ["M-2"]
    assert set(told.frozen.scope["machine"]) == {"M-2"}
    code, out_text, _ = ask("compare", "Fan")
    assert code == 0
    assert "It was issued for M-2 alone." in out_text
    assert "As issued: M-2" in out_text


def test_no_plan_is_issued_at_risks_nobody_chose(ask: Ask, store: Path) -> None:
    with duckdb.connect(str(store)) as connection:
        connection.execute("delete from risks")
    code, _, err = ask("plan", "--issue", "Spring")
    assert code == 2
    assert "no risk was chosen" in err
    with pytest.raises(UsageProblem, match="no risk was chosen"):
        trendwear.issue_plan(store, "Spring", as_of=DAY)
    assert issued_plans.issues(store) == []
    assert ask("plan", "--issue", "Spring", "--risk", "0.1")[0] == 0
    assert "10 % given for that run" in ask("compare", "Spring")[1]


def test_no_plan_of_no_machine_is_issued(tmp_path: Path) -> None:
    store = load({"risks": PLANT["risks"]}, tmp_path / "empty.duckdb")
    with pytest.raises(UsageProblem, match="the register holds no machine"):
        trendwear.issue_plan(store, "Spring", as_of=DAY)


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("", "holds no letter or figure"),
        (" -- ", "holds no letter or figure"),
        ("a\u200bb", "unprintable character"),
        ("x" * 81, "81 characters"),
    ],
)
def test_names_that_say_nothing_are_refused(ask: Ask, store: Path, name: str, found: str) -> None:
    code, out, err = ask("plan", f"--issue={name}")
    assert (code, out) == (2, "")
    assert found in err
    with pytest.raises(UsageProblem):
        plan_name(name)
    assert issued_plans.issues(store) == []


def test_by_without_issue_is_usage(ask: Ask) -> None:
    assert ask("plan", "--by", "planner")[0] == 2


def test_an_unknown_plan_lists_those_that_were_issued(ask: Ask, store: Path) -> None:
    code, _, err = ask("compare", "Spring")
    assert code == 1
    assert "plan Spring: no plan was issued from this store yet" in err
    ask("plan", "--issue", "Spring")
    assert "Issued were: Spring, issue 1 (as of 2014-07-01)" in ask("compare", "Autumn")[2]
    assert (
        "plan Spring, issue 3: no such plan was issued"
        in ask("compare", "Spring", "--number", "3")[2]
    )
    with pytest.raises(UnknownName):
        trendwear.issued_plan(store, "Autumn")


def test_compare_says_what_moved_and_writes_it(ask: Ask, store: Path, tmp_path: Path) -> None:
    ask("plan", "--issue", "Spring")
    load(SINCE["new readings"], store)
    code, out, _ = ask("compare", "spring", as_of=LATER)
    assert code == 0
    assert "days: new reading: inner ring read .0145 in, as-found 2015-01-12" in out
    file = tmp_path / "moved.md"
    code, out, _ = ask("compare", "Spring", "--out", str(file), as_of=LATER)
    assert f"Plan Spring, issue 1, beside the plan now: written to {file}" in out
    assert "inner ring read .0145 in" in file.read_text()
    assert ask("compare", "Spring", "--out", "moved.doc")[0] == 2
    assert ask("compare", "Spring", as_of="2014-06-30")[0] == 2


def test_a_damaged_issue_is_not_handed_on(ask: Ask, store: Path) -> None:
    ask("plan", "--issue", "Spring")
    with duckdb.connect(str(store)) as connection:
        connection.execute("update issued_content set content = 'x'::blob")
    with pytest.raises(StoreProblem, match="not what was written"):
        trendwear.issued_plan(store, "Spring")


def test_the_price_of_an_issue_is_small(ask: Ask, store: Path) -> None:
    """What did not change is kept once, however often a plan is issued."""
    sizes = []
    for _ in range(3):
        ask("plan", "--issue", "Spring")
        with duckdb.connect(str(store), read_only=True) as connection:
            [(size,)] = connection.execute(
                "select sum(octet_length(content)) from issued_content"
            ).fetchall()
        sizes.append(size)
    assert sizes[0] < 30_000
    assert sizes == [sizes[0]] * 3
