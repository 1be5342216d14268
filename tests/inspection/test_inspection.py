"""What stands on the sheet for the bench, position by position."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from invented_benches import AS_OF, MACHINE, position, read, sheet_of
from invented_deferrals import store_of

import trendwear
from trendwear import outlook
from trendwear.bench.boxes import Place, conditions_of, places_of, sizes_of
from trendwear.bench.inspection import Inspection
from trendwear.bench.position import Position
from trendwear.bench.teardown import NOT_STATED, in_teardown_order
from trendwear.errors import UnknownName


def named(sheet: Inspection, name: str) -> Position:
    (found,) = [one for one in sheet.positions if one.name == name]
    return found


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    machines = [*MACHINE["machines"], {"machine": "T-9", "description": "no register yet"}]
    return store_of({**MACHINE, "machines": machines}, tmp_path_factory.mktemp("store"))


@pytest.fixture(scope="module")
def plain(store: Path) -> Inspection:
    return trendwear.inspection_sheet(store, "m-1", as_of=AS_OF)


def register(*rows: tuple[str, str | None, str | None, str | None]) -> pd.DataFrame:
    columns = ["clearance", "access", "location", "slot"]
    return pd.DataFrame(list(rows), columns=columns, dtype="object")


def test_the_order_of_teardown() -> None:
    rows = register(
        ("last", None, "stage 1", None),
        ("ring 10", "casing", "stage 10", "10"),
        ("ring 2", "Casing", "stage 2", "2"),
        ("no place", "casing", None, None),
        ("slot 2", "packing housing", "exhaust end", "2"),
        ("slot 1", "packing-housing", "exhaust end", "1"),
        ("cap", "bearing cap", "steam end", None),
        ("ring 2", "casing", "stage 2", "2"),
        ("stem", "none", "steam chest", None),
    )
    ordered = in_teardown_order(rows)
    assert list(ordered["clearance"]) == [
        *("stem", "cap", "slot 1", "slot 2", "ring 2", "ring 2", "ring 10", "no place", "last"),
    ]
    assert ordered["access"].iloc[-1] == NOT_STATED
    assert ordered["access"].iloc[2] == "packing housing"


def test_every_register_row_has_its_place(plain: Inspection) -> None:
    sheet = plain
    assert [one.number for one in sheet.positions] == [1, 2, 3, 4]
    rows = {(one.name, bound.moves) for one in sheet.positions for bound in one.bounds}
    assert rows == {(row["clearance"], row["moves"]) for row in MACHINE["clearances"]}
    assert [one.name for one in sheet.positions] == [
        *("cap bearing", "gland ring", "casing ring", "gap")
    ]


def test_what_is_expected_is_what_was_invented(store: Path, plain: Inspection) -> None:
    """Readings on a line of 0.005 mm per 1000 h: 0.40 mm at 40,000 h."""
    told = plain.expected["casing ring"]
    assert told.middle_mm == pytest.approx(0.40, abs=0.01)
    assert told.odd_below_mm < told.low_mm < 0.40 < told.high_mm < told.odd_above_mm
    # 3.5 against 1.645 standard deviations of a normal; scatter that is estimated is wider.
    assert (told.odd_above_mm - told.middle_mm) > 2.1 * (told.high_mm - told.middle_mm)
    table = trendwear.forecast(store, as_of=AS_OF).set_index(["clearance", "moves"])
    for name, expected in plain.expected.items():
        for way, chance in expected.past_now:
            assert chance == table.at[(name, way), "chance_past_now"]
    assert not plain.expected["gland ring"].told
    assert "no reading to go by" in plain.expected["gland ring"].open_points


def test_a_gap_that_closes_is_expected_in_its_own_direction(tmp_path: Path) -> None:
    rows = [position("band", kind="rider band", basis="thickness", moves="closes", limit=0.1)]
    falling = [row | {"value": round(0.6 - float(str(row["value"])), 4)} for row in read("band")]
    told = sheet_of({**MACHINE, "clearances": rows, "readings": falling}, tmp_path)
    band = told.expected["band"]
    assert band.middle_mm == pytest.approx(0.20, abs=0.01)
    assert band.odd_below_mm < band.low_mm < band.middle_mm < band.high_mm < band.odd_above_mm
    assert band.takes == "smallest"


def test_how_each_was_left(tmp_path: Path) -> None:
    names = ["left", "found so", "checked", "renewed since", "read later"]
    more: dict[str, dict[str, object]] = {
        "left": {"date": "2019-06-01", "run_hours": 36000, "state": "as-left", "value": 0.31},
        "checked": {"date": "2019-09-01", "run_hours": 38000, "state": "check", "value": 0.37},
        "read later": {"date": "2020-06-01", "run_hours": 41000, "state": "as-left"}
        | {"value": 0.31},
    }
    usual = {"machine": "M-1", "uncertainty": 0.005}
    added = [usual | {"clearance": name} | row for name, row in more.items()]
    sheets = {
        **MACHINE,
        "clearances": [position(name) for name in names],
        "readings": [*[row for name in names for row in read(name)], *added],
        "work": [
            {"machine": "M-1", "clearance": "renewed since", "date": "2019-01-03"}
            | {"action": "renewed", "run_hours": 32000}
        ],
    }
    told = sheet_of(sheets, tmp_path)
    left = {name: named(told, name).last for name in names}
    assert {name: last and last.state for name, last in left.items()} == {
        "left": "as-left",
        "found so": "as-found",
        "checked": "as-found",
        "renewed since": "renewed",
        "read later": "as-found",
    }
    values = [last.value_mm for last in left.values() if last is not None]
    assert values == pytest.approx([0.31, 0.364, 0.364, float("nan"), 0.364], nan_ok=True)


def test_the_part_last_fitted_under_its_suppliers_name(tmp_path: Path) -> None:
    work = [
        {"machine": "M-1", "clearance": "casing ring", "date": "2019-01-03", "action": "renewed"}
        | {"run_hours": 32000, "part_no": "R-9", "supplier": "supplier C"}
    ]
    parts = [*MACHINE["parts"], {"part_no": "R-9", "supplier": "supplier B", "part": "ring"}]
    parts[-1] |= {"supplier_part_name": "bush, long"}
    sheet = sheet_of({**MACHINE, "work": work, "parts": parts}, tmp_path)
    ring = named(sheet, "casing ring").part
    assert (ring.number, ring.supplier_name, ring.fitted_from) == (
        *("R-9", "bush, long", "supplier C"),
    )
    assert "last fitted was R-9, the register says R-1" in sheet.expected["casing ring"].open_points
    assert named(sheet, "cap bearing").part.supplier_name == "neck ring, stationary"
    assert named(sheet, "gland ring").part.supplier_name is None


def test_what_the_record_leaves_open(tmp_path: Path) -> None:
    signed = {"machine": "M-1", "clearance": "casing ring", "date": "2019-06-01", "by": "engineer"}
    sheets = {
        **MACHINE,
        "clearances": [position("casing ring", limit=0.3)],
        "readings": read("casing ring"),
        "events": [{"machine": "M-1", "date": "2019-07-01", "what": "wet steam"}],
        "concessions": [signed | {"why": "no ring", "until": "2020-12-31"}],
    }
    points = sheet_of(sheets, tmp_path).expected["casing ring"].open_points
    assert "made before this event: wet steam, 2019-07-01" in points
    assert "past its limit by concession, signed by engineer 2019-06-01, until 2020-12-31" in points


def test_the_plan_speaks_where_there_is_one(plain: Inspection, tmp_path: Path) -> None:
    planned = {
        **MACHINE,
        "risks": [{"consequence": "leak", "accepted": 0.2, "by": "x", "date": "2019-01-01"}],
        "outages": [
            {"outage": "spring", "start": "2020-05-01", "end": "2020-05-20"},
            {"outage": "later", "start": "2023-05-01", "end": "2023-05-20"},
        ],
        "duty_plan": [{"machine": "M-1", "from": "2020-01-01", "hours_per_day": 20}],
    }
    store = store_of(planned, tmp_path)
    sheet = outlook.inspection_sheet(store, "M-1", as_of=AS_OF)
    renewed = {name for name, told in sheet.expected.items() if told.planned == "renew"}
    row = trendwear.plan(store, as_of=AS_OF).iloc[0]
    assert renewed
    assert renewed == set(str(row["renew"]).split("; "))
    assert sheet.outage == row["outage"]
    assert plain.outage is None
    assert {told.planned for told in plain.expected.values()} == {None}


def test_boxes_where_it_was_read_last(tmp_path: Path) -> None:
    first = read("casing ring", plane="A", angle="0")[:3]
    last = [
        row | {"plane": plane, "angle": angle}
        for row in read("casing ring")[3:]
        for plane, angle in (("drive side", "0"), ("drive side", "90"), ("far side", "0"))
    ]
    sheets = {
        **MACHINE,
        "clearances": [position("casing ring"), position("never", kind="sleeve bearing")],
        "readings": [*first, *last],
    }
    sheet = sheet_of(sheets, tmp_path)
    assert named(sheet, "casing ring").places == (
        Place("drive side", "0"),
        Place("drive side", "90"),
        Place("far side", "0"),
    )
    assert len(named(sheet, "never").places) == 4


@pytest.mark.parametrize(
    ("kind", "basis", "count"),
    [
        ("sleeve bearing", "diametral", 4),
        ("tilting pad bearing", "diametral", 1),
        ("Labyrinth", "radial", 3),
        ("nozzle to blade gap", "axial", 4),
        ("carbon ring", "diametral", 2),
        ("piston ring side clearance", "axial", 1),
        ("key", "thickness", 1),
    ],
)
def test_boxes_that_the_kind_needs(kind: str, basis: str, count: int) -> None:
    none = pd.DataFrame({"plane": [], "angle": [], "date": []})
    places = places_of({"kind": kind, "basis": basis}, none)
    assert len(set(places)) == count


@pytest.mark.parametrize(
    ("kind", "basis", "method", "sizes"),
    [
        ("carbon ring", "diametral", "inside and outside micrometer", ("bore", "journal")),
        ("sleeve bearing", "diametral", "feeler", ()),
        ("rotor locating bearing float", "axial", "dial indicator", ("toward", "away")),
        ("piston ring side clearance", "axial", "dial indicator", ()),
        ("rider band", "thickness", "outside micrometer", ()),
        ("carbon ring", "diametral", None, ()),
    ],
)
def test_sizes_of_both_partners(
    kind: str, basis: str, method: str | None, sizes: tuple[str, ...]
) -> None:
    assert sizes_of({"kind": kind, "basis": basis}, method) == sizes


def test_conditions_fit_the_kind() -> None:
    assert "garter spring" in conditions_of("rod packing")
    assert "bond loose" in conditions_of("sleeve bearing")
    assert "garter spring" not in conditions_of("piston ring side clearance")
    assert "butts worn" not in conditions_of("wear ring")


def test_a_register_without_readings_works_the_same(tmp_path: Path) -> None:
    sheet = sheet_of({**MACHINE, "readings": [], "run_log": []}, tmp_path)
    assert len(sheet.positions) == 4
    assert all(one.last is None for one in sheet.positions)
    assert not any(told.told for told in sheet.expected.values())


def test_names_that_are_not_there(store: Path) -> None:
    with pytest.raises(UnknownName, match="Near to it: M-1"):
        outlook.inspection_sheet(store, "M-11", as_of=AS_OF)
    with pytest.raises(UnknownName, match="It has: M-1"):
        outlook.inspection_sheet(store, "xyz", as_of=AS_OF)
    with pytest.raises(UnknownName, match="T-9: the register gives it no positions"):
        outlook.inspection_sheet(store, "t-9", as_of=AS_OF)


def test_without_the_record(plain: Inspection) -> None:
    assert any(one.last is not None for one in plain.positions)
    bare = plain.without_record()
    assert bare.machine == "M-1"
    assert bare.expected == {}
    assert all(one.last is None for one in bare.positions)
