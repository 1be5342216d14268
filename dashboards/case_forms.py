"""Forms for the changes of a case: one for each sort."""

from __future__ import annotations

import datetime
from typing import Any

import pandas as pd
import streamlit as st

from trendwear.errors import UsageProblem
from trendwear.forecasting.site import SiteForecast
from trendwear.lengths import MM_PER_UNIT, to_mm
from trendwear.planning.case_changes import (
    CancelledWindow,
    Change,
    NewWindow,
    OtherDuty,
    OtherLimit,
    OtherMove,
    OtherRenewal,
    OtherRisk,
)
from trendwear.report.units import unit_label

EVERY, ALL_LIMITS, AS_KEPT = "every machine", "all limits of a machine together", "as kept"
ADD = "Add to the case"


def duty(told: SiteForecast) -> Change | None:
    """Ask for other running hours."""
    with st.form("duty", border=True):
        whose, start, end = st.columns(3)
        machine = whose.selectbox("Machine", [EVERY, *told.basis.clocks])
        first = start.date_input(
            "From", value=None, format="YYYY-MM-DD", help="Left empty: from today."
        )
        last = end.date_input(
            "To", value=None, format="YYYY-MM-DD", help="The last day. Left empty: for good."
        )
        how, much = st.columns(2)
        hours = how.number_input(
            "Running hours a day", value=None, min_value=0.0, max_value=24.0, step=1.0
        )
        factor = much.number_input(
            "or: times the planned hours", value=None, min_value=0.0, step=0.05, format="%.2f"
        )
        if not st.form_submit_button(ADD):
            return None
    return OtherDuty(None if machine == EVERY else machine, first, last, hours, factor)


def limit(told: SiteForecast) -> Change | None:
    """Ask for another limit."""
    register = told.basis.register
    rows = dict(zip(_limits(register), register.to_dict("records"), strict=True))
    with st.form("limit", border=True):
        which, value, unit = st.columns([4, 1, 1])
        named = which.selectbox("Clearance and its limit today", list(rows), index=None)
        limit = value.number_input("Limit", value=None, min_value=0.0, step=0.001, format="%.6g")
        said = unit.selectbox("Unit", [AS_KEPT, *MM_PER_UNIT], format_func=unit_label)
        if not st.form_submit_button(ADD):
            return None
    row = rows[_there("clearance", named)]
    written = row["unit"] if said == AS_KEPT else said
    limit_mm = to_mm(_there("limit", limit), written)
    same = register[["machine", "clearance"]].eq([row["machine"], row["clearance"]]).all(axis=1)
    moves = row["moves"] if same.sum() > 1 else None
    return OtherLimit(row["machine"], row["clearance"], limit_mm, written, moves)


def window(told: SiteForecast) -> Change | None:
    """Ask for a window moved, cancelled or added."""
    coming = _coming(told)
    what = st.segmented_control(
        "The window is",
        ["moved", "cancelled", "new"],
        default="moved",
        required=True,
        key="window change",
    )
    if what == "new":
        return _new_window(sorted(told.site.machines["site"].dropna().unique()))
    with st.form(f"window {what}", border=True):
        name = st.selectbox("Window", list(coming), index=None, format_func=coming.get)
        start = end = None
        if what == "moved":
            left, right = st.columns(2)
            start = left.date_input("Starts", value=None, format="YYYY-MM-DD")
            end = right.date_input(
                "Ends", value=None, format="YYYY-MM-DD", help="Left empty: it stays as long."
            )
        if not st.form_submit_button(ADD):
            return None
    named = _there("window", name)
    if what == "cancelled":
        return CancelledWindow(named)
    return OtherMove(named, _there("start", start), end)


def _new_window(sites: list[str]) -> Change | None:
    with st.form("window new", border=True):
        name_at, start_at, end_at = st.columns(3)
        name = name_at.text_input("Name of the window")
        start = start_at.date_input("Starts", value=None, format="YYYY-MM-DD")
        end = end_at.date_input("Ends", value=None, format="YYYY-MM-DD")
        site_at, scope_at = st.columns(2)
        site = site_at.selectbox("Site", sites, index=None, placeholder="every site")
        scope = scope_at.text_input("What may be opened", placeholder="everything")
        if not st.form_submit_button(ADD):
            return None
    return NewWindow(name, _there("start", start), _there("end", end), site, scope or None)


def renewal(told: SiteForecast) -> Change | None:
    """Ask for a clearance renewed on a day to come."""
    pairs = told.basis.register[["machine", "clearance"]].drop_duplicates()
    named = {f"{row.machine} / {row.clearance}": row for row in pairs.itertuples()}
    coming = _coming(told)
    with st.form("renewal", border=True):
        which, at, day = st.columns([3, 3, 2])
        chosen = which.selectbox("Clearance", list(named), index=None)
        window = at.selectbox(
            "When this window starts", list(coming), index=None, format_func=coming.get
        )
        on = day.date_input("or: on this day", value=None, format="YYYY-MM-DD")
        if not st.form_submit_button(ADD):
            return None
    row = named[_there("clearance", chosen)]
    return OtherRenewal(row.machine, row.clearance, on, window)


def risk(told: SiteForecast) -> Change | None:
    """Ask for another accepted risk."""
    known = {*told.site.register["consequence"].dropna(), *told.site.planning.risks["consequence"]}
    with st.form("risk", border=True):
        of, much = st.columns(2)
        consequence = of.selectbox("Of", [*sorted(known), ALL_LIMITS])
        percent = much.number_input(
            "Accepted risk, %", value=None, min_value=0.0, max_value=100.0, step=1.0, format="%.3g"
        )
        if not st.form_submit_button(ADD):
            return None
    accepted = _there("accepted risk", percent) / 100
    return OtherRisk(accepted, None if consequence == ALL_LIMITS else consequence)


FORMS = {
    "Running hours": duty,
    "A limit": limit,
    "A window": window,
    "A renewal": renewal,
    "An accepted risk": risk,
}


def _there(what: str, given: Any) -> Any:
    if given is None:
        raise UsageProblem(what, "nothing is given", "Fill it in.")
    return given


def _limits(register: pd.DataFrame) -> list[str]:
    both = register.duplicated(["machine", "clearance"], keep=False)
    return [
        f"{row.machine} / {row.clearance}"
        + (f", {row.moves}" if double else "")
        + f": {_limit_words(row)}"
        for row, double in zip(register.itertuples(), both, strict=True)
    ]


def _limit_words(row: Any) -> str:
    if pd.isna(row.limit_mm):
        return f"no limit, kept in {unit_label(row.unit)}"
    return f"{row.limit_mm / MM_PER_UNIT[row.unit]:.6g} {unit_label(row.unit)}"


def _coming(told: SiteForecast) -> dict[str, str]:
    """Windows still to come, by name, with their days."""
    outages = told.site.planning.outages
    rows = outages[outages["start"] > pd.Timestamp(told.as_of)].sort_values("start")
    return {
        row.outage: f"{row.outage}: {_day(row.start)} to {_day(row.end)}"
        for row in rows.itertuples()
    }


def _day(day: datetime.date) -> str:
    return f"{day:%Y-%m-%d}"
