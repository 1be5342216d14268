"""What a measured size of a partner says, in millimetres and °C; what cannot be used is refused.

The unit must stand in the cell, the row or the heading: a register kept in mil says
nothing of a diameter.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.readings.temperature import FAHRENHEIT
from trendwear.store.cells import in_mm, length_units, plus_minus
from trendwear.store.keys import key_of
from trendwear.store.ledger import Fault, Ledger
from trendwear.store.positions import Register
from trendwear.store.shelves import PROVENANCE, shelf

__all__ = ["dimensions_as_kept", "refuse_partners"]

_PUSHES: Final = ("toward", "away")
_BENCH_C: Final = (-40.0, 150.0)
"""Temperatures in which parts are measured (common practice, no source)."""
_PARTNERS: Final = ("bore", "journal")


def dimensions_as_kept(rows: pd.DataFrame, register: Register, ledger: Ledger) -> pd.DataFrame:
    """Return rows of the sheet ``dimensions`` as they are kept, with key; faulty ones are refused.

    Parameters
    ----------
    rows : frame
        Typed rows of known positions, with ``machine_key`` and ``clearance_key``.
    """
    rows = ledger.keep_good(
        rows,
        rows["date"].isna() & rows["run_hours"].isna(),
        Fault("date", "neither a date nor hours are given", "Write one of the two"),
    )
    rows = _fitting_the_basis(rows, register, ledger)
    rows = _in_units(rows, ledger)
    rows = _uncertain(rows, ledger)
    rows = _tempered(rows, ledger)
    cells = {
        **{name: rows[name] for name in shelf("dimensions").columns if name in rows},
        "date_spread_days": rows["date_spread_days"].fillna(0.0).where(rows["date"].notna()),
        "hours_spread": rows["run_hours_spread"].fillna(0.0).where(rows["run_hours"].notna()),
        "unit": rows["unit_kept"],
        "written": rows["value_written"],
        **{name: rows[name] for name in ("machine_key", "clearance_key", *PROVENANCE)},
    }
    kept = pd.DataFrame(cells, index=rows.index)
    return kept.assign(key=key_of(kept, shelf("dimensions").sheet))


def refuse_partners(rows: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    """Return readings without those that are the size of one partner, not a clearance."""
    if "part" not in rows:
        return rows
    part = rows["part"].astype("object").fillna("").map(lambda text: str(text).strip().casefold())
    return ledger.keep_good(
        rows,
        part.isin(_PARTNERS) & rows["kind"].isna(),
        Fault(
            "part",
            "this is the size of one partner, not a clearance",
            "Put bores and journals on the sheet dimensions: the clearance is computed of both",
        ),
    )


def _fitting_the_basis(rows: pd.DataFrame, register: Register, ledger: Ledger) -> pd.DataFrame:
    keys = ["machine_key", "clearance_key"]
    basis = rows[keys].merge(register.positions[[*keys, "basis"]], on=keys, how="left")["basis"]
    basis = basis.set_axis(rows.index).astype("object")
    pushed = rows["part"].isin(_PUSHES)
    rows = ledger.keep_good(
        rows,
        pushed & (basis != "axial"),
        Fault(
            "part",
            "pushing a rotor both ways measures an axial float, and the register counts this "
            "clearance as " + basis.map(str),
            "Check the position, or correct its basis in the register",
        ),
    )
    across = ~pushed & ~basis.isin(["diametral", "radial"])
    return ledger.keep_good(
        rows,
        across.loc[rows.index],
        Fault(
            "part",
            "a bore less a journal is a diametral clearance, and the register counts this one as "
            + basis.map(str),
            "Check the position, or correct its basis in the register",
        ),
    )


def _in_units(rows: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    unit = length_units(rows, "value", rows["unit"])
    rows = rows.assign(unit_kept=unit)
    rows = ledger.keep_good(
        rows,
        unit.isna(),
        Fault(
            "value",
            "the size has no unit in its cell, its row or its heading",
            "Write the unit (mm, um, mil, in): that of the clearance says nothing of a diameter",
        ),
    )
    rows = rows.assign(
        value_mm=in_mm(rows["value"], rows["unit_kept"]),
        step_mm=in_mm(rows["value_step"], rows["unit_kept"]),
    )
    return ledger.keep_good(
        rows,
        ~rows["part"].isin(_PUSHES) & ~(rows["value_mm"] > 0),
        Fault("value", "a diameter is above 0", "Write the diameter as measured"),
    )


def _uncertain(rows: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    stated = in_mm(rows["uncertainty"], length_units(rows, "uncertainty", rows["unit_kept"]))
    stated = stated.where(~plus_minus(rows, "uncertainty"), stated / np.sqrt(3.0))
    return ledger.keep_good(
        rows.assign(stated_mm=stated),
        stated == 0.0,
        Fault(
            "uncertainty",
            "no size is measured without any error",
            "Write the standard uncertainty, or leave it blank",
        ),
    )


def _tempered(rows: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    """Bring temperatures to °C and keep what was written of them."""
    degrees, scale = rows["temperature"], rows["temperature_unit"]
    celsius = degrees.where(scale != FAHRENHEIT, (degrees - 32.0) / 1.8).round(9)
    told = degrees.map("{:g}".format) + (" " + scale.astype("object")).fillna("")
    rows = rows.assign(temperature_c=celsius, temperature_written=told.where(degrees.notna(), None))
    rows = ledger.keep_good(
        rows,
        degrees.notna() & scale.isna(),
        Fault(
            "temperature",
            "it does not say whether it is °C or °F",
            "Write it as 20 °C or 68 °F, or the scale into the heading: temperature (°C)",
        ),
    )
    low, high = _BENCH_C
    odd = (rows["temperature_c"] < low) | (rows["temperature_c"] > high)
    return ledger.keep_good(
        rows,
        odd,
        Fault(
            "temperature",
            f"no part is measured outside {low:g} to {high:g} °C",
            "Write the temperature of the part when it was measured, with its scale",
        ),
    )
