"""The chart of one machine's overhaul: the chance that some limit is passed, as time goes on."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import altair as alt
import pandas as pd

from trendwear.planning.notes import reckoned_day
from trendwear.report.chart_style import GREY, INK, PAPER, SKY, dressed
from trendwear.report.overhaul.asked_dates import asked_layers
from trendwear.report.overhaul.chart_axes import Axes, along, halo_text
from trendwear.report.rounding import chance_text, hours_text

if TYPE_CHECKING:
    from trendwear.planning.over_time import OverTime

__all__ = ["how_to_read", "overhaul_chart"]

_HEIGHT: Final = 500
_UPRIGHT: Final[dict[str, Any]] = dict(
    angle=270, align="right", baseline="bottom", dy=-4, dx=-6, color=INK, limit=280
)
_TO_THE_RIGHT: Final[dict[str, Any]] = dict(baseline="top", dy=5)
_SKEW: Final = dict(angle=330, align="left", baseline="bottom", dx=2, dy=-4)


def overhaul_chart(told: OverTime) -> Any:
    """Draw the chance that some limit is passed, by date or, with no duty known, by hours.

    One line for each accepted risk's consequence, the accepted risk as a level line in the
    same colour and dashes, a diamond at the latest overhaul; outage windows as bands, due
    dates and today as upright lines.  Its own light paper; as wide as it is given room.

    Returns
    -------
    altair.LayerChart or None
        None where no clearance of the machine can be forecast.
    """
    if told.curve.empty:
        return None
    axes = Axes(told)
    layers = [
        *_window_layers(told, axes),
        *_due_layers(told, axes),
        *_risk_layers(told, axes),
        *_curve_layers(told, axes),
        *_latest_layers(told, axes),
        *asked_layers(told, axes),
    ]
    picture = alt.layer(*layers).properties(width="container", height=_HEIGHT)
    return dressed(picture.resolve_scale(color="shared"))


def how_to_read(told: OverTime) -> str:
    """Say what each sort of mark means; only of those that are in the chart."""
    inside, by_date = _inside(told), told.until is not None
    words = {
        "Curve: the chance that some limit is passed by then; the scale is drawn out at the "
        "bottom.": True,
        "Level line in the same colour: the accepted risk.": True,
        "Diamond: the latest overhaul" + (" by the others." if told.past else "."): len(inside) > 0,
        f"Past today and not in the picture: {told.past}.": told.past is not None,
        "The latest overhaul lies beyond the picture.": told.marks["date"].notna().any()
        and inside.empty,
        "Bands: outage windows; grey where the machine cannot be opened in it.": by_date
        and len(told.windows) > 0,
        "Dashed upright: a due date; the earlier date holds.": by_date and len(told.due) > 0,
        "Thick upright: a date asked about.": len(told.asked) > 0,
    }
    return " ".join(sentence for sentence, there in words.items() if there)


def _inside(told: OverTime) -> pd.DataFrame:
    """The latest overhauls that lie within the picture."""
    marks = told.marks[told.marks["sets"]]
    if told.until is None:
        return marks[marks["hours"] <= told.until_hours]
    return marks[marks["date"] <= told.until]


def _curve_layers(told: OverTime, axes: Axes) -> list[Any]:
    data = told.curve.assign(
        at=along(told, told.curve),
        by=[f"{day:%Y-%m-%d}" for day in told.curve["date"]] if axes.by_date else "",
        hours_run=[hours_text(hours) for hours in told.curve["hours"]],
        says=[chance_text(chance) for chance in told.curve["chance"]],
    )
    data = data[["heading", "at", "by", "hours_run", "chance", "says"]]
    fields = {"heading": "of", "by": "by", "hours_run": "running hours from now", "says": "chance"}
    tips = [
        alt.Tooltip(f"{field}:N", title=title)
        for field, title in fields.items()
        if axes.by_date or field != "by"
    ]
    base = alt.Chart(data).encode(x=axes.x(), y=axes.y(), color=axes.colour)
    line = base.mark_line(strokeWidth=2.5, clip=True).encode(strokeDash=axes.dash)
    every = base.mark_point(size=160, opacity=0, clip=True).encode(tooltip=tips)
    if not axes.many:
        return [line, every]
    some = data.groupby("heading", sort=False).nth(slice(10, None, 20))
    shown = (
        alt.Chart(some)
        .mark_point(filled=True, size=70, opacity=1, clip=True)
        .encode(x=axes.x(), y=axes.y(), color=axes.colour, shape=axes.shape)
    )
    return [line, shown, every]


def _risk_layers(told: OverTime, axes: Axes) -> list[Any]:
    """Every accepted risk as a level line, told at its right end."""
    marks = told.marks.drop_duplicates(["heading", "risk"])
    data = marks[["heading", "risk"]].assign(at=axes.end, chance=marks["risk"])
    # Two consequences of the same accepted risk share a line: they are told in one text.
    shared = data.groupby("risk", sort=False)["heading"].agg(", ".join).reset_index()
    shared["words"] = [
        f"accepted {100 * row.risk:.3g} %" + (f" ({row.heading})" if axes.many else "")
        for row in shared.itertuples()
    ]
    named = shared.assign(at=axes.end, chance=shared["risk"])
    lines = (
        alt.Chart(data)
        .mark_rule(strokeWidth=1.3)
        .encode(y=axes.y(), color=axes.colour, strokeDash=axes.dash)
    )
    return [lines, *halo_text(named, axes, dict(align="right", dx=-6, dy=-8, color=INK))]


def _latest_layers(told: OverTime, axes: Axes) -> list[Any]:
    """A diamond where an accepted risk is reached."""
    marks = _inside(told)
    if marks.empty:
        return []
    at = along(told, marks)
    many = len(marks) > 1
    words = [
        _latest_words(row, axes, f"{100 * row.risk:.3g} %: " if many else "")
        for row in marks.itertuples()
    ]
    if told.past:  # the machine itself is past today: this date is by the rest alone
        words = [f"{word}, by the others" for word in words]
    data = pd.DataFrame({"at": at, "chance": marks["risk"].clip(upper=axes.top), "words": words})
    diamonds = (
        alt.Chart(data)
        .mark_point(shape="diamond", filled=True, size=230, color=INK, stroke=PAPER, opacity=1)
        .encode(x=axes.x(), y=axes.y(), tooltip=[alt.Tooltip("words:N", title="latest overhaul")])
    )
    layers = [diamonds]
    for _, one in data.iterrows():
        right = axes.right_of(one["at"])
        look = dict(
            align="right" if right else "left",
            dx=-11 if right else 11,
            dy=15,
            fontWeight="bold",
            fontSize=13,
            color=INK,
        )
        layers += halo_text(pd.DataFrame([one]), axes, look)
    return layers


def _latest_words(row: Any, axes: Axes, before: str) -> str:
    if axes.by_date:
        already = row.date <= axes.start
        return (
            f"{before}already above"
            if already
            else f"{before}latest {reckoned_day(row.date, axes.start)}"
        )
    return f"{before}already above" if row.hours <= 0 else f"{before}at {hours_text(row.hours)}"


def _window_layers(told: OverTime, axes: Axes) -> list[Any]:
    """Outage windows as bands with their names on top."""
    windows = told.windows[told.windows["start"] <= axes.end] if axes.by_date else None
    if windows is None or windows.empty:
        return []
    possible = windows["hindrance"].isna()
    bands = pd.DataFrame(
        {
            "at": windows["start"],
            "until": windows["end"].clip(upper=axes.end) + pd.Timedelta(days=1),
            "chance": axes.top,
            "can": possible.map({True: "possible", False: "not possible"}),
            "window": windows["outage"],
            "starts": windows["start"].dt.strftime("%Y-%m-%d"),
            "ends": windows["end"].dt.strftime("%Y-%m-%d"),
            "before": [chance_text(chance) for chance in windows["chance_before"]],
            "why": windows["hindrance"].fillna("—"),
            "words": windows["outage"] + possible.map({True: "", False: " (not possible)"}),
        }
    )
    titles = {"before": "chance before it starts", "why": "why not possible"}
    tips = [
        alt.Tooltip(f"{field}:N", title=titles.get(field, field))
        for field in ("window", "starts", "ends", "before", "why")
    ]
    layers = []
    for can, colour, opacity in (("possible", SKY, 0.25), ("not possible", GREY, 0.16)):
        some = bands[bands["can"] == can]
        if len(some):
            layers.append(
                alt.Chart(some)
                .mark_rect(color=colour, opacity=opacity, clip=True)
                .encode(x=axes.x(), x2="until:T", tooltip=tips)
            )
    return [*layers, *halo_text(bands, axes, dict(_SKEW, color=GREY))]


def _due_layers(told: OverTime, axes: Axes) -> list[Any]:
    """Today, and the dates set by law, insurer or site rule, as upright lines."""
    today = pd.DataFrame(
        {"at": [axes.start], "chance": [axes.top], "words": [f"as of {told.as_of:%Y-%m-%d}"]}
    )
    layers = [
        alt.Chart(today).mark_rule(color=INK, strokeWidth=1.2).encode(x=axes.x()),
        *halo_text(today, axes, dict(_UPRIGHT, baseline="top", dy=5)),
    ]
    due = told.due[told.due["due"].between(told.as_of, axes.end)] if axes.by_date else told.due[:0]
    if due.empty:
        return layers
    what = due["what"].fillna("not said what")
    words = [f"due {day:%Y-%m-%d}: {name}" for name, day in zip(what, due["due"], strict=True)]
    data = pd.DataFrame({"at": due["due"], "chance": axes.top, "words": words})
    rule = alt.Chart(data).mark_rule(color=INK, strokeDash=[5, 3], strokeWidth=1.6)
    tips = [alt.Tooltip("words:N", title="due")]
    layers.append(rule.encode(x=axes.x(), tooltip=tips))
    # Close to today the words go to the right of their line: on the left stand those of today.
    close = (data["at"] - axes.start) < 0.08 * (axes.end - axes.start)
    for some, look in ((data[~close], _UPRIGHT), (data[close], _UPRIGHT | _TO_THE_RIGHT)):
        if len(some):
            layers += halo_text(some, axes, look)
    return layers
