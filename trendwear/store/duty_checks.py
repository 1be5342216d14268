"""A machine's duty plan as a whole: no overlaps, and long enough to repeat."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import pandas as pd

from trendwear.store.ledger import Fault

__all__ = ["duty_faults"]

_YEAR: Final = pd.DateOffset(months=12)


def duty_faults(rows: pd.DataFrame, after: pd.DataFrame) -> Iterator[tuple[pd.Series, Fault]]:
    """Yield rows that make their machine's plan overlap, or end it too soon.

    Parameters
    ----------
    rows : frame
        Rows coming in.
    after : frame
        The plans as they would then be: ``rows`` and what is stored beside them.
    """
    plan = after.sort_values(["machine_key", "from"], kind="stable")
    by_machine = plan.groupby("machine_key")
    following = by_machine["from"].shift(-1)
    earlier_end = by_machine["to"].shift(1)
    overlap = (plan["to"] >= following) | (plan["from"] <= earlier_end)
    refused = _of(rows, plan.loc[overlap, "machine_key"])
    yield (
        refused,
        Fault(
            "from", "two rows of this machine's plan overlap", "End one row before the next begins"
        ),
    )
    last = by_machine.tail(1).set_index("machine_key")
    first = by_machine["from"].min()
    too_short = last["to"].notna() & (last["to"] + pd.Timedelta(days=1) < first + _YEAR)
    yield (
        _of(rows, too_short[too_short].index.to_series()) & ~refused,
        Fault(
            "to",
            "this machine's plan covers less than 12 months, so it cannot be repeated",
            "Leave the last row's end blank, or plan at least 12 months",
        ),
    )


def _of(rows: pd.DataFrame, machines: pd.Series) -> pd.Series:
    return rows["machine_key"].isin(set(machines))
