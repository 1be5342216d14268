"""The hand-cut histories give the segments that were written down for them."""

from __future__ import annotations

import datetime as dt
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from trendwear import tables
from trendwear.segments import (
    angles,
    bridging,
    chronicle,
    cutting,
    histories,
    hour_line,
    meters,
    openings,
)
from trendwear.segments import positions as positions_room
from trendwear.segments import trend_readings as readings_room
from trendwear.segments.chronicle import Record
from trendwear.segments.positions import positions

FOLDER = Path(__file__).parents[1] / "reference" / "hand_cut"
FILES = sorted(FOLDER.glob("*.toml"))
AS_OF = dt.date(2030, 1, 1)


def _date(text: str | None) -> tuple[pd.Timestamp, float]:
    if text is None:
        return pd.NaT, 0.0
    if len(text) == 4:
        return pd.Timestamp(f"{text}-07-02"), 182.5
    if len(text) == 7:
        return pd.Timestamp(f"{text}-16"), 15.0
    return pd.Timestamp(text), 0.0


HISTORIES = {path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in FILES}


def _rows(sheet: str) -> pd.DataFrame:
    """The rows of one sheet of all histories; each history is a machine."""
    rows = []
    for machine, history in HISTORIES.items():
        for number, entry in enumerate(history.get(sheet, [])):
            date, spread = _date(entry.get("date"))
            row = {**entry, "machine": machine, "date": date, "date_spread_days": spread}
            row.setdefault("clearance", "C")
            row["hours_spread"] = entry.get("run_hours_spread", 0.0)
            row |= {"file": "hand", "sheet": sheet, "row": number + 1}
            rows.append(row)
    return pd.DataFrame(rows)


def _record() -> Record:
    readings = _rows("readings").assign(
        reading=lambda rows: np.arange(len(rows)),
        at_least=False,
        excluded=False,
        half_width_mm=0.0,
        step_mm=0.001,
        unit="mm",
        value_mm=lambda rows: rows["value"],
        stated_mm=lambda rows: rows["uncertainty"],
        method=lambda rows: rows["method"].fillna("feeler"),
        basis=lambda rows: rows["basis"].fillna("diametral"),
    )
    return Record(
        tables.conform(readings, tables.READINGS),
        tables.conform(_rows("work").rename(columns={"amount": "amount_mm"}), tables.WORK),
        tables.conform(_rows("run_log"), tables.RUN_LOG),
    )


def _register() -> pd.DataFrame:
    rows = [
        {"machine": machine, "clearance": "C", "moves": moves, "set": history.get("set")}
        for machine, history in HISTORIES.items()
        for moves in history.get("moves", ["opens"])
    ]
    usual = {"kind": "ring", "basis": "diametral", "unit": "mm", "limiting": True}
    return tables.conform(pd.DataFrame(rows).assign(**usual), tables.CLEARANCES)


def _methods() -> pd.DataFrame:
    rows = [row for history in HISTORIES.values() for row in history.get("methods", [])]
    rows.append({"method": "feeler", "uncertainty": 0.005})
    named = {"uncertainty": "uncertainty_mm", "bias": "bias_mm"}
    return tables.conform(pd.DataFrame(rows).rename(columns=named), tables.METHODS)


RECORD, METHODS = _record(), _methods()
PLACES = positions(
    _register(), tables.conform(pd.DataFrame({"machine": list(HISTORIES)}), tables.MACHINES)
)


def _mismatches() -> dict[str, list[str]]:
    """Where the program and the hand differ, in words, by history."""
    cut = histories.histories(RECORD, PLACES, METHODS, AS_OF)
    found = {}
    for position, machine in PLACES["machine"].items():
        found[machine] = _mismatch(
            HISTORIES[machine],
            cut.segments[cut.segments["position"] == position],
            cut.points[cut.points["position"] == position],
        )
    return found


def _mismatch(history: dict[str, Any], found: pd.DataFrame, points: pd.DataFrame) -> list[str]:
    wanted = history["segments"]
    if list(found["cause"]) != [segment["cause"] for segment in wanted]:
        return [f"causes are {list(found['cause'])}"]
    wrong = []
    for number, segment in enumerate(wanted, start=1):
        row = found[found["segment"] == number].iloc[0]
        for name in ("start_hours", "age_from", "known_start"):
            column = "known_start_mm" if name == "known_start" else name
            if name in segment and not np.isclose(row[column], segment[name], atol=1e-9):
                wrong.append(f"segment {number}: {name} is {row[column]}")
        inside = points[points["segment"] == number]
        if "known_start" in segment:
            inside = inside[~inside["exact"]]
        got = np.column_stack([inside["hours"], inside["worn_mm"] * inside["sign"]])
        want = np.array(segment["points"], dtype=float).reshape(-1, 2)
        if got.shape != want.shape or not np.allclose(got, want, rtol=0, atol=1e-3):
            wrong.append(f"segment {number}: points are {got.tolist()}")
    out = points[~points["fitted"]]
    for entry in history.get("left_out", []):
        same = out[np.isclose(out["value_mm"], entry["value"])]
        if same.empty or entry["remark"] not in str(same["remark"].iloc[0]):
            wrong.append(f"not left out as said: {entry}")
    return wrong


