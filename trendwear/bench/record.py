"""What the record holds of a machine's positions: the parts in them, and their last readings."""

from __future__ import annotations

from typing import Any

import pandas as pd

from trendwear.bench.boxes import in_segments
from trendwear.bench.position import LastReading, Part
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.spares import parts_fitted
from trendwear.segments.fitted import last_fitted
from trendwear.wording import fold

__all__ = ["last_methods", "last_readings", "parts_in", "readings_until", "text_of"]


def parts_in(told: SiteForecast, rows: pd.DataFrame) -> dict[Any, Part]:
    """By index of ``rows``: the part last fitted, under the supplier's name where it is known."""
    work = told.cut.work
    numbers = parts_fitted(rows, work)["part_no"]
    put = last_fitted(work).drop_duplicates(["machine", "clearance"], keep="last")
    suppliers = put.set_index(["machine", "clearance"])["fitted_supplier"].to_dict()
    book = told.site.planning.parts
    listed = book.set_index(book["part_no"].map(fold))
    listed = listed[~listed.index.duplicated()]
    found = {}
    for index, row in rows.to_dict("index").items():
        number = text_of(numbers[index])
        known = number is not None and fold(number) in listed.index
        entry = listed.loc[fold(str(number))].to_dict() if known else {}
        quantity = row["quantity"]
        found[index] = Part(
            fitted_from=text_of(suppliers.get((row["machine"], row["clearance"]))),
            name=text_of(row["part"]) or text_of(entry.get("part")),
            number=number,
            supplier=text_of(entry.get("supplier")),
            supplier_name=text_of(entry.get("supplier_part_name")),
            supplier_number=text_of(entry.get("supplier_part_no")),
            quantity=int(quantity) if quantity >= 1 else 1,
            segmented=in_segments(str(row["kind"])),
        )
    return found


def last_readings(told: SiteForecast) -> dict[int, LastReading]:
    """The reading with which each position was left, by position; checks leave nothing."""
    points = told.cut.points
    points = points[(points["state"] != "check") & ~points["excluded"]]
    points = points.assign(left=points["state"] == "as-left")
    points = points.sort_values(["position", "order", "left"], kind="stable", na_position="first")
    last = points.drop_duplicates("position", keep="last").set_index("position")
    work = told.cut.work.sort_values("order", kind="stable")
    work = work.drop_duplicates("position", keep="last").set_index("position")
    found = {}
    for at, row in last.to_dict("index").items():
        found[int(at)] = LastReading(float(row["value_mm"]), str(row["state"]), row["date"])
    for at, row in work.to_dict("index").items():
        before = last.loc[at] if at in last.index else None
        if before is None or _unread_since(before, row):
            found[int(at)] = LastReading(float("nan"), str(row["action"]), row["date"])
    return found


def _unread_since(reading: pd.Series, work: dict[Any, Any]) -> bool:
    """Whether the reading was taken before the work: earlier, or as-found in its opening."""
    same = reading["opening_no"] == work["opening_no"]
    if same:
        return bool(reading["state"] != "as-left")
    return bool(reading["order"] < work["order"])


def last_methods(told: SiteForecast) -> dict[int, str]:
    points = told.cut.points.dropna(subset="method")
    points = points[points["state"] != "check"].sort_values(["position", "order"], kind="stable")
    return dict(points.groupby("position")["method"].last())


def readings_until(told: SiteForecast, machine: str) -> pd.DataFrame:
    readings = told.site.record.readings
    late = readings["date"] > pd.Timestamp(told.as_of)
    return readings[(readings["machine"] == machine) & ~late & ~readings["excluded"]]


def text_of(cell: object) -> str | None:
    return cell if isinstance(cell, str) and cell else None
