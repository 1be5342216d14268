"""A site's overhaul plan as a workbook: for people first, then every number."""

from __future__ import annotations

import io
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.planning.plan import joined
from trendwear.planning_tables import (
    COSTS,
    OPENING_COSTS,
    ORDERS,
    OVERHAUL,
    RENEWALS,
    WINDOWS,
)
from trendwear.report.cautions import CAUTIONS
from trendwear.report.overhaul.placing import placing_table, placing_words
from trendwear.report.overhaul.table import (
    BESIDE_EVERY_DATE,
    OVERHAUL_HEADINGS,
    OVERHAUL_MEANINGS,
    accepted_words,
    overhaul_table,
)

if TYPE_CHECKING:
    from trendwear.planning.plan import SitePlan
    from trendwear.planning.site_plan import Placed

__all__ = ["plan_workbook", "workbook_of"]

_WIDEST: Final = 44
_LINE_HEIGHT: Final = 15.0
_CHANCES: Final = ("chance", "risk")


def plan_workbook(plans: Sequence[SitePlan], placed: Placed | None = None) -> bytes:
    """Return an XLSX workbook of a plan.

    Sheets: *overview* (for people), *overhaul* (`OVERHAUL`), *windows*, *renew or leave* and
    *orders* where one risk was chosen, *site* where the whole site was placed, *columns*, *about*.
    """
    sheets = {"overview": overhaul_table(plans), "overhaul": joined(plans)[list(OVERHAUL)]}
    if len(plans) == 1:
        sheets |= {
            "windows": plans[0].windows[list(WINDOWS)],
            "renew or leave": plans[0].renewals.table[list(RENEWALS)],
            "orders": plans[0].orders[list(ORDERS)],
        }
        if len(plans[0].costs.table):
            sheets |= {
                "interval costs": plans[0].costs.table[list(COSTS)],
                "cost of openings": plans[0].costs.openings[list(OPENING_COSTS)],
            }
    if placed is not None:
        said = pd.DataFrame({"window": placing_words(placed)})
        sheets["site"] = pd.concat([placing_table(placed), said], ignore_index=True)
    sheets |= {"columns": _columns(), "about": _about(plans)}
    return workbook_of(sheets)


def workbook_of(sheets: dict[str, pd.DataFrame]) -> bytes:
    """Return an XLSX workbook of tables: headings, dates and chances formatted, filters on.

    Numbers in columns whose names begin with a word for chances are shown in percent.
    """
    import xlsxwriter

    content = io.BytesIO()
    options = {"in_memory": True, "strings_to_numbers": False, "strings_to_formulas": False}
    with xlsxwriter.Workbook(content, options) as book:
        looks: dict[str, dict[str, Any]] = {
            "heading": {"bold": True, "text_wrap": True, "bottom": 1, "bg_color": "#E8ECEF"},
            "text": {"text_wrap": True},
            "date": {"num_format": "yyyy-mm-dd"},
            "share": {"num_format": "0.0%"},
            "number": {"num_format": "#,##0"},
        }
        made = {name: book.add_format({"valign": "top", **look}) for name, look in looks.items()}
        for name, table in sheets.items():
            _sheet(book.add_worksheet(name), made, table)
    return content.getvalue()


def _columns() -> pd.DataFrame:
    rows = [
        *OVERHAUL_MEANINGS.items(),
        *((f"overview: {name}", says) for name, says in OVERHAUL_HEADINGS.items()),
    ]
    return pd.DataFrame(rows, columns=["column", "what it says"])


def _about(plans: Sequence[SitePlan]) -> pd.DataFrame:
    words = [
        f"Overhaul plan as of {plans[0].as_of:%Y-%m-%d}.",
        accepted_words(plans),
        BESIDE_EVERY_DATE,
        *CAUTIONS,
    ]
    return pd.DataFrame({"about this workbook": words})


def _sheet(sheet: Any, looks: dict[str, Any], table: pd.DataFrame) -> None:
    widest = _WIDEST if table.shape[1] > 2 else 100
    widths = [_width(str(name), table[name], widest) for name in table.columns]
    for column, name in enumerate(table.columns):
        sheet.set_column(column, column, widths[column])
        sheet.write_string(0, column, str(name), looks["heading"])
    for line, row in enumerate(table.itertuples(index=False), start=1):
        for column, value in enumerate(row):
            _cell(sheet, (line, column), value, _look(str(table.columns[column]), looks))
        texts = zip(row, widths, strict=True)
        lines = [
            len(textwrap.wrap(text, int(width))) for text, width in texts if isinstance(text, str)
        ]
        sheet.set_row(line, _LINE_HEIGHT * max(1, *lines, 1))
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, max(len(table), 1), table.shape[1] - 1)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)


def _width(name: str, column: pd.Series, widest: int) -> int:
    longest = max((len(str(cell)) for cell in column.dropna()), default=0)
    dates = pd.api.types.is_datetime64_any_dtype(column)
    return 12 if dates else min(max(longest, min(len(name), 16)) + 2, widest)


def _look(name: str, looks: dict[str, Any]) -> dict[str, Any]:
    number = looks["share"] if name.startswith(_CHANCES) else looks["number"]
    return {"text": looks["text"], "date": looks["date"], "number": number}


def _cell(sheet: Any, place: tuple[int, int], value: Any, look: dict[str, Any]) -> None:
    if value is None or pd.isna(value):
        return
    if isinstance(value, str):
        sheet.write_string(*place, value, look["text"])
    elif isinstance(value, bool):
        sheet.write_string(*place, "yes" if value else "no", look["text"])
    elif isinstance(value, pd.Timestamp):
        sheet.write_datetime(*place, value.to_pydatetime(), look["date"])
    else:
        sheet.write_number(*place, float(value), look["number"])
