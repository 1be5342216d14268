"""One row for each clearance: which way it wears, what it is limited by, who it wears like."""

from __future__ import annotations

import datetime as dt
from typing import Final

import numpy as np
import pandas as pd

from trendwear.wording import fold_column

__all__ = ["OWN", "PARTNER", "in_force", "positions", "work_by_clearance"]

OWN: Final = "own part"
PARTNER: Final = "partner"

_CLEARANCE, _SET, _WHOLE, _PARTNER = "clearance", "set", "*", "partner"
"""What a name in the work sheet may stand for."""


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
        ``partner``, ``method``, ``sign`` (1 where it opens, -1 where it closes), ``both_ways``,
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
    wanted = ["kind", "register_basis", "unit", "set", "partner", "method"]
    wanted += ["sign", "both_ways", "takes"]
    return rows[[*key, *wanted, "family", "class"]].reset_index(drop=True)


def _usual_family(rows: pd.DataFrame, machine_class: pd.Series) -> pd.Series:
    """Class, kind, basis and way of wearing; the machine alone where it has no class."""
    alike = fold_column(machine_class).fillna(rows["machine"])
    return alike + " / " + fold_column(rows["kind"]) + " / " + rows["basis"] + " / " + rows["moves"]


def work_by_clearance(work: pd.DataFrame, places: pd.DataFrame) -> pd.DataFrame:
    """Spread work on a set, on ``*`` or on a partner over the clearances it touches.

    Spellings compare folded; ``clearance`` becomes the register's.  A name that no
    clearance and no set of the machine bears is that of a part they run against
    (``partner``): then all of them are touched.  ``partner renewed`` on one clearance
    touches all that name the same partner, on that machine.

    Parameters
    ----------
    work : DataFrame
        As `trendwear.segments.arrivals.with_arrivals` gives it, or its rows in a chronicle.
    places : DataFrame
        As `positions`.

    Returns
    -------
    DataFrame
        Also ``role`` (`OWN`: the work was done on the clearance's own part; `PARTNER`: on
        the part it runs against) and ``shared`` (the partner through which the work
        reaches a clearance that it does not name; missing where it names it).
    """
    rows = work.assign(wanted=fold_column(work["clearance"]))
    spread = rows.drop(columns="clearance").merge(_targets(places), on=["machine", "wanted"])
    spread = pd.concat([spread, _of_sharers(spread, places)], ignore_index=True)
    on_partner = spread["shared"].notna()
    renewed = on_partner & spread["action"].isin(["renewed", "re-babbitted"])
    spread["action"] = spread["action"].mask(renewed, "partner renewed")
    travels = spread["named_as"].isin([_SET, _WHOLE]) & (spread["action"] == "exchanged")
    of_partner = on_partner | travels | (spread["action"] == "partner renewed")
    spread["role"] = np.where(of_partner, PARTNER, OWN)
    key = ["machine", "clearance", "work_row", "arrives"]
    return spread.drop(columns=["wanted", "named_as"]).drop_duplicates(key)


def _targets(places: pd.DataFrame) -> pd.DataFrame:
    """Every name that a work row may use, and the clearances it stands for."""
    here = places[["machine", "clearance"]]
    named = here.assign(wanted=fold_column(places["clearance"]), named_as=_CLEARANCE)
    sets = here.assign(wanted=fold_column(places["set"]), named_as=_SET)
    whole = here.assign(wanted=_WHOLE, named_as=_WHOLE)
    found = pd.concat([named, sets, whole]).assign(shared=None)
    partners = here.assign(
        wanted=fold_column(places["partner"]), named_as=_PARTNER, shared=places["partner"]
    )
    taken = pd.MultiIndex.from_frame(found[["machine", "wanted"]])
    free = ~pd.MultiIndex.from_frame(partners[["machine", "wanted"]]).isin(taken)
    parts = [part for part in (found, partners[free]) if len(part)] or [found]
    found = pd.concat(parts)[["machine", "clearance", "wanted", "named_as", "shared"]]
    return found.dropna(subset="wanted").drop_duplicates(["machine", "clearance", "wanted"])


def _of_sharers(spread: pd.DataFrame, places: pd.DataFrame) -> pd.DataFrame:
    """``partner renewed`` once more at each clearance that runs on the same partner."""
    partner = places[["machine", "clearance"]].assign(common=fold_column(places["partner"]))
    partner = partner.assign(called=places["partner"]).dropna(subset="common")
    done = spread[(spread["action"] == "partner renewed") & spread["shared"].isna()]
    done = done.merge(partner[["machine", "clearance", "common"]], on=["machine", "clearance"])
    done = done.drop(columns=["clearance", "shared"])
    sharing = done.merge(partner, on=["machine", "common"])
    return sharing.rename(columns={"called": "shared"})[spread.columns]
