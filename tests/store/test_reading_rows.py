"""What a reading says in millimetres: units, bounds, uncertainty, basis."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from trendwear.readings.loaded import LoadReport

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]

MIL = 0.0254
REGISTER = (
    "machine,clearance,kind,basis,moves,unit,limit,design_min,design_max\n"
    "K-1,opening,sleeve,diametral,opens,mil,12,5,7\n"
    "K-1,closing,gap,axial,closes,mil,20,40,60\n"
    "K-1,both,thrust,axial,opens,mil,20,10,14\n"
    "K-1,both,thrust,axial,closes,mil,6,10,14\n"
    "K-1,metric,sleeve,diametral,opens,mm,0.3,0.12,0.18\n"
)
HEAD = "machine,clearance,date,state,value,unit,basis,uncertainty\n"


def row(clearance: str, value: str, *, state: str = "as-found", more: str = ",,") -> str:
    return HEAD + f"K-1,{clearance},2014-05-01,{state},{value},{more}\n"


@pytest.mark.parametrize(
    ("clearance", "value", "expected"),
    [
        # value, lower, upper, half-width in mil, at least
        ("opening", "6.5", (6.5, 6.5, 6.5, 0.0, False)),
        ("opening", "0.0065 in", (6.5, 6.5, 6.5, 0.0, False)),
        ("opening", "6 - 8", (7.0, 6.0, 8.0, 1.0, False)),
        ("opening", "6 ± 0.5", (6.0, 5.5, 6.5, 0.5, False)),
        ("opening", ">8", (8.0, 8.0, np.inf, 0.0, True)),
        ("opening", "<2", (1.0, 0.0, 2.0, 1.0, False)),
        ("closing", "<30", (30.0, -np.inf, 30.0, 0.0, True)),
        ("both", ">15", (15.0, 15.0, np.inf, 0.0, True)),
        ("both", "<8", (4.0, 0.0, 8.0, 4.0, False)),
    ],
)
def test_bounds(
    take: Take, stored: Stored, clearance: str, value: str, expected: tuple[float, ...]
) -> None:
    assert take(clearances=REGISTER, readings=row(clearance, value)).clean
    (kept,) = stored("readings").itertuples()
    found = (kept.value_mm, kept.lower_mm, kept.upper_mm, kept.half_width_mm)
    np.testing.assert_allclose(np.array(found) / MIL, expected[:4], rtol=1e-9)
    assert kept.at_least is expected[4]
    assert kept.written == value


def test_no_upper_bound_on_one_that_closes(take: Take) -> None:
    report = take(clearances=REGISTER, readings=row("closing", ">30"))
    assert [(f.column, f.written) for f in report.faults.itertuples()] == [("value", ">30")]
    assert "no upper bound" in report.faults["reason"].iloc[0]


@pytest.mark.parametrize(
    ("uncertainty", "stated_mil"),
    [("0.3", 0.3), ("± 0.3", 0.3 / 3**0.5), ("0.0003 in", 0.3), ("", np.nan)],
)
def test_uncertainty(take: Take, stored: Stored, uncertainty: str, stated_mil: float) -> None:
    take(clearances=REGISTER, readings=row("opening", "6.5", more=f",,{uncertainty}"))
    np.testing.assert_allclose(stored("readings")["stated_mm"] / MIL, stated_mil)


def test_an_exact_start_is_an_as_left(take: Take, stored: Stored) -> None:
    assert take(
        clearances=REGISTER, readings=row("opening", "6", state="as-left", more=",,0")
    ).clean
    assert list(stored("readings")["stated_mm"]) == [0.0]
    report = take("b", readings=row("closing", "40", more=",,0"))
    assert list(report.faults["column"]) == ["uncertainty"]


def test_the_unit_of_the_cell_goes_before_the_row_and_the_register(
    take: Take, stored: Stored
) -> None:
    take(clearances=REGISTER, readings=row("opening", "0.2 mm", more="in,,0.004"))
    (kept,) = stored("readings").itertuples()
    assert (kept.value_mm, kept.unit) == (0.2, "mm")
    assert kept.stated_mm == 0.004
    take("b", readings=row("closing", "0.03", more="in,,"))
    assert stored("readings")["value_mm"].iloc[0] == pytest.approx(30 * MIL)


def test_mil_where_the_register_is_metric_is_listed(take: Take, stored: Stored) -> None:
    report = take(clearances=REGISTER, readings=row("metric", "6.5 mil"))
    assert report.clean
    assert any("K-1 / metric: look again: read in mil" in note for note in report.notes)
    assert stored("readings")["value_mm"].iloc[0] == pytest.approx(0.1651)


@pytest.mark.parametrize(
    ("clearance", "basis"),
    [
        ("opening", "axial"),
        ("opening", "thickness"),
        ("closing", "diametral"),
        ("closing", "thickness"),
    ],
)
def test_another_thing_is_refused(take: Take, clearance: str, basis: str) -> None:
    report = take(clearances=REGISTER, readings=row(clearance, "6", more=f",{basis},"))
    assert list(report.faults["column"]) == ["basis"]


def test_radial_of_a_diametral_clearance_keeps_its_own_basis(take: Take, stored: Stored) -> None:
    assert take(clearances=REGISTER, readings=row("opening", "3.1", more=",radial,")).clean
    (kept,) = stored("readings").itertuples()
    assert (kept.basis, round(kept.value_mm / MIL, 6)) == ("radial", 3.1)


def test_a_value_that_looks_radial_is_flagged(take: Take) -> None:
    report = take(clearances=REGISTER, readings=row("opening", "3.0"))
    assert report.clean
    assert any("K-1 / opening: look again: about half" in note for note in report.notes)


@pytest.mark.parametrize(("value", "basis"), [("5.5", ""), ("9", ""), ("1", ""), ("3.0", "radial")])
def test_others_are_not(take: Take, value: str, basis: str) -> None:
    report = take(clearances=REGISTER, readings=row("opening", value, more=f",{basis},"))
    assert not any("about half" in note for note in report.notes)


def test_work_amounts_take_the_unit_of_their_clearance(take: Take, stored: Stored) -> None:
    report = take(
        clearances=REGISTER,
        work="machine,clearance,date,action,amount\nK-1,opening,2014-05-01,shimmed,-2\n"
        "K-1,metric,2014-05-01,shimmed,0.1\nK-1,*,2014-05-01,shimmed,3\n"
        "K-1,*,2015-05-01,shimmed,3 mil\n",
    )
    assert [(f.row, f.column) for f in report.faults.itertuples()] == [(4, "amount")]
    np.testing.assert_allclose(stored("work")["amount_mm"], [-2 * MIL, 0.1, 3 * MIL])


@pytest.mark.parametrize(
    ("line", "basis"),
    [
        (row("opening", "6 dia"), "diametral"),
        (row("opening", "3.1 rad"), "radial"),
        (row("opening", "6 dia", more=",diametral,"), "diametral"),
        (row("opening", "6 TIR"), "diametral"),
        (row("opening", "6 TIR", more=",radial,"), "radial"),
        (row("both", "12 TIR"), "axial"),
        (row("both", "12 axial"), "axial"),
    ],
)
def test_the_basis_said_in_the_cell(take: Take, stored: Stored, line: str, basis: str) -> None:
    assert take(clearances=REGISTER, readings=line).clean
    (kept,) = stored("readings").itertuples()
    assert kept.basis == basis


def test_an_indicators_travel_is_across_where_the_register_is_radial(
    take: Take, stored: Stored
) -> None:
    register = "machine,clearance,kind,basis,moves,unit\nK-1,per side,seal,radial,opens,mil\n"
    assert take(clearances=register, readings=row("per side", "6 TIR")).clean
    assert stored("readings")["basis"].tolist() == ["diametral"]


def test_an_indicators_travel_is_no_thickness(take: Take) -> None:
    register = "machine,clearance,kind,basis,moves,unit\nK-1,crown,shell,thickness,closes,mil\n"
    report = take(clearances=register, readings=row("crown", "6 TIR"))
    assert list(report.faults["column"]) == ["value"]


def test_a_cell_and_a_row_that_name_two_bases(take: Take) -> None:
    report = take(clearances=REGISTER, readings=row("opening", "3 rad", more=",diametral,"))
    (fault,) = report.faults.itertuples()
    assert (fault.column, fault.written) == ("value", "3 rad")
    assert "the cell says radial, the row diametral" in fault.reason


def test_readings_at_several_angles_of_one_cell(take: Take, stored: Stored) -> None:
    report = take(clearances=REGISTER, readings=row("opening", "6.5/7.0 (0/90)"))
    assert report.clean
    kept = stored("readings").sort_values("angle")
    assert kept["angle"].tolist() == ["0", "90"]
    np.testing.assert_allclose(kept["value_mm"] / MIL, [6.5, 7.0])
    assert set(kept["written"]) == {"6.5/7.0 (0/90)"}
    assert take(readings=row("opening", "6.5/7.0 (0/90)")).count_of("readings").unchanged == 2


def test_one_of_several_angles_that_cannot_be_read_is_quoted_whole(take: Take) -> None:
    report = take(clearances=REGISTER, readings=row("opening", "6.5/0065 (0/90)"))
    (fault,) = report.faults.itertuples()
    assert (fault.column, fault.written) == ("value", "6.5/0065 (0/90)")


def test_angles_named_twice_are_refused(take: Take) -> None:
    head = "machine,clearance,date,state,value,angle\n"
    report = take(
        clearances=REGISTER, readings=head + "K-1,opening,2014-05-01,as-found,T 5 B 7,90\n"
    )
    assert set(report.faults["column"]) == {"value"}


def test_a_journal_and_its_bore_are_one_diametral_clearance(take: Take, stored: Stored) -> None:
    written = "3.9955 / 4.0020 in (journal/bore)"
    assert take(clearances=REGISTER, readings=row("opening", written)).clean
    (kept,) = stored("readings").itertuples()
    assert (kept.basis, kept.written) == ("diametral", written)
    assert kept.value_mm == pytest.approx(6.5 * MIL)
