"""Every machine and clearance, the one that reaches its limit first on top."""

from __future__ import annotations

import pandas as pd
import source
import streamlit as st
from links import fresh, lead_to
from plain import plain

from trendwear.forecasting.limit_forecast import LimitForecast
from trendwear.report.charts import fleet_chart, past_not_drawn
from trendwear.report.columns import OUTCOME_MEANINGS
from trendwear.report.export import table_bytes
from trendwear.report.limit_table import HEADINGS, governing, headings_of
from trendwear.report.selection import narrowed, present, screen_table, summary, without_date

ROW, HEADING, HIGHEST = 35, 38, 668
SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
COLUMNS = {
    "machine": st.column_config.TextColumn(help=HEADINGS["machine"], pinned=True),
    "position": st.column_config.TextColumn(help=HEADINGS["position"], pinned=True),
    "allowance used": st.column_config.NumberColumn(
        help=HEADINGS["allowance used"], format="%.0f %%"
    ),
    "note": st.column_config.TextColumn(help=HEADINGS["note"], width="large"),
}


def show(table: pd.DataFrame, key: str) -> None:
    """Draw rows of the short table; a click on one leads to its clearance."""
    picked = st.dataframe(
        table,
        key=fresh(key),
        hide_index=True,
        placeholder="—",
        column_config=HELP | COLUMNS,
        height=min(HEADING + ROW * len(table), HIGHEST),
        on_select="rerun",
        selection_mode=["single-row", "single-cell"],
    )
    for line in [*picked.selection.rows, *(line for line, _ in picked.selection.cells)]:
        row = table.iloc[line]
        lead_to(row["machine"], row["position"])


def choose(forecast: LimitForecast) -> LimitForecast:
    """Let the reader narrow the table down."""
    machine, kind, outcome = st.columns(3)
    return narrowed(
        forecast,
        machine.multiselect("Machine", present(forecast, "machine"), key="machines"),
        kind.multiselect("Kind", present(forecast, "kind"), key="kinds"),
        outcome.multiselect(
            "Answer", [word for word in OUTCOME_MEANINGS if word in set(forecast.table["outcome"])],
            key="outcomes",
        ),
    )  # fmt: skip


def offer(forecast: LimitForecast) -> None:
    """Offer the rows shown as files: every column, or a document to print."""
    name = f"limit-forecast-{forecast.as_of:%Y-%m-%d}"
    buttons = st.container(horizontal=True)
    buttons.download_button(
        "Save as XLSX",
        data=lambda: table_bytes(forecast, ".xlsx"),
        file_name=f"{name}.xlsx",
        mime=SPREADSHEET,
        on_click="ignore",
    )
    buttons.download_button(
        "Save as CSV",
        data=lambda: table_bytes(forecast, ".csv"),
        file_name=f"{name}.csv",
        mime="text/csv",
        on_click="ignore",
    )
    buttons.download_button(
        "Save as PDF",
        data=lambda: table_bytes(forecast, ".pdf"),
        file_name=f"{name}.pdf",
        mime="application/pdf",
        on_click="ignore",
        help="To print: the twelve columns for people, and the chart.",
    )


st.title("Machines")
everything = source.limit_forecast(st.session_state.as_of, st.session_state.horizon_hours)
if everything.table.empty:
    st.info(
        "The store holds no clearances yet. Bring sheets in on the page *Bring in*, or with "
        "`trendwear load PATH`; `trendwear demo` writes the demo plant's sheets to try it on."
    )
    st.stop()

HELP = {
    name: st.column_config.TextColumn(help=says) for name, says in headings_of(everything).items()
}
st.markdown(summary(everything))
st.subheader("First to reach its limit, machine by machine")
first = governing(everything)
if not first.empty:
    st.caption("Click a row to see its readings.")
    show(screen_table(everything).loc[first.index], "governing")
picture = fleet_chart(everything.table)
if picture is not None:
    st.altair_chart(
        picture,
        theme=None,
        alt="When the earliest clearances pass their limits, one bar each",
    )
    left_out = past_not_drawn(everything.table)
    more = f" {left_out} more are past their limit already: see the table." if left_out else ""
    st.caption(
        f"The earliest clearances of all.{more} Bar: from 1 chance in 20 to 19 in 20 of being "
        "past the limit. Diamond: even chance. Arrow: the bar goes on."
    )

silent = without_date(everything)
if silent:
    st.info(
        f"No clearance of {plain(', '.join(silent))} is forecast to reach its limit. "
        "The table below says why."
    )

st.subheader("All clearances")
chosen = choose(everything)
show(screen_table(chosen), "all")
offer(chosen)
with st.expander("What the answers mean"):
    st.table(pd.Series(OUTCOME_MEANINGS, name="means"))
