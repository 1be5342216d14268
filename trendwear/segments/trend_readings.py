"""From the rows as read to the readings a trend takes: uncertainty, basis, and one of several.

Every reading gets one standard uncertainty, is brought to the register's basis, and
of several planes, angles and repeats of one opening and state the trend takes one.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.segments.angles import join_opposite
from trendwear.segments.openings import NO_OPENING
from trendwear.wording import fold_column

__all__ = ["left_aside", "standard_uncertainty", "to_register_basis", "trend_readings"]

SQRT3: Final = float(np.sqrt(3.0))


def standard_uncertainty(readings: pd.DataFrame, methods: pd.DataFrame) -> pd.DataFrame:
    """Return ``readings`` with ``u_mm``, ``u_from`` and ``bias_mm``.

    The stated uncertainty counts; without it the method's, which may be a starting value
    only; without that one step of what was written: the finest step of that method's
    readings of that position in that unit.  The half-width of an interval joins as
    half-width/sqrt(3) in quadrature, and nothing goes below half a step/sqrt(3)
    (JCGM 100:2008, 4.3.7 and F.2.2.1), but for a stated exact start (0).

    Parameters
    ----------
    readings : DataFrame
        `tables.READINGS`; ``method`` already filled from the register.
    methods : DataFrame
        `tables.METHODS`.
    """
    key = fold_column(readings["method"])
    table = methods.assign(key=fold_column(methods["method"])).drop_duplicates("key", keep="last")
    table = table.set_index("key")
    place = [readings["machine"], readings["clearance"], key.fillna(""), readings["unit"]]
    step = readings["step_mm"].groupby(place).transform("min").fillna(0.0)
    stated = readings["stated_mm"]
    by_method = key.map(table["uncertainty_mm"]).astype("float64")
    u_from = np.select(
        [stated.notna() & readings["u_from"].notna(), stated.notna(), by_method.notna()],
        [readings["u_from"].fillna(""), "stated", _whose(key, table)],
        "written resolution",
    )
    u = stated.fillna(by_method).fillna(step)
    u = np.hypot(u, readings["half_width_mm"].fillna(0.0) / SQRT3)
    exact = (stated == 0) & readings["state"].isin(["as-left", "not stated"])
    u = np.where(exact, 0.0, np.maximum(u, step / 2 / SQRT3))
    return readings.assign(
        u_mm=u, u_from=u_from, bias_mm=key.map(table["bias_mm"]).astype("float64").fillna(0.0)
    )


def _whose(key: pd.Series, table: pd.DataFrame) -> pd.Series:
    """Whether the site or a starting value says how well each reading's method measures."""
    starting = key.isin(table.index[table["source"].notna()])
    return starting.map({True: "starting value", False: "method"})


def to_register_basis(readings: pd.DataFrame) -> pd.DataFrame:
    """Bring every reading to ``register_basis``; ``remark`` says what was done.

    Radial readings of a diametral clearance: opposite angles of one plane are added, a
    lone one is doubled.  A diametral reading of a radial clearance is halved.
    """
    basis, wanted = readings["basis"], readings["register_basis"]
    radial = (basis == "radial") & (wanted == "diametral")
    diametral = (basis == "diametral") & (wanted == "radial")
    readings = readings.assign(remark=None)
    readings["remark"] = readings["remark"].astype("object")
    if diametral.any():
        readings.loc[diametral, ["value_mm", "u_mm", "bias_mm"]] /= 2
        readings.loc[diametral, "remark"] = "diametral reading halved"
    if not radial.any():
        return readings
    return pd.concat([readings[~radial], join_opposite(readings[radial])])


def trend_readings(readings: pd.DataFrame, register: pd.DataFrame) -> pd.DataFrame:
    """Return one row for each opening and state (or check) of each clearance.

    Parameters
    ----------
    readings : DataFrame
        Rows of the chronicle with ``u_mm``, ``bias_mm``, in the register's basis.
    register : DataFrame
        One row a clearance: ``machine``, ``clearance``, ``takes`` ("largest",
        "smallest" or "mean").

    Returns
    -------
    DataFrame
        The chosen rows; ``several`` says how many readings they stand for.
    """
    readings = readings.merge(register[["machine", "clearance", "takes"]], how="left")
    alone = readings["opening_no"] == NO_OPENING
    when = readings["opening_no"].astype("float64").where(~alone, readings["order"])
    unplaced = alone & when.isna()
    when = when.where(~unplaced, -2.0 - np.arange(len(readings)))
    place = ["machine", "clearance", "opening_no", "state"]
    groups = readings.groupby([*(readings[name] for name in place), when], dropna=False)
    worth = readings["value_mm"] * np.where(readings["takes"] == "smallest", -1.0, 1.0)
    readings = readings.assign(
        several=groups["value_mm"].transform("size"),
        mean_mm=groups["value_mm"].transform("mean"),
        worth=worth,
        group=groups.ngroup(),
    )
    chosen = readings.sort_values(["worth", "u_mm"], ascending=[False, False], kind="stable")
    chosen = chosen.drop_duplicates("group").sort_index()
    as_mean = (chosen["takes"] == "mean") & (chosen["several"] > 1)
    chosen["value_mm"] = chosen["value_mm"].where(~as_mean, chosen["mean_mm"])
    said = chosen["takes"].where(chosen["several"] > 1)
    words = said + " of " + chosen["several"].astype(str) + " readings"
    both = chosen["remark"].fillna("") + "; " + words.fillna("")
    chosen["remark"] = both.str.strip("; ").replace("", None).astype("object")
    return chosen.drop(columns=["mean_mm", "worth", "group", "takes"])


def left_aside(readings: pd.DataFrame, methods: pd.DataFrame) -> pd.DataFrame:
    """Return readings that are kept out of the fit, as the trend draws them.

    Each stands for itself, in the register's basis; ``remark`` says why it is left out.
    They lend no other reading their step and take none from the others.
    """
    drawn = to_register_basis(standard_uncertainty(readings, methods))
    return drawn.assign(several=1, remark="excluded: " + drawn["excluded_why"].fillna("no reason"))
