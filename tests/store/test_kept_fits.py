"""Fits kept in the store: read back as written, or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from trendwear.store.database import reader, writer
from trendwear.store.kept_fits import MOST, Row, keep_fits, kept_fits


def row(family: str, fingerprint: str, noise_share: float = 0.2, result: str = "{}") -> Row:
    return family, fingerprint, noise_share, result


def keep(store: Path, *rows: Row, made_by: str = "model 1") -> None:
    with writer(store) as connection:
        keep_fits(connection, made_by, rows)


def kept(store: Path, made_by: str = "model 1") -> list[Row]:
    with reader(store) as connection:
        return sorted(kept_fits(connection, made_by))


def test_what_is_kept_comes_back(store: Path) -> None:
    rows = [row("a", "f1", 0.17, '{"x": NaN}'), row("a", "f1", 0.2), row("b", "f1", 0.17)]
    keep(store, *rows)
    assert kept(store) == sorted(rows)


def test_one_takes_the_place_of_the_one_before(store: Path) -> None:
    keep(store, row("a", "f1", result="old"))
    keep(store, row("a", "f1", result="new"))
    assert kept(store) == [row("a", "f1", result="new")]


def test_the_newest_of_each_family_stay(store: Path) -> None:
    keep(store, row("b", "f0"))
    for number in range(MOST + 2):
        keep(store, row("a", f"f{number}"))
    newest = [row("a", f"f{number}") for number in range(2, MOST + 2)]
    assert kept(store) == [*newest, row("b", "f0")]


def test_what_another_version_made_is_neither_read_nor_left(store: Path) -> None:
    keep(store, row("a", "f1"), row("b", "f1"), made_by="model 1")
    assert kept(store, "model 2") == []
    keep(store, row("a", "f1"), made_by="model 2")
    assert kept(store, "model 2") == [row("a", "f1")]
    assert kept(store, "model 1") == []


@pytest.mark.parametrize(
    "damage",
    [
        "update kept_fit set result = replace(result, '1', '2') where family = 'a'",
        "update kept_fit set noise_share = 0.19 where family = 'a'",
        "update kept_fit set fingerprint = 'f9' where family = 'a'",
        "update kept_fit set seal = '' where family = 'a'",
    ],
)
def test_a_row_that_is_not_as_written_is_left_out(store: Path, damage: str) -> None:
    keep(store, row("a", "f1", result='{"x": 1.5}'), row("b", "f2"))
    with writer(store) as connection:
        connection.execute(damage)
    assert kept(store) == [row("b", "f2")]
