"""The deferral sheet: two pages whatever stands on them, and words that decide nothing."""

from __future__ import annotations

import datetime as dt
import io
import re
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from invented_deferrals import AS_OF, LONG, PLANT, clearance, crowded, steady, store_of
from pypdf import PdfReader

from trendwear import outlook
from trendwear.errors import UsageProblem
from trendwear.planning.deferral import BandRecord, Deferral, PlanRecord
from trendwear.report.deferral import fixed
from trendwear.report.deferral.export import deferral_bytes
from trendwear.report.deferral.room import ROOMS, first_page, more_words, second_page, shortened
from trendwear.report.deferral.rows import chance_rows, rests_on_rows
from trendwear.report.deferral.said import reach_words, record_words
from trendwear.report.deferral.text import sheet_text
from trendwear.report.pdf.paper import Paper

TO = dt.date(2022, 6, 1)
NEVER = ("approv", "permitted to run", "safe to", "recommend", "may be run", "fit to run")
SOURCES = Path(__file__).parents[2] / "trendwear"


def pages_of(told: Deferral, paper: Paper = Paper.A4) -> list[str]:
    content = PdfReader(io.BytesIO(deferral_bytes(told, ".pdf", paper)))
    return [re.sub(r"\s+", " ", page.extract_text()) for page in content.pages]


def asked_of(folder: Path, **sheets: object) -> Deferral:
    return outlook.defer(store_of({**PLANT, **sheets}, folder), "M", to=TO, as_of=AS_OF)  # type: ignore[dict-item]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> Deferral:
    return asked_of(tmp_path_factory.mktemp("plain"))


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Deferral:
    """Sixteen limiting clearances with everything there may be beside them."""
    folder = tmp_path_factory.mktemp("full")
    return outlook.defer(store_of(crowded(16), folder), "M", to=TO, as_of=AS_OF)


@pytest.fixture(scope="module")
def beside(tmp_path_factory: pytest.TempPathFactory) -> Deferral:
    """One past its limit, a due date, an event, one without a forecast."""
    sheets = {
        "clearances": [*PLANT["clearances"], clearance("gone", limit=0.3), clearance("unread")],
        "readings": [*PLANT["readings"], *steady("gone", 0.2, 0.04)],
        "events": [{"machine": "M", "date": "2019-06-01", "what": "oil loss", "note": LONG}],
        "due_dates": [
            {"machine": "M", "what": "casing inspection", "due": "2021-01-01"}
            | {"authority": "insurer", "tolerance_days": 30}
        ],
    }
    return asked_of(tmp_path_factory.mktemp("beside"), **sheets)


@pytest.mark.parametrize("paper", list(Paper))
@pytest.mark.parametrize("which", ["plain", "full", "beside"])
def test_two_pages_and_a_place_for_every_signature(
    which: str, paper: Paper, request: pytest.FixtureRequest
) -> None:
    pages = pages_of(request.getfixturevalue(which), paper)
    assert len(pages) == 2
    for page in pages:
        assert "A forecast is not permission to run" in page
    for who in fixed.SIGNED_BY:
        assert who in pages[1]
    for words in (*fixed.CANNOT_TELL, *fixed.MEANWHILE, "conditions", "no longer valid after"):
        assert words in pages[1]


def test_what_does_not_fit_is_counted(full: Deferral) -> None:
    first, second = pages_of(full)
    assert re.search(r"and \d+ more, see: trendwear forecast --machine 'M'", first)
    assert re.search(r"and \d+ more, see: trendwear history 'M'", second)
    shown = len(re.findall(r"slot number \d+", first.split("Which clearances set it")[1]))
    told_left = sum(int(count) for count in re.findall(r"and (\d+) more[, ]", first))
    assert shown > 0
    assert told_left > 0
    text = sheet_text(full)
    assert len(text.clearances.rows) + text.clearances.rest == 16


