"""Parts that go from one place to another: the same work, seen from where they arrive.

A row of the `work` sheet with ``to_clearance`` or ``to_machine`` is work on two places.
On another machine it has that machine's hours, not those written beside it.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd

from trendwear.wording import fold, fold_column

__all__ = ["with_arrivals"]


def with_arrivals(work: pd.DataFrame, machines: Iterable[str]) -> pd.DataFrame:
    """Return ``work`` and, under it, each row once more at the place its part went to.

    Parameters
    ----------
    work : DataFrame
        `tables.WORK`.
    machines : iterable of str
        The machines as they are spelt: ``to_machine`` may be spelt otherwise.

    Returns
    -------
    DataFrame
        Also ``work_row`` (index of the row as it was written) and ``arrives``.  Rows as
        written keep their index.  A part that only changes machine arrives in the
        clearance of the same name; hours and name of the opening stay behind.
    """
    rows = work.assign(work_row=work.index, arrives=False)
    goes = work["to_clearance"].notna() | work["to_machine"].notna()
    if not goes.any():
        return rows
    spelt = {fold(name): name for name in machines}
    here = rows[goes]
    there = here.assign(
        machine=_spelt(here["to_machine"], spelt).fillna(here["machine"]),
        clearance=here["to_clearance"].fillna(here["clearance"]),
        arrives=True,
    )
    away = there["machine"] != here["machine"]
    there["run_hours"] = there["run_hours"].where(~away)
    there["hours_spread"] = there["hours_spread"].where(~away, 0.0)
    there["opening"] = there["opening"].where(~away, None)
    stays = ~away & (fold_column(there["clearance"]) == fold_column(here["clearance"]))
    there = there[~stays.to_numpy(dtype=bool)]
    there.index = pd.Index(np.arange(len(there)) + int(work.index.max()) + 1)
    return pd.concat([rows, there]) if len(there) else rows


def _spelt(names: pd.Series, spelt: dict[str, str]) -> pd.Series:
    known = fold_column(names).map(spelt)
    return known.where(known.notna(), names).astype("object")
