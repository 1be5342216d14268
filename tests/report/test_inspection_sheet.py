"""The sheet for the bench on paper: what stands on which page, in which units, at which size."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import pytest
from invented_benches import LONG, MACHINE, many, position, sheet_of
from pypdf import PdfReader

from trendwear.bench.inspection import Inspection
from trendwear.bench.position import Position
from trendwear.report.inspection.export import CAUTION, Pages, inspection_pdf
from trendwear.report.inspection.lead import lead_page
from trendwear.report.inspection.lengths import both_units, limit_text, own_range, own_unit
from trendwear.report.inspection.tags import tags_of
from trendwear.report.pdf.paper import Paper

MM_PER_POINT = 25.4 / 72
FOOT = "This sheet is no permit to work"


def pages_of(content: bytes) -> list[str]:
    """Text of each page, blanks and breaks taken out: where lines break is the page's business."""
    pages = PdfReader(io.BytesIO(content)).pages
    return ["".join(page.extract_text().replace("\u200b", "").split()) for page in pages]


def squeezed(text: str) -> str:
    return "".join(text.split())


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Inspection:
    return sheet_of(MACHINE, tmp_path_factory.mktemp("sheet"))


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Inspection:
    return sheet_of(many(60), tmp_path_factory.mktemp("large"))


def test_every_row_of_the_register_stands_on_the_bench_pages(sheet: Inspection) -> None:
    bench = "".join(pages_of(inspection_pdf(sheet, pages=Pages.WITHOUT_TAGS))[:-1])
    for one in sheet.positions:
        assert squeezed(one.name) in bench
        for bound in one.bounds:
            assert squeezed(limit_text(bound.limit_mm, bound.moves, one)) in bench
    assert bench.count("shoprule") == len(MACHINE["clearances"])
    for words in ("smallestallowed", "largestallowed", "0.100to0.200mm(3.94to7.87mil)"):
        assert words in bench
    for words in ("neckring,stationary,B-7(supplierB)", "notinthepartssheet", "hourmeter"):
        assert words in bench
    for words in ("instrument", "reuse", "renew", "garterspring", "bore", "journal", "temperature"):
        assert words.replace("temperature", "partsat,°Cor°F") in bench
    assert "Positionsstandintheorder" in bench


def test_what_is_expected_stands_on_the_last_page_alone(sheet: Inspection) -> None:
    *bench, last = pages_of(inspection_pdf(sheet))
    assert "Forthelead:expectedreadings" in last
    for one in sheet.positions:
        told = sheet.expected[one.name]
        if not told.told:
            continue
        for mm in (told.middle_mm, told.odd_above_mm):
            words = squeezed(own_unit(mm, one))
            assert words in last
            assert not any(words in page for page in bench)
        band = squeezed(own_range(told.low_mm, told.high_mm, one))
        assert band in last
        assert not any(band in page for page in bench)
    assert not any("expected" in page or "lookagain" in page for page in bench)


def test_hints_are_for_the_lead(sheet: Inspection) -> None:
    told = replace(sheet.expected["cap bearing"], open_points=("look again, 2016: ten times",))
    pages = pages_of(
        inspection_pdf(replace(sheet, expected={**sheet.expected, "cap bearing": told}))
    )
    assert "tentimes" in pages[-1]
    assert not any("tentimes" in page for page in pages[:-1])


def test_without_the_record(sheet: Inspection) -> None:
    pages = pages_of(inspection_pdf(sheet.without_record(), pages=Pages.WITHOUT_TAGS))
    assert not any("expected" in page for page in pages)
    assert "0.356mm" not in "".join(pages)
    assert "lastleft" in "".join(pages)


@pytest.mark.parametrize(
    ("paper", "millimetres"), [(Paper.A4, (297, 210)), (Paper.LETTER, (279.4, 215.9))]
)
@pytest.mark.parametrize("which", ["sheet", "large"])
def test_papers(
    which: str, paper: Paper, millimetres: tuple[float, float], request: pytest.FixtureRequest
) -> None:
    told: Inspection = request.getfixturevalue(which)
    content = inspection_pdf(told, paper)
    pages = PdfReader(io.BytesIO(content)).pages
    for page in pages:
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert tuple(side * MM_PER_POINT for side in size) == pytest.approx(millimetres, abs=0.1)
    texts = pages_of(content)
    for number, text in enumerate(texts, start=1):
        assert text.count(squeezed(FOOT)) == 1
        assert f"page{number}of{len(texts)}" in text
    bench = "".join(texts)
    for one in told.positions:
        assert squeezed(one.name) in bench


def test_sixty_positions_in_reasonable_paper(large: Inspection) -> None:
    pages = pages_of(inspection_pdf(large, pages=Pages.WITHOUT_TAGS))
    assert len(large.positions) == 60
    assert len(pages) <= 24


