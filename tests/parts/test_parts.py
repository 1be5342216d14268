"""Parts from the sheets to their record: exchanged, moved, renewed, and told by supplier."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import numpy as np
import pytest

from trendwear import outlook
from trendwear.errors import UnknownName
from trendwear.forecasting.site import SiteForecast
from trendwear.parts.lives import part_lives
from trendwear.parts.record import part_record
from trendwear.planning.spares import parts_fitted
from trendwear.report.parts.lives import lives_table, lives_words
from trendwear.report.parts.record import part_lines

Stored = Callable[[Mapping[str, Sequence[Mapping[str, object]]]], Path]
AS_OF = dt.date(2019, 1, 1)
HOURS_A_YEAR = 8000


def clearance(machine: str, name: str, **other: object) -> dict[str, object]:
    row = {"machine": machine, "clearance": name, "kind": "ring", "basis": "diametral"}
    row |= {"moves": "opens", "unit": "mm", "limit": 0.9, "family": "rings", "part": "ring"}
    return row | {"part_no": "P-1", "partner": "shaft"} | other


def meter(machine: str, year: int) -> int:
    """Both machines run 8000 h a year; the second meter started at 50,000."""
    return (year - 2010) * HOURS_A_YEAR + (50_000 if machine == "N" else 0)


def reading(machine: str, name: str, year: int, value: float, state: str) -> dict[str, object]:
    row = {"machine": machine, "clearance": name, "date": f"{year}-01-01", "state": state}
    return row | {"run_hours": meter(machine, year), "value": value, "uncertainty": 0.002}


def work(machine: str, name: str, year: int, action: str, **other: object) -> dict[str, object]:
    row = {"machine": machine, "clearance": name, "date": f"{year}-01-01", "action": action}
    return row | {"run_hours": meter(machine, year)} | other


def log(machine: str) -> list[dict[str, object]]:
    return [
        {"machine": machine, "date": f"{year}-01-01", "run_hours": meter(machine, year)}
        for year in range(2010, 2020)
    ]


def looked(store: Path) -> SiteForecast:
    return outlook.look(store, as_of=AS_OF)


@pytest.fixture
def rotors(stored: Stored) -> SiteForecast:
    """Rotor R-1 into M and R-2 into N in 2011; in 2014 one line changes them round."""
    readings = []
    for machine in "MN":
        for name in ("one", "two"):
            readings += [
                reading(machine, name, 2010, 0.20, "as-found"),
                reading(machine, name, 2011, 0.21, "as-left"),
                reading(machine, name, 2014, 0.30, "as-found"),
                reading(machine, name, 2014, 0.25, "as-left"),
                reading(machine, name, 2017, 0.31, "as-found"),
            ]
    done = [
        work("M", "*", 2011, "exchanged", serial="R-1", part_no="ROT"),
        work("N", "*", 2011, "exchanged", serial="R-2", part_no="ROT"),
        work("M", "*", 2014, "exchanged", to_machine="n"),
    ]
    register = [clearance(machine, name) for machine in "MN" for name in ("one", "two")]
    sheets = {"clearances": register, "readings": readings, "work": done}
    return looked(stored({**sheets, "run_log": [*log("M"), *log("N")]}))


def test_a_rotor_keeps_its_record_across_machines(rotors: SiteForecast) -> None:
    record = part_record(rotors, "r 1")
    stays = record.machines
    assert stays["machine"].tolist() == ["M", "N"]
    assert stays["hours"].tolist() == [3 * HOURS_A_YEAR, 5 * HOURS_A_YEAR]
    assert record.hours == 8 * HOURS_A_YEAR
    assert (record.part_no, stays["places"].tolist()) == ("ROT", [2, 2])
    here = record.places.set_index(["machine", "clearance"])
    assert here.loc[("M", "one"), "readings"] == 2
    assert here.loc[("M", "one"), "worn_mm"] == pytest.approx(0.09)
    assert here.loc[("N", "two"), "worn_mm"] == pytest.approx(0.06)
    assert here.loc[("N", "two"), "worn_hours"] == 3 * HOURS_A_YEAR
    other = part_record(rotors, "R-2").machines
    assert other["machine"].tolist() == ["N", "M"]


def test_the_record_is_told_in_plain_lines(rotors: SiteForecast) -> None:
    told = "\n".join(part_lines(part_record(rotors, "R-1"), 200))
    assert "Part R-1 (ROT)" in told
    assert "M: from 2011-01-01 until 2014-01-01, 24,000 h, at 2 clearances" in told
    assert "N: from 2014-01-01 still in, 40,000 h" in told
    assert "In all on record: 64,000 h." in told
    assert "0.090 mm in 24,000 h" in told


def test_a_serial_nobody_named_lists_those_known(rotors: SiteForecast) -> None:
    with pytest.raises(UnknownName, match="R-1, R-2"):
        part_record(rotors, "R-7")


def test_after_an_exchange_the_shells_stay_and_the_number_ordered_with_them(
    rotors: SiteForecast,
) -> None:
    register = rotors.basis.register
    fitted = parts_fitted(register, rotors.cut.work)
    assert fitted["part_no"].tolist() == ["P-1"] * 4
    assert not fitted["fitted_differs"].any()


def test_the_pair_that_came_together_is_noted(rotors: SiteForecast) -> None:
    notes = rotors.rows.set_index(["machine", "clearance"])["notes"]
    told = notes[("N", "one")]
    assert "exchanged 2014-01-01: it runs against R-1 since, its own part stayed" in told
    assert "R-1 came from M after 24,000 h on record" in told


@pytest.fixture
def moved(stored: Stored) -> SiteForecast:
    """A ring of supplier B goes from slot one to slot two; one gets a ring of supplier A."""
    readings = []
    for name in ("one", "two"):
        readings += [
            reading("M", name, 2010, 0.20, "as-found"),
            reading("M", name, 2012, 0.30, "as-found"),
            reading("M", name, 2012, 0.22, "as-left"),
            reading("M", name, 2015, 0.37 if name == "one" else 0.25, "as-found"),
            reading("M", name, 2015, 0.21, "as-left"),
            reading("M", name, 2018, 0.24 if name == "one" else 0.36, "as-found"),
        ]
    done = [
        work("M", "one", 2012, "renewed", part_no="P-2", supplier="B", serial="S-1"),
        work("M", "two", 2012, "renewed", part_no="P-1", supplier="A", serial="S-2"),
        work("M", "one", 2015, "moved", to_clearance="two"),
        work("M", "one", 2015, "renewed", part_no="P-1", supplier="A", serial="S-3"),
    ]
    register = [clearance("M", "one"), clearance("M", "two")]
    return looked(
        stored({"clearances": register, "readings": readings, "work": done, "run_log": log("M")})
    )


def test_orders_follow_the_ring_that_moved(moved: SiteForecast) -> None:
    fitted = parts_fitted(moved.basis.register, moved.cut.work)
    assert fitted["part_no"].tolist() == ["P-1", "P-2"]
    assert fitted["fitted_differs"].tolist() == [False, True]


def test_rates_before_another_part_count_as_the_family_s(moved: SiteForecast) -> None:
    """Both places changed number in 2015, so each has a former member; 2012 named the first."""
    member = moved.basis.families.data.member
    assert member.groupby("position")["era"].max().tolist() == [1, 1]
    current = member[member["current"]]
    assert current["era"].tolist() == [1, 1]
    shares = moved.clearance_trend("M", "two").shares
    assert shares["former_part"].any()


def test_a_moved_ring_is_one_part_with_one_life(moved: SiteForecast) -> None:
    record = part_record(moved, "S-1")
    assert record.places["clearance"].tolist() == ["one", "two"]
    assert record.hours == 7 * HOURS_A_YEAR
    lives = part_lives(moved).set_index("supplier")
    assert lives.loc["B", ["fitted", "renewed", "still_in"]].tolist() == [1, 0, 1]
    assert lives.loc["B", "hours"] == 7 * HOURS_A_YEAR
    # of A's two, the one that made room for the moved ring went elsewhere
    assert lives.loc["A", ["fitted", "renewed", "still_in", "elsewhere"]].tolist() == [2, 0, 1, 1]
    assert lives.loc["A", "hours"] == (3 + 4) * HOURS_A_YEAR


def test_rates_belong_to_the_supplier_whose_part_was_in(moved: SiteForecast) -> None:
    """B's ring wore 0.15 mm in 24,000 h in both slots, A's 0.03."""
    lives = part_lives(moved).set_index("supplier")
    assert lives["places"].tolist() == [2, 2]
    assert lives.loc["B", "rate_mm_per_1000h"] == pytest.approx(0.15 / 24, rel=1e-6)
    assert lives.loc["A", "rate_mm_per_1000h"] == pytest.approx(0.03 / 24, rel=1e-6)
    tau = moved.basis.wear.tau[0]
    gauge = 0.01 / 2 / np.sqrt(3)  # the step written, coarser than the uncertainty stated
    own = np.hypot(gauge, gauge) / 24_000
    error = 1000 * np.sqrt((own**2 + tau**2) / 2)
    width = lives["rate_high"] - lives["rate_low"]
    assert width.to_numpy() == pytest.approx(2 * 1.6448536 * error, rel=1e-4)


def test_few_parts_are_called_few(moved: SiteForecast) -> None:
    lives = part_lives(moved)
    words = " ".join(lives_words(lives, "mm"))
    assert "1 part of P-2 from B: 0 renewed, 1 still in. Too few renewals to tell" in words
    table = lives_table(lives).set_index("supplier")
    assert table.loc["A", "half renewed by"] == "too few to tell"
    assert table.loc["A", "gone elsewhere"] == 1


def test_a_ring_that_moved_says_so(moved: SiteForecast) -> None:
    notes = moved.rows.set_index("clearance")["notes"]
    assert "moved 2015-01-01: S-1 came here from one" in notes["two"]


def test_a_renewed_partner_names_what_it_cut(stored: Stored) -> None:
    rows = [reading("M", n, y, 0.2 + (y - 2010) / 50, "as-found")
            for n in ("one", "two", "three") for y in (2010, 2014, 2018)]  # fmt: skip
    register = [clearance("M", "one"), clearance("M", "two")]
    register += [clearance("M", "three", partner="sleeve")]
    done = [work("M", "one", 2014, "partner renewed", part_no="SHAFT-9", supplier="Z")]
    told = looked(stored({"clearances": register, "readings": rows, "work": done}))
    notes = told.rows.set_index("clearance")["notes"].fillna("")
    cause = "partner renewed 2014-01-01: shaft, on which one and two run"
    assert cause in notes["one"]
    assert f"{cause}, recorded on one" in notes["two"]
    assert "partner renewed" not in notes["three"]
    # the sleeve's number is not what the ring is ordered by
    assert parts_fitted(told.basis.register, told.cut.work)["part_no"].tolist() == ["P-1"] * 3


def test_only_renewals_tell_how_a_renewed_clearance_starts(stored: Stored) -> None:
    """Two places were renewed to 0.20; a third came out of an exchange at 0.50, worn."""
    names = ("one", "two", "three", "four", "five")
    rows = [reading("M", name, 2010, 0.50, "as-found") for name in names]
    left = {"one": 0.19, "two": 0.21, "three": 0.50}
    rows += [reading("M", name, 2014, value, "as-left") for name, value in left.items()]
    rows += [reading("M", name, 2018, value + 0.1, "as-found") for name, value in left.items()]
    done = [work("M", name, 2014, "renewed") for name in ("one", "two", "four")]
    done += [work("M", name, 2014, "exchanged", serial="X") for name in ("three", "five")]
    register = [clearance("M", name) for name in names]
    sheets = {"clearances": register, "readings": rows, "work": done, "run_log": log("M")}
    told = outlook.look(stored(sheets), as_of=dt.date(2018, 1, 2))
    now = told.rows.set_index("clearance")["clearance_now"]
    assert now["four"] == pytest.approx(0.30, abs=2e-3)
    assert "start assumed" in told.rows.set_index("clearance").loc["four", "notes"]
    assert np.isnan(now["five"])


def test_life_against_hours_written_down(stored: Stored) -> None:
    """Twelve places renewed after 1 to 6 years, twice each: half go by 4 years (32,000 h)."""
    register, readings, done = [], [], []
    for number in range(12):
        name, years = f"ring {number}", 1 + number % 6
        register.append(clearance("M", name))
        readings.append(reading("M", name, 2010, 0.2, "as-found"))
        done += [
            work("M", name, 2011, "renewed", supplier="A"),
            work("M", name, 2011 + years, "renewed", supplier="C"),
        ]
    sheets = {"clearances": register, "readings": readings, "work": done, "run_log": log("M")}
    lives = part_lives(looked(stored(sheets))).set_index("supplier")
    ours = lives.loc["A"]
    assert ours[["fitted", "renewed", "still_in"]].tolist() == [12, 12, 0]
    assert ours["hours"] == 2 * sum(range(1, 7)) * HOURS_A_YEAR
    assert ours["half_renewed_hours"] == 4 * HOURS_A_YEAR
    assert ours["half_low"] < 4 * HOURS_A_YEAR < ours["half_high"]
    assert lives.loc["C", ["renewed", "still_in"]].tolist() == [0, 12]


def test_a_site_without_work_has_no_lives(stored: Stored) -> None:
    rows = [reading("M", "one", 2010, 0.2, "as-found")]
    told = looked(stored({"clearances": [clearance("M", "one")], "readings": rows}))
    assert part_lives(told).empty
    assert lives_words(part_lives(told), "mm") == [
        "No work on record put in a part of this family."
    ]
