"""The dashboard: which clearance reaches its limit first, and what is known of each."""

from __future__ import annotations

import incoming
import source
import streamlit as st
from plain import plain

from trendwear.errors import TrendwearError
from trendwear.report.cautions import CAUTIONS, SHORT_CAUTION

st.set_page_config(page_title="trendwear", layout="wide")

# Room for twelve columns: the page's own margins are wide.  Chart and table stand side by side
# only where both have room.
st.html(
    "<style>[data-testid='stMainBlockContainer'] {padding-inline: 2rem}"
    ".st-key-side_by_side [data-testid='stHorizontalBlock'] {flex-wrap: wrap}"
    ".st-key-side_by_side [data-testid='stColumn'] {min-width: 30rem}"
    "[class*='st-key-beside'] > * > [data-testid='stHorizontalBlock'] {flex-wrap: wrap}"
    "[class*='st-key-beside'] [data-testid='stColumn'] {min-width: 25rem}"
    ".st-key-beside_site [data-testid='stColumn'] {min-width: 20rem}</style>"
)

BRING_IN = st.Page("bring_in.py", title="Bring in", url_path="bring_in")
page = st.navigation(
    [
        st.Page("machines.py", title="Machines", default=True),
        st.Page("clearance.py", title="One clearance", url_path="clearance"),
        st.Page("family.py", title="Family", url_path="family"),
        st.Page("overhaul.py", title="Overhaul", url_path="overhaul"),
        st.Page("cases.py", title="Other cases", url_path="cases"),
        st.Page("past_forecasts.py", title="Past forecasts", url_path="past_forecasts"),
        BRING_IN,
    ]
)

with st.sidebar:
    st.date_input(
        "As of",
        value=source.today(),
        key="as_of",
        format="YYYY-MM-DD",
        required=True,
        bind="query-params",
        help="Only what is dated on or before this day is used.",
    )
    st.number_input(
        "Overhaul interval, running hours",
        min_value=1.0,
        value=None,
        step=1000.0,
        format="%.0f",
        key="horizon_hours",
        placeholder="as usual",
        bind="query-params",
        help="Counted from each clearance's last reading. "
        "Left empty: the usual interval between openings.",
    )
    st.caption(SHORT_CAUTION)
    with st.expander("Cautions"):
        for caution in CAUTIONS[1:]:
            st.caption(plain(caution))

try:
    if incoming.waits().rows and page != BRING_IN:
        with st.sidebar:
            st.info(f"{incoming.waits()}.")
            st.page_link(BRING_IN, label="See what waits")
    page.run()
except TrendwearError as problem:
    st.error(f"{plain(problem.where)}: {plain(problem.found)}.")
    st.info(f"{plain(problem.do)}.")
    st.button("Try again")