def test_no_due_date_is_cut_away(full: Deferral) -> None:
    """What is told of the first due dates holds their days in the narrowest room, too."""
    due = first_page(sheet_text(full), ROOMS[-1])["alarms"][0]
    assert [line[:10] for line in due["lines"]] == ["2020-01-01", "2020-02-01", "2020-03-01"]
    assert due["more"] == "and 5 more, see: the due_dates sheet"


def test_every_room_counts_all_rows(full: Deferral) -> None:
    text = sheet_text(full)
    for room in ROOMS:
        for page in (first_page(text, room), second_page(text, room)):
            for part, whole in (("clearances", text.clearances), ("rests_on", text.rests_on)):
                if part not in page:
                    continue
                left = [int(count) for count in re.findall(r"and (\d+) more", page[part]["more"])]
                assert len(page[part]["rows"]) + sum(left) == len(whole.rows) + whole.rest == 16


def test_a_long_name_does_not_burst_a_page(plain: Deferral) -> None:
    name = "turbine-" + "long" * 30
    asked = replace(plain.question, machine=name)
    pages = pages_of(replace(plain, question=asked))
    assert len(pages) == 2


def test_what_is_past_and_due_stands_before_any_chance(beside: Deferral) -> None:
    first, second = pages_of(beside)
    chances = first.index("Chance that a limit is passed")
    for words in ("PAST ITS LIMIT TODAY", "read past its limit since 2018-01-01", "DUE BEFORE"):
        assert first.index(words) < chances
    assert "2021-01-01 casing inspection (insurer)" in first
    assert "30 days of grace are the authority's to give" in first
    assert "nobody has signed for" in first
    assert "NOT IN THE CURVES: gone, unread" in first
    assert "not counted in any chance: unread" in first
    assert "oil loss" in second


@pytest.mark.parametrize("which", ["plain", "full", "beside"])
def test_it_never_says_yes(which: str, request: pytest.FixtureRequest) -> None:
    told = request.getfixturevalue(which)
    for words in (deferral_bytes(told, ".md").decode(), " ".join(pages_of(told))):
        for never in NEVER:
            assert never not in words.casefold()


def test_no_module_of_it_could() -> None:
    files = [*(SOURCES / "report" / "deferral").iterdir(), *SOURCES.glob("planning/deferral*.py")]
    files = [path for path in files if path.suffix in (".py", ".typ")]
    assert len(files) > 10
    for path in [*files, SOURCES / "verbs/defer.py"]:
        assert "approv" not in path.read_text(encoding="utf-8").casefold(), path


def test_it_names_who_accepted_what(plain: Deferral) -> None:
    cells = [row[1] for row in chance_rows(plain)]
    assert cells[0] == {"text": "10 %", "more": "works manager, 2019-05-02"}
    assert cells[1] == {"text": "20 %", "more": "mill engineer, 2019-05-01"}
    text = sheet_text(plain)
    leak = plain.chances.set_index("heading").loc["leak"]
    assert leak["to"] > leak["accepted"] > leak["planned"]
    assert "above it" in text.in_words[0]
    assert "on 2020-05-01 to" in text.in_words[0]


def test_one_risk_for_this_sheet_is_signed_by_nobody(plain: Deferral) -> None:
    accepted = plain.chances.assign(accepted=0.1)
    plan = replace(plain.question.plan, accepted=replace(plain.question.accepted, for_all=0.1))
    told = replace(plain, chances=accepted, question=replace(plain.question, plan=plan))
    assert "signed by nobody" in str(chance_rows(told)[0][1])


def test_weak_points_are_told(plain: Deferral) -> None:
    rests = plain.rests_on.assign(
        assumed=[True, False], in_run=[0, 1], u_from="written resolution", at_least=[False, True]
    )
    first, second = rests_on_rows(replace(plain, rests_on=rests))
    assert str(first[-1]).startswith("START ASSUMED")
    assert "one reading only since the last work" in str(second[-1])
    assert "only at least" in str(second[-1])
    assert "ASSUMED from how finely it was written" in str(first[3])


