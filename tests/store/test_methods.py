"""Ways of measuring: the site's own before starting values, and one name for each."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd
import pytest

from trendwear.readings.loaded import LoadReport
from trendwear.store.methods import as_method_named, default_methods
from trendwear.wording import fold_column

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]
NONE = pd.Series([], dtype="object")
REGISTER = (
    "machine,clearance,kind,basis,moves,unit,limit\nT-1,brg,sleeve bearing,diametral,opens,mil,12\n"
)


def named(*written: str, own: tuple[str, ...] = ()) -> list[str]:
    column = pd.Series(list(written), dtype="object")
    return as_method_named(column, pd.Series(list(own), dtype="object")).tolist()


def test_spellings_of_the_workshop_are_one_method() -> None:
    assert named("Feeler gauge", "feelers", "FEELER") == ["feeler"] * 3
    assert named("Outside mic", "dial bore gage") == ["micrometer", "bore gauge"]
    assert named("Bore gauge + micrometer") == ["bore gauge and micrometer"]


def test_what_nobody_knows_stays_as_written() -> None:
    assert named("laser tracker") == ["laser tracker"]


def test_the_sites_own_spelling_counts_and_what_it_tells_apart_stays_apart() -> None:
    assert named("feeler gauge", "feeler", own=("feelers",)) == ["feelers", "feelers"]
    told_apart = ("feelers", "long feelers", "feeler blade")
    assert named("feelers", "Feeler blade", "feeler gauge", own=told_apart) == [
        "feelers",
        "Feeler blade",
        "feeler",
    ]


def test_a_missing_method_stays_missing() -> None:
    named_too = as_method_named(pd.Series([None, "lift"], dtype="object"), NONE)
    assert named_too.isna().tolist() == [True, False]


def test_every_spelling_leads_to_a_method_with_a_starting_value() -> None:
    given = default_methods()
    known = set(fold_column(given["method"]))
    spelt = pd.read_csv("data/method_names.csv")
    assert set(fold_column(spelt["method"])) <= known
    assert not set(fold_column(spelt["as_written"])) & known
    assert fold_column(spelt["as_written"]).is_unique
    assert given["source"].notna().all()


def test_the_sheet_takes_the_place_of_the_starting_value_however_spelt(
    take: Take, stored: Stored
) -> None:
    take(
        clearances=REGISTER,
        methods="method,uncertainty,unit\nFeeler gauge,0.8,mil\n",
        readings="machine,clearance,date,state,value,method\n"
        "T-1,brg,2020-01-01,as-found,6,feelers\nT-1,brg,2022-01-01,as-found,7,lift test\n",
    )
    rows = stored("methods").set_index("method")
    assert "feeler" not in rows.index
    assert rows.at["Feeler gauge", "uncertainty_mm"] == pytest.approx(0.8 * 0.0254)
    assert rows["source"].notna().tolist() == [False] + [True] * (len(rows) - 1)
    assert stored("readings")["method"].tolist() == ["Feeler gauge", "lift check"]
