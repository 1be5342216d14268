"""One clearance: its readings, its trend, its forecast in words, and where each number is from."""

from __future__ import annotations

import source
import streamlit as st
from links import heed_link, keep
from plain import plain
from units import choose_unit

from trendwear.forecasting.trend import ClearanceTrend
from trendwear.report.charts import how_to_read, not_drawn, trend_chart
from trendwear.report.clearance_tables import (
    doubtful_readings,
    events_table,
    readings_table,
    segments_table,
    work_table,
)
from trendwear.report.parts.here import here_table, here_words
from trendwear.report.selection import positions, present
from trendwear.report.units import decimals_in, in_unit
from trendwear.report.whose_readings import shares_table, whose_words
from trendwear.report.words import clearance_words, events_since, headline, what_to_know

COLUMNS = {
    "as written": st.column_config.TextColumn(width="medium"),
    "use": st.column_config.TextColumn(width="medium"),
}


def choose() -> tuple[str, str]:
    """Let the reader choose a clearance; the address of the page names it too."""
    forecast = source.limit_forecast(st.session_state.as_of, st.session_state.horizon_hours)
    left, right = st.columns(2)
    machines = present(forecast, "machine")
    heed_link("machine", machines)
    machine = left.selectbox(
        "Machine",
        machines,
        index=None,
        key="machine",
        bind="query-params",
        placeholder="Choose a machine",
    )
    clearances = positions(forecast, machine)
    if machine is not None:
        heed_link("clearance", clearances)
    clearance = right.selectbox(
        "Clearance",
        clearances,
        index=None,
        key="clearance",
        bind="query-params",
        placeholder="Choose a clearance",
    )
    keep("machine")
    keep("clearance")
    if machine is None or clearance is None:
        st.info("Choose a machine and one of its clearances.")
        st.stop()
    return machine, clearance


def draw(trend: ClearanceTrend, unit: str) -> None:
    """Draw the chart, along hours or dates."""
    by = st.session_state.by
    st.altair_chart(
        trend_chart(trend, unit, by),
        theme=None,
        alt=f"Readings and forecast of {trend.machine} {trend.clearance}",
    )
    missing = not_drawn(trend, by)
    if missing:
        st.caption(
            f"{missing} reading{'' if missing == 1 else 's'} without known "
            f"{'running hours' if by == 'hours' else 'date'}: not in this chart, listed below."
        )
    st.caption(how_to_read(trend))


def tell(trend: ClearanceTrend, unit: str) -> None:
    """Say the numbers in words, once for each limit."""
    decimals = decimals_in(trend.decimals, trend.unit, unit)
    for _, row in in_unit(trend.forecast, unit).iterrows():
        if len(trend.forecast) > 1:
            st.subheader(f"As the gap {row['moves']}")
            st.markdown(f"**{plain(headline(row))}**")
        sentences = clearance_words(row, decimals)
        bullets(sentences)


def bullets(sentences: list[str]) -> None:
    """List sentences, one a line."""
    st.markdown("\n".join(f"- {plain(sentence)}" for sentence in sentences))


def warn(trend: ClearanceTrend, unit: str) -> None:
    """Say what else must be known, and which readings to look at again."""
    known = what_to_know(trend.forecast)
    if known:
        st.subheader("What to know")
        bullets(known)
    doubted = doubtful_readings(trend, unit)
    if doubted:
        st.subheader("Look again")
        bullets(doubted)


def tell_whose(trend: ClearanceTrend) -> None:
    """Say whose readings the rate rests on, and lead to its family."""
    whose = whose_words(trend)
    if whose:
        st.subheader("Whose readings the rate rests on")
        st.markdown(plain(whose))
        with st.expander("The share of each"):
            st.dataframe(shares_table(trend), hide_index=True, width="content")
    family = trend.forecast["family"].iloc[0]
    st.page_link(
        "family.py",
        label=f"Its family side by side: {plain(family)}",
        query_params={"family": family},
    )


def list_rows(trend: ClearanceTrend, unit: str) -> None:
    """List what was read and done, each row with its source."""
    names = ("Readings", "Work done", "Parts", "Runs between resets", "Events of the machine")
    tables = (
        readings_table(trend, unit),
        work_table(trend),
        here_table(sat_here),
        segments_table(trend),
        events_table(trend),
    )
    for tab, name, table in zip(st.tabs(list(names)), names, tables, strict=True):
        with tab:
            if table.empty:
                st.caption(f"{name}: none in the store.")
            else:
                st.dataframe(table, hide_index=True, column_config=COLUMNS)


def offer_sheet(machine: str) -> None:
    """Offer the sheet to take to the bench when the machine is opened."""
    asked = source.Asked(st.session_state.as_of, st.session_state.horizon_hours, None)
    st.download_button(
        "Sheet for the bench (PDF)",
        data=lambda: source.bench_sheet(asked, machine),
        file_name=f"inspection-{machine}-{st.session_state.as_of:%Y-%m-%d}.pdf",
        mime="application/pdf",
        on_click="ignore",
        help=f"Every position of {plain(machine)} in the order of teardown, to fill in by hand. "
        "The readings to be expected stand on its last page, for the lead alone.",
    )


names = choose()
trend = source.clearance_trend(names, st.session_state.as_of, st.session_state.horizon_hours)
st.title(plain(f"{trend.machine}, {trend.clearance}"))
st.markdown(f"**{plain(headline(trend.forecast.iloc[0]))}**")
since = events_since(trend.forecast)
if since:
    st.warning(plain(f"{' '.join(since)} Only a reading taken since would show what it did."))
along, measured = st.columns(2)
along.segmented_control(
    "Along",
    ["hours", "date"],
    default="hours",
    required=True,
    key="by",
    format_func={"hours": "running hours", "date": "date"}.get,
    bind="query-params",
)
with measured:
    unit = choose_unit(trend.unit)
draw(trend, unit)
tell(trend, unit)
sat_here = source.sat_here(
    (trend.machine, trend.clearance), st.session_state.as_of, st.session_state.horizon_hours
)
bullets(here_words(sat_here))
warn(trend, unit)
tell_whose(trend)
list_rows(trend, unit)
offer_sheet(trend.machine)
