"""What a reading says, in millimetres: value, bounds, uncertainty, basis.

*Worn through* is at least the limit; which limit is asked when it is read back.
``<`` and ``>`` towards the limit are *at least*; ``<`` on a clearance that opens is
the interval from 0 to the bound; ``>`` on one that closes bounds nothing.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.readings.said_basis import TOTAL
from trendwear.readings.value_words import WORN_THROUGH
from trendwear.store.cells import in_mm, length_units, no_unit, plus_minus
from trendwear.store.ledger import Fault, Ledger, listing
from trendwear.store.positions import Register
from trendwear.store.shelves import PROVENANCE

__all__ = ["readings_as_kept"]

_PLAIN: Final = (
    "machine", "clearance", "date", "run_hours", "starts", "state", "basis", "opening", "repeat",
    "plane", "angle", "method", "instrument", "surface", "temperature", "by", "note",
)  # fmt: skip


def readings_as_kept(rows: pd.DataFrame, register: Register, ledger: Ledger) -> pd.DataFrame:
    """Return readings of known positions as they are kept; others are refused.

    Parameters
    ----------
    rows : frame
        Typed rows of the sheet with ``machine_key`` and ``clearance_key``.
    """
    rows = ledger.keep_good(
        rows,
        rows["date"].isna() & rows["run_hours"].isna(),
        Fault("date", "neither a date nor hours are given", "Write one of the two"),
    )
    rows = _beside_register(rows, register)
    rows = _on_a_basis(rows, ledger)
    rows = _in_units(rows, ledger)
    rows = _worn_through(rows, ledger)
    rows = _bounded(rows, ledger)
    rows = _uncertain(rows, ledger)
    cells = {name: rows[name] for name in _PLAIN}
    cells["date_spread_days"] = _where_given(rows["date_spread_days"], rows["date"])
    cells["hours_spread"] = _where_given(rows["run_hours_spread"], rows["run_hours"])
    cells["written"] = rows["value_written"]
    made = ("value_mm", "lower_mm", "upper_mm", "at_least", "half_width_mm", "stated_mm", "step_mm")
    for name in (
        *made,
        "worn_through",
        "unit_kept",
        "unit_from",
        "machine_key",
        "clearance_key",
        *PROVENANCE,
    ):
        cells[name.removesuffix("_kept")] = rows[name]
    return pd.DataFrame(cells, index=rows.index)


def _where_given(spread: pd.Series, of: pd.Series) -> pd.Series:
    return spread.fillna(0.0).where(of.notna())


def _beside_register(rows: pd.DataFrame, register: Register) -> pd.DataFrame:
    """Add what the register says of each position: its unit, basis and direction."""
    keys = ["machine_key", "clearance_key"]
    wanted = register.positions[[*keys, "unit", "basis"]]
    opens = register.clearances.assign(opens=register.clearances["moves"] == "opens")
    wanted = wanted.merge(opens.groupby(keys, as_index=False)["opens"].any(), on=keys)
    names = {"unit": "unit_register", "basis": "basis_register", "opens": "opens"}
    beside = rows[keys].merge(wanted.rename(columns=names), on=keys, how="left")
    return rows.assign(**{name: beside[name].to_numpy() for name in names.values()})


def _on_a_basis(rows: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    kept_on = rows["basis_register"].astype("object")
    total = (rows["value_basis"] == TOTAL) & rows["basis"].isna()
    rows = ledger.keep_good(
        rows,
        total & (kept_on == "thickness"),
        Fault(
            "value",
            "an indicator's whole travel is a gap, and this position is a thickness",
            "Check the position, or write the thickness measured",
        ),
    )
    across = total.loc[rows.index] & (rows["basis_register"] == "radial")
    rows = rows.assign(basis=rows["basis"].mask(across, "diametral"))
    own, kept_on = rows["basis"], rows["basis_register"].astype("object")
    fixed = ["axial", "thickness"]
    apart = own.notna() & (own != kept_on) & (own.isin(fixed) | kept_on.isin(fixed))
    return ledger.keep_good(
        rows,
        apart,
        Fault(
            "basis",
            "the register counts this clearance as "
            + kept_on.map(str)
            + ", which is another thing",
            "Check the position, or correct the basis here or in the register",
        ),
    )


def _in_units(rows: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    unit = length_units(rows, "value", rows["unit"], rows["unit_register"])
    source = np.select(
        [rows["value_unit"].notna(), rows["unit"].notna()], ["cell", "row"], default="register"
    )
    rows = rows.assign(unit_kept=unit, unit_from=source)
    rows = ledger.keep_good(rows, unit.isna(), no_unit("value"))
    unit = rows["unit_kept"]
    rows = rows.assign(
        value_mm=in_mm(rows["value"], unit),
        lower_mm=in_mm(rows["value_lower"], unit),
        upper_mm=in_mm(rows["value_upper"], unit),
        half_width_mm=in_mm(rows["value_half_width"], unit).fillna(0.0),
        step_mm=in_mm(rows["value_step"], unit),
    )
    return ledger.keep_good(
        rows,
        rows["value_mm"].isna() & rows["value_side"].isna(),
        Fault(
            "value", "there is no reading in this row", "Write the reading, or leave the row out"
        ),
    )


def _worn_through(rows: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    """Mark readings that say worn through: 0 or more, until the limit is asked."""
    worn = rows["value_side"] == WORN_THROUGH
    rows = ledger.keep_good(
        rows,
        worn & ~rows["opens"].astype(bool),
        Fault(
            "value",
            "this clearance closes, and one that is worn through opens",
            "Write the number measured",
        ),
    )
    rows = ledger.keep_good(
        rows,
        worn.loc[rows.index] & (rows["state"] != "as-found"),
        Fault(
            "value",
            "worn through says how it was found, and this row has another state",
            "Write as-found where that is meant, else the number measured",
        ),
    )
    worn = worn.loc[rows.index]
    if worn.any():
        places = [f"{row.machine} / {row.clearance}" for row in rows[worn].itertuples()]
        ledger.note(
            "worn through counts as at least the limit, or at least the reading before where "
            f"there is none: {listing(list(dict.fromkeys(places)))}"
        )
    return rows.assign(
        worn_through=worn,
        value_mm=rows["value_mm"].mask(worn, 0.0),
        lower_mm=rows["lower_mm"].mask(worn, 0.0),
        upper_mm=rows["upper_mm"].mask(worn, np.inf),
    )


def _bounded(rows: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    above, below = rows["value_side"] == ">", rows["value_side"] == "<"
    opens = rows["opens"].astype(bool)
    rows = ledger.keep_good(
        rows,
        above & ~opens,
        Fault(
            "value",
            "this clearance closes, and a reading with > has no upper bound",
            "Write the largest it can have been as a range, such as 10-15 mil",
        ),
    )
    above, below, opens = (flag.loc[rows.index] for flag in (above, below, opens))
    bound = rows["lower_mm"].where(above, rows["upper_mm"])
    within = below & opens
    at_least = (above & opens) | (below & ~opens) | rows["worn_through"]
    lower = rows["lower_mm"].where(~within, 0.0).where(~(below & ~opens), -np.inf)
    upper = rows["upper_mm"].where(~above, np.inf)
    half = rows["half_width_mm"].where(~within, bound / 2).where(~at_least, 0.0)
    value = rows["value_mm"].where(~within, bound / 2)
    value = value.where(~at_least | rows["worn_through"], bound)
    return rows.assign(
        lower_mm=lower.where(lower.notna(), value - half),
        upper_mm=upper.where(upper.notna(), value + half),
        half_width_mm=half,
        value_mm=value,
        at_least=at_least,
    )


def _uncertain(rows: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    """Add the standard uncertainty stated for the reading; ± a half-width a is a/sqrt(3)."""
    unit = length_units(rows, "uncertainty", rows["unit_kept"])
    stated = in_mm(rows["uncertainty"], unit)
    stated = stated.where(~plus_minus(rows, "uncertainty"), stated / np.sqrt(3.0))
    rows = rows.assign(stated_mm=stated)
    return ledger.keep_good(
        rows,
        (stated == 0.0) & (rows["state"] != "as-left"),
        Fault(
            "uncertainty",
            "0 marks an exact start, and only an as-left reading can be one",
            "Write the standard uncertainty, or leave it blank",
        ),
    )
