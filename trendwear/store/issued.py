"""Plans that were issued, as they are kept: written once, read back, never changed."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import duckdb

from trendwear.errors import StoreProblem
from trendwear.store.queries import query
from trendwear.wording import fold

__all__ = ["KeptPlan", "add_plan", "kept_plans", "kept_tables"]

Connection = duckdb.DuckDBPyConnection


@dataclass(frozen=True)
class KeptPlan:
    """The head of one issued plan.

    Attributes
    ----------
    issue : int
        Its number in the store.
    name : str
    number : int
        Counted within the name, from 1.
    as_of : date
    issued_by : str or None
    issued_at : datetime
    method_version : int
    program_version : str
    details : str
        What else was settled, in JSON.
    """

    issue: int
    name: str
    number: int
    as_of: dt.date
    issued_by: str | None
    issued_at: dt.datetime
    method_version: int
    program_version: str
    details: str


def add_plan(
    connection: Connection, head: Mapping[str, Any], contents: Mapping[str, bytes]
) -> KeptPlan:
    """Keep a plan under the next number of its name.

    Parameters
    ----------
    connection
        Within the transaction of a writer.
    head : mapping
        ``name``, ``as_of``, ``issued_by``, ``method_version``, ``program_version``,
        ``details``.
    contents : mapping of str to bytes
        Its tables, packed.
    """
    bound = {**head, "name_key": fold(head["name"])}
    [(issue,)] = connection.execute(query("add_issue"), bound).fetchall()
    for name, content in contents.items():
        mark = hashlib.sha256(content).hexdigest()
        connection.execute(query("add_issued_content"), {"sha256": mark, "content": content})
        connection.execute(
            query("add_issued_table"), {"issue": issue, "name": name, "sha256": mark}
        )
    [row] = connection.execute(query("issued_plan"), {"issue": issue}).fetchall()
    return _head(row)


def kept_plans(connection: Connection, name: str | None = None) -> list[KeptPlan]:
    """Return the issues of a plan, however it is spelt, or of all, the earliest first."""
    bound = {"name_key": None if name is None else fold(name)}
    return [_head(row) for row in connection.execute(query("issued_plans"), bound).fetchall()]


def kept_tables(connection: Connection, issue: int) -> dict[str, bytes]:
    """Return the packed tables of one issue by name.

    Raises
    ------
    StoreProblem
        One of them is not word for word what was written.
    """
    rows = connection.execute(query("issued_tables"), {"issue": issue}).fetchall()
    for name, mark, content in rows:
        if content is None or hashlib.sha256(content).hexdigest() != mark:
            raise StoreProblem(
                f"table {name} of an issued plan",
                "it is not what was written when the plan was issued",
                "Take it from a backup of the store",
            )
    return {name: content for name, _, content in rows}


def _head(row: tuple[Any, ...]) -> KeptPlan:
    issue, name, number, as_of, *rest = row
    return KeptPlan(issue, name, number, as_of.date(), *rest)
