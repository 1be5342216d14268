"""What is to be expected at the bench: readings, chances, and what the record leaves open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtr

from trendwear import tables
from trendwear.forecasting.evidence import evidence
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.concessions import Signed
from trendwear.planning.limiting import against_limits, crossing_of
from trendwear.planning.overhaul import limiting_of
from trendwear.planning.plan import SitePlan
from trendwear.planning.spares import parts_fitted
from trendwear.planning_tables import RENEWALS
from trendwear.trust.belief import FAR

__all__ = ["Expected", "PlannedWork", "expected_of", "nothing_planned", "open_points"]

Floats = NDArray[np.float64]

_OPEN: Final = (
    "look again",
    "made before this event",
    "unexplained step",
    "start assumed",
    "its family holds a reading",
    "too near the limit to tell",
    "wears faster",
    "overdue",
    "no reading to go by",
    "not measured since the last work",
    "no two readings of one run",
    "running hours unknown",
)
"""How those remarks begin that the lead should know before the part is judged."""
_FAR_LOW: Final = float(ndtr(-FAR))
_QUANTILES: Final = (_FAR_LOW, 0.05, 0.5, 0.95, 1.0 - _FAR_LOW)


@dataclass(frozen=True)
class PlannedWork:
    """What a plan recommends for one machine.

    Attributes
    ----------
    outage : str or None
        The opening it is meant for.
    renewals : DataFrame
        `trendwear.planning_tables.RENEWALS` of the machine.
    """

    outage: str | None
    renewals: pd.DataFrame

    @classmethod
    def out_of(cls, plan: SitePlan, machine: str) -> PlannedWork:
        """Return what the plan of a site recommends for one machine."""
        mine = plan.renewals.table
        mine = mine[mine["machine"] == machine]
        named = mine["outage"].dropna()
        return cls(None if named.empty else str(named.iloc[0]), mine)

    def word(self, clearance: str) -> str | None:
        """Return *renew* or *leave*; None where the plan says neither."""
        known = self.renewals.dropna(subset="chance_left")
        mine = known[known["clearance"] == clearance]
        if mine.empty:
            return None
        return "renew" if mine["renew"].any() else "leave"


def nothing_planned() -> PlannedWork:
    """Return what is recommended where there is no plan."""
    return PlannedWork(None, tables.empty(RENEWALS))


@dataclass(frozen=True)
class Expected:
    """What the record says of one position, for the lead alone.

    Lengths are mm in the register's basis; NaN where nothing can be expected.

    Attributes
    ----------
    low_mm, middle_mm, high_mm : float
        The as-found reading to be expected: 1 in 20 below, as likely above as below,
        1 in 20 above.
    odd_below_mm, odd_above_mm : float
        Beyond these a reading is to be looked at again (`trendwear.trust.belief.FAR`
        standard deviations).
    takes : str
        Of several readings the one that counts: *largest*, *smallest* or *mean*.
    past_now : tuple of (str, float)
        Way the gap moves and chance that it is past that limit now; one a limit.
    planned : str or None
        *renew* or *leave*.
    open_points : tuple of str
    """

    low_mm: float
    middle_mm: float
    high_mm: float
    odd_below_mm: float
    odd_above_mm: float
    takes: str
    past_now: tuple[tuple[str, float], ...]
    planned: str | None
    open_points: tuple[str, ...]

    @property
    def told(self) -> bool:
        """Whether a reading can be expected."""
        return bool(np.isfinite(self.middle_mm))


def expected_of(
    told: SiteForecast, rows: pd.DataFrame, planned: PlannedWork
) -> dict[str, Expected]:
    """Return what is to be expected of each position, by its name.

    Parameters
    ----------
    told : SiteForecast
    rows : DataFrame
        Register rows in force of one machine, out of ``told.basis.register``.
    planned : PlannedWork
    """
    basis = told.basis
    hours = np.array([basis.clocks[name].hours for name in rows["machine"]], dtype=float)
    standing = against_limits(basis, rows, evidence(basis.cut), hours)
    crossing = crossing_of(basis, standing)
    u_mm = told.rows.loc[rows.index, "u_mm"].to_numpy(dtype=float)
    worn = np.stack([crossing.found_at(crossing.run, u_mm, q) for q in _QUANTILES], axis=1)
    chance = told.rows.loc[rows.index, "chance_past_now"].to_numpy(dtype=float)
    sign = basis.cut.positions["sign"].to_numpy(dtype=float)[standing["position"]]
    takes = basis.cut.positions["takes"].to_numpy()[standing["position"]]
    points = open_points(told, rows)
    found: dict[str, Expected] = {}
    for name, at in rows.reset_index(drop=True).groupby("clearance", sort=False).groups.items():
        first = int(at[0])
        band = _in_order(worn[first], float(sign[first]))
        ways = zip(rows["moves"].to_numpy()[at], chance[at], strict=True)
        found[str(name)] = Expected(
            odd_below_mm=band[0],
            low_mm=band[1],
            middle_mm=band[2],
            high_mm=band[3],
            odd_above_mm=band[4],
            takes=str(takes[first]),
            past_now=tuple((str(way), float(one)) for way, one in ways if np.isfinite(one)),
            planned=planned.word(str(name)),
            open_points=points.get(str(name), ()),
        )
    return found


def _in_order(worn: Floats, sign: float) -> list[float]:
    """Quantiles as the gap is read, the smallest first."""
    values = worn * sign
    return [float(value) for value in (values if sign > 0 else values[::-1])]


def open_points(told: SiteForecast, rows: pd.DataFrame) -> dict[str, tuple[str, ...]]:
    """Return what the record leaves open of each position: short hints, by its name.

    Readings to look at again, events since the last reading, unexplained steps, what runs
    on by concession, and parts that differ from the register's.
    """
    said: dict[str, list[str]] = {str(name): [] for name in rows["clearance"]}
    for name, notes in zip(rows["clearance"], told.rows.loc[rows.index, "notes"], strict=True):
        if isinstance(notes, str):
            said[str(name)] += [note for note in notes.split("; ") if note.startswith(_OPEN)]
    for name, words in _concessions(told, rows):
        said[name].append(words)
    fitted = parts_fitted(rows, told.cut.work)
    for name, number, stated, differs in zip(
        rows["clearance"], fitted["part_no"], rows["part_no"], fitted["fitted_differs"], strict=True
    ):
        if differs:
            said[str(name)].append(f"last fitted was {number}, the register says {stated}")
    return {name: tuple(dict.fromkeys(words)) for name, words in said.items()}


def _concessions(told: SiteForecast, rows: pd.DataFrame) -> list[tuple[str, str]]:
    """Concessions that hold or have ended while the clearance stayed past its limit."""
    signed = limiting_of(told).concessions
    signed = signed[signed["machine"].isin(rows["machine"].unique())]
    said = []
    for row in signed.drop_duplicates("clearance").to_dict("records"):
        if row["signed"] is Signed.HOLDS:
            said.append((str(row["clearance"]), f"past its limit by concession, {_signed(row)}"))
        elif row["signed"] is Signed.ENDED and row["past"]:
            said.append((str(row["clearance"]), f"concession has ended, {_signed(row)}"))
    return said


def _signed(row: dict[Any, Any]) -> str:
    until = "" if pd.isna(row["until"]) else f", until {row['until']:%Y-%m-%d}"
    return f"signed by {row['by']} {row['date']:%Y-%m-%d}{until}"
