"""Names in a page's address: taken in any spelling, and kept while other pages are looked at."""

from __future__ import annotations

import streamlit as st
from plain import plain

from trendwear.wording import fold

_VISITS = "visits to clearances"


def heed_link(what: str, known: list[str]) -> None:
    """Take a name from the page's address in any spelling; say so where there is none such.

    An address that names nothing shows what the page showed last.
    """
    asked = st.query_params.get(what)
    if asked is None:
        if what not in st.session_state and st.session_state.get(_last(what)) in known:
            st.session_state[what] = st.session_state[_last(what)]
        return
    if asked in known:
        return
    meant = [name for name in known if fold(name) == fold(asked)]
    if meant:
        st.session_state[what] = meant[0]
    else:
        st.warning(f"The register has no {what} {plain(asked)}.")


def keep(what: str) -> None:
    """Remember what the page shows, for when a reader comes back to it."""
    st.session_state[_last(what)] = st.session_state[what]


def fresh(key: str) -> str:
    """Return a key for what can be picked from: what was picked on an earlier visit is forgotten.

    Else a reader who comes back would be led away again at once.
    """
    return f"{key} {st.session_state.get(_VISITS, 0)}"


def lead_to(machine: str, clearance: str) -> None:
    """Go to the page of one clearance."""
    st.session_state[_VISITS] = st.session_state.get(_VISITS, 0) + 1
    st.switch_page("clearance.py", query_params={"machine": machine, "clearance": clearance})


def _last(what: str) -> str:
    return f"last {what}"
