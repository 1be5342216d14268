"""Documents: the page, the text that comes in, and that the same input makes the same file."""

from __future__ import annotations

import datetime as dt
import io
from pathlib import Path
from typing import Any

import altair as alt
import pandas as pd
import pypdf
import pytest

from trendwear.report.pdf.document import FONTS, document
from trendwear.report.pdf.paper import Paper
from trendwear.report.pdf.picture import picture

DAY = dt.date(2026, 11, 1)
MM_PER_POINT = 25.4 / 72


@pytest.fixture
def template(tmp_path: Path) -> Path:
    place = tmp_path / "small.typ"
    place.write_text(
        '#import "frame.typ": *\n'
        "#show: frame.with(title: data.title, subtitle: data.subtitle, foot: data.foot)\n"
        '#for name in data.charts { chart(name, "rising", width: 120mm) }\n'
        '#list-table((("name", 20), ("note", 60)), data.rows, over: data.over)\n'
        "#cautions(data.cautions)\n"
    )
    return place


def told(**changes: object) -> dict[str, object]:
    usual: dict[str, object] = {"title": "Wear", "subtitle": "as of then", "foot": "alone"}
    usual |= {"rows": [["T-101", "worn"]], "over": "T", "cautions": ["Not permission."]}
    return usual | {"charts": []} | changes


def read(content: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(content))


def words(content: bytes) -> str:
    """All text, blanks and breaks taken out: where lines break is the page's business."""
    whole = "".join(page.extract_text() for page in read(content).pages)
    return "".join(whole.replace("\u200b", "").split())


def alternatives(branch: Any) -> list[str]:
    """The words that stand for pictures, of everything below a branch of the structure."""
    branch = branch.get_object()
    if isinstance(branch, list):
        return [word for one in branch for word in alternatives(one)]
    if not isinstance(branch, dict):
        return []
    own = [str(branch["/Alt"])] if "/Alt" in branch else []
    return own + alternatives(branch["/K"]) if "/K" in branch else own


def chart(title: str = "Größe") -> alt.Chart:
    frame = pd.DataFrame({"x": [1, 2], "y": [1.5, 2.5]})
    drawn = alt.Chart(frame).mark_line(clip=True).encode(x="x", y=alt.Y("y", title=title))
    return drawn.properties(width="container", height=80)


@pytest.mark.parametrize(
    "written",
    ["#panic()", "*bold* _it_", "$x$", "<label>", "@ref", "\\ // /* ]", "`raw` ~ --- ...", "= 1+1"],
)
def test_text_is_shown_as_it_stands(template: Path, written: str) -> None:
    data = told(title=written, subtitle=written, foot=written, over=written)
    data |= {"rows": [[written, {"text": written, "more": written}]], "cautions": [written]}
    content = document(template, data, as_of=DAY)
    assert words(content).count("".join(written.split())) == 8
    assert read(content).metadata.title == written


def test_the_same_input_makes_the_same_bytes(template: Path) -> None:
    made = [
        document(
            template, told(charts=["c"]), as_of=DAY, charts={"c": picture(chart(), width_mm=120)}
        )
        for _ in range(2)
    ]
    assert made[0] == made[1]
    assert made[0] != document(template, told(), as_of=DAY)


def test_it_is_dated_by_its_day_and_tagged(template: Path) -> None:
    pages = read(document(template, told(), as_of=DAY))
    assert pages.metadata.creation_date == dt.datetime(2026, 11, 1, tzinfo=dt.UTC)
    assert pages.trailer["/Root"]["/MarkInfo"]["/Marked"]


@pytest.mark.parametrize(
    ("paper", "millimetres"), [(Paper.A4, (210, 297)), (Paper.LETTER, (215.9, 279.4))]
)
def test_papers(template: Path, paper: Paper, millimetres: tuple[float, float]) -> None:
    box = read(document(template, told(), as_of=DAY, paper=paper)).pages[0].mediabox
    size = (float(box.width) * MM_PER_POINT, float(box.height) * MM_PER_POINT)
    assert size == pytest.approx(millimetres, abs=0.1)


