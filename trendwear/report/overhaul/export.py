"""A site's overhaul plan as a file: CSV, XLSX, Parquet, Markdown, PDF or calendar."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pandas as pd

from trendwear.planning.plan import joined
from trendwear.planning_tables import OVERHAUL
from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.export import csv_bytes, markdown_lines, parquet_bytes
from trendwear.report.overhaul.calendar import dateless, plan_calendar
from trendwear.report.overhaul.costs import COSTS_SAY, costs_table, opening_costs_table
from trendwear.report.overhaul.looks import LOOKS_SAY, best_looks_table
from trendwear.report.overhaul.placing import placing_table, placing_words
from trendwear.report.overhaul.table import (
    BESIDE_EVERY_DATE,
    accepted_words,
    orders_table,
    overhaul_table,
    renewals_table,
    windows_table,
)
from trendwear.report.overhaul.workbook import plan_workbook
from trendwear.report.save import known_ending, save
from trendwear.tables import check

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan
    from trendwear.planning.site_plan import Placed
    from trendwear.report.overhaul.printed import Printed

__all__ = ["check_plan_suffix", "plan_bytes", "write_plan", "written_words"]

Plans = Sequence["SitePlan"]
Writer = Callable[[Plans, "Placed | None", "Printed | None"], bytes]


def write_plan(
    plans: Plans, path: Path, placed: Placed | None = None, printed: Printed | None = None
) -> None:
    """Write a plan to ``path``; its ending says how.

    Parameters
    ----------
    plans : sequence of SitePlan
        One, or one for each risk shown where none was chosen.
    path : Path
    placed : Placed, optional
        The site's machines in its windows, for ``.xlsx``, ``.md`` and ``.pdf``.
    printed : Printed, optional
        What a ``.pdf`` holds beyond the plan.

    Raises
    ------
    UsageProblem
        The ending is none that is understood, or ``.ics`` where no risk was chosen.
    OutputProblem
        The file cannot be written there.
    """
    save(path, plan_bytes(plans, path.suffix, placed, printed))


def plan_bytes(
    plans: Plans, suffix: str, placed: Placed | None = None, printed: Printed | None = None
) -> bytes:
    """Return a plan as the content of a file that ends in ``suffix``.

    ``.csv`` and ``.parquet`` hold the overhaul table (`OVERHAUL`); ``.xlsx`` that, and the
    windows, renewals and orders; ``.md`` and ``.pdf`` what people read; ``.ics`` the days.
    """
    return _writer(suffix)(plans, placed, printed)


def check_plan_suffix(path: Path) -> None:
    """Raise `UsageProblem` where a plan cannot be written with that ending."""
    _writer(path.suffix)


def _writer(suffix: str) -> Writer:
    return _WRITERS[known_ending(suffix, _WRITERS, "the plan")]


def _table(plans: Plans) -> pd.DataFrame:
    return check(joined(plans), OVERHAUL)


def _csv(plans: Plans, _: Placed | None, __: Printed | None) -> bytes:
    return csv_bytes(_table(plans), OVERHAUL)


def _parquet(plans: Plans, _: Placed | None, __: Printed | None) -> bytes:
    return parquet_bytes(_table(plans), OVERHAUL)


def _markdown(plans: Plans, placed: Placed | None, _: Printed | None) -> bytes:
    lines = [
        f"# Overhaul plan as of {plans[0].as_of:%Y-%m-%d}",
        "",
        accepted_words(plans),
        "",
        BESIDE_EVERY_DATE,
        "",
        *markdown_lines(overhaul_table(plans)),
    ]
    if len(plans) == 1:
        parts = {
            "Outage windows": windows_table(plans[0]),
            "Renew or leave": renewals_table(plans[0]),
            "Worth a look before the overhaul": best_looks_table(plans[0]),
            "Parts to order": orders_table(plans[0]),
            "What an interval costs": costs_table(plans[0]),
            "What it costs to open in each window": opening_costs_table(plans[0]),
        }
        for heading, table in parts.items():
            if len(table):
                lines += ["", f"## {heading}", "", *markdown_lines(table)]
        if plans[0].looks["decides"].any():
            lines += ["", f"Worth a look: {LOOKS_SAY}"]
        if len(plans[0].costs.table):
            lines += ["", COSTS_SAY]
    if placed is not None:
        words = [f"- {sentence}" for sentence in placing_words(placed)]
        table = markdown_lines(placing_table(placed))
        lines += ["", "## The whole site in its windows", "", *table, "", *words]
    return "\n".join([*lines, "", SHORT_CAUTION, ""]).encode("utf-8")


def _workbook(plans: Plans, placed: Placed | None, _: Printed | None) -> bytes:
    return plan_workbook(plans, placed)


def _pdf(plans: Plans, placed: Placed | None, printed: Printed | None) -> bytes:
    from trendwear.report.overhaul.pdf import plan_pdf  # charts are slow to import

    return plan_pdf(plans, placed, printed)


def _calendar(plans: Plans, _: Placed | None, __: Printed | None) -> bytes:
    return plan_calendar(plans)


def written_words(plans: Plans, path: Path) -> list[str]:
    """Say what was written, and which machines a calendar leaves out and why."""
    count = len(plans[0].overhaul)
    left_out = dateless(plans[0]) if path.suffix.lower() == ".ics" else {}
    return [
        *(f"No date for {machine}: {why}." for machine, why in left_out.items()),
        f"The plan of {count} machine{'' if count == 1 else 's'} written to {path}",
    ]


_WRITERS: Final[dict[str, Writer]] = {
    ".csv": _csv,
    ".xlsx": _workbook,
    ".parquet": _parquet,
    ".md": _markdown,
    ".pdf": _pdf,
    ".ics": _calendar,
}
