"""The overhaul plan as a document for a planning meeting."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Sequence

import numpy as np
import pandas as pd
import pypdf
import pytest
from invented_plans import AS_OF, FOUND, NO_DATE, ORDER, PAST, RENEWAL, WINDOW, site_plan

from trendwear import tables
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.over_time import CURVE, MARKS, OverTime
from trendwear.planning.plan import SitePlan
from trendwear.planning_tables import WINDOWS
from trendwear.report.cautions import CAUTIONS
from trendwear.report.overhaul.overview import machines_in_order
from trendwear.report.overhaul.pdf import plan_pdf
from trendwear.report.overhaul.printed import Printed
from trendwear.report.overhaul.table import BESIDE_EVERY_DATE, TO_CHOOSE
from trendwear.report.pdf.paper import Paper

LONG = "Cane knife turbine, second set, gearbox side " + "X" * 80


def squeezed(text: str) -> str:
    return "".join(text.replace("\u200b", "").split())


def pages_of(content: bytes) -> list[str]:
    """The text of every page, blanks taken out: where lines break is the page's business."""
    return [squeezed(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(content)).pages]


def whole(machine: str = "T-1", clearances: int = 2) -> SitePlan:
    """One machine of which everything is known."""
    named = {"machine": machine}
    row = {**FOUND, **named, "outage": "Off-season 2027", "chance_at_outage": 0.062}
    row |= {"renew": "ring 0", "order_by": pd.Timestamp("2027-02-01")}
    row |= {"due_date": pd.Timestamp("2028-03-31"), "due_what": "pressure test"}
    rings = [
        {**RENEWAL, **named, "clearance": f"ring {number}", "renew": number == 0}
        for number in range(clearances)
    ]
    return site_plan([row], [{**WINDOW, **named}], rings, [{**ORDER, **named}])


def curve_of(machine: str) -> OverTime:
    """A chance that rises evenly over two years."""
    dates = pd.date_range(AS_OF, periods=25, freq="30D")
    chances = np.linspace(0.01, 0.6, 25)
    curve = pd.DataFrame({"date": dates, "hours": np.arange(25) * 500.0, "chance": chances})
    mark = {"heading": "any limit", "risk": 0.1, "sets": True, "hours": 2000.0, "date": dates[4]}
    return OverTime(
        machine,
        pd.Timestamp(AS_OF),
        dates[-1],
        12000.0,
        tables.conform(curve.assign(heading="any limit"), CURVE),
        tables.conform(pd.DataFrame([mark]), MARKS),
        tables.conform(pd.DataFrame([{**WINDOW, "machine": machine}]), WINDOWS),
        pd.DataFrame({"what": ["test"], "due": [dates[9]], "overdue": [False]}),
    )


def test_it_tells_what_the_meeting_needs() -> None:
    text = "".join(pages_of(plan_pdf([whole()])))
    for words in (
        "Accepted risk 10 %, for all limits of a machine together",
        "2027-09-09",
        "ring 2 61 %; ring 3 30 %",
        "2028-03-31",
        "pressure test",
        "Off-season 2027",
        "chance by then 6 %",
        "Parts to order, those not on the shelf",
        "supplier A segmental ring A-41",
        "Renew or leave at Off-season 2027; next chance to open: Off-season 2028",
    ):
        assert squeezed(words) in text


def test_what_is_not_in_the_dates_stands_on_every_page_and_cautions_once() -> None:
    pages = pages_of(plan_pdf([whole(clearances=120)]))
    assert len(pages) > 3
    for page in pages:
        assert squeezed(BESIDE_EVERY_DATE) in page
    for caution in CAUTIONS:
        assert "".join(pages).count(squeezed(caution)) == 1


def test_what_must_be_opened_first_comes_first() -> None:
    due = {**NO_DATE, "machine": "D", "due_date": pd.Timestamp("2027-01-01"), "due_what": "law"}
    plan = site_plan(
        [{**NO_DATE, "machine": "N"}, {**FOUND, "machine": "F"}, due, {**PAST, "machine": "P"}]
    )
    assert machines_in_order([plan]) == ["P", "D", "F", "N"]
    text = "".join(pages_of(plan_pdf([plan])))
    assert "pastitslimittoday:ring1" in text
    assert "noclearancelimitsit" in text.casefold()


def test_where_no_risk_is_chosen_every_risk_is_shown_with_the_words_to_choose() -> None:
    plans = [
        site_plan(
            [{**FOUND, "risk": risk, "renew": "ring 2"}],
            [WINDOW],
            [RENEWAL],
            [ORDER],
            accepted_for_all(risk),
        )
        for risk in (0.05, 0.1, 0.2)
    ]
    text = "".join(pages_of(plan_pdf(plans)))
    assert squeezed(TO_CHOOSE) in text
    for risk in ("5%,", "10%,", "20%,"):
        assert risk in text
    assert "Partstoorder" not in text
    assert "acceptedriskholds" not in text


def test_a_late_order_stands_out_in_words() -> None:
    late = {**FOUND, "order_by": pd.Timestamp("2026-09-03")}
    plan = site_plan([late], (), (), [{**ORDER, "order_by": late["order_by"], "late": True}])
    assert "".join(pages_of(plan_pdf([plan]))).count("2026-09-03LATE") == 2


@pytest.mark.parametrize(
    "plan",
    [
        whole(LONG),
        whole("Vorwärmer Größe 3; Öl"),
        whole("給水ポンプ"),
        whole("#T-1 *x* $y$ <z>"),
        whole(clearances=20),
        site_plan([FOUND]),
        site_plan([NO_DATE]),
        site_plan([]),
    ],
    ids=["long", "umlauts", "script", "markup", "many", "bare", "no date", "empty"],
)
@pytest.mark.parametrize("paper", list(Paper))
def test_whatever_the_plan_it_is_a_document(plan: SitePlan, paper: Paper) -> None:
    machines: Sequence[str] = list(plan.overhaul["machine"])
    curves = [curve_of(machine) for machine in machines]
    content = plan_pdf([plan], printed=Printed(paper, curves))
    text = "".join(pages_of(content))
    for machine in machines:
        assert squeezed(machine) in text or not machine.isascii()
    if not machines:
        assert squeezed("No machine has a clearance with a limit") in text


def test_a_chart_stands_on_its_machines_page() -> None:
    bare, drawn = (
        plan_pdf([whole()], printed=Printed(over_time=curves)) for curves in ((), [curve_of("T-1")])
    )
    assert squeezed("Curve: the chance that some limit is passed") not in "".join(pages_of(bare))
    assert squeezed("Curve: the chance that some limit is passed") in "".join(pages_of(drawn))
    assert drawn == plan_pdf([whole()], printed=Printed(over_time=[curve_of("T-1")]))


def test_it_is_dated_by_its_day() -> None:
    told = pypdf.PdfReader(io.BytesIO(plan_pdf([whole()]))).metadata
    assert told.creation_date == dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
    assert told.title == "Overhaul plan"
