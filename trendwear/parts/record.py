"""One part by its serial number: where it sat, from when to when, and what it wore there."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from trendwear.errors import UnknownName
from trendwear.forecasting.site import SiteForecast
from trendwear.parts.sittings import sittings
from trendwear.segments.positions import OWN
from trendwear.wording import fold, fold_column

__all__ = ["PartRecord", "part_record"]


@dataclass(frozen=True)
class PartRecord:
    """What is recorded of one part.

    Attributes
    ----------
    serial : str
    part_no, supplier : str or None
        As last named.
    machines : DataFrame
        One row a stay in a machine, in order of time: ``machine``, ``from_day``,
        ``until_day`` (days since 1970; NaN still in), ``hours`` (NaN unknown),
        ``places``: how many clearances it served there.
    places : DataFrame
        One row a clearance it served, with the columns of
        `trendwear.parts.sittings.sittings`.
    hours : float
        Run in all, as far as they are known.
    """

    serial: str
    part_no: str | None
    supplier: str | None
    machines: pd.DataFrame
    places: pd.DataFrame
    hours: float


def part_record(told: SiteForecast, serial: str) -> PartRecord:
    """Return the record of the part with that serial number, however it is spelt.

    Raises
    ------
    UnknownName
        No work on record names it.
    """
    rows = sittings(told)
    named = fold_column(rows["serial"]) == fold(serial)
    # A number that was first written down later belongs to the part's earlier stays too.
    mine = rows[named | rows["life"].isin(rows.loc[named, "life"].dropna())]
    if mine.empty:
        known = rows["serial"].dropna().drop_duplicates().tolist()
        more = f" and {len(known) - 12} more" if len(known) > 12 else ""
        raise UnknownName(
            f"part {serial}",
            "no work on record names a part with this serial number",
            "Known are: " + ", ".join(map(str, known[:12])) + more
            if known
            else "Give serial in the work sheet where a part is fitted, moved or exchanged.",
        )
    mine = mine.sort_values(["from_day", "machine", "position"], kind="stable")
    machines = _by_machine(mine)
    return PartRecord(
        serial=str(mine["serial"].dropna().iloc[0]),
        part_no=_last(mine["part_no"]),
        supplier=_last(mine["supplier"]),
        machines=machines,
        places=mine.reset_index(drop=True),
        hours=float(machines["hours"].sum()),
    )


def _by_machine(mine: pd.DataFrame) -> pd.DataFrame:
    """Stays joined where one part serves several clearances of a machine at a time."""
    own = mine["role"] == OWN
    key = [mine["machine"], mine["from_order"], mine["position"].where(own, -1)]
    told = mine.groupby(key, sort=False).agg(
        machine=("machine", "first"),
        from_day=("from_day", "first"),
        until_day=("until_day", "max"),
        still_in=("until_day", lambda days: bool(days.isna().any())),
        hours=("hours", "max"),
        places=("clearance", "nunique"),
    )
    told["until_day"] = told["until_day"].where(~told["still_in"])
    told = told.drop(columns="still_in").sort_values("from_day", kind="stable")
    return told.reset_index(drop=True)


def _last(names: pd.Series) -> str | None:
    known = names.dropna()
    return None if known.empty else str(known.iloc[-1])
