"""What if: another case beside today's plan, kept only when asked."""

from __future__ import annotations

import case_forms
import case_store
import source
import streamlit as st
from plain import plain

from trendwear.errors import TrendwearError
from trendwear.planning.case_changes import Change
from trendwear.planning.case_compare import Comparison
from trendwear.planning.cases import Case, check_fits, misfits
from trendwear.planning.notes import BY_CLEARANCES_ALONE
from trendwear.report.cases.chart import HOW_TO_READ, case_chart
from trendwear.report.cases.export import case_bytes
from trendwear.report.cases.table import CASE_HEADINGS, cases_table, without_alike
from trendwear.report.cases.words import NOT_STORED, case_words
from trendwear.report.overhaul.table import accepted_words

CHANGES, NAME, KEPT, DONE = "case changes", "case name", "case as kept", "case done"
MACHINE = "case machine"
ROW, HEADING, HIGHEST = 35, 38, 460
SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FILES = {".xlsx": SPREADSHEET, ".csv": "text/csv", ".md": "text/markdown"}
COLUMNS = {name: st.column_config.TextColumn(help=says) for name, says in CASE_HEADINGS.items()} | {
    "machine": st.column_config.TextColumn(help=CASE_HEADINGS["machine"], pinned=True)
}


def changes() -> tuple[Change, ...]:
    """What is supposed so far."""
    return st.session_state.get(CHANGES, ())


def done(sentence: str) -> None:
    """Remember what was done, to be said after the next run."""
    st.session_state[DONE] = sentence


def take(changed: tuple[Change, ...], beside: dict[str, object] | None = None) -> None:
    """Suppose other changes from now on; the chart begins with what moves most."""
    st.session_state.update({CHANGES: changed, **(beside or {})})
    st.session_state.pop(MACHINE, None)
    st.rerun()


def refused(problem: TrendwearError) -> None:
    """Say what does not go, and what to do."""
    st.error(f"{plain(problem.where)}: {plain(problem.found)}. {plain(problem.do)}")


def is_kept() -> bool:
    """Whether nothing would be lost by opening another case."""
    return not changes() or changes() == st.session_state.get(KEPT)


def open_or_begin() -> None:
    """Offer the kept cases, and a fresh one."""
    kept = {one.name: one for one in case_store.kept()}
    choice, buttons = st.columns(2, vertical_alignment="bottom")
    name = choice.selectbox(
        "Kept cases",
        list(kept),
        index=None,
        placeholder="none chosen" if kept else "no case is kept yet",
        format_func=lambda one: f"{one} (kept by {kept[one].by}, {kept[one].kept_at:%Y-%m-%d})",
        disabled=not kept,
    )
    losing = "" if is_kept() else ", drop this case"
    with buttons.container(horizontal=True):
        if st.button(f"Open{losing}", disabled=name is None):
            case = case_store.opened(str(name))
            take(case.changes, {KEPT: case.changes, NAME: case.name})
        if st.button(f"Begin afresh{losing}", disabled=not changes()):
            take((), {KEPT: (), NAME: ""})


def add_a_change(asked: source.Asked) -> None:
    """Ask for one more change, and take it where it makes sense today."""
    sort = st.segmented_control(
        "What is otherwise?", list(case_forms.FORMS), default="Running hours", required=True
    )
    told, accepted = source.site_forecast(asked), source.plans(asked)[0].accepted
    try:
        change = case_forms.FORMS[str(sort)](told)
        if change is None:
            return
        check_fits(told, Case("", (change,)), accepted)
        Case("", (*changes(), change))
    except TrendwearError as problem:
        refused(problem)
        return
    take((*changes(), change))


def list_changes() -> None:
    """List what is supposed; each can be taken out."""
    for number, change in enumerate(changes()):
        words, button = st.columns([6, 1], vertical_alignment="center")
        said = str(change)
        words.markdown(f"{number + 1}\\. {plain(said[0].upper() + said[1:])}")
        if button.button("Take out", key=f"take out {number} {change}"):
            take(tuple(one for one in changes() if one != change))


def fits(asked: source.Asked, case: Case) -> bool:
    """Say of each change that no longer fits what is wrong with it."""
    told, plans = source.site_forecast(asked), source.plans(asked)
    found = misfits(told, case, plans[0].accepted)
    for problem in found:
        refused(problem)
    if found:
        st.info("Take these changes out, or mend them, to see the case beside today's plan.")
    return not found


def choose(found: list[Comparison]) -> Comparison:
    """Let the reader choose the accepted risk where nobody has set any."""
    if len(found) == 1:
        return found[0]
    shares = [one.today.accepted.for_all or 0.0 for one in found]
    share = st.segmented_control(
        "Nobody has accepted a risk yet. Compare at",
        shares,
        default=shares[0],
        required=True,
        format_func=lambda one: f"{100 * one:.3g} %",
    )
    return found[shares.index(share)]


