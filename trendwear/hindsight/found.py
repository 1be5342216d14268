"""What openings found, beside what would have been forecast the day before."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.hindsight.past import Then
from trendwear.hindsight.rules import LEVELS, RULES, Asked, foretold
from trendwear.segments.cutting import RESTARTS_AGE
from trendwear.segments.histories import Histories
from trendwear.segments.hour_line import dates_of
from trendwear.segments.openings import OPENING_HOURS
from trendwear.tables import Columns

__all__ = ["BANDS", "FOUND", "as_found", "beside_forecast", "quantile_columns"]

BANDS: Final = {50: (0.25, 0.75), 80: (0.10, 0.90), 90: (0.05, 0.95)}
"""Bands in percent, and the quantiles at their ends."""

_FIRST: Final = "first reading of this clearance"


def quantile_columns(rule: str) -> list[str]:
    """Return the names of a rule's columns of quantiles, the smallest value first.

    >>> quantile_columns("forecast")[:2]
    ['forecast_p05_mm', 'forecast_p10_mm']
    """
    stem = rule.replace("'s", "").replace(" ", "_").replace("-", "_")
    return [f"{stem}_p{round(100 * q):02d}_mm" for q in LEVELS]


FOUND: Final[Columns] = {
    **dict.fromkeys(("machine", "clearance", "family", "unit"), "text"),
    "position": "count",
    "sign": "number",  # 1 where wear opens the clearance, -1 where it closes it
    "opening_no": "count",
    "date": "date",  # NaT where the machine has no dates
    "hours": "number",  # running hours of the machine at the opening
    "run_hours": "number",  # since the last reading
    "found_mm": "number",
    "u_mm": "number",
    "at_least": "flag",
    "readings": "count",  # of this clearance, known the day before
    "first_run": "flag",  # nothing was read since the part was renewed
    "assumed": "flag",  # the start was assumed from the family
    "reach": "number",  # run hours over the longest run of the family measured by then
    **{name: "number" for rule in RULES for name in quantile_columns(rule)},
    "silent": "text",  # why there is no forecast
    "note": "text",  # what was different about the run or the reading
}
"""One row an as-found reading.  Quantiles are of the reading as it would be written."""


def as_found(whole: Histories) -> pd.DataFrame:
    """Return the readings of openings that show what a run has worn.

    An unstated one of an opening without recorded work stands for both states; what a
    person excluded is not judged.
    ``worn_mm`` here is the reading as taken, without later shims.
    """
    points = whole.points[(whole.points["opening_no"] >= 0) & ~whole.points["excluded"]]
    place = ["position", "opening_no"]
    stated = points[points["state"] == "as-found"]
    unstated = points[(points["state"] == "not stated") & points["fitted"]]
    seen = pd.MultiIndex.from_frame(stated[place])
    unstated = unstated[~pd.MultiIndex.from_frame(unstated[place]).isin(seen)]
    rows = pd.concat([part for part in (stated, unstated) if len(part)] or [stated])
    sign = rows["position"].map(whole.positions["sign"]).astype("float64")
    return rows.assign(sign=sign, worn_mm=rows["value_mm"] * sign).sort_index()


def beside_forecast(rows: pd.DataFrame, then: Then | None, whole: Histories) -> pd.DataFrame:
    """Return `FOUND` for the as-found readings of an opening (``note`` still empty).

    Parameters
    ----------
    rows : DataFrame
        Some rows of `as_found`.
    then : Then or None
        What was known before the opening.
    whole : Histories
        The full record.
    """
    found = rows.drop(columns="unit").merge(
        whole.positions[["family", "unit"]], left_on="position", right_index=True, how="left"
    )
    found = found.assign(
        date=dates_of(found["likely_day"]), found_mm=found["value_mm"], silent=None, note=None
    )
    if then is None:
        empty = {"readings": 0, "first_run": False, "assumed": False}
        return tables.conform(found.assign(silent=_FIRST, **empty), FOUND)
    position = found["position"].to_numpy(dtype=np.int64)
    last_hours = then.basis.last_hours.to_numpy(dtype=float)[position]
    # The day before an opening it can only have run longer than at its last reading.
    run = np.maximum(found["hours"].to_numpy(dtype=float) - last_hours, 0.0)
    error = found["hours_error"].fillna(0.0).to_numpy(dtype=float)
    asked = Asked(position, run, found["u_mm"].to_numpy(dtype=float), error)
    evidence = then.evidence.iloc[position]
    sign = found["sign"].to_numpy()[:, None]
    columns: dict[str, np.ndarray] = {}
    for rule in RULES:
        values = np.sort(sign * foretold(rule, then, asked), axis=1)
        columns |= dict(zip(quantile_columns(rule), values.T, strict=True))
    found = found.assign(
        run_hours=run,
        readings=evidence["readings"].to_numpy(),
        first_run=_first_run(then, position),
        assumed=then.basis.assumed.to_numpy(dtype=bool)[position],
        reach=run / evidence["longest_run"].to_numpy(dtype=float),
        **columns,
    )
    found["silent"] = _silent(found, then)
    return tables.conform(found, FOUND)


def _first_run(then: Then, position: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether each position had not been read since a part was renewed or was new."""
    cut = then.basis.cut
    current = cut.segments.groupby("position").tail(1).set_index("position")
    current = current.reindex(cut.positions.index)
    renewed = current["cause"].isin(RESTARTS_AGE) | current["known_start_mm"].notna()
    read = then.last["hours"] - current["start_hours"] > OPENING_HOURS
    first: NDArray[np.bool_] = (renewed & ~read).to_numpy(dtype=bool)
    return first[position]


def _silent(found: pd.DataFrame, then: Then) -> list[str | None]:
    """Why each reading has no forecast; None where it has one."""
    position = found["position"].to_numpy(dtype=np.int64)
    wear = then.basis.wear
    return [
        str(reason) or None
        for reason in np.select(
            [
                found["hours"].isna(),
                found["readings"] == 0,
                ~wear.has_level[position],
                found[quantile_columns("forecast")[0]].isna(),
            ],
            [
                "running hours unknown",
                _FIRST,
                "not measured since the last work",
                "no rate could be told yet",
            ],
            "",
        )
    ]
