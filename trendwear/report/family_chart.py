"""The members of a family side by side: each rate with its band, the family's mean behind."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import altair as alt
import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.report.chart_style import BLUE, GREEN, GREY, INK, RED, SKY, dressed
from trendwear.report.family_words import FASTER, LIKE, SLOWER, family_table, members_in, rate_unit
from trendwear.report.rounding import share_text

if TYPE_CHECKING:
    from trendwear.forecasting.family import FamilyView

__all__ = ["PICKED", "family_chart"]

PICKED: Final = "picked"
"""The selection that a click on a member makes: its ``machine`` and ``clearance``."""

_ROW_HEIGHT: Final = 21
_LOOKS: Final = {
    FASTER: (RED, "triangle-right"),
    LIKE: (BLUE, "circle"),
    SLOWER: (GREEN, "triangle-left"),
}


def family_chart(view: FamilyView, unit: str, most: int) -> Any:
    """Draw the rates of the ``most`` fastest members with their 5-95 % bands.

    Parameters
    ----------
    view : FamilyView
    unit : str
        The unit of length, a key of `trendwear.lengths.MM_PER_UNIT`; rates are per 1000 h.
    most : int
        At most so many members are drawn.

    Returns
    -------
    altair.LayerChart or None
        A click on a member selects it as `PICKED`.  None where no member has a rate.
    """
    members = members_in(view, unit)
    members = members[members["rate"].notna()].head(most)
    if members.empty:
        return None
    data = _rows(members, view, unit)
    low, high = _ends(data, view, unit)
    scale = alt.Scale(domain=[low, high], nice=False, zero=False)
    axis = alt.Axis(orient="top", tickCount=6, labelOverlap=True)

    def x(field: str) -> alt.X:
        return alt.X(f"{field}:Q", title=rate_unit(view, unit), scale=scale, axis=axis)

    look_axis = alt.Axis(labelLimit=300, ticks=False)
    y = alt.Y("place:N", sort=list(data["place"]), title=None, axis=look_axis)
    seen = [word for word in _LOOKS if word in set(data["verdict"])]
    colour, shape = (
        kind("verdict:N", title=None, scale=alt.Scale(domain=seen, range=looks))
        for kind, looks in (
            (alt.Color, [_LOOKS[word][0] for word in seen]),
            (alt.Shape, [_LOOKS[word][1] for word in seen]),
        )
    )
    tips = [
        alt.Tooltip(f"{field}:N", title=title)
        for field, title in (("place", "member"), ("told", rate_unit(view, unit)),
                             ("readings", "readings"), ("own", "from its own readings"),
                             ("verdict", "wears"))
    ]  # fmt: skip
    base = alt.Chart(data)
    bands = base.mark_rule(strokeWidth=2.2).encode(x=x("low"), x2="high", y=y, color=colour)
    rates = base.mark_point(filled=True, size=85, opacity=1).encode(
        x=x("rate"), y=y, color=colour, shape=shape
    )
    picked = alt.selection_point(name=PICKED, fields=["machine", "clearance"], on="click")
    lines = (  # the whole line takes the click, not its mark alone
        base.mark_bar(opacity=0.001, height=_ROW_HEIGHT, cursor="pointer")
        .encode(x=x("from"), x2="to", y=y, tooltip=tips)
        .add_params(picked)
    )
    layers = [*_mean_layers(view, unit, x), bands, rates, lines]
    return dressed(alt.layer(*layers).properties(width="container", height=alt.Step(_ROW_HEIGHT)))


def _rows(members: pd.DataFrame, view: FamilyView, unit: str) -> pd.DataFrame:
    told = family_table(view, unit).loc[members.index]
    data = members.assign(
        place=members["machine"] + " · " + members["clearance"],
        told=told.iloc[:, 2],
        own=members["own_share"].map(share_text),
    ).drop(columns="own_share")
    low, high = _ends(data, view, unit)
    return data.assign(**{"from": low, "to": high})


def _ends(data: pd.DataFrame, view: FamilyView, unit: str) -> tuple[float, float]:
    band = [view.rate_low / MM_PER_UNIT[unit], view.rate_high / MM_PER_UNIT[unit]]
    every = pd.concat([data["low"], data["high"], pd.Series(band)]).dropna()
    low, high = min(0.0, float(every.min())), float(every.max())
    margin = 0.04 * (high - low)
    return (low - margin if low < 0 else low), high + margin


def _mean_layers(view: FamilyView, unit: str, x: Any) -> list[Any]:
    if pd.isna(view.rate) or len(view.members) == 1:
        return []
    mean, low, high = (rate / MM_PER_UNIT[unit] for rate in
                       (view.rate, view.rate_low, view.rate_high))  # fmt: skip
    data = pd.DataFrame({"mean": [mean], "band_low": [low], "band_high": [high]})
    base = alt.Chart(data)
    band = base.mark_rect(color=SKY, opacity=0.28).encode(x=x("band_low"), x2="band_high")
    line = base.mark_rule(color=INK, strokeWidth=1.5, strokeDash=[6, 4]).encode(x=x("mean"))
    zero = pd.DataFrame({"zero": [0.0]})
    return [band, alt.Chart(zero).mark_rule(color=GREY).encode(x=x("zero")), line]
