"""Whose readings the rate of one clearance rests on: its own, and those of like clearances."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pandas as pd

from trendwear.report.rounding import share_text

if TYPE_CHECKING:
    from trendwear.forecasting.trend import ClearanceTrend

__all__ = ["shares_table", "whose_words"]

_FRACTIONS: Final = {
    0.1: "one tenth",
    0.2: "one fifth",
    0.25: "one quarter",
    1 / 3: "one third",
    0.4: "two fifths",
    0.5: "half",
    0.6: "three fifths",
    2 / 3: "two thirds",
    0.75: "three quarters",
    0.8: "four fifths",
    0.9: "nine tenths",
}
_NOTHING: Final = 0.005


def whose_words(trend: ClearanceTrend) -> str:
    """Return in one sentence whose readings the rate rests on; nothing where there is no rate.

    Returns
    -------
    str
        Such as *About two thirds (66 %) of this rate comes from the readings of this
        carbon ring itself, about one third (34 %) from those of 23 like it.*
    """
    shares = trend.shares
    if shares.empty:
        return ""
    here, former = _is_here(trend), shares["former_part"]
    kind = trend.forecast["kind"].iloc[0] or "clearance"
    like = len(shares[~here].drop_duplicates(["machine", "clearance"]))
    told = [
        (shares.loc[here & ~former, "share"].sum(), f"the readings of this {kind} itself"),
        (
            shares.loc[here & former, "share"].sum(),
            "what was read here before its part or running was changed",
        ),
        (shares.loc[~here, "share"].sum(), f"those of {'one' if like == 1 else like} like it"),
    ]
    counted = [(share, of) for share, of in told if share > _NOTHING]
    if len(counted) == 1:
        return f"The whole of this rate comes from {counted[0][1]}."
    first, *more = counted
    rest = "".join(f", {_fraction(share)} from {of}" for share, of in more)
    return f"{_fraction(first[0]).capitalize()} of this rate comes from {first[1]}{rest}."


def shares_table(trend: ClearanceTrend) -> pd.DataFrame:
    """Return what each member of the family adds to the rate, the most first, as text."""
    when = ("now", "before its part or running was changed")
    return pd.DataFrame(
        {
            "machine": trend.shares["machine"],
            "clearance": trend.shares["clearance"],
            "readings from": [when[int(former)] for former in trend.shares["former_part"]],
            "share of the rate": trend.shares["share"].map(share_text),
        }
    )


def _is_here(trend: ClearanceTrend) -> pd.Series:
    shares = trend.shares
    return (shares["machine"] == trend.machine) & (shares["clearance"] == trend.clearance)


def _fraction(share: float) -> str:
    """A share as people say it, with its percent.

    >>> _fraction(0.66), _fraction(0.98), _fraction(0.03)
    ('about two thirds (66 %)', 'nearly all (98 %)', 'a little (3 %)')
    """
    if share > 0.95:
        words = "nearly all"
    elif share < 0.05:
        words = "a little"
    else:
        words = f"about {_FRACTIONS[min(_FRACTIONS, key=lambda part: abs(part - share))]}"
    return f"{words} ({100 * share:.0f} %)"
