"""What an overhaul of each machine costs, and what is not given of it.

An overhaul in time costs the parts it renews (price times quantity), the crew days where a
crew day has a price, and the window.  A window's cost is for the window as a whole, however
many machines are opened in it.  Nothing is guessed: where a price is not given there is no
cost, and it is said which one is missing.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from trendwear.forecasting.site import SiteForecast
from trendwear.planning.spares import in_the_book, parts_fitted
from trendwear.wording import fold_column

__all__ = ["overhaul_costs", "to_renew"]


def to_renew(
    register: pd.DataFrame, renewals: pd.DataFrame, governs: dict[str, list[str]]
) -> pd.DataFrame:
    """Return what an overhaul of each machine renews: what is recommended, else what governs.

    Parameters
    ----------
    register : DataFrame
        The limiting rows of the register: ``machine``, ``clearance``, ``set``.
    renewals : DataFrame
        `trendwear.planning_tables.RENEWALS`.
    governs : dict of str to list of str
        The clearances that govern each machine.

    Returns
    -------
    DataFrame
        ``machine`` and ``clearance``, each pair once, in the register's order; clearances
        of one set are renewed together.
    """
    advised = renewals.loc[renewals["renew"], ["machine", "clearance"]]
    pairs = set(advised.itertuples(index=False, name=None))
    for machine, names in governs.items():
        if not (advised["machine"] == machine).any():
            pairs |= {(machine, name) for name in names}
    named = zip(register["machine"], register["clearance"], strict=True)
    chosen = np.array([pair in pairs for pair in named], dtype=bool)
    sets = (register["machine"] + "\0" + fold_column(register["set"])).where(
        register["set"].notna()
    )
    with_set = sets.isin(set(sets[chosen].dropna()))
    return register.loc[chosen | with_set, ["machine", "clearance"]].drop_duplicates()


def overhaul_costs(
    told: SiteForecast, renewed: pd.DataFrame, cheapest: pd.DataFrame
) -> pd.DataFrame:
    """Return what an overhaul of each machine costs.

    Parameters
    ----------
    told : SiteForecast
    renewed : DataFrame
        As `to_renew` gives it.
    cheapest : DataFrame
        Indexed by machine: ``window`` and ``window_cost`` of the cheapest window it fits.

    Returns
    -------
    DataFrame
        One row for each machine with a ``cost_if_past`` or a ``crew_day_cost``, indexed by it:
        ``renewed`` (text), ``parts_cost``, ``crew_cost``, ``window``, ``window_cost``,
        ``planned``, ``past_limit``, ``missing`` and ``notes`` (texts, ``; `` between).
    """
    facts = told.site.machines.drop_duplicates("machine").set_index("machine")
    facts = facts[facts["cost_if_past"].notna() | facts["crew_day_cost"].notna()]
    facts = facts[facts.index.isin(told.basis.register["machine"])]
    priced = _priced(told, renewed)
    by_machine = dict(list(priced.groupby("machine", sort=False)))
    rows = [
        _row(machine, facts.loc[machine].to_dict(), by_machine.get(machine, priced.iloc[:0]))
        for machine in facts.index
    ]
    table = pd.DataFrame(rows, columns=_COLUMNS).set_index("machine")
    table = table.join(cheapest.reindex(table.index))
    table["window_cost"] = table["window_cost"].fillna(0.0)
    table["planned"] = table["parts_cost"] + table["crew_cost"].fillna(0.0) + table["window_cost"]
    free = (table["planned"] <= 0) & (table["missing"] == "")
    table.loc[free, "missing"] = "any cost of an overhaul: prices, crew_day_cost or a window's cost"
    table["planned"] = table["planned"].where(table["missing"] == "")
    table["past_limit"] = table["planned"] + table["cost_if_past"]
    return table


_COLUMNS = ["machine", "renewed", "parts_cost", "crew_cost", "cost_if_past", "missing", "notes"]


def _row(machine: str, facts: dict[Any, Any], parts: pd.DataFrame) -> tuple[object, ...]:
    crew = facts["crew_days"] * facts["crew_day_cost"]
    return (
        machine,
        "; ".join(parts["clearance"]) or None,
        float((parts["price"] * parts["quantity"]).sum()),
        float(crew),
        float(facts["cost_if_past"]),
        "; ".join(_missing(facts, parts)),
        "; ".join(_notes(facts, parts)),
    )


def _missing(facts: dict[Any, Any], parts: pd.DataFrame) -> Iterator[str]:
    if np.isnan(facts["cost_if_past"]):
        yield "cost_if_past in the machines sheet"
    if np.isfinite(facts["crew_day_cost"]) and np.isnan(facts["crew_days"]):
        yield "crew_days in the machines sheet"
    if parts.empty:
        yield "a clearance that governs it: there is nothing to renew"
    nameless = parts[parts["part_no"].isna() & parts["part"].notna()]
    if len(nameless):
        yield f"part_no of {', '.join(nameless['clearance'])}"
    unpriced = parts[parts["part_no"].notna() & parts["price"].isna()]
    if len(unpriced):
        yield f"price of {', '.join(unpriced['part_no'].drop_duplicates())} in the parts sheet"


def _notes(facts: dict[Any, Any], parts: pd.DataFrame) -> Iterator[str]:
    if np.isfinite(facts["crew_days"]) and np.isnan(facts["crew_day_cost"]):
        yield "crew days are not counted: no crew_day_cost is given"
    without = parts[parts["part_no"].isna() & parts["part"].isna()]
    if len(without):
        yield f"no part is named for {', '.join(without['clearance'])}: none is counted"
    uncounted = parts[parts["part_no"].notna() & ~parts["counted"]]
    if len(uncounted):
        yield f"quantity of {', '.join(uncounted['clearance'])} is not given: 1 taken"


def _priced(told: SiteForecast, renewed: pd.DataFrame) -> pd.DataFrame:
    """The part of each clearance renewed, with ``price`` and ``quantity``."""
    register = told.basis.register.drop_duplicates(["machine", "clearance"])
    fitted = parts_fitted(register, told.basis.cut.work)
    known = register[["machine", "clearance", "part", "quantity"]].assign(part_no=fitted["part_no"])
    rows = renewed.merge(known, how="left", on=["machine", "clearance"])
    book = in_the_book(rows["part_no"], told.site.planning.parts)
    counted = rows["quantity"] > 0
    number = book["part_no"].where(book["part_no"].notna(), rows["part_no"])
    return rows.assign(
        part_no=number,
        price=book["price"].astype(float),
        counted=counted,
        quantity=rows["quantity"].where(counted, 1.0),
    )
