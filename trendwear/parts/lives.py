"""Parts by number and supplier: how many, how long they ran, how fast their places wore."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.fit.own_line import Start, fit_line
from trendwear.forecasting.site import SiteForecast
from trendwear.parts.sittings import segments_of, sittings
from trendwear.parts.survival import FEWEST_RENEWED, HalfLife, half_renewed
from trendwear.segments.positions import OWN
from trendwear.segments.stays import STILL_IN
from trendwear.wording import fold_column

__all__ = ["FEWEST_RATES", "PART_LIVES", "part_lives"]

FEWEST_RATES: Final = 2
"""Places that must tell a rate before parts of one supplier are given one (no source)."""
PART_LIVES: Final[tables.Columns] = {
    **dict.fromkeys(("family", "part", "part_no", "supplier", "unit"), "text"),
    "fitted": "count",  # put in by recorded work
    "renewed": "count",  # and renewed since
    "still_in": "count",
    "elsewhere": "count",  # taken out otherwise: moved or exchanged, and not seen again
    "hours_unknown": "count",  # of those fitted
    "hours": "number",  # run by those fitted, together
    **dict.fromkeys(("half_renewed_hours", "half_low", "half_high"), "number"),
    "places": "count",  # clearances that tell how fast they wore
    **dict.fromkeys(("rate_mm_per_1000h", "rate_low", "rate_high"), "number"),
}

_RENEWS: Final = ("renewed", "re-babbitted", "reground")

_KEY: Final = ["family_key", "part_no_key", "supplier_key"]
_Z: Final = 1.6448536269514722
_LINE: Final = ["position", "segment", "hours", "worn_mm", "u_mm"]


def part_lives(told: SiteForecast) -> pd.DataFrame:
    """Return life and wear of the clearances' own parts, by family, number and supplier.

    Hours until a renewal count, whatever it was renewed for; parts that are still in, or
    went elsewhere, count as not renewed yet.  A part that was moved is one part.  Parts
    that were in before the record began are left out of the lives: nobody knows what
    they ran before.

    The rate is that of the clearances' own readings while such a part was in (one line
    for each place, `trendwear.fit.own_line`), the places weighed by ``1/(s^2 + tau^2)``
    with ``tau`` the spread between members of the family; positive towards the limit,
    per 1000 running hours, with its 5 to 95 % band.

    Returns
    -------
    DataFrame
        Columns `PART_LIVES`; part numbers and suppliers that nobody named are missing.
    """
    rows = sittings(told)
    own = rows[rows["role"] == OWN]
    own = own.assign(family=told.cut.positions.loc[own["position"], "family"].to_numpy())
    own = own.assign(
        family_key=fold_column(own["family"]),
        part_no_key=fold_column(own["part_no"]).fillna(""),
        supplier_key=fold_column(own["supplier"]).fillna(""),
    )
    named = own[(own["part_no_key"] != "") | (own["supplier_key"] != "") | own["start_known"]]
    rates = _rates(told, named)
    made = [
        _row(told, part, rates[rates["stay"].isin(part.index)])
        for _, part in named.groupby(_KEY, sort=True)
    ]
    return tables.conform(pd.DataFrame(made, columns=list(PART_LIVES)), PART_LIVES)


def _row(told: SiteForecast, part: pd.DataFrame, rates: pd.DataFrame) -> dict[str, Any]:
    lives = _lives(part)
    known = lives["hours"].notna()
    half = HalfLife(np.nan, np.nan, np.nan)
    if (lives["renewed"] & known).sum() >= FEWEST_RENEWED:
        half = half_renewed(lives.loc[known, "hours"], lives.loc[known, "renewed"])
    places = told.cut.positions.loc[part["position"]]
    register = told.basis.register.drop_duplicates(["machine", "clearance"])
    at = pd.MultiIndex.from_frame(places[["machine", "clearance"]])
    called = register.set_index(["machine", "clearance"])["part"].reindex(at).dropna()
    rate, low, high = _pooled(rates)
    return {
        "family": places["family"].iloc[0],
        "part": called.iloc[0] if len(called) else None,
        "part_no": _first(part["part_no"]),
        "supplier": _first(part["supplier"]),
        "unit": places["unit"].mode().iloc[0],
        "fitted": len(lives),
        "renewed": int(lives["renewed"].sum()),
        "still_in": int(lives["still_in"].sum()),
        "elsewhere": int((~lives["renewed"] & ~lives["still_in"]).sum()),
        "hours_unknown": int((~known).sum()),
        "hours": lives["hours"].sum(),
        "half_renewed_hours": half.hours,
        "half_low": half.low,
        "half_high": half.high,
        "places": rates["position"].nunique(),
        "rate_mm_per_1000h": rate,
        "rate_low": low,
        "rate_high": high,
    }


def _lives(part: pd.DataFrame) -> pd.DataFrame:
    """One row a part that was new on record: its hours, and whether they have ended."""
    stays = part.dropna(subset="life").sort_values(["life", "from_order"], kind="stable")
    lives = stays.groupby("life").agg(
        began=("began", "first"),
        ended=("ended", "last"),
        unknown=("hours", lambda hours: bool(hours.isna().any())),
        hours=("hours", "sum"),
    )
    lives = lives[lives["began"].isin(_RENEWS)]
    return pd.DataFrame(
        {
            "hours": lives["hours"].astype("float64").where(~lives["unknown"].astype(bool)),
            "renewed": lives["ended"].isin(_RENEWS),
            "still_in": lives["ended"] == STILL_IN,
        }
    )


def _rates(told: SiteForecast, own: pd.DataFrame) -> pd.DataFrame:
    """Own lines, one for each clearance and each number and supplier of what was in it."""
    stay = segments_of(told, own)
    stay = stay.join(own[_KEY], on="stay")
    points = told.cut.points
    usable = points[points["fitted"] & ~points["exact"] & ~points["at_least"]]
    usable = usable[_LINE].merge(stay, on=["position", "segment"])
    starts = told.cut.segments.dropna(subset="known_start_mm").set_index(["position", "segment"])
    found = []
    for (position, *_), inside in usable.groupby(["position", *_KEY], sort=False):
        known = {
            int(number): Start(row["start_hours"], row["known_start_mm"])
            for number in inside["segment"].unique()
            if (position, number) in starts.index
            for row in [starts.loc[(position, number)]]
        }
        line = fit_line(
            inside["hours"], inside["worn_mm"], inside["u_mm"], inside["segment"], known
        )
        if line.has_rate:
            tau = float(np.nan_to_num(told.basis.wear.tau[position]))
            told_of = {"position": position, "rate": line.rate, "s": line.rate_se, "tau": tau}
            found.append({"stay": inside["stay"].iloc[0], **told_of})
    return pd.DataFrame(found, columns=["stay", "position", "rate", "s", "tau"])


def _pooled(rates: pd.DataFrame) -> tuple[float, float, float]:
    """Rate of several places with its band, per 1000 h; NaN where too few tell one."""
    if len(rates) < FEWEST_RATES:
        return np.nan, np.nan, np.nan
    weight = 1.0 / (rates["s"] ** 2 + rates["tau"] ** 2)
    mean, error = (weight * rates["rate"]).sum() / weight.sum(), weight.sum() ** -0.5
    return 1000 * mean, 1000 * (mean - _Z * error), 1000 * (mean + _Z * error)


def _first(names: pd.Series) -> str | None:
    known = names.dropna()
    return None if known.empty else str(known.iloc[0])
