"""Cases kept by name: replaced, deleted, and never lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from trendwear.errors import StoreMissing, UnknownName, UsageProblem
from trendwear.store.cases import delete_case, former_cases, keep_case, kept_case, kept_cases
from trendwear.store.database import writer


@pytest.fixture
def store(tmp_path: Path) -> Path:
    path = tmp_path / "s.duckdb"
    with writer(path):
        pass
    return path


def test_a_case_is_kept_and_found_however_it_is_spelt(store: Path) -> None:
    assert keep_case(store, " Longer  season ", "{1}", "Ann") == "Case Longer season is kept"
    found = kept_case(store, "longer-SEASON")
    assert (found.name, found.changes, found.by) == ("Longer season", "{1}", "Ann")
    assert [one.name for one in kept_cases(store)] == ["Longer season"]


def test_one_of_the_same_name_replaces_it_and_the_former_stays_in_the_record(store: Path) -> None:
    keep_case(store, "a", "{1}", "Ann")
    assert "it replaces the one kept by Ann" in keep_case(store, "A", "{2}", "Bob")
    assert kept_case(store, "a").changes == "{2}"
    (former,) = former_cases(store, "a").itertuples()
    assert (former.changes, former.by, former.ended) == ("{1}", "Ann", "replaced")
    assert former.ended_by == "Bob"
    assert former.ended_at >= former.kept_at


def test_deleting_asks_for_the_name_and_keeps_the_record(store: Path) -> None:
    keep_case(store, "a b", "{1}", "Ann")
    with pytest.raises(UsageProblem, match="'ab' is not its name"):
        delete_case(store, "a b", "ab", "Bob")
    assert kept_case(store, "a b").changes == "{1}"
    assert "it stays in the record" in delete_case(store, "a b", "A-B", "Bob")
    assert kept_cases(store) == []
    assert former_cases(store, "a b")["ended"].tolist() == ["deleted"]
    keep_case(store, "a b", "{3}", "Cy")
    assert kept_case(store, "a b").changes == "{3}"


def test_what_is_not_kept_is_said(store: Path) -> None:
    with pytest.raises(UnknownName, match="None is kept yet"):
        kept_case(store, "x")
    keep_case(store, "one", "{}", "Ann")
    with pytest.raises(UnknownName, match="Kept are: one"):
        delete_case(store, "x", "x", "Ann")


@pytest.mark.parametrize(("name", "by"), [(" ", "Ann"), ("a", " "), ("a" * 81, "Ann")])
def test_a_case_needs_a_name_and_somebody(store: Path, name: str, by: str) -> None:
    with pytest.raises(UsageProblem):
        keep_case(store, name, "{}", by)
    assert kept_cases(store) == []


def test_no_store_is_made_for_a_case(tmp_path: Path) -> None:
    path = tmp_path / "none.duckdb"
    for act in (
        lambda: keep_case(path, "a", "{}", "Ann"),
        lambda: delete_case(path, "a", "a", "Ann"),
    ):
        with pytest.raises(StoreMissing):
            act()
    assert not path.exists()
