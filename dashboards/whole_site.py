"""The whole site in its windows, moved by hand where the planner wants; and the plan as files."""

from __future__ import annotations

import source
import streamlit as st
from plain import plain

from trendwear.planning.plan import SitePlan
from trendwear.report.overhaul.moved import (
    LEFT_OUT,
    MACHINE,
    WINDOW,
    moved_words,
    placed_table,
    site_matrix,
)
from trendwear.report.overhaul.placing import placing_table, placing_words

SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FORMS = {
    ".xlsx": SPREADSHEET,
    ".csv": "text/csv",
    ".pdf": "application/pdf",
    ".ics": "text/calendar",
}
TO_CHOOSE = (".ics",)
_VERSION = "version of the placing"


def show(asked: source.Asked, plan: SitePlan) -> None:
    """Show where each machine is opened, and judge what the planner moves."""
    if plan.windows.empty:
        return
    st.subheader("The whole site in its windows")
    placed = source.placed(asked)
    say(placing_words(placed))
    if not placed.board.machines:
        return
    solved = placed_table(placed)
    key = f"placing {asked} {source.revision()} {st.session_state.get(_VERSION, 0)}"
    with st.container(key="beside_site"):
        left, right = st.columns([1, 2])
        with left:
            edited = st.data_editor(
                solved,
                key=key,
                hide_index=True,
                disabled=[MACHINE],
                column_config={
                    WINDOW: st.column_config.SelectboxColumn(
                        options=[*placed.board.windows["outage"], LEFT_OUT], required=True
                    )
                },
            )
        choice = dict(zip(edited[MACHINE], edited[WINDOW], strict=True))
        moved = not edited[WINDOW].equals(solved[WINDOW])
        with right:
            st.dataframe(
                site_matrix(placed, plan, choice),
                hide_index=True,
                column_config={MACHINE: st.column_config.TextColumn(pinned=True)},
            )
            if moved:
                st.markdown("**Moved by hand**")
                say(moved_words(placed, choice))
                st.button("Back to the plan", on_click=start_again)
    st.caption(
        "Choose another window for any machine on the left: it is judged as the plan is. Percent: "
        "chance of a passed limit before the window; others: what is past today is not counted. "
        "Moves live in this browser tab only."
    )
    with st.expander("How full the windows are, as planned"):
        st.dataframe(placing_table(placed), hide_index=True)


def start_again() -> None:
    """Forget the moves."""
    st.session_state[_VERSION] = st.session_state.get(_VERSION, 0) + 1


def say(words: list[str]) -> None:
    """List sentences."""
    st.markdown("\n".join(f"- {plain(sentence)}" for sentence in words))


def offer(plans: list[SitePlan], asked: source.Asked) -> None:
    """Offer the plan of the whole site as files; a calendar only once a risk is chosen."""
    st.subheader("The plan as a file")
    buttons = st.container(horizontal=True)
    for suffix, mime in FORMS.items():
        if len(plans) > 1 and suffix in TO_CHOOSE:
            continue
        buttons.download_button(
            f"Save as {suffix.removeprefix('.').upper()}",
            data=lambda suffix=suffix: source.plan_file(asked, suffix),
            file_name=f"overhaul-plan-{plans[0].as_of:%Y-%m-%d}{suffix}",
            mime=mime,
            on_click="ignore",
        )
    st.caption("All machines, as the plan recommends: without what was ticked or moved here.")
