"""When a machine is to be overhauled at the accepted risk, what sets it, what it takes."""

from __future__ import annotations

import renew_or_leave
import source
import streamlit as st
import whole_site
import worth_it
from links import heed_link, keep
from plain import plain

from trendwear.planning.notes import BY_CLEARANCES_ALONE
from trendwear.planning.over_time import OverTime
from trendwear.planning.plan import SitePlan
from trendwear.report.overhaul.answer import answer_sentence, more_to_know, points, risk_words
from trendwear.report.overhaul.answers import answers_table, first_to_open
from trendwear.report.overhaul.charts import how_to_read, overhaul_chart
from trendwear.report.overhaul.opened import slip_table

ROW, HEADING, HIGHEST = 35, 38, 460
WIDE = {
    "governed by": st.column_config.TextColumn(width="large"),
    "machine": st.column_config.TextColumn(pinned=True),
    "window": st.column_config.TextColumn(pinned=True),
    "why it cannot be opened in it": st.column_config.TextColumn(width="large"),
}


def choose_risk() -> float | None:
    """Let the reader try another accepted risk; the address of the page may name it."""
    linked = st.query_params.get("risk")
    if linked is not None and "percent" not in st.session_state:
        try:
            share = float(linked)
        except ValueError:
            share = -1.0
        if 0.0 <= share <= 1.0:
            st.session_state["percent"] = 100.0 * share
        else:
            st.warning(f"{plain(linked)} is no risk: 0 to 1, 0.1 for one in ten.")
    percent = st.number_input(
        "Accepted risk for this look only, %",
        min_value=0.0,
        max_value=100.0,
        value=None,
        step=1.0,
        format="%.3g",
        key="percent",
        placeholder="as the risks sheet says",
        help="The chance of passing a limit that is accepted for each machine, all its limits "
        "together. Nothing is stored.",
    )
    if percent is None:
        st.query_params.pop("risk", None)
        return None
    st.query_params["risk"] = f"{percent / 100:g}"
    return float(percent) / 100


def choose_machine(order: list[str]) -> str:
    """Let the reader choose a machine; by default the one that must be opened first."""
    heed_link("machine", order)
    if st.session_state.get("machine") not in order:
        st.session_state["machine"] = order[0]
    machine = st.selectbox("Machine", order, index=None, key="machine", bind="query-params")
    keep("machine")
    return machine or order[0]


def all_answers(plans: list[SitePlan]) -> None:
    """List every machine's answer; a click on a row chooses the machine."""
    table = answers_table(plans)
    key = f"answers {st.session_state['machine']}"

    def take() -> None:
        chosen = st.session_state[key].selection
        for line in [*chosen.rows, *(line for line, _ in chosen.cells)]:
            st.session_state["machine"] = table["machine"].iloc[line]

    st.dataframe(
        table,
        key=key,
        hide_index=True,
        column_config=WIDE,
        height=min(HEADING + ROW * len(table), HIGHEST),
        on_select=take,
        selection_mode=["single-row", "single-cell"],
    )
    brackets = (
        " A window in brackets comes too late: it is the first in which the machine can be opened."
        if len(plans) == 1
        else ""
    )
    st.caption(f"The machine that must be opened first on top. Click a row to choose it.{brackets}")


def answer(plan: SitePlan, told: OverTime) -> None:
    """Say when, what sets it, what to renew and order, and what a later window costs."""
    st.header(plain(answer_sentence(plan, told)), anchor=False)
    st.caption(f"{BY_CLEARANCES_ALONE.capitalize()}.")
    says = points(plan, told.machine)
    st.markdown("\n".join(f"- **{what}:** {plain(words)}" for what, words in says.items()))
    notes = more_to_know(plan, told.machine)
    if notes:
        st.markdown("**What else to know**")
        st.markdown("\n".join(f"- {plain(note)}." for note in notes))


def draw(told: OverTime) -> None:
    """Draw how the chance rises."""
    st.subheader("Chance that a limit is passed")
    picture = overhaul_chart(told)
    if picture is None:
        st.info("There is nothing to draw: no limiting clearance of this machine is forecast.")
        return
    st.altair_chart(
        picture,
        theme=None,
        alt=f"Chance that a limit of {told.machine} is passed, by date, against the accepted risk",
    )
    st.caption(how_to_read(told))


def to_choose(plans: list[SitePlan], machine: str) -> None:
    """Ask for a risk where nobody has accepted any."""
    st.header("Choose the risk that is accepted", anchor=False)
    st.markdown(
        "Nobody has accepted a risk yet, so there is no answer. The table shows the latest "
        "overhaul at 5, 10 and 20 %. Load a `risks` sheet, signed by the person who accepts "
        "them, or look at one risk now:"
    )
    buttons = st.container(horizontal=True)
    for plan in plans:
        share = plan.accepted.for_all or 0.0
        buttons.button(
            f"Look at {100 * share:.3g} %",
            on_click=st.session_state.update,
            args=({"percent": 100.0 * share},),
        )
    st.caption(f"{plain(machine)}: the chart below shows all three.")


def windows(plan: SitePlan, machine: str) -> None:
    """List the windows."""
    st.subheader("Windows")
    table = slip_table(plan, machine)
    if table.empty:
        st.info("No coming window is known: load an `outages` sheet.")
        return
    st.dataframe(table, hide_index=True, column_config=WIDE)
    st.caption(
        "Expected past: how many clearances are to be expected past their limits when the window "
        "starts. What is past its limit today is not counted."
    )


st.title("Overhaul")
machine_at, risk_at = st.columns(2)
with risk_at:
    asked = source.Asked(st.session_state.as_of, st.session_state.horizon_hours, choose_risk())
plans = source.plans(asked)
if plans[0].overhaul.empty:
    st.info(
        "The store holds no clearances yet. Bring sheets in on the page *Bring in*, or with "
        "`trendwear load PATH`; `trendwear demo` writes the demo plant's sheets to try it on."
    )
    st.stop()
with machine_at:
    machine = choose_machine(first_to_open(plans[0]))
told = source.over_time(asked, machine)
chosen = len(plans) == 1
if chosen:
    st.caption(f"Accepted risk: {plain(risk_words(plans[0], source.risks(asked)))}")
with st.container(key="beside_answer"):
    left, right = st.columns([3, 2])
    with left:
        if chosen:
            answer(plans[0], told)
        else:
            to_choose(plans, machine)
    with right:
        all_answers(plans)
draw(told)
windows(plans[0], machine)
if chosen:
    worth_it.looks(plans[0], machine)
    renew_or_leave.show(asked, plans[0], machine)
    worth_it.costs(plans[0], machine)
    whole_site.show(asked, plans[0])
whole_site.offer(plans, asked)
