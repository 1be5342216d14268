"""Parts: what they are called, how many, from the shelf or ordered, and by when."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.planning_tables import ORDERS
from trendwear.segments.fitted import last_fitted
from trendwear.wording import fold, fold_column

__all__ = [
    "CONTINGENT",
    "FIRM",
    "LIKELY",
    "OrderRules",
    "in_the_book",
    "needed_on",
    "orders_of",
    "parts_fitted",
]

FIRM: Final = "firm"
LIKELY: Final = "likely"
CONTINGENT: Final = "contingent"


@dataclass(frozen=True)
class OrderRules:
    """How orders are judged; the defaults are starting values (common practice, no source).

    Attributes
    ----------
    margin_days : float
        Days that parts shall lie ready before they are needed.
    firm, likely, contingent : float
        Least chance of being needed of each; what is less likely is not listed.  A part
        that is to be renewed in any case is firm.
    """

    margin_days: float = 14.0
    firm: float = 0.8
    likely: float = 0.3
    contingent: float = 0.05


def parts_fitted(register: pd.DataFrame, work: pd.DataFrame) -> pd.DataFrame:
    """Return the part of each register row as last fitted.

    Parameters
    ----------
    register : DataFrame
        `tables.CLEARANCES` rows in force.
    work : DataFrame
        `Histories.work`: a part that was moved in, or came in an exchange, counts like a
        new one; the number of a part that the clearance runs against does not.

    Returns
    -------
    DataFrame
        Indexed as ``register``: ``part_no`` (the one last fitted, else the register's),
        ``fitted_differs`` (the register names another).
    """
    fitted = last_fitted(work).dropna(subset="fitted_part_no")
    last = fitted.drop_duplicates(["machine", "clearance"], keep="last")
    last = last.set_index(["machine", "clearance"])["fitted_part_no"]
    keys = pd.MultiIndex.from_frame(register[["machine", "clearance"]])
    fitted_no = pd.Series(last.reindex(keys).to_numpy(), index=register.index, dtype="object")
    stated = register["part_no"]
    differs = fitted_no.notna() & stated.notna() & (fold_column(fitted_no) != fold_column(stated))
    return pd.DataFrame(
        {"part_no": fitted_no.where(fitted_no.notna(), stated), "fitted_differs": differs}
    )


def in_the_book(numbers: pd.Series, parts: pd.DataFrame) -> pd.DataFrame:
    """Return what the parts sheet (`PARTS`) says of part numbers, the superseded followed on.

    One row a number, indexed as ``numbers``; ``key`` is the part as it compares, and
    ``part_no`` is missing where the sheet does not list it.
    """
    book = parts.set_index(fold_column(parts["part_no"]).to_numpy())
    book = book[~book.index.duplicated()]
    current = [_current(number, book) for number in numbers]
    return book.reindex(current).set_index(numbers.index).assign(key=current)


def needed_on(coming: pd.DataFrame, as_of: pd.Timestamp) -> pd.Series:
    """Return the day by which the parts of each window (`OUTAGES`) must be there.

    The day its scope is fixed; a scope that is fixed already can only be met by the start
    of the work, and no part can come later than that.
    """
    in_time = (coming["freeze"] > as_of) & (coming["freeze"] <= coming["start"])
    freeze = coming["freeze"].where(in_time)
    return freeze.where(freeze.notna(), coming["start"])


def orders_of(
    wanted: pd.DataFrame, parts: pd.DataFrame, as_of: pd.Timestamp, rules: OrderRules
) -> pd.DataFrame:
    """Return what to order (`ORDERS`), the earliest order-by date first.

    What lies on the shelf goes to the firm needs first, then to the earliest; one shelf
    serves all machines.

    Parameters
    ----------
    wanted : DataFrame
        One row a clearance: ``machine``, ``clearance``, ``part``, ``part_no``,
        ``register_part_no``, ``fitted_differs``, ``quantity``, ``outage``, ``needed_on``,
        ``chance_needed``, ``renew``.
    parts : DataFrame
        `PARTS`.
    as_of : Timestamp
    rules : OrderRules
    """
    listed = wanted["renew"] | (wanted["chance_needed"] >= rules.contingent)
    rows = wanted[listed].reset_index(drop=True)
    known = in_the_book(rows["part_no"], parts)
    firm = rows["renew"] | (rows["chance_needed"] >= rules.firm)
    need = np.where(firm, FIRM, np.where(rows["chance_needed"] >= rules.likely, LIKELY, CONTINGENT))
    rows = rows.assign(
        key=known["key"],
        need=need,
        number=known["part_no"].where(known["part_no"].notna(), rows["part_no"]),
        part=rows["part"].where(rows["part"].notna(), known["part"]),
        quantity=rows["quantity"].where(rows["quantity"] > 0, 1.0),
        counted=rows["quantity"] > 0,
        **{
            name: known[name]
            for name in ("supplier", "supplier_part_name", "supplier_part_no", "lead_time_days")
        },
        price=known["price"],
        in_stock=known["in_stock"].fillna(0.0),
        listed=known["part_no"].notna(),
    )
    rows = _from_the_shelf(rows)
    ahead = pd.to_timedelta(rows["lead_time_days"] + rules.margin_days, unit="D")
    rows["order_by"] = (rows["needed_on"] - ahead).where(rows["to_order"] > 0).dt.floor("D")
    rows["late"] = (rows["order_by"] < as_of).astype(bool)
    wait = (as_of - rows["needed_on"]).dt.days + rows["lead_time_days"]
    rows["days_late"] = wait.where(rows["late"])
    rows["note"] = [_note(row) for row in rows.to_dict("records")]
    rows["part_no"] = rows["number"]
    rows["chance_before_delivery"] = np.nan
    rows = rows.sort_values(["order_by", "machine"], kind="stable").reset_index(drop=True)
    return tables.conform(rows, ORDERS)


def _current(number: object, book: pd.DataFrame) -> str | None:
    """The key of the part that is to be ordered today: superseded numbers followed to the end."""
    if not isinstance(number, str):
        return None
    key, seen = fold(number), set()
    while key in book.index and key not in seen:
        seen.add(key)
        newer = book.at[key, "superseded_by"]
        if not isinstance(newer, str) or fold(newer) not in book.index:
            break
        key = fold(newer)
    return key


def _from_the_shelf(rows: pd.DataFrame) -> pd.DataFrame:
    """Share the stock of each part out over those who need it."""
    rank = rows["need"].map({FIRM: 0, LIKELY: 1, CONTINGENT: 2})
    order = rows.assign(rank=rank).sort_values(["rank", "needed_on"], kind="stable").index
    taken = rows.loc[order].groupby("key", dropna=False)["quantity"].cumsum()
    before = (taken - rows["quantity"]).reindex(rows.index)
    stock = (rows["in_stock"] - before).clip(lower=0.0)
    from_stock = np.minimum(stock, rows["quantity"]).where(rows["key"].notna(), 0.0)
    return rows.assign(from_stock=from_stock, to_order=rows["quantity"] - from_stock)


def _note(row: dict[str, object]) -> str | None:
    words = []
    if not isinstance(row["key"], str):
        words.append("no part number in the register")
    elif not row["listed"]:
        words.append(f"part {row['part_no']} is not in the parts sheet: no lead time")
    elif pd.isna(row["lead_time_days"]) and row["to_order"]:
        words.append("no lead time in the parts sheet")
    if row["listed"] and row["key"] != fold(str(row["part_no"])):
        words.append(f"{row['part_no']} is superseded by {row['number']}")
    if row["fitted_differs"]:
        words.append(
            f"last fitted was {row['part_no']}, the register says {row['register_part_no']}"
        )
    if not row["counted"]:
        words.append("quantity not in the register: 1 taken")
    if row["late"]:
        days = float(str(row["days_late"]))
        after = f"ordered today it comes {days:.0f} days after it is needed"
        words.append(f"LATE: {after}" if days > 0 else "LATE: within the days of margin")
    return "; ".join(words) or None
