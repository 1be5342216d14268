"""How long each part sat where: from the work that put it in to the work that took it out."""

from __future__ import annotations

import numpy as np
import pandas as pd

from trendwear.segments.fitted import last_fitted
from trendwear.segments.histories import Histories
from trendwear.segments.positions import OWN, PARTNER

__all__ = ["FIRST_SEEN", "STILL_IN", "stays"]

FIRST_SEEN = "before the record began"
STILL_IN = "still in"


def stays(cut: Histories) -> pd.DataFrame:
    """Return every stay of a part in a place, in order of place and time.

    Returns
    -------
    DataFrame
        ``position``, ``machine``, ``clearance``, ``role``, ``part_no``, ``serial``,
        ``supplier``, ``life`` (the same for all stays of one part; NaN where the part
        was in before the record began), ``began`` (the action that put it in, or
        `FIRST_SEEN`), ``ended`` (the action that took it out, or `STILL_IN`),
        ``from_order``, ``until_order`` (inf while it is in), ``from_hours``,
        ``until_hours`` (of that machine; NaN unknown or still in), ``from_day`` and
        ``until_day`` (days since 1970; NaN unknown or still in).
    """
    told = [_of_role(cut, role) for role in (OWN, PARTNER)]
    rows = pd.concat(told, ignore_index=True)
    places = cut.positions.loc[rows["position"], ["machine", "clearance"]]
    rows = rows.assign(**{name: places[name].to_numpy() for name in places})
    onward = rows.sort_values("from_order", kind="stable").groupby("life")["began"].shift(-1)
    rows["ended"] = rows["ended"].mask(onward.reindex(rows.index) == "moved", "moved")
    return rows.sort_values(["role", "position", "from_order"], kind="stable", ignore_index=True)


def _of_role(cut: Histories, role: str) -> pd.DataFrame:
    put = last_fitted(cut.work, role)
    put = pd.DataFrame(
        {
            "position": put["position"],
            "part_no": put["fitted_part_no"],
            "serial": put["fitted_serial"],
            "supplier": put["fitted_supplier"],
            "life": put["life"].astype("float64"),
            "began": put["action"],
            "from_order": put["order"],
            "from_hours": put["hours"],
            "from_day": put["likely_day"],
        }
    )
    rows = pd.concat([_first_seen(cut, put), put] if len(put) else [_first_seen(cut, put)])
    rows = rows.sort_values(["position", "from_order"], kind="stable")
    after = rows.groupby("position")[["began", "from_order", "from_hours", "from_day"]].shift(-1)
    rows = rows.assign(
        role=role,
        ended=after["began"].where(after["from_order"].notna(), STILL_IN),
        until_order=after["from_order"].fillna(np.inf),
        until_hours=after["from_hours"],
        until_day=after["from_day"],
    )
    return rows[rows["life"] != -1]  # what was left empty holds no part


def _first_seen(cut: Histories, put: pd.DataFrame) -> pd.DataFrame:
    """The parts that were in at the first reading, before any work put one in."""
    points = cut.points.dropna(subset="order").sort_values("order", kind="stable")
    first = points.drop_duplicates("position").set_index("position")
    began = put.groupby("position")["from_order"].min().reindex(first.index)
    earlier = first[~(began <= first["order"])]
    return pd.DataFrame(
        {
            "position": earlier.index.to_numpy(dtype="int64"),
            **dict.fromkeys(("part_no", "serial", "supplier"), None),
            "life": np.nan,
            "began": FIRST_SEEN,
            "from_order": earlier["order"].to_numpy(dtype=float),
            "from_hours": earlier["hours"].to_numpy(dtype=float),
            "from_day": earlier["likely_day"].to_numpy(dtype=float),
        }
    ).astype({name: "object" for name in ("part_no", "serial", "supplier", "began")})
