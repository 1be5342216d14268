"""A machine lying open: the planner ticks what is renewed, and sees what follows."""

from __future__ import annotations

import source
import streamlit as st
from plain import plain

from trendwear.planning.around import TODAY
from trendwear.planning.override import Consequence
from trendwear.planning.plan import SitePlan
from trendwear.report.overhaul.opened import (
    RENEW,
    choices_table,
    consequence_words,
    late_marked,
    parts_table,
    window_names,
)

ROW, HEADING, MOST = 35, 38, 20
COLUMNS = {
    RENEW: st.column_config.CheckboxColumn(help="Ticked: renewed in this window.", pinned=True),
    "clearance": st.column_config.TextColumn(pinned=True),
    "a renewed part starts from": st.column_config.TextColumn(width="medium"),
}
PARTS = {
    "order by": st.column_config.TextColumn(pinned=True),
    "note": st.column_config.TextColumn(width="large"),
}
_VERSION = "version of the choice"


def show(asked: source.Asked, plan: SitePlan, machine: str) -> None:
    """Show renew or leave, and the parts that follow from it."""
    st.subheader("Renew or leave")
    table = plan.renewals.table
    meant = table.loc[table["machine"] == machine, "outage"].dropna()
    if not (table["machine"] == machine).any():
        st.info("No limiting clearance of this machine is forecast: nothing to weigh.")
        return
    names = window_names(plan, machine)
    outage = st.selectbox(
        "Opened in",
        list(names),
        index=list(names).index(meant.iloc[0] if len(meant) else TODAY),
        format_func=lambda name: names[name],
        key=f"opened in {machine} {asked}",
    )
    opened = source.opened(asked, machine, outage)
    key = f"renew {machine} {outage} {asked} {source.revision()}"
    key += f" {st.session_state.get(_VERSION, 0)}"
    with st.container(key="beside_renew"):
        left, right = st.columns([3, 2])
        with left:
            table = choices_table(opened)
            edited = st.data_editor(
                table,
                key=key,
                hide_index=True,
                column_config=COLUMNS,
                height=HEADING + ROW * min(len(table), MOST),
                disabled=[name for name in table.columns if name != RENEW],
            )
        found = opened.consequence(frozenset(edited.loc[edited[RENEW], "clearance"]))
        with right:
            own = found.renewed != opened.recommended
            st.markdown("**Your choice**" if own else "**As the plan recommends**")
            say(consequence_words(opened, found))
            if own:
                with st.expander("As the plan recommends", expanded=True):
                    say(consequence_words(opened, opened.consequence(opened.recommended)))
                st.button("Back to what the plan recommends", on_click=start_again)
    after = opened.following or "the following opening"
    st.caption(
        f"Chance past: of its limit before {plain(after)}. "
        "Tick or untick any line: chances, interval and parts follow at once. Your ticks live "
        "in this browser tab only; they are not stored and do not move the site's plan."
    )
    parts(found)


def start_again() -> None:
    """Forget the ticks."""
    st.session_state[_VERSION] = st.session_state.get(_VERSION, 0) + 1


def parts(found: Consequence) -> None:
    """List the parts that the choice needs."""
    st.subheader("Parts")
    table = parts_table(found.orders)
    if table.empty:
        st.info("No part of this machine is likely to be needed there.")
        return
    late = int(found.orders["late"].sum())
    if late:
        st.error(
            f"LATE: the order-by date of {late} of {len(table)} lines has passed. "
            "They are marked in the table; the note says by how much."
        )
    st.dataframe(late_marked(table), hide_index=True, column_config=PARTS)
    st.caption(
        "Firm: to be renewed, or 8 chances in 10 and more of being needed. Likely: from 3 in 10. "
        "Contingent: from 1 in 20. The shelf serves all machines; firm needs come first."
    )


def say(words: list[str]) -> None:
    """List sentences."""
    st.markdown("\n".join(f"- {plain(sentence)}" for sentence in words))
