"""The limit forecast as a document."""

from __future__ import annotations

import io
import time

import pypdf
import pytest
from invented_trends import NOTHING, forecast_of

from trendwear.forecasting.limit_forecast import LimitForecast
from trendwear.report.cautions import CAUTIONS
from trendwear.report.columns import OUTCOME_MEANINGS
from trendwear.report.export import table_bytes
from trendwear.report.limit_table import HEADINGS, OUTCOME_WORDS
from trendwear.report.pdf.forecast import forecast_pdf
from trendwear.report.pdf.paper import Paper


def pages_of(content: bytes) -> list[str]:
    """The text of every page, blanks taken out: where lines break is the page's business."""
    return [
        "".join(page.extract_text().replace("\u200b", "").split())
        for page in pypdf.PdfReader(io.BytesIO(content)).pages
    ]


def squeezed(text: str) -> str:
    return "".join(text.split())


def test_every_clearance_stands_in_it_with_its_answer(forecast: LimitForecast) -> None:
    text = "".join(pages_of(forecast_pdf(forecast)))
    for row in forecast.table.itertuples():
        assert squeezed(row.clearance) in text
        assert squeezed(OUTCOME_WORDS[row.outcome]) in text
        for note in (row.notes or "").split("; "):
            assert squeezed(note) in text


def test_all_twelve_columns_are_headed_and_explained(forecast: LimitForecast) -> None:
    text = "".join(pages_of(forecast_pdf(forecast)))
    for name, says in [*HEADINGS.items(), *OUTCOME_MEANINGS.items()]:
        assert squeezed(says) in text
        assert name in OUTCOME_MEANINGS or squeezed(name) in text


def test_the_most_pressing_machine_comes_first(forecast: LimitForecast) -> None:
    (all_rows,) = [page for page in pages_of(forecast_pdf(forecast)) if "Allclearances" in page]
    places = [all_rows.index(name) for name in ("glandring3", "glandring4", "brg2", "thrustfloat")]
    assert places == sorted(places)


def test_cautions_once_and_what_is_not_in_it_on_every_page(forecast: LimitForecast) -> None:
    pages = pages_of(forecast_pdf(forecast))
    for caution in CAUTIONS:
        assert "".join(pages).count(squeezed(caution)) == 1
    for page in pages:
        assert "cracks,trips,vibration,oilandlawarenotinit" in page


def test_without_any_clearance_it_says_so(forecast: LimitForecast) -> None:
    empty = forecast_of({"clearance": "brg 1"})
    empty = type(empty)(
        empty.table.iloc[:0], empty.decimals.iloc[:0], empty.limiting.iloc[:0], empty.as_of, "1"
    )
    assert "Thestoreholdsnoclearancesyet." in pages_of(forecast_pdf(empty))[0]


def test_without_any_date_there_is_no_chart_but_every_row() -> None:
    lone = forecast_of({**NOTHING, "outcome": "too few readings", "clearance": "brg 7"})
    text = "".join(pages_of(forecast_pdf(lone)))
    assert "Theearliestclearances" not in text
    assert "brg7" in text
    assert "NoclearanceofPT-101isforecasttoreachitslimit" in text


def test_a_large_site_is_written_in_seconds() -> None:
    rows = [
        {"machine": f"PT-{number % 60}", "clearance": f"ring {number // 60}"}
        for number in range(600)
    ]
    start = time.monotonic()
    pages = pages_of(forecast_pdf(forecast_of(*rows), Paper.LETTER))
    assert time.monotonic() - start < 30
    text = "".join(pages)
    assert all(text.count(f"ring{number}") >= 60 for number in range(10))


@pytest.mark.parametrize("paper", list(Paper))
def test_it_lies_on_its_side_on_either_paper(forecast: LimitForecast, paper: Paper) -> None:
    reader = pypdf.PdfReader(io.BytesIO(table_bytes(forecast, ".pdf", paper)))
    for page in reader.pages:
        assert page.mediabox.width > page.mediabox.height
