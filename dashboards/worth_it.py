"""What one more check before the overhaul may change, and what intervals cost."""

from __future__ import annotations

import streamlit as st

from trendwear.planning.plan import SitePlan
from trendwear.report.overhaul.costs import (
    COSTS_SAY,
    cost_chart,
    costs_table,
    opening_costs_table,
)
from trendwear.report.overhaul.looks import LOOKS_SAY, looks_table

PINNED = {
    "read once more": st.column_config.TextColumn(pinned=True),
    "what it may change": st.column_config.TextColumn(width="large"),
    "opening": st.column_config.TextColumn(pinned=True),
    "note": st.column_config.TextColumn(width="large"),
}


def looks(plan: SitePlan, machine: str) -> None:
    """List the checks worth their while, where there are any."""
    table = looks_table(plan, machine)
    if table.empty:
        return
    st.subheader("Worth a look before then")
    st.dataframe(table, hide_index=True, column_config=PINNED)
    st.caption(LOOKS_SAY)


def costs(plan: SitePlan, machine: str) -> None:
    """Show what intervals and openings cost, where costs are given."""
    intervals = costs_table(plan, machine)
    if intervals.empty:
        return
    st.subheader("What it costs")
    picture = cost_chart(plan, machine)
    if picture is not None:
        st.altair_chart(
            picture,
            theme=None,
            width="content",
            alt=f"Expected cost of 1000 running hours of {machine} against the interval",
        )
    st.dataframe(intervals.drop(columns="machine"), hide_index=True, column_config=PINNED)
    openings = opening_costs_table(plan, machine)
    if len(openings):
        st.dataframe(openings.drop(columns="machine"), hide_index=True, column_config=PINNED)
    st.caption(COSTS_SAY)
