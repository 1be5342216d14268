"""Other limits, and clearances renewed on a day to come."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pandas as pd

from trendwear import tables
from trendwear.errors import TrendwearError, UnknownName, UsageProblem
from trendwear.forecasting.site import SiteForecast
from trendwear.lengths import from_mm
from trendwear.planning.case_changes import OtherLimit, OtherRenewal
from trendwear.segments.chronicle import Record
from trendwear.segments.positions import in_force
from trendwear.tables import WORK
from trendwear.wording import fold, fold_column

__all__ = [
    "limit_misfits",
    "limit_remarks",
    "renewal_day",
    "renewal_misfits",
    "with_limit",
    "with_renewals",
]


def limit_misfits(told: SiteForecast, change: OtherLimit) -> Iterator[TrendwearError]:
    """Yield why another limit cannot be supposed of a site."""
    register = told.basis.register
    unknown = _unknown(register, change)
    if unknown is not None:
        yield unknown
        return
    rows = register[_meant(register, change)]
    if rows.empty:
        only = register.loc[_of_clearance(register, change), "moves"].iloc[0]
        yield UnknownName(str(change), "the register has no such limit", f"It has: {only}")
    elif len(rows) > 1:
        yield UsageProblem(
            str(change),
            "this clearance has two limits",
            "Say which one: opens for the largest, closes for the smallest.",
        )


def with_limit(register: pd.DataFrame, change: OtherLimit, as_of: dt.date) -> pd.DataFrame:
    """Return a register (`tables.CLEARANCES`, all limits in sequence) in which a limit is another.

    The new limit follows the one in force, from ``as_of`` on.  Where there was none and so
    nothing that could set an overhaul, there is now.
    """
    now = in_force(register, as_of)
    row = now[_meant(now, change)].iloc[:1].copy()
    row["limiting"] = row["limiting"] | row["limit_mm"].isna()
    row["limit_mm"] = change.limit_mm
    row["limit_from"] = pd.Timestamp(as_of).as_unit("us")
    row["limit_source"] = "supposed"
    return pd.concat([register, row], ignore_index=True)


def limit_remarks(told: SiteForecast, change: OtherLimit) -> Iterator[str]:
    """Say what is odd about a supposed limit: it is passed already, or it sets no date."""
    rows = told.rows[_meant(told.rows, change)]
    row = rows.iloc[0]
    where = f"{row['machine']} / {row['clearance']}"
    limit = from_mm(change.limit_mm, str(row["unit"]))
    side = 1.0 if row["moves"] == "opens" else -1.0
    written = f"{limit:.6g} {row['unit']}"
    if pd.notna(row["last_reading"]) and side * (row["last_reading"] - limit) > 0:
        yield (
            f"{where}: the last reading ({row['last_reading']:.6g} {row['unit']} on "
            f"{row['last_reading_date']:%Y-%m-%d}) is past the supposed limit of {written}"
        )
    elif pd.notna(row["clearance_now"]) and side * (row["clearance_now"] - limit) > 0:
        yield f"{where}: by forecast it is past the supposed limit of {written} today"
    design = told.basis.register[_meant(told.basis.register, change)].iloc[0]
    built = design["design_max_mm"] if side > 0 else design["design_min_mm"]
    if pd.notna(built) and side * (built - change.limit_mm) > 0:
        yield f"{where}: a part as built may be past the supposed limit of {written}"
    if pd.notna(design["limit_mm"]) and not design["limiting"]:
        yield f"{where} is kept as not limiting, so its limit sets no date"


def renewal_misfits(
    told: SiteForecast, outages: pd.DataFrame, change: OtherRenewal
) -> Iterator[TrendwearError]:
    """Yield why a renewal cannot be supposed; ``outages`` are those of the case."""
    unknown = _unknown(told.basis.register, change)
    if unknown is not None:
        yield unknown
        return
    if change.window is not None:
        here = outages[fold_column(outages["outage"]) == fold(change.window)]
        if here.empty:
            offered = "There are: " + ", ".join(outages["outage"])
            yield UnknownName(
                f"renewal: window {change.window}", "there is no such window", offered
            )
            return
    day = renewal_day(outages, change)
    if day < told.as_of:
        yield UsageProblem(
            str(change),
            f"{day:%Y-%m-%d} is before {told.as_of:%Y-%m-%d}",
            "Load work that was done; suppose what is still to come.",
        )


def renewal_day(outages: pd.DataFrame, change: OtherRenewal) -> dt.date:
    """Return the day on which a clearance is supposed to be renewed."""
    if change.on is not None:
        return change.on
    here = outages[fold_column(outages["outage"]) == fold(change.window or "")]
    day: dt.date = pd.Timestamp(here["start"].iloc[0]).date()
    return day


def with_renewals(
    told: SiteForecast, record: Record, changes: list[OtherRenewal], day: dt.date
) -> Record:
    """Return a record in which clearances were renewed on a day."""
    register = told.basis.register
    spelt = [register[_of_clearance(register, change)].iloc[0] for change in changes]
    rows = pd.DataFrame(
        {
            "machine": [row["machine"] for row in spelt],
            "clearance": [row["clearance"] for row in spelt],
            "date": pd.Timestamp(day).as_unit("us"),
            "date_spread_days": 0.0,
            "action": "renewed",
            "hours_spread": 0.0,
            "note": "supposed",
            "row": 0,
        }
    )
    fresh = tables.conform(rows, WORK)
    work = pd.concat([record.work, fresh], ignore_index=True) if len(record.work) else fresh
    return Record(record.readings, work, record.run_log)


def _unknown(register: pd.DataFrame, change: OtherLimit | OtherRenewal) -> UnknownName | None:
    mine = fold_column(register["machine"]) == fold(change.machine)
    if not mine.any():
        offered = "It has: " + ", ".join(register["machine"].unique())
        return UnknownName(f"machine {change.machine}", "the register does not have it", offered)
    if not _of_clearance(register, change).any():
        offered = "It has: " + ", ".join(register.loc[mine, "clearance"].unique())
        return UnknownName(
            f"clearance {change.clearance} of machine {change.machine}",
            "the register does not have it",
            offered,
        )
    return None


def _of_clearance(rows: pd.DataFrame, change: OtherLimit | OtherRenewal) -> pd.Series:
    machine = fold_column(rows["machine"]) == fold(change.machine)
    return machine & (fold_column(rows["clearance"]) == fold(change.clearance))


def _meant(rows: pd.DataFrame, change: OtherLimit) -> pd.Series:
    here = _of_clearance(rows, change)
    return here if change.moves is None else here & (rows["moves"] == change.moves)