FOUND = _mismatches()
TARGETS = positions_room._targets


@pytest.mark.parametrize("history", HISTORIES)
def test_history_is_cut_as_by_hand(history: str) -> None:
    assert FOUND[history] == []


def _no_bridge(points: pd.DataFrame) -> tuple[pd.Series, list[None]]:
    return points["run_hours"].astype("float64"), [None] * len(points)


RULES = [
    ("readings within 24 h are one opening", openings, "OPENING_HOURS", 0.0),
    ("… and no wider", openings, "OPENING_HOURS", 1e6),
    ("without hours 45 days are one opening", openings, "OPENING_DAYS", 0.0),
    ("an as-left that differs is a step", cutting, "LEFT_DIFFERS", np.inf),
    ("… and one that hardly differs is not", cutting, "LEFT_DIFFERS", 0.0),
    ("a less worn as-found is a step", cutting, "FOUND_LESS_WORN", np.inf),
    ("… and one hardly less worn is not", cutting, "FOUND_LESS_WORN", 0.0),
    ("renewal restarts the age", cutting, "RESTARTS_AGE", frozenset()),
    ("other work leaves it", cutting, "RESTARTS_AGE", frozenset({"dressed", "adjusted"})),
    ("hours are bridged over meters", meters, "_over_meters", _no_bridge),
    ("a meter that rolled over goes on", meters, "_TURN", meters._NEW_METER),
    ("… unless no machine runs so fast", meters, "_can_run", lambda hours, days: True),
    (
        "hours that fall are unknown",
        meters,
        "_falling",
        lambda points, hours: hours < 0,
    ),
    ("equal as-found and as-left are one", cutting, "_same_reading", lambda found, left: False),
    (
        "a known shim keeps the segment",
        cutting.Job,
        "keeps_segment",
        property(lambda job: False),
    ),
    (
        "a shim of unknown thickness cuts",
        cutting.Job,
        "keeps_segment",
        property(lambda job: job.action == "shimmed"),
    ),
    ("a stated exact start is known", cutting.Mark, "exact", property(lambda mark: False)),
    (
        "another method's bias widens the test",
        cutting,
        "_margin",
        lambda first, second, times: times * np.hypot(first.u_mm, second.u_mm),
    ),
    (
        "an unstated number beside work is not fitted; alone it is both",
        cutting._Cutter,
        "_found_and_left",
        lambda cutter, visit: (visit.of("as-found") or visit.of("not stated"), visit.of("as-left")),
    ),
    (
        "opposite radial readings add up",
        angles,
        "_pair_up",
        lambda out, group: [],
    ),
    (
        "work on a set touches its members",
        positions_room,
        "_targets",
        lambda places: TARGETS(places).query("named_as == 'clearance'"),
    ),
    (
        "blank hours are interpolated",
        hour_line.HourLine,
        "hours_at",
        lambda line, day: np.full(np.shape(day), np.nan),
    ),
    (
        "after the last hours the duty gives them",
        bridging.Bridge,
        "run_since",
        lambda bridge, day: np.full(np.shape(day), np.nan),
    ),
    (
        "work after the last hours is counted there if the duty is unknown",
        chronicle,
        "placed_by",
        lambda rows, bridge: bridging.placed_by(rows.assign(source="reading"), bridge),
    ),
    (
        "months and years make a line where no day is known",
        chronicle,
        "filled_in",
        lambda line, points: line,
    ),
    (
        "… and not beside firm dates",
        hour_line,
        "APART",
        0.0,
    ),
    (
        "limited both ways there is no less-worn side",
        histories,
        "cut",
        lambda visits, both_ways: cutting.cut(visits, both_ways=False),
    ),
    (
        "the worst of several counts",
        histories,
        "trend_readings",
        lambda readings, places: readings_room.trend_readings(
            readings, places.assign(takes="mean")
        ),
    ),
    (
        "where it closes the smallest is the worst",
        histories,
        "trend_readings",
        lambda readings, places: readings_room.trend_readings(
            readings, places.assign(takes="largest")
        ),
    ),
    (
        "what is dated inside an opening belongs to it",
        openings._Opening,
        "spans",
        lambda opening, day: False,
    ),
    (
        "a check belongs to no opening",
        chronicle,
        "number_openings",
        lambda rows: openings.number_openings(rows.assign(is_check=False)),
    ),
    (
        "named openings join and part",
        chronicle,
        "number_openings",
        lambda rows: openings.number_openings(rows.assign(name=None)),
    ),
    (
        "as-found, work, as-left, whatever the dates",
        cutting._Cutter,
        "visit",
        lambda cutter, visit: _in_order_of_rows(cutter, visit),
    ),
]


def _in_order_of_rows(cutter: Any, visit: Any) -> None:
    """Take the readings as they were written down, then the work."""
    for mark in visit.marks:
        cutter._add(visit, mark)
    for job in visit.jobs:
        cutter._work(visit, job)
    cutter.before = visit


@pytest.mark.parametrize(("rule", "room", "name", "without"), RULES, ids=[r[0] for r in RULES])
def test_every_rule_is_held_by_a_history(
    rule: str, room: Any, name: str, without: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, name, without)
    differing = [history for history, wrong in _mismatches().items() if wrong]
    assert differing, f"no history notices when this rule is gone: {rule}"
