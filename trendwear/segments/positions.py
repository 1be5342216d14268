"""One row for each clearance: which way it wears, what it is limited by, who it wears like."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd

from trendwear.wording import fold_column

__all__ = ["in_force", "positions", "work_by_clearance"]


def in_force(clearances: pd.DataFrame, as_of: dt.date) -> pd.DataFrame:
    """Return the register rows that hold on ``as_of``, one for each way of wearing.

    Of limits in sequence the latest with ``limit_from`` on or before the day holds; a
    row without a date holds from the beginning.  Where none holds yet, the first one's
    row stands without its limit.
    """
    key = ["machine", "clearance", "moves"]
    rows = clearances.reset_index(drop=True)
    begins = rows["limit_from"].fillna(pd.Timestamp.min.as_unit("us"))
    holds = begins <= pd.Timestamp(as_of)
    rank = rows.assign(holds=holds, begins=begins, place=np.arange(len(rows)))
    rank["place"] = rank.groupby(key)["place"].transform("min")
    rank = rank.sort_values(["holds", "begins"], kind="stable")
    late = rank[rank["holds"]].drop_duplicates(key, keep="last")
    early = rank[~rank["holds"]].drop_duplicates(key, keep="first")
    known = pd.MultiIndex.from_frame(late[key])
    early = early[~pd.MultiIndex.from_frame(early[key]).isin(known)].assign(limit_mm=np.nan)
    parts = [part for part in (late, early) if len(part)] or [late]
    rows = pd.concat(parts).sort_values("place", kind="stable")
    return rows.drop(columns=["holds", "begins", "place"]).reset_index(drop=True)


def positions(register: pd.DataFrame, machines: pd.DataFrame) -> pd.DataFrame:
    """Return one row a clearance from the register rows in force.

    A clearance limited both ways has two register rows and one fit, in the family
    and sign of its ``opens`` row.

    Returns
    -------
    DataFrame
        ``machine``, ``clearance``, ``kind``, ``register_basis``, ``unit``, ``set``,
        ``method``, ``sign`` (1 where it opens, -1 where it closes), ``both_ways``,
        ``takes`` ("largest", "smallest", "mean"), ``family``, ``class``.
    """
    key = ["machine", "clearance"]
    rows = register.sort_values("moves", ascending=False, kind="stable")  # opens first
    ways = rows.groupby(key)["moves"].transform("nunique")
    rows = rows.assign(both_ways=ways > 1).drop_duplicates(key).sort_index()
    sign = np.where(rows["moves"] == "opens", 1.0, -1.0)
    worst = np.where(rows["moves"] == "opens", "largest", "smallest")
    mean = (rows["reduce"] == "mean") | (rows["both_ways"] & (rows["reduce"] != "worst"))
    classes = machines.set_index("machine")["class"]
    machine_class = rows["machine"].map(classes)
    rows = rows.assign(sign=sign, takes=np.where(mean, "mean", worst), register_basis=rows["basis"])
    rows["class"] = machine_class
    rows["family"] = rows["family"].fillna(_usual_family(rows, machine_class))
    wanted = ["kind", "register_basis", "unit", "set", "method", "sign", "both_ways", "takes"]
    return rows[[*key, *wanted, "family", "class"]].reset_index(drop=True)


def _usual_family(rows: pd.DataFrame, machine_class: pd.Series) -> pd.Series:
    """Class, kind, basis and way of wearing; the machine alone where it has no class."""
    alike = fold_column(machine_class).fillna(rows["machine"])
    return alike + " / " + fold_column(rows["kind"]) + " / " + rows["basis"] + " / " + rows["moves"]


def work_by_clearance(work: pd.DataFrame, places: pd.DataFrame) -> pd.DataFrame:
    """Spread work on a set or on ``*`` over the clearances it touches.

    A part moved or exchanged touches the place it came from and the place it went to.
    Spellings compare folded; ``clearance`` becomes the register's.
    """
    if work.empty:
        return work.assign(work_row=pd.Series(dtype="int64"))
    moved = work[work["to_clearance"].notna()].copy()
    moved["clearance"] = moved["to_clearance"]
    moved["machine"] = moved["to_machine"].fillna(moved["machine"])
    rows = pd.concat([work, moved]) if len(moved) else work
    rows = rows.assign(work_row=rows.index, wanted=fold_column(rows["clearance"]))
    named = places[["machine", "clearance"]].assign(wanted=fold_column(places["clearance"]))
    sets = places[["machine", "clearance"]].assign(wanted=fold_column(places["set"]))
    whole = places[["machine", "clearance"]].assign(wanted="*")
    targets = pd.concat([named, sets[sets["wanted"].notna()], whole]).drop_duplicates()
    spread = rows.drop(columns="clearance").merge(targets, on=["machine", "wanted"], how="inner")
    return spread.drop(columns="wanted").drop_duplicates(["machine", "clearance", "work_row"])
