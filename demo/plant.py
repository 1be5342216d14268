"""Write the demo plant's sheets, and tell what its readings do not: the wear built in.

    write_sheets(folder)   the sheets, in the form that `trendwear load` reads
    true_rates()           the rate of wear behind every clearance
    hidden_opening()       what the openings after the demo's as-of date will find

The same seed gives the same bytes.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from datetime import date, datetime
from pathlib import Path

import pandas as pd
import xlsxwriter

from trendwear.readings.form import SHEETS

from .paper import readings_of, rotor_rows, work_of
from .register import clearances, concessions, due_dates, machines, methods, parts, risks
from .seasons import AS_OF, Row, duty_plan, outages, run_log
from .stories import EVENTS, NAMES, retold
from .wear import Visit, all_visits, true_rates

__all__ = ["AS_OF", "hidden_opening", "sheets", "true_rates", "write_sheets"]

WORKBOOK = "T-101"
"""The one machine whose readings are kept in a workbook of its own."""


def sheets() -> dict[str, list[Row]]:
    """Return the rows of every sheet by its name, as the mill knows them on `AS_OF`."""
    past = [visit for visit in all_visits() if visit.day <= AS_OF]
    return {
        "machines": machines(),
        "clearances": clearances(),
        "readings": retold([row for visit in past for row in readings_of(visit)]),
        "work": _work(past),
        "events": list(EVENTS),
        "run_log": run_log(),
        "duty_plan": duty_plan(),
        "outages": outages(),
        "due_dates": due_dates(),
        "risks": risks(),
        "parts": parts(),
        "concessions": concessions(),
        "methods": methods(),
        "names": list(NAMES),
    }


def write_sheets(folder: Path) -> list[Path]:
    """Write the sheets under ``folder`` and return what to hand to `trendwear load`.

    Most of it becomes a folder of CSV files; one machine's readings and work
    become a workbook.
    """
    mill, workbook = folder / "mill", folder / f"{WORKBOOK}.xlsx"
    mill.mkdir(parents=True, exist_ok=True)
    apart: dict[str, list[Row]] = {}
    for name, rows in sheets().items():
        if name in ("readings", "work"):
            apart[name] = [row for row in rows if row["machine"] == WORKBOOK]
            rows = [row for row in rows if row["machine"] != WORKBOOK]
        _write_csv(mill / f"{name}.csv", _columns(name, rows), rows)
    _write_workbook(workbook, apart)
    return [mill, workbook]


def hidden_opening() -> pd.DataFrame:
    """Return what the first opening after `AS_OF` will find, one row a clearance.

    Columns: machine, clearance, date, run_hours (on the meter), true_mm (the
    clearance itself), value_mm (what the gauge will show, without rounding).
    """
    return pd.DataFrame(
        [
            {
                "machine": row["machine"],
                "clearance": row["clearance"],
                "date": row["date"],
                "run_hours": row["run_hours"],
                "true_mm": visit.found_mm,
                "value_mm": row["value_mm"],
            }
            for visit in all_visits()
            if visit.day > AS_OF
            for row in readings_of(visit)[:1]
        ]
    )


def _work(visits: list[Visit]) -> list[Row]:
    """The work sheet; where every ring of a gland was renewed, one row names the set."""
    rows: list[Row] = []
    by_set: dict[tuple[str, date, str], list[Visit]] = {}
    for visit in visits:
        key = (visit.position.machine.tag, visit.day, visit.position.set_name)
        by_set.setdefault(key if key[2] else (*key[:2], visit.position.clearance), []).append(visit)
    for (_, _, name), together in by_set.items():
        done = [row for visit in together for row in work_of(visit)]
        alike = {tuple({**row, "clearance": ""}.items()) for row in done}
        whole_set = len(done) == len(together) > len(alike) == 1
        rows += [{**done[0], "clearance": name}] if whole_set else done
    return rows + rotor_rows()


def _columns(sheet: str, rows: Iterable[Row]) -> list[str]:
    """The columns of the form that these rows fill, and those that it needs."""
    form = SHEETS[sheet]
    filled = {name for row in rows for name, cell in row.items() if cell not in ("", None)}
    return [name for name in form.names if name in filled or name in form.needs]


def _write_csv(path: Path, columns: list[str], rows: list[Row]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, extrasaction="ignore", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def _write_workbook(path: Path, by_sheet: dict[str, list[Row]]) -> None:
    """Dates as real dates, plain numbers as numbers, every other cell as text."""
    with xlsxwriter.Workbook(path) as book:
        book.set_properties({"created": datetime(AS_OF.year, AS_OF.month, AS_OF.day)})
        day_format = book.add_format({"num_format": "yyyy-mm-dd"})
        for name, rows in by_sheet.items():
            sheet = book.add_worksheet(name)
            columns = _columns(name, rows)
            sheet.write_row(0, 0, columns)
            for number, row in enumerate(rows, start=1):
                for column, heading in enumerate(columns):
                    cell = row.get(heading, "")
                    if isinstance(cell, date):
                        sheet.write_datetime(number, column, cell, day_format)
                    elif _is_number(cell):
                        sheet.write_number(number, column, float(str(cell)))
                    elif cell:
                        sheet.write_string(number, column, str(cell))
            sheet.freeze_panes(1, 0)
            sheet.autofit()


def _is_number(cell: object) -> bool:
    return str(cell).removeprefix("-").replace(".", "", 1).isdecimal()