@pytest.mark.parametrize(
    ("reach", "says"),
    [(0.4, "within what has been measured"), (1.2, "a little beyond"), (2.0, "EXTRAPOLATED")],
)
def test_reach_in_words(plain: Deferral, reach: float, says: str) -> None:
    told = replace(plain, clearances=plain.clearances.assign(reach_to=reach))
    assert says in reach_words(told)[0]


def test_the_farthest_is_told_beside_the_first(plain: Deferral) -> None:
    told = replace(plain, clearances=plain.clearances.assign(reach_to=[0.5, 3.0]))
    assert "Farthest, slow: EXTRAPOLATED" in reach_words(told)[1]


def test_the_record_in_words(plain: Deferral) -> None:
    record = replace(
        plain.record,
        risk=0.1,
        of_machine=PlanRecord(14, 2, 10, 2, 0, 1.4),
        of_all=PlanRecord(0, 0, 0, 0, 0, 0.0),
        bands_of_families=BandRecord(40, 30, 33, 39),
        bands_of_all=BandRecord(100, 90, 85, 95),
    )
    words = " ".join(record_words(replace(plain, record=record)))
    assert "M: of 14 plans 2 late, 10 in time, 2 not put to the test; 1.4 late to be exp" in words
    assert "All machines: no past plan can be judged" in words
    assert "30 of 40 (33 to 39 expected), TOO FEW" in words
    assert "90 of 100 (85 to 95 expected), as promised" in words
    assert "the nearest to 20 % that is kept" in words


def test_markdown_holds_everything(full: Deferral) -> None:
    words = deferral_bytes(full, ".md").decode()
    for number in range(8):
        assert f"inspection {number} of the casing" in words
    assert words.count(LONG.strip()) == 8
    assert "A forecast is not permission to run" in words


def test_without_a_duty_nothing_is_told_of_a_date(tmp_path: Path) -> None:
    undated = [{**row, "date": ""} for row in PLANT["readings"]]
    told = asked_of(tmp_path, readings=undated, run_log=[], duty_plan=[])
    pages = pages_of(told)
    assert len(pages) == 2
    assert "The duty is unknown, so nothing can be told of a date" in pages[0]
    assert "not known" in pages[0]
    assert "the plan gives no date" in pages[0]


@pytest.mark.parametrize(
    ("limit", "says"), [("", "its clearances say nothing"), (0.5, "has a forecast")]
)
def test_without_a_limit_or_a_forecast_there_is_still_a_sheet(
    tmp_path: Path, limit: object, says: str
) -> None:
    pages = pages_of(asked_of(tmp_path, clearances=[clearance("new", limit=limit)], readings=[]))
    assert len(pages) == 2
    assert says in pages[0]
    assert "signature" in pages[1]


def test_the_end_of_the_duty_plan_stands_out(plain: Deferral) -> None:
    duty = replace(plain.duty, plan_ends=pd.Timestamp("2021-06-30"))
    asked = dict(sheet_text(replace(plain, duty=duty)).asked)
    assert "THE PLAN ENDS 2021-06-30" in asked["hours taken"]
    assert "PLAN ENDS" not in dict(sheet_text(plain).asked)["hours taken"]


def test_texts_are_cut_at_words() -> None:
    assert shortened("one two three", 8) == "one two …"
    assert shortened("x" * 40, 10) == "x" * 10 + " …"
    assert shortened("fits", 4) == "fits"


def test_more_words() -> None:
    assert more_words((2, 3), "there", cut=False) == (
        "and 2 more, and 3 more with under 0.5 % of the chance, see: there"
    )
    assert more_words((0, 0), "there", cut=True) == "texts that end in … stand whole in: there"
    assert more_words((0, 0), "there", cut=False) == ""


def test_other_endings_are_refused(plain: Deferral) -> None:
    with pytest.raises(UsageProblem, match=r"\.pdf or \.md"):
        deferral_bytes(plain, ".docx")
