"""Names in a page's address: taken in any spelling that the sheets may use."""

from __future__ import annotations

import streamlit as st
from plain import plain

from trendwear.wording import fold


def heed_link(what: str, known: list[str]) -> None:
    """Take a name from the page's address in any spelling; say so where there is none such."""
    asked = st.query_params.get(what)
    if asked is None or asked in known:
        return
    meant = [name for name in known if fold(name) == fold(asked)]
    if meant:
        st.session_state[what] = meant[0]
    else:
        st.warning(f"The register has no {what} {plain(asked)}.")
