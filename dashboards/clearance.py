"""One clearance: its readings, its trend, its forecast in words, and where each number is from."""

from __future__ import annotations

import source
import streamlit as st
from plain import plain

from trendwear.forecasting.trend import ClearanceTrend
from trendwear.report.charts import not_drawn, trend_chart
from trendwear.report.clearance_tables import (
    events_table,
    readings_table,
    segments_table,
    work_table,
)
from trendwear.report.selection import positions, present
from trendwear.report.units import decimals_in, in_unit, unit_label
from trendwear.report.words import clearance_words, headline
from trendwear.wording import fold

AS_KEPT = "as kept"
COLUMNS = {"use": st.column_config.TextColumn(width="medium")}


def heed_link(what: str, known: list[str]) -> None:
    """Take a name from the page's address in any spelling; say so where there is none such."""
    asked = st.query_params.get(what)
    if asked is None or asked in known:
        return
    meant = [name for name in known if fold(name) == fold(asked)]
    if meant:
        st.session_state[what] = meant[0]
    else:
        st.warning(f"The register has no {what} {plain(asked)}.")


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
    st.caption(
        "Solid: the fit to this clearance's own readings. Dashed: the forecast, which may lean on "
        "like clearances. Bars on readings: two standard uncertainties either way. "
        "Hollow: shown, not fitted. "
        "Arrow on a reading: worn at least so far. On the limit line: from 1 chance in 20 to 19 "
        "in 20 of being past it, diamond at the even chance."
    )


def tell(trend: ClearanceTrend, unit: str) -> None:
    """Say the numbers in words, once for each limit."""
    decimals = decimals_in(trend.decimals, trend.unit, unit)
    for _, row in in_unit(trend.forecast, unit).iterrows():
        if len(trend.forecast) > 1:
            st.subheader(f"As the gap {row['moves']}")
            st.markdown(f"**{plain(headline(row))}**")
        sentences = clearance_words(row, decimals)
        st.markdown("\n".join(f"- {plain(sentence)}" for sentence in sentences))


def list_rows(trend: ClearanceTrend, unit: str) -> None:
    """List what was read and done, each row with its source."""
    names = ("Readings", "Work done", "Runs between resets", "Events of the machine")
    tables = (
        readings_table(trend, unit),
        work_table(trend),
        segments_table(trend),
        events_table(trend),
    )
    for tab, name, table in zip(st.tabs(list(names)), names, tables, strict=True):
        with tab:
            if table.empty:
                st.caption(f"{name}: none in the store.")
            else:
                st.dataframe(table, hide_index=True, column_config=COLUMNS)


names = choose()
trend = source.clearance_trend(names, st.session_state.as_of, st.session_state.horizon_hours)
st.title(plain(f"{trend.machine}, {trend.clearance}"))
st.markdown(f"**{plain(headline(trend.forecast.iloc[0]))}**")
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
wanted = measured.segmented_control(
    "Unit",
    [AS_KEPT, "mm", "um", "mil", "in"],
    default=AS_KEPT,
    required=True,
    key="unit",
    format_func=unit_label,
    bind="query-params",
)
unit = trend.unit if wanted == AS_KEPT else wanted
draw(trend, unit)
tell(trend, unit)
list_rows(trend, unit)
