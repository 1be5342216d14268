"""The inspection sheet as a file: PDF, with or without tags."""

from __future__ import annotations

import math
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Final

from trendwear.errors import UsageProblem
from trendwear.report.inspection.lead import lead_page
from trendwear.report.inspection.rows import ORDER, groups
from trendwear.report.inspection.tags import tags_of
from trendwear.report.pdf.document import document
from trendwear.report.pdf.paper import Paper
from trendwear.report.rounding import hours_text
from trendwear.report.save import save

if TYPE_CHECKING:
    from trendwear.bench.inspection import Inspection

__all__ = ["CAUTION", "Pages", "check_sheet_suffix", "inspection_pdf", "write_sheet"]

_TEMPLATE: Final = Path(__file__).with_name("sheet.typ")

CAUTION: Final = (
    "The maker's manual, the site's rules and qualified or licensed people decide; whichever is "
    "stricter holds. This sheet is no permit to work, to put a part back or to run. Isolate, lock "
    "and prove before opening (29 CFR 1910.147(d)); rated lifting gear; never bar a rotor with the "
    "thrust shoes out."
)
"""What stands in the foot of every page."""


class Pages(Enum):
    """Whether tags for the parts are among the pages."""

    WITH_TAGS = "with tags"
    WITHOUT_TAGS = "without tags"


def write_sheet(
    sheet: Inspection, path: Path, paper: Paper = Paper.A4, pages: Pages = Pages.WITH_TAGS
) -> None:
    """Write the sheet to ``path``, which must end in ``.pdf``.

    Raises
    ------
    UsageProblem
        Another ending.
    OutputProblem
        The file cannot be written there.
    """
    check_sheet_suffix(path.suffix)
    save(path, inspection_pdf(sheet, paper, pages))


def inspection_pdf(
    sheet: Inspection, paper: Paper = Paper.A4, pages: Pages = Pages.WITH_TAGS
) -> bytes:
    """Return the sheet as a PDF: the bench's pages, the tags, and last the lead's page."""
    about = [one for one in (sheet.description, sheet.site) if one]
    hours = [] if math.isnan(sheet.run_hours) else [f"about {hours_text(sheet.run_hours)} by then"]
    data = {
        "title": f"Inspection sheet: {sheet.machine}",
        "machine": sheet.machine,
        "subtitle": ", ".join([*about, f"as of {sheet.as_of:%Y-%m-%d}", *hours]),
        "order": ORDER,
        "foot": CAUTION,
        "groups": groups(sheet),
        "tags": tags_of(sheet) if pages is Pages.WITH_TAGS else [],
        "lead": lead_page(sheet),
    }
    return document(_TEMPLATE, data, as_of=sheet.as_of, paper=paper)


def check_sheet_suffix(suffix: str) -> None:
    """Raise `UsageProblem` where the sheet cannot be written with that ending."""
    if suffix.lower() != ".pdf":
        raise UsageProblem(
            f"file ending {suffix or '(none)'}",
            "the inspection sheet is a document to print",
            "Let the file's name end in .pdf",
        )
