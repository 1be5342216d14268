"""The choice of a unit of length, the same on every page."""

from __future__ import annotations

import streamlit as st

from trendwear.report.units import unit_label

AS_KEPT = "as kept"


def choose_unit(kept: str) -> str:
    """Let the reader choose a unit; ``kept`` is the one the readings are kept in."""
    wanted = st.segmented_control(
        "Unit",
        [AS_KEPT, "mm", "um", "mil", "in"],
        default=AS_KEPT,
        required=True,
        key="unit",
        format_func=unit_label,
        bind="query-params",
    )
    return kept if wanted == AS_KEPT else str(wanted)
