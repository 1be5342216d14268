"""The store's SQL files."""

from __future__ import annotations

import re

import pytest

from trendwear.store.queries import SQL_FOLDER, parse, query


def test_a_query_by_its_name() -> None:
    assert "max(load)" in query("next_load")
    with pytest.raises(KeyError):
        query("no_such_query")


def test_names_are_not_given_twice() -> None:
    with pytest.raises(KeyError, match="same name"):
        parse("-- name: one\nselect 1;\n-- name: one\nselect 2;\n")


def test_sql_stands_in_sql_files_only() -> None:
    statement = re.compile(r"\b(select .+ from|insert into|create table|delete from)\b", re.I)
    for path in SQL_FOLDER.parent.glob("*.py"):
        code = re.sub(r'""".*?"""', "", path.read_text(encoding="utf-8"), flags=re.S)
        assert not statement.search(code), path.name


def test_every_query_is_used() -> None:
    package = SQL_FOLDER.parent
    code = "".join(path.read_text(encoding="utf-8") for path in package.glob("*.py"))
    generated = ("current_", "add_", "retire_", "same_key_", "fill_", "put_")
    for path in SQL_FOLDER.glob("*.sql"):
        for name in parse(path.read_text(encoding="utf-8")):
            assert f'"{name}"' in code or name.startswith(generated), name
