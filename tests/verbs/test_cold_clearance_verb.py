"""``trendwear cold-clearance``: a handbook's figure, and words that are no maker's."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from trendwear.cli import app
from trendwear.errors import UsageProblem
from trendwear.store.intake import load


def run(*words: str, store: Path | None = None):
    more = ["--store", str(store)] if store else ["--store", "/nowhere/s.duckdb"]
    return CliRunner().invoke(app, ["cold-clearance", *words, *more])


def test_the_handbooks_ring():
    # 4e-6 x 2.500 in x 400 °F = 0.0040 in (Bloch and Geitner, p. 344).
    done = run("2.500in", "400F", "--hot", "0.0030 in", "--difference", "4e-6")
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("Cold clearance, computed, not the maker's: 0.0070 in\n")
    assert "taken by the growth: 0.0040 in" in done.stdout
    assert "maker's manual goes before" in done.stdout


def test_in_millimetres_and_celsius_it_is_the_same_ring():
    # 400 °F of difference are 222.2 °C, 4e-6 for 1 °F are 7.2e-6 for 1 °C.
    done = run("63.5mm", "222.22C", "--hot", "3mil", "--difference", "7.2e-6")
    assert "0.178 mm" in done.stdout.splitlines()[0]
    assert abs(0.178 / 25.4 - 0.0070) < 0.00002


def test_by_materials_a_12_chrome_shaft_differs():
    steel = run("2.500in", "400F", "--hot", "0in", "--materials", "steel/carbon")
    chrome = run("2.500in", "400F", "--hot", "0in", "--materials", "12Cr/carbon")
    assert "0.0039 in" in steel.stdout.splitlines()[0]
    assert "0.0034 in" in chrome.stdout.splitlines()[0]
    assert "12Cr less carbon, of the table of materials" in chrome.stdout


def test_the_sites_own_material_counts(tmp_path):
    sheet = tmp_path / "materials.csv"
    sheet.write_text("material,expansion,degree,source\nring C7,2.0e-6,F,maker's letter\n")
    store = tmp_path / "s.duckdb"
    load([sheet], store=store)
    done = run("2.500in", "400F", "--hot", "0in", "--materials", "steel/ring C7", store=store)
    assert "0.0045 in" in done.stdout.splitlines()[0]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("2.500", "400F", "--hot", "0in", "--difference", "4e-6"), "has no unit"),
        (("2.500in", "400", "--hot", "0in", "--difference", "4e-6"), "names no scale"),
        (("2.500in", "hot", "--hot", "0in", "--difference", "4e-6"), "no temperature"),
        (("2.500in", "400F", "--hot", "0in", "--difference", "4"), "no growth for one degree"),
        (("2.500in", "400F", "--hot", "0in", "--difference", "x"), "no growth for one degree"),
        (("2.500in", "400F", "--hot", "0in"), "neither is given"),
        (("2.500in", "400F", "--hot", "0in", "--difference", "4e-6", "--materials", "a/b"), "both"),
        (("2.500in", "400F", "--hot", "0in", "--materials", "steel"), "steel"),
        (("2.500in", "400F", "--hot", "0in", "--materials", "steel/wood"), "wood grows"),
        (("2.500in", "−400F", "--hot", "0in", "--difference", "4e-6"), "its rise not below"),
        (("2.500in", "400F", "--hot", "0.001in", "--difference=-4e-6"), "no cold clearance"),
    ],
)
def test_what_cannot_be_computed_says_why(words, says):
    done = run(*words)
    assert done.exit_code != 0
    assert isinstance(done.exception, UsageProblem)
    assert says in str(done.exception)
