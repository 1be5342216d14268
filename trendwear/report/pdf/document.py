"""A PDF from a template and data.

::

    from trendwear.report.pdf.document import document

    data = {"title": "…", "rows": [["T-101", "0.31 mm"]], "foot": "…"}
    charts = {"fleet": picture(fleet_chart(table), width_mm=270)}
    content = document(Path(__file__).with_name("mine.typ"), data, as_of=day, charts=charts)

The template is a typst file beside the module that uses it. It begins with
``#import "frame.typ": *`` and finds the data in ``data``, the charts by their names
(``chart("fleet", "what it shows")``), and page, tables and cautions in ``frame.typ``.

Text in the data is shown as it stands and never read as markup.  The same template,
data, charts, day and paper make the same bytes.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache, partial
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

import typst

from trendwear.report.pdf.paper import Paper

__all__ = ["FONTS", "document"]

_ROOM: Final = Path(__file__).parent

FONTS: Final = _ROOM / "fonts"
"""The fonts that documents and their charts are set in."""

_TYPST_NAMES: Final = {Paper.A4: "a4", Paper.LETTER: "us-letter"}

_NO_CHARTS: Final[Mapping[str, bytes]] = MappingProxyType({})

_STANDARDS: Final = ["a-2a", "ua-1"]
"""To be kept for decades and read aloud: PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1)."""

_NO_SHAPE: Final = "could not be displayed with font"
"""What typst says of a letter that no font holds; both standards forbid it."""


def document(
    template: Path,
    data: Mapping[str, Any],
    *,
    as_of: dt.date,
    charts: Mapping[str, bytes] = _NO_CHARTS,
    paper: Paper = Paper.A4,
) -> bytes:
    """Return a PDF, by PDF/A-2a and PDF/UA-1 where every letter has a shape.

    Letters that the fonts of the package do not hold are looked for among the computer's;
    those found nowhere stand as boxes, and the document says so.

    Parameters
    ----------
    template : Path
        A ``.typ`` file.
    data : mapping
        What JSON can hold: texts, numbers, lists, mappings; no NaN, no dates.
    as_of : date
        The day the document speaks of; it is dated so.
    charts : mapping, optional
        Pictures as `trendwear.report.pdf.picture.picture` makes them, by name.
    paper : Paper, optional
    """
    told = json.dumps(data, ensure_ascii=False, allow_nan=False)
    files = {
        "main.typ": template.read_bytes(),
        "frame.typ": (_ROOM / "frame.typ").read_bytes(),
        **{f"{name}.svg": picture for name, picture in charts.items()},
    }
    # Of any type: that files may be given by name, the main one first, its stub does not say.
    make: Any = partial(
        typst.compile,
        files,
        format="pdf",
        timestamp=dt.datetime(as_of.year, as_of.month, as_of.day, tzinfo=dt.UTC),
    )
    inputs = {"data": told, "as_of": as_of.isoformat(), "paper": _TYPST_NAMES[paper]}
    for fonts in (_own_fonts, _all_fonts):
        with _letters_without_shape():
            content: bytes = make(font_paths=fonts(), sys_inputs=inputs, pdf_standards=_STANDARDS)
            return content
    with_boxes: bytes = make(font_paths=_all_fonts(), sys_inputs={**inputs, "boxes": "yes"})
    return with_boxes


@contextmanager
def _letters_without_shape() -> Iterator[None]:
    """Go on where the fonts lack a letter."""
    try:
        yield
    except typst.TypstError as problem:
        if _NO_SHAPE not in str(problem):
            raise


@cache
def _own_fonts() -> typst.Fonts:
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONTS)]
    )


@cache
def _all_fonts() -> typst.Fonts:
    return typst.Fonts(
        include_system_fonts=True, include_embedded_fonts=False, font_paths=[str(FONTS)]
    )
