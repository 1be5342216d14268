"""How good the forecasts would have been at every past opening, and the plans after them."""

from __future__ import annotations

import pandas as pd
import source
import streamlit as st
from plain import plain

from trendwear.hindsight.hindcast import Hindcast
from trendwear.hindsight.plans import RISKS
from trendwear.report.hindcast.charts import DRAWN_FROM, bands_chart, readings_chart
from trendwear.report.hindcast.export import record_bytes
from trendwear.report.hindcast.tables import (
    coverage_table,
    misses_table,
    plans_table,
    rules_table,
)
from trendwear.report.hindcast.words import HOW, late_words, plan_words, summary_words

SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FORMS = {".xlsx": SPREADSHEET, ".csv": "text/csv", ".md": "text/markdown"}
PINNED = {
    "machine": st.column_config.TextColumn(pinned=True),
    "position": st.column_config.TextColumn(pinned=True),
    "what was different": st.column_config.TextColumn(width="large"),
    "governed by": st.column_config.TextColumn(width="large"),
}


def say(words: list[str]) -> None:
    """List sentences."""
    st.markdown("\n".join(f"- {plain(sentence)}" for sentence in words))


def bands(told: Hindcast) -> None:
    """Draw and list how many readings lay inside their bands."""
    picture = bands_chart(told.scores)
    if picture is None:
        return
    st.subheader("Do the bands keep their promise?")
    st.altair_chart(
        picture, theme=None, alt="Share of readings inside the 50, 80 and 90 % bands, by family"
    )
    st.caption(
        "Dashed: where each band's share belongs. Bar: 9 chances in 10 that the true share lies "
        "in it; a band keeps its promise where its bar crosses its own dashed line. In brackets: "
        f"readings. Families with fewer than {DRAWN_FROM} readings are in the table only."
    )
    with st.expander("The same as a table, every family"):
        st.dataframe(coverage_table(told.scores), hide_index=True)
        st.caption("In brackets: how many an honest band would hold, nine times in ten.")


def rules(told: Hindcast) -> None:
    """Set the forecast beside the two simpler rules."""
    st.subheader("Against two simpler rules")
    table = rules_table(told.scores)
    everything = table["group"] == "all readings"
    st.dataframe(table[everything], hide_index=True)
    st.caption(
        "The last interval's rate: the wear of the last measured interval, carried on. The "
        "own-data line: a line through this clearance's own readings. Both are compared on the "
        "readings that the rule speaks of too."
    )
    with st.expander("The same for first runs, later runs and every family"):
        st.dataframe(table[~everything], hide_index=True)


def misses(told: Hindcast) -> None:
    """Draw every reading against its band, and list those outside."""
    st.subheader("Every reading against its own forecast")
    st.altair_chart(
        readings_chart(told.found), theme=None, alt="Readings against their forecast bands"
    )
    table = misses_table(told.found)
    if table.empty:
        st.caption("No reading lay outside its 90 % band.")
        return
    st.markdown(f"**{len(table)} outside their 90 % band.** Click a row to see its readings.")
    chosen(table, "misses")
    st.caption("What was different is a circumstance that is on record, not a cause.")


def chosen(table: pd.DataFrame, key: str) -> None:
    """Draw a table; a click on a row leads to its clearance."""
    picked = st.dataframe(
        table,
        key=key,
        hide_index=True,
        column_config=PINNED,
        on_select="rerun",
        selection_mode=["single-row", "single-cell"],
    )
    for line in [*picked.selection.rows, *(line for line, _ in picked.selection.cells)]:
        row = table.iloc[line]
        names = {"machine": row["machine"], "clearance": row["position"]}
        st.switch_page("clearance.py", query_params=names)


def plans(told: Hindcast) -> None:
    """Say and list what became of the plans."""
    st.subheader("Would past plans have come in time?")
    say(plan_words(told))
    late = late_words(told.plans)
    if late:
        with st.expander(f"The late ones, closing by closing ({len(late)})"):
            say(late)
    if told.plans.empty:
        return
    risk = st.segmented_control(
        "Accepted risk",
        list(RISKS),
        default=0.10,
        required=True,
        key="risk",
        format_func=lambda share: f"{100 * share:.0f} %",
        bind="query-params",
    )
    st.dataframe(plans_table(told.plans, risk), hide_index=True, column_config=PINNED)
    st.caption("Hours count from the closing after that opening.")


def offer(told: Hindcast) -> None:
    """Offer the record as files."""
    buttons = st.container(horizontal=True)
    for suffix, mime in FORMS.items():
        buttons.download_button(
            f"Save as {suffix.removeprefix('.').upper()}",
            data=lambda suffix=suffix: record_bytes(told, suffix),
            file_name=f"past-forecasts-{told.as_of:%Y-%m-%d}{suffix}",
            mime=mime,
            on_click="ignore",
        )


st.title("Past forecasts")
st.markdown(
    "Each past opening is forecast from what was known the day before it, and held against what "
    "was found."
)
told = source.hindcast(st.session_state.as_of)
say(summary_words(told))
if not told.found.empty:
    bands(told)
    rules(told)
    if told.found["forecast_p50_mm"].notna().any():
        misses(told)
    plans(told)
    offer(told)
with st.expander("How this was reckoned"):
    say(list(HOW))
