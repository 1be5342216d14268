"""Histories of parts that touch several places, cut by hand: partners, moves, exchanges."""

from __future__ import annotations

import datetime as dt
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from trendwear import tables
from trendwear.segments import chronicle, cutting, histories
from trendwear.segments import positions as places_room
from trendwear.segments.arrivals import with_arrivals
from trendwear.segments.chronicle import Record

FOLDER = Path(__file__).parents[1] / "reference" / "hand_cut" / "parts"
AS_OF = dt.date(2030, 1, 1)
HISTORIES = {
    path.stem: tomllib.loads(path.read_text(encoding="utf-8"))
    for path in sorted(FOLDER.glob("*.toml"))
}


def _machine(history: str, entry: dict[str, Any], column: str = "machine") -> str | None:
    """Each history has machines of its own: the one it is about, and the others it names."""
    named = entry.get(column)
    if column == "to_machine":
        return None if named is None else f"{history} {named}".upper()
    return history if named is None else f"{history} {named}"


def _rows(sheet: str) -> pd.DataFrame:
    rows = []
    for history, told in HISTORIES.items():
        for number, entry in enumerate(told.get(sheet, [])):
            row = {**entry, "machine": _machine(history, entry), "date_spread_days": 0.0}
            row |= {"to_machine": _machine(history, entry, "to_machine"), "hours_spread": 0.0}
            row |= {"date": pd.Timestamp(entry["date"]), "file": "hand", "sheet": sheet}
            rows.append(row | {"row": number + 1})
    return pd.DataFrame(rows)


def _register() -> pd.DataFrame:
    rows = {}
    for history, told in HISTORIES.items():
        named = [(entry, entry["clearance"]) for entry in told["readings"]]
        for entry, clearance in named:
            key = (_machine(history, entry), clearance)
            rows[key] = {"partner": told.get("partner", {}).get(clearance)}
    usual = {"kind": "ring", "basis": "diametral", "unit": "mm", "limiting": True, "moves": "opens"}
    frame = pd.DataFrame(
        [{"machine": m, "clearance": c, **usual, **row} for (m, c), row in rows.items()]
    )
    return tables.conform(frame, tables.CLEARANCES)


def _record() -> Record:
    readings = _rows("readings").assign(
        reading=lambda rows: np.arange(len(rows)),
        at_least=False,
        excluded=False,
        half_width_mm=0.0,
        step_mm=0.001,
        stated_mm=0.005,
        unit="mm",
        method="feeler",
        basis="diametral",
        value_mm=lambda rows: rows["value"],
    )
    return Record(
        tables.conform(readings, tables.READINGS),
        tables.conform(_rows("work"), tables.WORK),
        tables.empty(tables.RUN_LOG),
    )


RECORD, REGISTER = _record(), _register()
MACHINES = tables.conform(pd.DataFrame({"machine": REGISTER["machine"].unique()}), tables.MACHINES)
PLACES = places_room.positions(REGISTER, MACHINES)
TARGETS, RESTARTS = places_room._targets, cutting.RESTARTS_AGE


def _mismatches() -> dict[str, list[str]]:
    """Where the program and the hand differ, in words, by history."""
    cut = histories.histories(RECORD, PLACES, tables.empty(tables.METHODS), AS_OF)
    found: dict[str, list[str]] = {history: [] for history in HISTORIES}
    for place in PLACES.itertuples():
        (history,) = (name for name in HISTORIES if place.machine.startswith(name))
        wanted = [
            one
            for one in HISTORIES[history]["segments"]
            if (_machine(history, one), one["clearance"]) == (place.machine, place.clearance)
        ]
        segments = cut.segments[cut.segments["position"] == place.Index]
        points = cut.points[cut.points["position"] == place.Index]
        found[history] += _mismatch(place.clearance, wanted, segments, points)
    return found


def _mismatch(
    name: str, wanted: list[dict[str, Any]], found: pd.DataFrame, points: pd.DataFrame
) -> list[str]:
    if list(found["cause"]) != [segment["cause"] for segment in wanted]:
        return [f"{name}: causes are {list(found['cause'])}"]
    wrong = []
    for number, segment in enumerate(wanted, start=1):
        row = found[found["segment"] == number].iloc[0]
        wrong += [
            f"{name}, segment {number}: {what} is {row[what]}"
            for what in ("start_hours", "age_from")
            if what in segment and row[what] != segment[what]
        ]
        got = points.loc[points["segment"] == number, ["hours", "value_mm"]].to_numpy()
        if not np.array_equal(got, np.array(segment["points"], dtype=float).reshape(-1, 2)):
            wrong.append(f"{name}, segment {number}: points are {got.tolist()}")
    return wrong


FOUND = _mismatches()


@pytest.mark.parametrize("history", HISTORIES)
def test_history_is_cut_as_by_hand(history: str) -> None:
    assert FOUND[history] == []


def _hours_of_the_first_machine(work: pd.DataFrame, machines: Any) -> pd.DataFrame:
    rows = with_arrivals(work, machines)
    written = rows["work_row"].map(work["run_hours"])
    return rows.assign(run_hours=rows["run_hours"].fillna(written))


def _opening_of_the_first_machine(work: pd.DataFrame, machines: Any) -> pd.DataFrame:
    rows = with_arrivals(work, machines)
    return rows.assign(opening=rows["work_row"].map(work["opening"]))


def _partner_first(places: pd.DataFrame) -> pd.DataFrame:
    found = TARGETS(places)
    partners = places.assign(wanted=places["partner"].str.casefold(), named_as="partner")
    partners = partners.assign(shared=places["partner"]).dropna(subset="wanted")
    both = pd.concat([partners[found.columns], found])
    return both.drop_duplicates(["machine", "clearance", "wanted"])


RULES = [
    (
        "a renewed partner cuts all that run on it",
        places_room,
        "_of_sharers",
        lambda spread, places: spread.iloc[:0],
    ),
    (
        "a partner's name stands for all that run on it",
        places_room,
        "_targets",
        lambda places: TARGETS(places).query("named_as != 'partner'"),
    ),
    ("a clearance's name comes before a partner's", places_room, "_targets", _partner_first),
    (
        "what went elsewhere is work there too",
        chronicle,
        "with_arrivals",
        lambda work, machines: work.assign(work_row=work.index, arrives=False),
    ),
    (
        "the other machine's spelling does not matter",
        chronicle,
        "with_arrivals",
        lambda work, machines: with_arrivals(work, []),
    ),
    (
        "on another machine its own hours count",
        chronicle,
        "with_arrivals",
        _hours_of_the_first_machine,
    ),
    (
        "on another machine its own opening counts",
        chronicle,
        "with_arrivals",
        _opening_of_the_first_machine,
    ),
    (
        "a moved part carries the age on",
        cutting,
        "RESTARTS_AGE",
        RESTARTS | {"moved"},
    ),
    (
        "a renewal names the run before an exchange does",
        cutting,
        "AS_NEW",
        frozenset(),
    ),
    (
        "an exchange restarts the age",
        cutting,
        "RESTARTS_AGE",
        RESTARTS - {"exchanged"},
    ),
]


@pytest.mark.parametrize(("rule", "room", "name", "without"), RULES, ids=[r[0] for r in RULES])
def test_every_rule_is_held_by_a_history(
    rule: str, room: Any, name: str, without: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, name, without)
    differing = [history for history, wrong in _mismatches().items() if wrong]
    assert differing, f"no history notices when this rule is gone: {rule}"
