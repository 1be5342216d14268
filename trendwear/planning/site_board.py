"""The board of a site: which of its machines need a window, and what each window would cost."""

from __future__ import annotations

from enum import Enum

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.errors import UsageProblem
from trendwear.planning.plan import SitePlan
from trendwear.planning.site import Board
from trendwear.wording import fold

__all__ = ["Aim", "board_of"]

Floats = NDArray[np.float64]


class Aim(Enum):
    """What the site's plan is to keep least."""

    RISK = "running hours past some limit before the openings, as expected"
    COST = "cost above each machine's cheapest opening, and of the windows used"


def board_of(
    plan: SitePlan, machines: pd.DataFrame, coming: pd.DataFrame, aim: Aim = Aim.RISK
) -> Board:
    """Return the machines that must be opened in the coming windows, and their prices.

    A machine must be opened where its latest or due date comes before the last window has
    ended.  One whose date has passed, or comes before any window it fits, may take any
    window: it cannot be in time.  With no date it is left to a person.

    Parameters
    ----------
    plan : SitePlan
        Of the whole site.
    machines : DataFrame
        `tables.MACHINES`.
    coming : DataFrame
        `OUTAGES` that start after today, in order of time.
    aim : Aim
    """
    overhaul, windows = plan.overhaul, plan.windows
    count, offered = len(overhaul), len(coming)
    last_end = coming["end"].max() if offered else pd.NaT
    bound = overhaul[["latest_date", "due_date"]].min(axis=1)
    needs = (bound <= last_end).to_numpy(dtype=bool)
    chance = windows["chance_before"].to_numpy(dtype=float).reshape(count, offered)
    chance = np.where(overhaul["past_today"].notna().to_numpy()[:, None], 1.0, chance)
    hours = windows["hours_until"].to_numpy(dtype=float).reshape(count, offered)
    fits = windows["hindrance"].isna().to_numpy(dtype=bool).reshape(count, offered)
    start = coming["start"].to_numpy()
    in_time = fits & (start[None, :] <= bound.to_numpy()[:, None])
    allowed = np.where(in_time.any(axis=1, keepdims=True), in_time, fits)
    facts = machines.drop_duplicates("machine").set_index("machine").reindex(overhaul["machine"])
    now = np.where(overhaul["past_today"].notna(), 1.0, overhaul["chance_now"])
    once: tuple[float, ...] = ()
    unknown = np.zeros(count, dtype=bool)
    if aim is Aim.COST:
        price, once, unknown = _money(plan, coming, allowed)
    else:
        price = _hours_past(now, chance, hours)
    chosen = np.flatnonzero(needs)
    facts = facts.iloc[chosen]
    names = tuple(str(name) for name in overhaul["machine"].iloc[chosen])
    return Board(
        machines=names,
        windows=coming,
        price=price[chosen],
        allowed=allowed[chosen],
        crew_days=facts["crew_days"].fillna(0.0).to_numpy(dtype=float),
        pairs=_pairs(names, facts["spare_of"]),
        trains=_trains(facts["train"], facts["site"]),
        overdue=tuple(np.flatnonzero(~in_time[chosen].any(axis=1)).tolist()),
        once=once,
        meant=tuple(_meant(plan).get(name) for name in names),
        not_after=tuple(bound.iloc[chosen].dt.date),
        unpriced=tuple(
            name for name, not_known in zip(names, unknown[chosen], strict=True) if not_known
        ),
    )


def _meant(plan: SitePlan) -> dict[str, str]:
    """The window of each machine's renewals."""
    table = plan.renewals.table.dropna(subset="outage").drop_duplicates("machine")
    return dict(zip(table["machine"], table["outage"], strict=True))


def _money(
    plan: SitePlan, coming: pd.DataFrame, allowed: NDArray[np.bool_]
) -> tuple[Floats, tuple[float, ...], NDArray[np.bool_]]:
    """What each machine's openings cost above its cheapest, and what using each window costs.

    A window's cost is paid once.  A machine without known costs, named last, costs nothing
    anywhere.
    """
    openings = plan.costs.openings
    if openings.empty or openings["expected_cost"].isna().all():
        raise UsageProblem(
            "the least cost",
            "no machine's cost is known",
            "Give cost_if_past and what an overhaul costs, or place the site by risk",
        )
    once = coming["cost"].fillna(0.0).to_numpy(dtype=float)
    named = openings.drop_duplicates(["machine", "opening"]).set_index(["machine", "opening"])
    wanted = pd.MultiIndex.from_product([plan.overhaul["machine"], coming["outage"]])
    dearer = named["dearer_by"].reindex(wanted).to_numpy(dtype=float).reshape(allowed.shape)
    alone = dearer - once[None, :]
    least = np.where(allowed, alone, np.inf).min(axis=1, keepdims=True, initial=np.inf)
    price = np.nan_to_num(alone - least, posinf=0.0, neginf=0.0)
    return price, tuple(once.tolist()), np.isnan(dearer).all(axis=1)


def _hours_past(now: Floats, chance: Floats, hours: Floats) -> Floats:
    """Running hours (machines, windows) past some limit to be expected before each window.

    The integral of the chance over the planned hours, by trapezes between the windows.  Where
    the duty or the chance is unknown, later counts as worse, by the order of the windows.
    """
    count, offered = chance.shape
    chances = np.column_stack([now, chance])
    ends = np.column_stack([np.zeros(count), hours])
    past = np.cumsum(np.diff(ends, axis=1) * (chances[:, 1:] + chances[:, :-1]) / 2, axis=1)
    most = float(np.nanmax(past, initial=1.0))
    later = np.linspace(0.0, most, offered + 1)[1:]
    return np.where(np.isfinite(past), past, later[None, :])


def _pairs(names: tuple[str, ...], spare_of: pd.Series) -> tuple[tuple[int, int], ...]:
    place = {fold(name): number for number, name in enumerate(names)}
    stated = [(fold(of), number) for number, of in enumerate(spare_of) if isinstance(of, str)]
    return tuple((place[of], spare) for of, spare in stated if of in place and place[of] != spare)


def _trains(train: pd.Series, site: pd.Series) -> tuple[tuple[int, ...], ...]:
    members: dict[tuple[str, str], list[int]] = {}
    for number, (name, where) in enumerate(zip(train, site, strict=True)):
        if isinstance(name, str):
            key = (fold(name), fold(where) if isinstance(where, str) else "")
            members.setdefault(key, []).append(number)
    return tuple(tuple(some) for some in members.values() if len(some) > 1)
