"""Today's chance and the case's, one over the other, for one machine."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import altair as alt
import pandas as pd

from trendwear.report.chart_style import GREY, INK, PAPER, RED, SKY, dressed
from trendwear.report.rounding import chance_text, hours_text

if TYPE_CHECKING:
    from trendwear.planning.case_over_time import BothOverTime
    from trendwear.planning.over_time import OverTime

__all__ = ["HOW_TO_READ", "case_chart"]

HOW_TO_READ: Final = (
    "Grey: as planned today. Red: in the case. Curve: the chance that some limit is passed by "
    "then; the scale is drawn out at the bottom. Level line: the accepted risk. Diamond: the "
    "latest overhaul. Bands: windows in the case; dashed: a window of today that the case does "
    "not have there."
)

_TODAY, _CASE = "today", "in the case"
_HEIGHT: Final = 360
_TICKS: Final = (0.01, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
_LEAST_TOP: Final = 0.3
_COLOURS: Final = {_TODAY: GREY, _CASE: RED}
_SHAPES: Final = {_TODAY: "circle", _CASE: "triangle-up"}
_WIDTHS: Final = {_TODAY: 5.0, _CASE: 2.2}
_DASHES: Final = ([1, 0], [7, 4])


def case_chart(both: BothOverTime) -> Any:
    """Draw both curves by date or, where a duty is unknown, by running hours.

    Where each consequence has its own accepted risk, the curve of the one that sets the date
    is drawn: of today's and, where it is another, of the case's too.

    Returns
    -------
    altair.LayerChart or None
        None where no clearance of the machine can be forecast.
    """
    if both.today.curve.empty and both.case.curve.empty:
        return None
    picture = _Picture(both)
    layers = [
        *picture.windows(),
        *picture.risks(),
        *picture.curves(),
        *picture.latest(),
    ]
    return dressed(alt.layer(*layers).properties(width="container", height=_HEIGHT))


class _Picture:
    """The layers of one chart and the axes that they share."""

    def __init__(self, both: BothOverTime) -> None:
        self.both = both
        self.sides = {_TODAY: both.today, _CASE: both.case}
        known = [one for one in self.sides.values() if not one.curve.empty]
        self.by_date = all(one.until is not None for one in known)
        self.headings = _setting(both)
        self.data = self._points()
        ends = self.data["at"]
        first, last = ends.min(), ends.max()
        self.domain = [_point(first - 0.02 * (last - first)), _point(last)]
        self.middle = first + 0.6 * (last - first)
        risks = pd.concat([one.marks["risk"] for one in self.sides.values()])
        self.top = min(max(self.data["chance"].max() * 1.05, risks.max() * 1.15, _LEAST_TOP), 1.0)
        self.until = last

    def _points(self) -> pd.DataFrame:
        parts = []
        for side, told in self.sides.items():
            some = told.curve[told.curve["heading"].isin(self.headings)]
            at = some["date"] if self.by_date else some["hours"]
            by = some["date"].dt.strftime("%Y-%m-%d") if self.by_date else ""
            parts.append(
                pd.DataFrame(
                    {
                        "side": side,
                        "heading": some["heading"],
                        "at": at,
                        "by": by,
                        "hours": some["hours"].map(hours_text),
                        "chance": some["chance"],
                        "says": some["chance"].map(chance_text),
                    }
                )
            )
        whole = pd.concat([part for part in parts if len(part)], ignore_index=True)
        return whole

    def x(self) -> alt.X:
        """Dates, else running hours from now."""
        return alt.X(
            f"at:{'T' if self.by_date else 'Q'}",
            title=None if self.by_date else "running hours from now",
            scale=alt.Scale(domain=self.domain, nice=False),
            axis=alt.Axis(
                format="%Y-%m" if self.by_date else ",.0f",
                tickCount=9,
                labelOverlap=True,
                grid=False,
            ),
        )

    def y(self) -> alt.Y:
        """Chances, drawn out at the bottom, where accepted risks lie."""
        return alt.Y(
            "chance:Q",
            title="chance that a limit is passed",
            scale=alt.Scale(type="sqrt", domain=[0.0, self.top], nice=False),
            axis=alt.Axis(values=[tick for tick in _TICKS if tick <= self.top], format="~%"),
        )

    def colour(self) -> alt.Color:
        """Grey for today, red for the case; the points' shapes say it too."""
        scale = alt.Scale(domain=list(_COLOURS), range=list(_COLOURS.values()))
        return alt.Color("side:N", title=None, scale=scale)

    def curves(self) -> list[Any]:
        """Both curves; what a pointer meets on them."""
        many = len(self.headings) > 1
        fields = {"side": "plan", "heading": "of", "by": "by", "hours": "running hours from now"}
        left_out = set() if self.by_date else {"by"}
        tips = [
            alt.Tooltip(f"{field}:N", title=title)
            for field, title in {**fields, "says": "chance"}.items()
            if field not in left_out
        ]
        base = alt.Chart(self.data).encode(x=self.x(), y=self.y(), color=self.colour())
        dashes = alt.Scale(domain=self.headings, range=[*_DASHES[: len(self.headings)]])
        legend = alt.Legend(symbolStrokeWidth=2) if many else None
        shapes = alt.Scale(domain=list(_SHAPES), range=list(_SHAPES.values()))
        dash = alt.StrokeDash("heading:N", title=None, legend=legend, scale=dashes)
        lines = [
            alt.Chart(self.data[self.data["side"] == side])
            .mark_line(clip=True, strokeWidth=width)
            .encode(x=self.x(), y=self.y(), color=self.colour(), strokeDash=dash)
            for side, width in _WIDTHS.items()
        ]
        some = self.data.groupby(["side", "heading"], sort=False).nth(slice(10, None, 20))
        shown = (
            alt.Chart(some)
            .mark_point(filled=True, size=75, opacity=1, clip=True)
            .encode(
                x=self.x(),
                y=self.y(),
                color=self.colour(),
                shape=alt.Shape("side:N", title=None, scale=shapes),
            )
        )
        every = base.mark_point(size=160, opacity=0, clip=True).encode(tooltip=tips)
        return [*lines, shown, every]

    def risks(self) -> list[Any]:
        """The accepted risks; said once where the case has the same."""
        rows = []
        for side, told in self.sides.items():
            mine = told.marks[told.marks["heading"].isin(self.headings)]
            for row in mine.drop_duplicates(["heading", "risk"]).itertuples():
                rows.append({"side": side, "heading": row.heading, "chance": row.risk})
        if not rows:
            return []
        data = pd.DataFrame(rows)
        same = data.duplicated(["heading", "chance"])
        once = data[~same]
        many = len(self.headings) > 1
        once = once.assign(
            at=self.until,
            words=[
                f"accepted {'in the case ' if row.side == _CASE else ''}{100 * row.chance:.3g} %"
                + (f" ({row.heading})" if many else "")
                for row in once.itertuples()
            ],
        )
        lines = alt.Chart(once).mark_rule(strokeWidth=1.4).encode(y=self.y(), color=self.colour())
        return [lines, *self._text(once, dict(align="right", dx=-6, dy=-8, color=INK))]

    def latest(self) -> list[Any]:
        """A diamond at each latest overhaul within the picture."""
        layers: list[Any] = []
        for side, told in self.sides.items():
            marks = told.marks[told.marks["sets"] & told.marks["heading"].isin(self.headings)]
            at = marks["date"] if self.by_date else marks["hours"]
            inside = at.notna() & (at <= self.until)
            if not inside.any():
                continue
            when = at[inside].iloc[0]
            said = f"{when:%Y-%m-%d}" if self.by_date else hours_text(when)
            if when <= (told.as_of if self.by_date else 0.0):
                said = "already above"
            risk = min(float(marks.loc[inside, "risk"].iloc[0]), self.top)
            words = f"{side}: {said}"
            data = pd.DataFrame({"at": [when], "chance": [risk], "words": [words]})
            colour = _COLOURS[side]
            mark = alt.Chart(data).mark_point(
                shape="diamond", filled=True, size=230, color=colour, stroke=PAPER, opacity=1
            )
            tip = [alt.Tooltip("words:N", title="latest overhaul")]
            layers.append(mark.encode(x=self.x(), y=self.y(), tooltip=tip))
            right = bool(when > self.middle)
            look = dict(
                align="right" if right else "left",
                dx=-11 if right else 11,
                dy=16 if side == _CASE else -24,
                fontWeight="bold",
                color=colour,
            )
            layers += self._text(data, look)
        return layers

    def windows(self) -> list[Any]:
        """The case's windows as bands; those of today that it has not as dashed outlines."""
        if not self.by_date:
            return []
        key = ["outage", "start", "end"]
        case, today = self.both.case.windows[key], self.both.today.windows[key]
        today = today.drop_duplicates()
        gone = today.merge(case.drop_duplicates(), on=key, how="left", indicator=True)
        gone = gone.loc[gone["_merge"] == "left_only", key]
        layers = []
        looks: dict[str, tuple[pd.DataFrame, dict[str, Any]]] = {
            "": (case.drop_duplicates(), dict(color=SKY, opacity=0.25)),
            " (today)": (
                gone,
                dict(fill=PAPER, fillOpacity=0.0, stroke=GREY, strokeDash=[4, 3], opacity=1),
            ),
        }
        for after, (some, look) in looks.items():
            shown = some[some["start"] <= self.until]
            if shown.empty:
                continue
            bands = pd.DataFrame(
                {
                    "at": shown["start"],
                    "until": shown["end"].clip(upper=self.until) + pd.Timedelta(days=1),
                    "chance": self.top,
                    "words": shown["outage"] + after,
                    "starts": shown["start"].dt.strftime("%Y-%m-%d"),
                    "ends": shown["end"].dt.strftime("%Y-%m-%d"),
                }
            )
            tips = [
                alt.Tooltip(f"{field}:N", title=title)
                for field, title in {"words": "window", "starts": "starts", "ends": "ends"}.items()
            ]
            layers.append(
                alt.Chart(bands)
                .mark_rect(clip=True, **look)
                .encode(x=self.x(), x2="until:T", tooltip=tips)
            )
            # A window of today may stand close to the one it became: its name goes inside.
            named = dict(angle=330, align="left", baseline="bottom", dx=2, dy=-4, color=GREY)
            if after:
                named = dict(angle=270, align="right", baseline="top", dx=-6, dy=4, color=GREY)
            layers += self._text(bands, named)
        return layers

    def _text(self, data: pd.DataFrame, look: dict[str, Any]) -> list[Any]:
        """Text with a halo of paper, so that it reads over lines and bands."""
        base = alt.Chart(data[["at", "chance", "words"]])
        base = base.encode(x=self.x(), y=self.y(), text="words:N")
        shared = {"fontSize": 12, "limit": 420, **look}
        halo = {**shared, "color": PAPER, "stroke": PAPER, "strokeWidth": 4}
        return [base.mark_text(**halo), base.mark_text(**shared)]


def _setting(both: BothOverTime) -> list[str]:
    """The headings whose risks set the dates: today's, and the case's where it is another."""
    found: list[str] = []
    for told in (both.today, both.case):
        found += [str(name) for name in told.marks.loc[told.marks["sets"], "heading"]]
    if not found:
        found = [str(name) for name in _all_headings(both.today, both.case)[:1]]
    return list(dict.fromkeys(found))[: len(_DASHES)]


def _all_headings(*told: OverTime) -> list[str]:
    return [name for one in told for name in one.curve["heading"].drop_duplicates()]


def _point(at: Any) -> Any:
    if not isinstance(at, pd.Timestamp):
        return at
    return alt.DateTime(year=at.year, month=at.month, date=at.day)
