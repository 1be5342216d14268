"""The overhaul table as the cells of a printed page: what presses first, what is late."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.planning.plan import joined
from trendwear.report.overhaul.answers import first_to_open
from trendwear.report.overhaul.table import overhaul_table
from trendwear.report.rounding import NONE

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan

__all__ = ["in_order", "machines_in_order", "overview_rows"]

_NAMED: Final = 3
"""So many clearances to renew are named in the overview; more stand on the machine's page."""


def machines_in_order(plans: Sequence[SitePlan]) -> list[str]:
    """Return the machines of a plan, the one that must be opened first on top.

    As on the dashboard; where several risks are shown, by the first of them.
    """
    return first_to_open(plans[0])


def overview_rows(plans: Sequence[SitePlan], machines: Sequence[str]) -> pd.DataFrame:
    """Return the overhaul table as cells of a document, in that order of machines.

    Returns
    -------
    DataFrame
        The columns of `overhaul_table`, cells as ``frame.typ`` takes them; ``machine_name`` as
        plain text; ``renew_short``, which counts the clearances where they are many.
    """
    known, table = joined(plans).reset_index(drop=True), overhaul_table(plans)
    openings = {
        row.machine: row.outage
        for row in plans[0].renewals.table.itertuples()
        if isinstance(row.outage, str)
    }
    facts = known.to_dict("records")
    texts = table.to_dict("records")
    cells = [
        _cells(text, fact, openings.get(fact["machine"]))
        for text, fact in zip(texts, facts, strict=True)
    ]
    rows = pd.DataFrame(cells, columns=[*table.columns, "machine_name", "renew_short"])
    return in_order(rows, machines, "machine_name")


def in_order(table: pd.DataFrame, machines: Sequence[str], column: str = "machine") -> pd.DataFrame:
    """Return the rows of a table in that order of machines."""
    places = {machine: place for place, machine in enumerate(machines)}
    return table.loc[table[column].map(places).sort_values(kind="stable").index]


def _cells(text: dict[Any, Any], fact: dict[Any, Any], opening: str | None) -> dict[str, Any]:
    """One row. ``opening`` is the first window that fits, where none is in time."""
    late = bool(fact["order_by"] < fact["as_of"])
    already = text["latest overhaul"] == "already"
    hours = "" if already or text["running hours"] == NONE else f"in {text['running hours']}"
    return {
        **text,
        "machine_name": text["machine"],
        "machine": {"text": text["machine"], "strong": True},
        "latest overhaul": _cell(text["latest overhaul"], hours or _answer(fact), already),
        "due date": _cell(text["due date"], fact["due_what"] or ""),
        "outage": _outage(text, opening),
        "renew_short": _counted(text["renew"]),
        "order by": _cell(text["order by"], "LATE" if late else "", late),
    }


def _cell(text: str, more: str, *alarm: bool) -> dict[str, Any]:
    return {"text": text, "more": more, "alarm": any(alarm)}


def _answer(fact: dict[Any, Any]) -> str:
    past = f": {fact['past_today']}" if isinstance(fact["past_today"], str) else ""
    return f"{fact['outcome']}{past}"


def _outage(text: dict[Any, Any], opening: str | None) -> dict[str, Any]:
    if text["outage"] != NONE:
        return _cell(text["outage"], f"chance by then {text['chance at outage']}")
    if opening is None:
        return _cell(NONE, "")
    return _cell("none in time", f"first that fits: {opening}")


def _counted(renew: str) -> str:
    names = renew.split("; ")
    return renew if len(names) <= _NAMED else f"{len(names)} clearances, see its page"