def test_a_name_and_a_source_without_any_blank(tmp_path: Path) -> None:
    rows = [position("W" * 90, limit_source="x" * 200, part="y_" * 60, slot="s" * 70)]
    told = sheet_of({**MACHINE, "clearances": rows, "readings": []}, tmp_path)
    assert "W" * 90 in "".join(pages_of(inspection_pdf(told)))


def test_the_same_sheet_makes_the_same_bytes(sheet: Inspection) -> None:
    assert inspection_pdf(sheet) == inspection_pdf(sheet)


def test_a_hand_can_write_in_the_boxes() -> None:
    source = Path(__file__).parents[2] / "trendwear/report/inspection/sheet.typ"
    (height,) = re.findall(r"#let writing = ([\d.]+)mm", source.read_text(encoding="utf-8"))
    assert float(height) >= 9


def gauge(unit: str, decimals: int, sheet: Inspection) -> Position:
    return replace(sheet.positions[0], unit=unit, decimals=decimals)


@pytest.mark.parametrize(
    ("of_gauge", "mm", "moves", "says"),
    [
        (("mil", 1), 0.3048, "opens", "12.0 mil (0.304 mm)"),  # 0.3048 exactly: not past it
        (("mil", 1), 0.3048, "closes", "12.0 mil (0.305 mm)"),
        (("mm", 3), 0.210, "opens", "0.210 mm (8.26 mil)"),  # 8.2677
        (("mm", 2), 3.0, "closes", "3.00 mm (118.2 mil)"),  # 118.110
        (("in", 4), 0.1651, "opens", "0.0065 in (0.165 mm)"),
        (("um", 0), 0.127, "opens", "127 µm (5.00 mil)"),
        (("mil", 0), 0.1651, "opens", "6.5 mil (0.16 mm)"),  # a limit stands in full
    ],
)
def test_limits_in_both_units(
    of_gauge: tuple[str, int], mm: float, moves: str, says: str, sheet: Inspection
) -> None:
    assert limit_text(mm, moves, gauge(*of_gauge, sheet)) == says


def test_both_units_agree_to_what_the_gauge_carries(sheet: Inspection) -> None:
    for unit, decimals in (("mm", 2), ("mm", 3), ("mil", 0), ("mil", 1)):
        for step in range(1, 400, 7):
            mm = step * (0.0254 if unit == "mil" else 0.01)
            told = both_units(mm, gauge(unit, decimals, sheet))
            own, other = (float(one) for one in re.findall(r"[\d.]+(?= m)", told))
            in_mm = (own, other * 0.0254) if unit == "mm" else (own * 0.0254, other)
            coarse = 10.0**-decimals * (1.0 if unit == "mm" else 0.0254)
            assert in_mm[0] == pytest.approx(in_mm[1], abs=coarse)


def test_the_smallest_reading_is_never_below_nothing(sheet: Inspection) -> None:
    told = replace(sheet.expected["cap bearing"], odd_below_mm=-0.02)
    rows = lead_page(replace(sheet, expected={"cap bearing": told}))["rows"]
    assert rows[0][4] == "—"


def test_tags_for_each_part_and_each_segment(sheet: Inspection) -> None:
    tags = tags_of(sheet)
    ring = [tag for tag in tags if tag["position"] == "gland ring"]
    assert [tag["segment"] for tag in ring] == ["1", "2", "3"]
    assert {tag["where"] for tag in ring} == {"steam end gland, slot 1"}
    assert len([tag for tag in tags if tag["position"] == "cap bearing"]) == 1
    assert [tag["position"] for tag in tags[-3:]] == ["", "", ""]
    text = "".join(pages_of(inspection_pdf(sheet)))
    for words in ("matchmark", "inboard", "outboard", "segmentorhalf", "steamendgland,slot1"):
        assert words in text
    assert "matchmark" not in "".join(pages_of(inspection_pdf(sheet, pages=Pages.WITHOUT_TAGS)))


def test_a_part_of_which_there_are_several_has_as_many_tags(tmp_path: Path) -> None:
    rows = [position("shoes", quantity=6), position("nothing fitted", part=None, part_no=None)]
    tags = tags_of(sheet_of({**MACHINE, "clearances": rows, "readings": []}, tmp_path))
    assert [tag["piece"] for tag in tags if tag["position"] == "shoes"][-1] == "6 of 6"
    assert not [tag for tag in tags if tag["position"] == "nothing fitted"]


def test_the_caution_defers_to_those_who_decide() -> None:
    assert "maker's manual" in CAUTION
    assert "whichever is stricter" in CAUTION
    assert LONG not in CAUTION
