"""The last reading of every published unit, forecast from the readings before it.

The bundled reference data are loaded as a user would load them; the last reading of each
unit is held back, all that is left is fitted, and what was held back is compared with
its forecast: mean absolute error beside those of two simpler rules (the last interval's
rate carried on; the unit's own-data line), and how many of the 90 % bands held, with the
95 % binomial band of 0.90.  Units whose simpler rules have nothing to go by (one reading
and no known start before it) count for the bands alone.

Run it with ``python tests/bench/real_data.py``; it takes some seconds.
"""

from __future__ import annotations

import datetime as dt
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import stats

import trendwear
from trendwear.bundled import bundled_folder
from trendwear.fit.family_fit import FamilyFit, Given, fit_families
from trendwear.fit.own_lines import OwnLines
from trendwear.forecasting.ahead import Ahead, ahead_of
from trendwear.forecasting.crossing import Crossing
from trendwear.forecasting.site import SiteRecord, forecast_site
from trendwear.outlook import read_site
from trendwear.wear.histories import Floats

SETS = ("cylinder_liners", "crack_growth", "sliding_wear")
AS_OF = dt.date(2026, 1, 1)
BAND = 0.90


@dataclass(frozen=True)
class HeldBack:
    """The last reading of each unit, and what all the others say of it; arrays are (n,)."""

    value: Floats
    forecast: Floats
    low: Floats
    high: Floats
    straight: Floats
    """The family model with straight wear."""
    two_point: Floats
    own_line: Floats
    power: str


def hold_back(site: SiteRecord) -> HeldBack:
    """Forecast the last fitted reading of each position from the record without it."""
    whole = forecast_site(site, AS_OF).cut.points
    read = whole[whole["fitted"] & ~whole["exact"]]
    last = read.sort_values(["position", "hours"]).drop_duplicates("position", keep="last")
    readings = site.record.readings
    kept = readings[~readings["reading"].isin(last["reading"])]
    past = forecast_site(replace(site, record=replace(site.record, readings=kept)), AS_OF)
    basis, cut = past.basis, past.cut
    families = basis.families
    last = last.set_index("position").loc[cut.positions.index]
    ahead_hours = (last["hours"] - basis.last_hours).to_numpy()
    u = last["u_mm"].to_numpy()
    told = _crossing(families, basis.ahead)
    names = families.data.families
    plain = fit_families(cut, past.site.events, Given({}, dict.fromkeys(names, 1.0)))
    plain_ahead = ahead_of(plain, cut, basis.clocks)
    two_point, own_line = _simpler(past.own, cut.points, last)
    return HeldBack(
        value=last["worn_mm"].to_numpy(),
        forecast=_expected(told, ahead_hours),
        low=told.found_at(ahead_hours, u, (1 - BAND) / 2),
        high=told.found_at(ahead_hours, u, (1 + BAND) / 2),
        straight=_expected(_crossing(plain, plain_ahead), ahead_hours),
        two_point=two_point,
        own_line=own_line,
        power=", ".join(f"{power:.2f}" for power in families.shape.power),
    )


def _crossing(families: FamilyFit, ahead: Ahead) -> Crossing:
    count = len(families.family)
    nothing = np.zeros(count)
    return Crossing(families.wear, np.full(count, np.nan), np.ones(count), nothing, ahead)


def _expected(crossing: Crossing, hours: Floats) -> Floats:
    mean, _ = crossing.true_clearance(hours)
    expected: Floats = (crossing.wear.weight * mean).sum(axis=1)
    return expected


def _simpler(own: OwnLines, points: pd.DataFrame, last: pd.DataFrame) -> tuple[Floats, Floats]:
    """What the last interval's rate and the own-data line say; NaN where they say nothing."""
    two_point, own_line = np.full((2, len(last)), np.nan)
    fitted = points[points["fitted"]].sort_values(["position", "segment", "hours"])
    for position, history in fitted.groupby("position"):
        row = last.index.get_loc(position)
        hours = float(last["hours"].iloc[row])
        current = history[history["segment"] == history["segment"].iloc[-1]]
        if len(current) >= 2:
            (h0, h1), (w0, w1) = (current[name].to_numpy()[-2:] for name in ("hours", "worn_mm"))
            two_point[row] = w1 + (w1 - w0) / (h1 - h0) * (hours - h1)
        line = own.lines.get(int(position))
        if line is not None and line.has_rate:
            own_line[row] = line.predict(hours, int(current["segment"].iloc[0]))[0]
    return two_point, own_line


def judge(name: str, held: HeldBack) -> dict[str, object]:
    """One row of the table."""
    both = np.isfinite(held.two_point) & np.isfinite(held.own_line) & np.isfinite(held.forecast)
    bands = np.isfinite(held.low) & np.isfinite(held.high)
    count = int(np.count_nonzero(bands))
    inside = int(np.count_nonzero((held.value >= held.low) & (held.value <= held.high)))
    least, most = stats.binom.ppf([0.025, 0.975], count, BAND)

    def error(rule: Floats) -> float:
        return float(np.mean(np.abs(held.value - rule)[both]))

    return {
        "data": name,
        "compared": int(np.count_nonzero(both)),
        "error_mm": error(held.forecast),
        "two_point_mm": error(held.two_point),
        "own_line_mm": error(held.own_line),
        "straight_mm": error(held.straight),
        "power": held.power,
        "bands": count,
        "held_90%": inside / count,
        "binomial": f"{least / count:.2f}-{most / count:.2f}",
        "band_holds": least <= inside <= most,
        "below_two_point": error(held.forecast) < error(held.two_point),
        "below_own_line": error(held.forecast) < error(held.own_line),
    }


def run() -> pd.DataFrame:
    """All reference data sets, a row each."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for name in SETS:
            store = Path(folder) / f"{name}.duckdb"
            trendwear.load([bundled_folder("data") / name], store=store)
            rows.append(judge(name, hold_back(read_site(store))))
    return pd.DataFrame(rows)


def main() -> None:
    """Print the table."""
    print(run().T.to_string(header=False, float_format="{:.4f}".format))


if __name__ == "__main__":
    main()
