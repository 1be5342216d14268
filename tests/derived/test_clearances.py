"""A bore less a journal, a float of two pushes: values, uncertainty, words, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable

import pandas as pd
import pytest

from trendwear import tables
from trendwear.derived.clearances import Computed
from trendwear.dimension_tables import NOT_COMPUTED

Made = Callable[..., Computed]
INCH = 25.4
MIL = 0.0254


def only(told: Computed) -> pd.Series:
    assert told.not_computed.empty, told.not_computed.to_string()
    tables.check(told.readings, tables.READINGS)
    [row] = [row for _, row in told.readings.iterrows()]
    return row


def why(told: Computed) -> list[str]:
    tables.check(told.not_computed, NOT_COMPUTED)
    assert told.readings.empty
    return told.not_computed["why"].tolist()


def test_the_published_example(made: Made) -> None:
    # Bloch, Improving Machinery Reliability, p. 363, Table 9-1: 3.0040 less 2.9990.
    row = only(made(("bore", "3.0040"), ("journal", "2.9990"), ("pad bore", "3.0070")))
    assert row["value_mm"] == pytest.approx(0.0050 * INCH, abs=1e-9)
    assert row["value_mm"] / 2 / MIL == pytest.approx(2.50)
    assert (row["basis"], row["method"]) == ("diametral", "bore minus journal")
    assert "preload 0.375 by the pad bore" in row["note"]


def test_it_says_how_it_was_made_and_has_a_number_no_typed_reading_has(made: Made) -> None:
    place = {"plane": "A", "angle": "0"}
    row = only(made(("bore", "4.0020", place), ("journal", "3.9955", place)))
    assert row["written"] == "computed: bore 4.0020 − journal 3.9955 in, plane A, 0°"
    assert row["reading"] < 0
    assert "journal from row 3" in row["note"]
    assert (row["file"], row["row"]) == ("sizes.csv", 2)


@pytest.mark.parametrize(
    ("bore", "journal", "expected_mil", "source"),
    [
        # Stated for both: 0.3 and 0.4 make 0.5.
        ({"stated": 0.0003}, {"stated": 0.0004}, 0.5, "stated"),
        # Nobody says how: one step of 0.1 mil each.
        ({}, {}, 0.1 * math.sqrt(2), "written resolution"),
        # Starting values: ± 0.3 and ± 0.4 mil, half-widths of rectangles.
        (
            {"method": "bore gauge"},
            {"method": "micrometer"},
            math.hypot(0.3, 0.4) / math.sqrt(3),
            "starting value",
        ),
        ({"stated": 0.0003}, {"method": "micrometer"}, math.hypot(0.3, 0.4 / 3**0.5),
         "starting value"),
        # A method that measures both counts once.
        (
            {"method": "bore gauge and micrometer"},
            {"method": "bore gauge and micrometer"},
            0.4 / math.sqrt(3),
            "starting value",
        ),
    ],
)  # fmt: skip
def test_uncertainties_add_in_quadrature(
    made: Made,
    bore: dict[str, object],
    journal: dict[str, object],
    expected_mil: float,
    source: str,
) -> None:
    row = only(made(("bore", "4.0020", bore), ("journal", "3.9955", journal)))
    assert row["stated_mm"] / MIL == pytest.approx(expected_mil)
    assert row["u_from"] == source


def test_the_written_step_of_both_is_the_least(made: Made) -> None:
    # Stated finer than what was written can carry: half a step/sqrt(3) of each remains.
    fine = {"stated": 0.000001}
    row = only(made(("bore", "4.002", fine), ("journal", "3.995", fine)))
    assert row["stated_mm"] / MIL == pytest.approx(0.5 / math.sqrt(3) * math.sqrt(2))


def test_each_plane_and_angle_makes_a_reading_and_the_shape_is_told(made: Made) -> None:
    sizes = {
        ("A", "0"): ("4.0020", "3.9955"),
        ("A", "90"): ("4.0026", "3.9951"),
        ("B", "0"): ("4.0018", "3.9955"),
        ("B", "90"): ("4.0018", "3.9955"),
    }
    told = made(
        *(("bore", bore, {"plane": p, "angle": a}) for (p, a), (bore, _) in sizes.items()),
        *(("journal", jnl, {"plane": p, "angle": a}) for (p, a), (_, jnl) in sizes.items()),
    )
    rows = told.readings.set_index(["plane", "angle"])["value_mm"] / MIL
    assert rows.round(6).to_dict() == {
        ("A", "0"): 6.5,
        ("A", "90"): 7.5,
        ("B", "0"): 6.3,
        ("B", "90"): 6.3,
    }
    assert told.readings["reading"].is_unique
    # Out of round: 4.0026 - 4.0020; taper: 4.0023 - 4.0018 between the means of planes.
    note = told.readings["note"].iloc[0]
    assert "bore out of round 0.0006 in, taper 0.0005 in" in note
    assert "journal out of round 0.0004 in, taper 0.0002 in" in note


def test_repeats_are_averaged_and_stay_as_uncertain_as_one(made: Made) -> None:
    row = only(
        made(
            ("bore", "4.0020", {"repeat": "1", "stated": 0.0003}),
            ("bore", "4.0022", {"repeat": "2", "stated": 0.0003}),
            ("journal", "3.9955", {"stated": 0.0004}),
        )
    )
    assert row["value_mm"] / MIL == pytest.approx(6.6)
    assert row["stated_mm"] / MIL == pytest.approx(0.5)


def test_a_partner_measured_once_stands_for_every_place(made: Made) -> None:
    told = made(
        ("bore", "4.0020", {"plane": "A"}),
        ("bore", "4.0024", {"plane": "B"}),
        ("journal", "3.9955"),
    )
    assert told.not_computed.empty
    assert (told.readings["value_mm"] / MIL).round(6).tolist() == [6.5, 6.9]
    assert told.readings["row"].tolist() == [2, 3]


def test_one_bore_against_a_journal_of_several_angles(made: Made) -> None:
    told = made(
        ("bore", "4.0020", {"plane": "A"}),
        ("journal", "3.9955", {"plane": "A", "angle": "0"}),
        ("journal", "3.9953", {"plane": "A", "angle": "90"}),
    )
    assert told.not_computed.empty
    assert (told.readings["value_mm"] / MIL).round(6).tolist() == [6.5, 6.7]
    assert told.readings["reading"].is_unique


def test_unlike_planes_make_nothing_and_it_is_said(made: Made) -> None:
    said = why(made(("bore", "4.0020", {"plane": "A"}), ("journal", "3.9955", {"plane": "C"})))
    assert said == [
        "the bore was measured at plane A, the journal at plane C: they do not match",
        "the journal was measured at plane C, the bore at plane A: they do not match",
    ]


def test_a_missing_partner(made: Made) -> None:
    assert why(made(("bore", "4.0020"))) == ["the journal is missing"]
    assert why(made(("away", "0.012"))) == ["the push toward is missing"]
    assert why(made(("pad bore", "4.0020"))) == ["the bore and the journal are missing"]


def test_partners_of_two_days_belong_together_by_their_opening_only(made: Made) -> None:
    later = {"date": "2024-05-03"}
    assert why(made(("bore", "4.0020"), ("journal", "3.9955", later))) == [
        "the journal is missing",
        "the bore is missing",
    ]
    named = {"opening": "2024"}
    row = only(made(("bore", "4.0020", named), ("journal", "3.9955", {**named, **later})))
    assert row["date"] == pd.Timestamp("2024-05-03")


def test_a_journal_bigger_than_the_bore(made: Made) -> None:
    assert why(made(("bore", "3.9955"), ("journal", "4.0020"))) == [
        "the journal is bigger than the bore: 4.0020 against 3.9955 in"
    ]


def test_partners_in_two_units(made: Made) -> None:
    assert why(made(("bore", "101.65", {"unit": "mm"}), ("journal", "3.9955"))) == [
        "sizes are in mm and in: write both partners in one unit"
    ]


def test_both_partners_at_20_degrees(made: Made) -> None:
    warm = {"temperature_c": 38.0}
    row = only(
        made(
            ("bore", "4.0020", {**warm, "material": "bronze"}),
            ("journal", "3.9955", {**warm, "material": "steel"}),
        )
    )
    # 0.0065 in as measured; bronze over steel gave 0.00045 in of it.
    assert row["value_mm"] / INCH == pytest.approx(0.0065 - 0.00045, abs=5e-6)
    assert row["written"] == "computed: bore 4.0020 − journal 3.9955 in, at 20 °C"
    assert "temperatures counted as ± 1 °C" in row["note"]
    steps = 0.1 * math.sqrt(2)
    grown = math.hypot(4.0 * 18.0e-6, 4.0 * 11.7e-6) / math.sqrt(3) * 1000
    assert row["stated_mm"] / MIL == pytest.approx(math.hypot(steps, grown), rel=1e-3)


@pytest.mark.parametrize(
    ("bore", "journal", "said"),
    [
        ({"temperature_c": 38.0, "material": "bronze"}, {}, "a temperature of the journal is"),
        (
            {"temperature_c": 38.0, "material": "bronze"},
            {"temperature_c": 38.0},
            "the material of the journal is not given",
        ),
        (
            {"temperature_c": 38.0, "material": "bronze"},
            {"temperature_c": 38.0, "material": "unobtainium"},
            "how unobtainium grows is not known",
        ),
    ],
)
def test_where_they_cannot_be_brought_to_20_degrees_it_is_said(
    made: Made, bore: dict[str, object], journal: dict[str, object], said: str
) -> None:
    row = only(made(("bore", "4.0020", bore), ("journal", "3.9955", journal)))
    assert row["value_mm"] / INCH == pytest.approx(0.0065)
    assert f"not brought to 20 °C: {said}" in row["note"]


def test_a_float_is_the_difference_of_two_pushes(made: Made) -> None:
    row = only(made(("toward", "0.012"), ("away", "-0.002")))
    assert row["value_mm"] / MIL == pytest.approx(14.0)
    assert row["written"] == "computed: dial 0.012 toward, -0.002 away, in"
    assert (row["basis"], row["method"]) == ("axial", "float between two pushes")
    assert why(made(("toward", "0.012"), ("away", "0.012"))) == [
        "the dial stood the same both ways: no float was measured"
    ]


def test_no_sizes_make_no_readings(made: Made) -> None:
    told = made()
    tables.check(told.readings, tables.READINGS)
    assert told.readings.empty
    assert told.not_computed.empty
