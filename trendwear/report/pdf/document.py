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
import re
from collections.abc import Mapping
from functools import cache
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

_BEYOND_OUR_FONT: Final = re.compile(
    "[\u0590-\u0e7f\u0f00-\u109f\u1100-\u1cff\u2c80-\ufaff\ufe10-\uffef\U00010000-\U0010ffff]"
)
"""Scripts that the font of the package does not hold: the computer's own are asked then."""


def document(
    template: Path,
    data: Mapping[str, Any],
    *,
    as_of: dt.date,
    charts: Mapping[str, bytes] = _NO_CHARTS,
    paper: Paper = Paper.A4,
) -> bytes:
    """Return a PDF.

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
    # By name, the main one first: typst takes them so, its stub does not say it.
    files: Any = {
        "main.typ": template.read_bytes(),
        "frame.typ": (_ROOM / "frame.typ").read_bytes(),
        **{f"{name}.svg": picture for name, picture in charts.items()},
    }
    written = told + "".join(picture.decode() for picture in charts.values())
    content: bytes = typst.compile(
        files,
        font_paths=_own_fonts() if _BEYOND_OUR_FONT.search(written) is None else _all_fonts(),
        format="pdf",
        sys_inputs={"data": told, "as_of": as_of.isoformat(), "paper": _TYPST_NAMES[paper]},
        timestamp=dt.datetime(as_of.year, as_of.month, as_of.day, tzinfo=dt.UTC),
    )
    return content


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