def side_by_side(compared: Comparison) -> None:
    """Say and list what moves; a click on a row chooses the machine of the chart."""
    st.markdown("\n".join(f"- {plain(sentence)}" for sentence in case_words(compared)))
    table = without_alike(cases_table([compared]))
    key = f"cases {st.session_state.get(MACHINE)} {compared.case}"

    def choose_row() -> None:
        chosen = st.session_state[key].selection
        for line in [*chosen.rows, *(line for line, _ in chosen.cells)]:
            st.session_state[MACHINE] = table["machine"].iloc[line]

    st.dataframe(
        table,
        key=key,
        hide_index=True,
        column_config=COLUMNS,
        height=min(HEADING + ROW * len(table), HIGHEST),
        on_select=choose_row,
        selection_mode=["single-row", "single-cell"],
    )
    st.caption(
        f"{plain(accepted_words([compared.today]))} {plain(BY_CLEARANCES_ALONE.capitalize())}. "
        "Click a row to draw its machine."
    )


def draw(asked: source.Asked, compared: Comparison) -> None:
    """Draw both chances of one machine."""
    machines = list(compared.table["machine"])
    if st.session_state.get(MACHINE) not in machines:
        st.session_state[MACHINE] = machines[0]
    machine = st.selectbox("Machine in the chart", machines, key=MACHINE)
    picture = case_chart(case_store.over_time(asked, compared, machine))
    if picture is None:
        st.info("There is nothing to draw: no limiting clearance of this machine is forecast.")
        return
    words = f"Chance that a limit of {machine} is passed, today and in the case, by date"
    st.altair_chart(picture, theme=None, alt=words)
    st.caption(HOW_TO_READ)


def offer(found: list[Comparison]) -> None:
    """Offer the case as files."""
    buttons = st.container(horizontal=True)
    for suffix, mime in FILES.items():
        buttons.download_button(
            f"Save as {suffix.removeprefix('.').upper()}",
            data=lambda suffix=suffix: case_bytes(found, suffix),
            file_name=f"case-{found[0].today.as_of:%Y-%m-%d}{suffix}",
            mime=mime,
            on_click="ignore",
        )


def keep_it() -> None:
    """Keep the case by name, when asked."""
    st.subheader("Keep this case")
    with st.form("keep", border=True):
        name_at, by_at = st.columns(2)
        name = name_at.text_input("Name of the case", value=st.session_state.get(NAME, ""))
        by = by_at.text_input("Kept by")
        wanted = st.form_submit_button("Keep by name")
        st.caption(
            "Only what is supposed is kept; opened again, it stands beside the plan of that day. "
            "Under a name that is kept already it takes that case's place; the former one stays "
            "in the record."
        )
    if wanted:
        try:
            done(case_store.keep(Case(name, changes()), by))
        except TrendwearError as problem:
            refused(problem)
            return
        st.session_state.update({KEPT: changes(), NAME: name})
        st.rerun()


def delete_one() -> None:
    """Delete the kept case that is open, when its name is written again."""
    name = st.session_state.get(NAME)
    if not name or name not in {one.name for one in case_store.kept()}:
        return
    with st.expander(f"Delete the kept case {plain(name)}"), st.form("delete", border=False):
        again_at, by_at = st.columns(2)
        again = again_at.text_input("Write its name again")
        by = by_at.text_input("Deleted by")
        if not st.form_submit_button("Delete"):
            return
        try:
            done(case_store.delete(name, again, by))
        except TrendwearError as problem:
            refused(problem)
            return
    st.session_state.update({KEPT: (), NAME: ""})
    st.rerun()


st.title("Other cases")
st.markdown(f"What if? {NOT_STORED}")
asked = source.Asked(st.session_state.as_of, st.session_state.horizon_hours, None)
if source.plans(asked)[0].overhaul.empty:
    st.info(
        "The store holds no clearances yet. Bring sheets in on the page *Bring in*, or with "
        "`trendwear load PATH`; `trendwear demo` writes the demo plant's sheets to try it on."
    )
    st.stop()
if DONE in st.session_state:
    st.success(f"{plain(st.session_state.pop(DONE))}.")
open_or_begin()
add_a_change(asked)
if not changes():
    st.stop()
st.subheader(plain(st.session_state.get(NAME, "") or "The case"))
list_changes()
case = Case(st.session_state.get(NAME, ""), changes())
if fits(asked, case):
    found = case_store.beside(asked, case)
    st.subheader("Beside today's plan")
    compared = choose(found)
    side_by_side(compared)
    draw(asked, compared)
    offer(found)
keep_it()
delete_one()
