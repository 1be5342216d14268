"""The overhaul table for people: what each machine's plan says, in plain text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.planning.notes import reckoned_day
from trendwear.planning.plan import joined
from trendwear.report.overhaul.held import chance_beside_risk, holds_text, past_today
from trendwear.report.rounding import NONE, chance_text, hours_text

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan

__all__ = [
    "BESIDE_EVERY_DATE",
    "OVERHAUL_HEADINGS",
    "OVERHAUL_MEANINGS",
    "TO_CHOOSE",
    "accepted_words",
    "orders_table",
    "overhaul_table",
    "renewals_table",
    "to_order_table",
    "windows_table",
]

OVERHAUL_HEADINGS: Final[dict[str, str]] = {
    "machine": "the machine",
    "accepted risk": "the chance of passing a limit that is accepted, and for what",
    "latest overhaul": "the last day, far ahead the month, on which no accepted risk is exceeded",
    "running hours": "hours from today until the risk is reached",
    "governed by": "the clearances that make most of that chance, with their shares",
    "due date": "the earliest date set by law, insurer or site rule",
    "outage": "the last window that starts in time and in which the machine can be opened",
    "chance at outage": "that a limit is passed before that window starts: of the consequence "
    "nearest to its accepted risk, and of any",
    "renew": "what to renew there so that the risk holds until the following window",
    "order by": "when the first of the firm parts must be ordered",
    "note": "the answer in words, and what else must be known",
}
"""Columns for people, and what each says."""

OVERHAUL_MEANINGS: Final[dict[str, str]] = {
    "machine": "the machine",
    "as_of": "the day from which hours, dates and chances count",
    "risk": "accepted chance of passing a limit that sets the date, 0 to 1",
    "latest_hours": "running hours from as_of until that chance is reached",
    "latest_date": "the last day on which no accepted risk is exceeded, the duty's spread counted",
    "governed_by": "up to three clearances with their shares of the chance",
    "due_date": "the earliest date set by law, insurer or site rule",
    "outage": "last window that starts after as_of, not after latest_date and due_date, and fits",
    "chance_at_outage": "chance that some limit is passed before it starts, 0 to 1",
    "renew": "clearances to renew at that window, or at the first that fits where none is in time",
    "order_by": "earliest order-by date of the firm parts that are not on the shelf",
    "reach": "hours forecast over the longest run between readings in the family",
    "outcome": "what the question for a latest overhaul comes to",
    "notes": "what else must be known",
    "risk_of": "the consequence whose accepted risk sets the date",
    "chance_now": "chance that some limit is passed already, those in past_today left out",
    "due_what": "what is due",
    "past_today": "clearances past their limit today",
    "date_without_past": "latest date by the other clearances",
    "next_governed_by": "what governs once those in governed_by are renewed",
    "next_latest_date": "and until when",
    "conceded": "clearances that run on past their limit by concession, who signed, until when",
    "date_without_concession": "latest date if their old limits counted",
    "nearest_of": "at that outage: the consequence whose chance is nearest to its accepted risk",
    "nearest_chance": "the chance that one of its limits is passed before the outage, 0 to 1",
}
"""What each column of the full table says."""

BESIDE_EVERY_DATE: Final = (
    "Every date is by clearances alone; cracks, trips, vibration, oil and law are not in it."
)

TO_CHOOSE: Final = (
    "No risk has been chosen: the plan is shown for 5, 10 and 20 %. Choose one: give --risk 0.1 "
    "for one in ten, or fill the risks sheet, signed by the person who accepts it."
)

_BESIDE: Final = "by clearances alone; cracks, trips, vibration, oil and law are not in it"


def accepted_words(plans: Sequence[SitePlan]) -> str:
    """Say which risks are accepted, and whose they are."""
    accepted = plans[0].accepted
    if len(plans) > 1:
        return TO_CHOOSE
    if accepted.for_all is not None:
        return (
            f"Accepted risk {_percent(accepted.for_all)}, for all limits of a machine together, "
            "given for this run; the risks sheet is not used."
        )
    said = ", ".join(f"{name} {_percent(risk)}" for name, risk in accepted.by_consequence.items())
    return f"Accepted risks of the risks sheet: {said}. Each holds by itself."


def overhaul_table(plans: Sequence[SitePlan]) -> pd.DataFrame:
    """Return the columns `OVERHAUL_HEADINGS` as text, one row a machine (and risk)."""
    rows = [_row(row) for row in joined(plans).to_dict("records")]
    return pd.DataFrame(rows, columns=list(OVERHAUL_HEADINGS))


def _row(row: dict[Any, Any]) -> tuple[str, ...]:
    return (
        row["machine"],
        _risk(row),
        _latest(row),
        hours_text(row["latest_hours"]),
        row["governed_by"] or NONE,
        _day(row["due_date"]),
        row["outage"] or NONE,
        chance_beside_risk(row, "chance_at_outage"),
        row["renew"] or NONE,
        _day(row["order_by"]),
        _note(row),
    )


def _risk(row: dict[Any, Any]) -> str:
    if pd.isna(row["risk"]):
        return NONE
    of = f", {row['risk_of']}" if row["risk_of"] else ""
    return f"{_percent(row['risk'])}{of}"


def _latest(row: dict[Any, Any]) -> str:
    if row["outcome"] in ("past its limit today", "above the accepted risk today"):
        return "already"
    date = row["latest_date"]
    return NONE if pd.isna(date) else reckoned_day(date, row["as_of"])


def _note(row: dict[Any, Any]) -> str:
    notes = [note for note in str(row["notes"] or "").split("; ") if note]
    # The heading of the table says it once for all rows: "cracks, trips, ..." holds no "; ".
    kept = "; ".join(notes).removeprefix(_BESIDE).removeprefix("; ")
    word = "" if row["outcome"] == "latest overhaul found" else str(row["outcome"]).capitalize()
    return "; ".join(part for part in (word, kept) if part) or NONE


def windows_table(plan: SitePlan) -> pd.DataFrame:
    """Return the chances at every window as text."""
    past = past_today(plan)
    rows = [
        (
            row["machine"],
            row["outage"],
            _day(row["start"]),
            chance_text(row["chance_before"]),
            NONE if pd.isna(row["expected_past"]) else f"{row['expected_past']:.1f}",
            chance_text(row["chance_if_late"]),
            holds_text(row, past),
            row["hindrance"] or "",
        )
        for row in plan.windows.to_dict("records")
    ]
    return pd.DataFrame(
        rows,
        columns=[
            "machine",
            "window",
            "starts",
            "chance of a limit passed before it",
            "clearances to be found past",
            "chance one window later",
            "accepted risk holds",
            "why it cannot be opened in it",
        ],
    )


def renewals_table(plan: SitePlan) -> pd.DataFrame:
    """Return renew or leave as text: the recommended first, then what comes next."""
    rows = [
        (
            row["machine"],
            row["clearance"],
            row["outage"] or NONE,
            row["following"] or NONE,
            chance_text(row["chance_left"]),
            chance_text(row["chance_renewed"]),
            "renew" if row["renew"] else "leave",
            hours_text(row["interval_hours"]),
            row["start_from"],
        )
        for row in plan.renewals.table.to_dict("records")
    ]
    return pd.DataFrame(
        rows,
        columns=[
            "machine",
            "clearance",
            "opening",
            "next chance to open",
            "chance past by then, left",
            "chance past by then, renewed",
            "recommended",
            "interval with it and all above renewed",
            "a renewed part starts from",
        ],
    )


def orders_table(plan: SitePlan) -> pd.DataFrame:
    """Return what each clearance needs as text, the most urgent first."""
    rows = [
        (
            _order_by(row),
            row["need"],
            row["machine"],
            row["clearance"],
            *_called(row),
            f"{row['quantity']:g}",
            f"{row['from_stock']:g}",
            f"{row['to_order']:g}",
            _lead(row),
            chance_text(row["chance_needed"]),
            chance_text(row["chance_before_delivery"]),
            row["note"] or "",
        )
        for row in plan.orders.to_dict("records")
    ]
    first = ["order by", "need", "machine", "clearance", *_CALLED]
    rest = ["needed", "from stock", "to order", "lead time", "chance it is needed"]
    return pd.DataFrame(rows, columns=[*first, *rest, "chance past before delivery", "note"])


def to_order_table(plan: SitePlan) -> pd.DataFrame:
    """Return what is not on the shelf as text, one row a part, need and date.

    What has no lead time, and so no order-by date, may be the most urgent: it stands first.
    """
    orders = plan.orders[plan.orders["to_order"] > 0]
    orders = orders.sort_values("order_by", kind="stable", na_position="first")
    keys = ["order_by", "need", "part_no", "part", *_SUPPLIER, "lead_time_days", "late"]
    rows = []
    for _, some in orders.groupby(keys, dropna=False, sort=False):
        row = some.iloc[0].to_dict()
        machines = ", ".join(some["machine"].drop_duplicates())
        riskiest = chance_text(float(some["chance_before_delivery"].max()))
        quantity = f"{some['to_order'].sum():g}"
        what = (quantity, *_called(row), _lead(row), machines, riskiest)
        day = _order_by(row) if pd.notna(row["lead_time_days"]) else _NO_LEAD
        rows.append((day, row["need"], *what))
    names = ["order by", "need", "to order", *_CALLED, "lead time", "for"]
    return pd.DataFrame(rows, columns=[*names, "chance past before delivery"])


def _order_by(row: dict[Any, Any]) -> str:
    return _day(row["order_by"]) + (" LATE" if row["late"] else "")


def _called(row: dict[Any, Any]) -> tuple[str, str, str]:
    at_supplier = " ".join(str(row[name]) for name in _SUPPLIER if isinstance(row[name], str))
    return _or_none(row["part"]), _or_none(row["part_no"]), at_supplier or NONE


def _lead(row: dict[Any, Any]) -> str:
    return NONE if pd.isna(row["lead_time_days"]) else f"{row['lead_time_days']:.0f} d"


def _or_none(text: object) -> str:
    return text if isinstance(text, str) else NONE


_NO_LEAD: Final = "no lead time"
_CALLED: Final = ("part", "part number", "at the supplier")
_SUPPLIER: Final = ("supplier", "supplier_part_name", "supplier_part_no")


def _day(date: Any) -> str:
    return NONE if pd.isna(date) else f"{date:%Y-%m-%d}"


def _percent(chance: float) -> str:
    return f"{100 * chance:.3g} %"
