"""The sheets of the form that plan: duty, outages, due dates, risks, parts, concessions."""

from __future__ import annotations

from typing import Final

from trendwear.readings.columns import BY, CONSEQUENCE, MACHINE, Column, Holds, Sheet, Takes

__all__ = ["PLANNING_SHEETS"]

_T, _N, _F, _D = Holds.TEXT, Holds.NAME, Holds.NUMBER, Holds.DATE

PLANNING_SHEETS: Final = (
    Sheet(
        "duty_plan",
        "how the machine is expected to run",
        (
            MACHINE,
            Column("from", _D, "first day"),
            Column("to", _D, "last day; blank: until the next row, or open"),
            Column("hours_per_day", _F, "running hours a day"),
            Column("starts_per_month", _F, "starts a month"),
            Column("spread", _F, "relative standard deviation of all future hours"),
        ),
        needs=("machine", "from", "hours_per_day"),
        key=("machine", "from"),
    ),
    Sheet(
        "outages",
        "windows in which a machine may be opened",
        (
            Column("outage", _N, "name of the window"),
            Column("start", _D, "first day"),
            Column("end", _D, "last day"),
            Column("site", _T, "where"),
            Column("scope", _T, "what may be opened"),
            Column("freeze", _D, "the day the scope is fixed"),
            Column("machines", _F, "how many machines fit"),
            Column("crew_days", _F, "crew days there are"),
            Column("cost", _F, "cost of using it, shared by all machines opened in it"),
        ),
        needs=("outage", "start", "end"),
        key=("outage",),
    ),
    Sheet(
        "due_dates",
        "dates set by law, insurer or site rule",
        (
            MACHINE,
            Column("what", _T, "what is due"),
            Column("due", _D, "by when"),
            Column("tolerance_days", _F, "days of grace"),
            Column("authority", _T, "who asks for it"),
        ),
        needs=("machine", "what", "due"),
        key=("machine", "what", "due"),
    ),
    Sheet(
        "risks",
        "the chance of passing a limit that the site accepts",
        (
            CONSEQUENCE,
            Column("accepted", _F, "accepted chance, 0 to 1"),
            BY,
            Column("date", _D, "when it was set"),
        ),
        needs=("consequence", "accepted"),
        key=("consequence",),
    ),
    Sheet(
        "parts",
        "what the parts are called and how long they take to come",
        (
            Column("part_no", _N, "the part's number"),
            Column("part", _T, "the part as the shop calls it"),
            Column("supplier", _T, "who supplies it"),
            Column("supplier_part_name", _T, "what the supplier calls it"),
            Column("supplier_part_no", _T, "the supplier's number"),
            Column("superseded_by", _N, "the number that replaces it"),
            Column("lead_time_days", _F, "days from order to delivery"),
            Column("price", _F, "price of one"),
            Column("in_stock", _F, "how many are on the shelf"),
        ),
        needs=("part_no",),
        key=("part_no",),
    ),
    Sheet(
        "concessions",
        "clearances past their limit that a person let run on",
        (
            MACHINE,
            Column("clearance", _N, "the position"),
            Column(
                "moves",
                Holds.WORD,
                "which limit of one limited both ways; blank: both",
                ("opens", "closes"),
            ),
            Column("date", _D, "the day it was signed"),
            Column("by", _T, "who signed"),
            Column("why", _T, "for what reason"),
            Column("until", _D, "its last day; blank: until the part is renewed"),
            Column(
                "accepted_limit",
                Holds.LENGTH,
                "the limit that holds in place of the register's; blank: none",
                takes=Takes.SIZE,
            ),
            Column("unit", Holds.UNIT, "unit of accepted_limit; blank: the register's"),
        ),
        needs=("machine", "clearance", "date", "by", "why"),
        key=("machine", "clearance", "moves", "date"),
    ),
)
"""In the order in which a workbook shows them."""
