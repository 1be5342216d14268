"""The latest overhaul of each machine at accepted risks, and what governs it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.forecasting.evidence import evidence
from trendwear.forecasting.limit_forecast import Basis
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.accepted import Accepted
from trendwear.planning.concessions import Signed, concessions_on, no_concessions
from trendwear.planning.limiting import against_limits, crossing_of, may_limit
from trendwear.planning.shares import first_shares
from trendwear.planning.together import Together

__all__ = ["Answer", "Limiting", "latest_overhauls", "limiting_of"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

LIKELY_PAST = 0.5
"""From this chance on a clearance counts as past its limit today."""


class Answer(Enum):
    """What the question for a latest overhaul comes to."""

    REACHED = "latest overhaul found"
    PAST = "past its limit today"
    ABOVE = "above the accepted risk today"
    NEVER = "risk not reached within 200,000 h"
    NO_DUTY = "duty unknown: hours without a date"
    STANDS = "planned to run too little: hours without a date"
    NOTHING_LIMITS = "no clearance limits it"
    NO_FORECAST = "no forecast of any limiting clearance"


@dataclass(frozen=True)
class Limiting:
    """The clearances that may set the overhauls of a site, as of a day.

    Attributes
    ----------
    machines : Index
        Every machine of the register, in its order.
    rows : DataFrame
        Limiting clearances that can be forecast (`against_limits`), with ``code`` (the
        machine's number), ``past`` (past its limit today), ``conceded`` (past the register's
        limit, it runs on by concession and stands apart) and ``longest_run``.
    crossing : Crossing
        Of the rows, as of the day.
    spread : ndarray, shape (machines,)
        Relative standard deviation of each machine's duty.
    silent : dict of str to list of str
        Limiting clearances without a forecast, by machine.
    measured_past : set of (machine, clearance)
        Those past their limit when last read, forecast or not; conceded ones left out.
    concessions : DataFrame
        As `trendwear.planning.concessions.concessions_on` gives them; a clearance with an
        accepted limit has that one in ``rows``.
    """

    machines: pd.Index
    rows: pd.DataFrame
    crossing: Crossing
    spread: Floats
    silent: dict[str, list[str]]
    measured_past: set[tuple[str, str]]
    concessions: pd.DataFrame = field(default_factory=no_concessions)

    def only(self, keep: Flags) -> Limiting:
        """The same with some of the rows."""
        return Limiting(
            self.machines,
            self.rows[keep].reset_index(drop=True),
            self.crossing.rows(np.flatnonzero(keep)),
            self.spread,
            self.silent,
            self.measured_past,
            self.concessions,
        )

    @property
    def by_machine(self) -> Together:
        """All clearances of a machine as one, in planned hours."""
        code = self.rows["code"].to_numpy(dtype=np.int64)
        return Together.as_planned(self.crossing, code, self.spread).by_part(self.rows["position"])


def limiting_of(told: SiteForecast) -> Limiting:
    """Return the clearances of a site that may set an overhaul."""
    basis = told.basis
    machines = pd.Index(basis.register["machine"].unique(), dtype="object")
    rows = basis.register[may_limit(basis.register)]
    hours = np.array([basis.clocks[machine].hours for machine in rows["machine"]], dtype=float)
    rests_on = evidence(basis.cut)
    rows = _with_past(basis, against_limits(basis, rows, rests_on, hours))
    as_of = pd.Timestamp(told.as_of).as_unit("us")
    concessions = concessions_on(told.site.planning.concessions, rows, basis.cut.work, as_of)
    holding = concessions[concessions["signed"] == Signed.HOLDS]
    accepted = holding["accepted_limit_mm"].dropna()
    if len(accepted):
        limit = accepted.reindex(rows.index).fillna(rows["limit_mm"])
        rows = against_limits(basis, rows.assign(limit_mm=limit), rests_on, hours)
        rows = _with_past(basis, rows)
    rows["conceded"] = rows.index.isin(holding.index.difference(accepted.index))
    counted = rows[~rows["conceded"]]
    measured = counted[counted["measured_past"]]
    silent = counted[~counted["told"] & ~counted["measured_past"]]
    rows = rows[rows["told"]].reset_index(drop=True)
    rows = rows.assign(
        code=machines.get_indexer(rows["machine"]),
        longest_run=rests_on["longest_run"].reindex(rows["position"]).to_numpy(),
    )
    return Limiting(
        machines=machines,
        rows=rows,
        crossing=crossing_of(basis, rows),
        spread=np.array([basis.clocks[machine].duty.spread for machine in machines], dtype=float),
        silent={str(name): list(some["clearance"].unique()) for name, some in _by_machine(silent)},
        measured_past=set(zip(measured["machine"], measured["clearance"], strict=True)),
        concessions=concessions,
    )


def _with_past(basis: Basis, rows: pd.DataFrame) -> pd.DataFrame:
    """Add ``past``: whether each row was read past its limit, or is so by forecast."""
    told = rows["told"].to_numpy(dtype=bool)
    crossing = crossing_of(basis, rows[told])
    past = rows["measured_past"].to_numpy(dtype=bool).copy()
    past[told] |= crossing.chance_at(crossing.run) >= LIKELY_PAST
    return rows.assign(past=past)


def _by_machine(rows: pd.DataFrame) -> list[tuple[str, pd.DataFrame]]:
    return list(rows.groupby("machine", sort=False))


def latest_overhauls(limiting: Limiting, accepted: Accepted) -> pd.DataFrame:
    """Return the latest overhaul of every machine by the clearances given.

    Each heading's own risk must hold (`Accepted.heading`): the heading whose risk is
    reached first sets hours and date.  Hours are hours really run; the date also
    carries the spread of the duty.

    Returns
    -------
    DataFrame
        One row a machine, indexed by name: ``hours`` (running hours from now),
        ``planned`` (planned hours from now: they give the date), ``risk``, ``heading``,
        ``governs`` (shares by clearance, a Series), ``reach``.  Hours are NaN where the
        risk is exceeded now, `FARTHEST_HOURS` where it is not reached; the heading is
        missing where nothing limits.
    """
    rows = limiting.rows
    keys = pd.DataFrame({"code": rows["code"], "heading": accepted.heading(rows["consequence"])})
    group = keys.groupby(["code", "heading"], sort=False).ngroup().to_numpy(dtype=np.int64)
    groups = keys.drop_duplicates().reset_index(drop=True)
    risk = np.array([accepted.risk(name) for name in groups["heading"]], dtype=float)
    code = groups["code"].to_numpy(dtype=np.int64)
    part, spread = rows["position"], limiting.spread[code]
    in_hours = Together.in_hours(limiting.crossing, group, len(groups)).by_part(part)
    planned = Together.as_planned(limiting.crossing, group, spread).by_part(part)
    groups = groups.assign(
        risk=risk,
        hours=in_hours.latest(risk),
        planned=planned.latest(risk),
        group=np.arange(len(groups)),
    )
    # What is exceeded now stands before anything that is reached later.
    first = groups.assign(rank=groups["hours"].fillna(-1.0)).sort_values("rank", kind="stable")
    first = first.drop_duplicates("code").sort_values("code", kind="stable")
    first["planned"] = groups.groupby("code")["planned"].min().reindex(first["code"]).to_numpy()
    asked = np.zeros(len(groups))
    asked[first["group"]] = first["hours"].fillna(0.0)
    chances = in_hours.each(asked)
    first["governs"] = [
        _governing(rows, chances, np.flatnonzero(group == row.group), row.hours)
        for row in first.itertuples()
    ]
    first["reach"] = [
        _reach(rows[group == row.group], row.governs, row.hours) for row in first.itertuples()
    ]
    columns = ["hours", "planned", "risk", "heading", "governs", "reach"]
    return first.set_index(limiting.machines[first["code"]])[columns].reindex(limiting.machines)


def _governing(
    rows: pd.DataFrame, chances: Floats, mine: NDArray[np.int64], hours: float
) -> pd.Series:
    """Shares of the clearances that make most of the chance; none where it is never reached."""
    if hours >= FARTHEST_HOURS:
        return pd.Series(dtype="float64")
    return first_shares(rows["clearance"].iloc[mine], chances[mine])


def _reach(rows: pd.DataFrame, governs: pd.Series, hours: float) -> float:
    """How far the forecast of what governs first goes beyond the longest measured run."""
    first = rows[rows["clearance"].isin(governs.index[:1])]
    if first.empty:
        return float("nan")
    return float(((np.nan_to_num(hours) + first["run"]) / first["longest_run"]).max())