def test_pages_are_numbered_and_headings_repeated(template: Path) -> None:
    pages = read(document(template, told(rows=[["T-101", "worn"]] * 120), as_of=DAY)).pages
    assert len(pages) > 2
    for number, page in enumerate(pages, start=1):
        text = " ".join(page.extract_text().split())
        assert f"page {number} of {len(pages)}" in text
        assert "alone" in text
    for page in pages[:-1]:
        assert "name note" in " ".join(page.extract_text().split())


def test_a_long_word_stays_in_its_column(template: Path) -> None:
    rows = [["W" * 90, "right"], ["plant_" * 20, "right"]]
    content = document(template, told(rows=rows), as_of=DAY)
    assert "W" * 90 in words(content)
    lines = read(content).pages[0].extract_text(extraction_mode="layout").splitlines()
    (note,) = {line.index("right") for line in lines if "right" in line}
    assert all(
        len(line[note - 2 :].strip()) < 8 for line in lines if "WW" in line or "plant_" in line
    )


def test_a_text_longer_than_a_page_is_told_to_its_end(template: Path) -> None:
    long = " ".join(f"word{number}" for number in range(3000))
    pages = read(document(template, told(rows=[["T-101", long]]), as_of=DAY)).pages
    foots = [page.extract_text().count("alone") for page in pages]
    assert len(pages) > 3
    assert foots == [1] * len(pages)
    last = pages[-1].extract_text() + pages[-2].extract_text()
    assert "word2999" in last


def test_a_wide_number_is_broken_where_it_does_not_fit(template: Path) -> None:
    page = read(document(template, told(rows=[["0" * 33, "x"]]), as_of=DAY)).pages[0]
    assert "0" * 33 not in page.extract_text()


def test_letters_of_many_countries_stand_in_the_shipped_font(template: Path) -> None:
    written = "Größe Ł Ø Çelik Привет Ωmega ☐ ≤ µm ½"
    content = document(template, told(rows=[[written, written]]), as_of=DAY)
    assert words(content).count("".join(written.split())) == 2
    names = {
        str(font.get_object()["/BaseFont"]).partition("+")[2]
        for page in read(content).pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert names <= {"DejaVuSansCondensed", "DejaVuSansCondensed-Bold"}


def test_letters_that_no_font_holds_do_not_stop_the_document_and_are_told_of(
    template: Path,
) -> None:
    private = "\ue000"  # for private use: no font has a shape for it
    content = document(template, told(rows=[[private, "ring"]]), as_of=DAY)
    assert "Lettersthatstandasboxes" in words(content)
    assert "Lettersthatstandasboxes" not in words(document(template, told(), as_of=DAY))


def test_it_claims_the_standards_for_keeping_and_for_reading_aloud(template: Path) -> None:
    drawn = picture(chart(), width_mm=120)
    content = document(template, told(charts=["c"]), as_of=DAY, charts={"c": drawn})
    claims = read(content).trailer["/Root"]["/Metadata"].get_object().get_data().decode()
    assert "<pdfaid:part>2</pdfaid:part>" in claims
    assert "<pdfuaid:part>1</pdfuaid:part>" in claims


def test_a_chart_is_drawn_with_our_letters_and_lies_on_the_page(template: Path) -> None:
    drawn = picture(chart("Größe #1"), width_mm=120)
    assert b"font-stretch" in drawn
    content = document(template, told(charts=["c"]), as_of=DAY, charts={"c": drawn})
    assert "Größe#1" in words(content)
    assert "rising" in alternatives(read(content).trailer["/Root"]["/StructTreeRoot"])


def test_the_licence_lies_beside_the_fonts() -> None:
    assert "Bitstream" in (FONTS / "LICENSE-DejaVu").read_text()
    assert len(list(FONTS.glob("*.ttf"))) == 2
