"""Sheets into the store: looked at first, and stored only when asked."""

from __future__ import annotations

import incoming
import streamlit as st
from incoming import Handed, Upload
from plain import plain

from trendwear.errors import TrendwearError
from trendwear.readings.loaded import LoadReport
from trendwear.report.load_report import refused_bytes
from trendwear.report.load_tables import (
    counts_table,
    in_one_sentence,
    refused_table,
    waiting_table,
)

LOAD, STORED, ASKED = "number of the load", "what the last load did", "asked to bring in"
SPREADSHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
MEGABYTES = 200
NOTES_SHOWN = 8
LINES = 78  # pixels: three lines of text
LONG = st.column_config.TextColumn(width=260)


def refused(problem: TrendwearError) -> None:
    """Say what does not go, and what to do; the files stay where they are."""
    st.error(f"{plain(problem.where)}: {plain(problem.found)}. {plain(problem.do)}.")


def handed_over() -> Handed | None:
    """Ask for files."""
    number = st.session_state.setdefault(LOAD, 0)
    files = st.file_uploader(
        "Sheets: workbooks (.xlsx, .ods) or single sheets (.csv, .parquet)",
        accept_multiple_files=True,
        max_upload_size=MEGABYTES,
        key=f"sheets {number}",
    )
    with st.expander("The sheets have headings of their own"):
        headings = st.file_uploader(
            "A headings file (.toml): which of your headings means which of ours",
            type=["toml"],
            key=f"headings {number}",
        )
    if not files:
        return None
    own = Upload(headings.name, headings.getvalue()) if headings else None
    return Handed(tuple(Upload(file.name, file.getvalue()) for file in files), own)


def show(report: LoadReport) -> None:
    """Show what goes in, what is refused, what waits, and what deserves a look."""
    counts, faults, waiting = counts_table(report), refused_table(report), waiting_table(report)
    if len(counts):
        st.dataframe(counts, hide_index=True, width="content")
    if len(faults):
        st.subheader("Refused")
        st.caption("Nothing of these goes in. Mend them in the sheet and bring it in again.")
        st.dataframe(
            faults,
            hide_index=True,
            row_height=LINES,
            column_config={"reason": LONG, "write instead": LONG},
        )
        st.download_button(
            "Save the refused rows as CSV", refused_bytes(report), "refused.csv", "text/csv",
            on_click="ignore",
        )  # fmt: skip
    if len(waiting):
        st.subheader(f"Waiting for the register: {int(waiting['rows'].sum())} rows")
        st.caption("These readings are kept, and count as soon as the register knows their place.")
        st.dataframe(waiting, hide_index=True, width="content")
    if report.notes:
        st.subheader("Worth a look")
        st.markdown("\n".join(f"- {plain(note)}" for note in report.notes[:NOTES_SHOWN]))
        if len(report.notes) > NOTES_SHOWN:
            with st.expander(f"{len(report.notes) - NOTES_SHOWN} more"):
                st.markdown("\n".join(f"- {plain(note)}" for note in report.notes[NOTES_SHOWN:]))


def offer_draft(handed: Handed) -> None:
    """Offer the proposed register for what waits."""
    try:
        book = incoming.draft_book(handed)
    except TrendwearError as problem:
        refused(problem)
        return
    if book is None:
        return
    st.download_button(
        "Save a proposed register", book, "register.xlsx", SPREADSHEET, on_click="ignore"
    )
    st.caption(
        "It proposes what the register lacks, and which spellings mean one position. Check it, "
        "fill in the yellow cells and bring it in here: nothing of it is used before. The same "
        "from the command line: `trendwear draft`."
    )


def ask_and_store(handed: Handed, report: LoadReport) -> None:
    """Store what is good, when it was asked for twice."""
    if not report.changed:
        st.info("There is nothing new in these files: the store stays as it is.")
        return
    if st.session_state.get(ASKED) != handed.marks:
        if st.button("Bring in …", type="primary"):
            st.session_state[ASKED] = handed.marks
            st.rerun()
        return
    st.warning(f"{plain(in_one_sentence(report))}. Store this now?")
    with st.container(horizontal=True):
        yes, no = st.button("Yes, bring it in", type="primary"), st.button("Not now")
    if no:
        st.session_state.pop(ASKED)
        st.rerun()
    if yes:
        try:
            with st.spinner("Storing …"):
                done = incoming.bring_in(handed)
        except TrendwearError as problem:
            refused(problem)
            return
        st.session_state.pop(ASKED)
        st.session_state[STORED] = done
        st.session_state[LOAD] += 1  # an empty field for the next files
        st.rerun()


def look_first(handed: Handed) -> None:
    """Show what would go in, and offer to store it."""
    try:
        report = incoming.preview(handed)
    except TrendwearError as problem:
        refused(problem)
        return
    st.subheader("What would go in")
    st.markdown(f"{plain(in_one_sentence(report))}. Nothing is stored yet.")
    ask_and_store(handed, report)
    show(report)
    if len(report.waiting):
        offer_draft(handed)


st.title("Bring in")
st.markdown("Sheets are looked at first. Nothing is stored before you say so.")
st.download_button(
    "Save a blank workbook to write in",
    incoming.blank_book(),
    "sheets.xlsx",
    SPREADSHEET,
    on_click="ignore",
)
given = handed_over()
if given is not None:
    st.session_state.pop(STORED, None)
    look_first(given)
elif STORED in st.session_state:
    stored = st.session_state[STORED]
    st.success(f"Stored. {plain(in_one_sentence(stored))}.")
    show(stored)
    if len(stored.waiting):
        offer_draft(Handed(()))
elif incoming.waits().rows:
    st.info(f"{plain(str(incoming.waits()))}.")
    offer_draft(Handed(()))
