"""The deferral sheet as Markdown, to be pasted into a mail: everything, without the picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from trendwear.report.deferral import fixed
from trendwear.report.deferral.room import more_words
from trendwear.report.deferral.text import Listed, Tabled, sheet_text
from trendwear.report.export import markdown_lines

if TYPE_CHECKING:
    from trendwear.planning.deferral import Deferral

__all__ = ["deferral_markdown"]

_BLANKS = 3


def deferral_markdown(told: Deferral) -> bytes:
    """Return the sheet as Markdown."""
    text = sheet_text(told)
    blank = dict.fromkeys(fixed.MEANWHILE, "")
    signed = pd.DataFrame([[who, "", "", ""] for who in fixed.SIGNED_BY], columns=fixed.SIGNING)
    lines = [
        f"# {text.title}",
        "",
        text.subtitle,
        "",
        *[f"- **{term}**: {says}" for term, says in text.asked],
        *[line for alarm in text.alarms for line in _listed(alarm, "**")],
        *_tabled(text.chances),
        "",
        *[f"**{sentence}**" for sentence in text.in_words],
        *_tabled(text.clearances),
        "",
        fixed.NO_ADVICE,
        *_tabled(text.rests_on),
        *[line for part in (text.reach, text.events, text.record) for line in _listed(part)],
        *_tabled(text.parts),
        "",
        "## What clearances cannot tell",
        "",
        f"Nothing on this sheet speaks of: {', '.join(fixed.CANNOT_TELL)}.",
        "",
        "## Checks to make meanwhile (for the engineer to fill in)",
        "",
        f"Could be asked for: {', '.join(fixed.COULD_BE_ASKED_FOR)} ({fixed.COMMON_PRACTICE}).",
        "",
        *markdown_lines(pd.DataFrame([blank] * _BLANKS)),
        "",
        "## Decision and signatures",
        "",
        *[f"- {line}: ____________" for line in (*fixed.DECISION, "conditions")],
        "",
        *markdown_lines(signed),
        "",
        fixed.FOOT,
        "",
    ]
    return "\n".join(lines).encode("utf-8")


def _listed(listed: Listed, mark: str = "") -> list[str]:
    if not listed.lines:
        return []
    return ["", f"## {listed.heading}", "", *[f"- {mark}{line}{mark}" for line in listed.lines]]


def _tabled(tabled: Tabled) -> list[str]:
    if not tabled.rows:
        return []
    rows = [[_cell(cell) for cell in row] for row in tabled.rows]
    more = more_words((0, tabled.rest), tabled.see, cut=False)
    table = markdown_lines(pd.DataFrame(rows, columns=tabled.columns))
    return ["", f"## {tabled.heading}", "", *table, *(["", more] if more else [])]


def _cell(cell: str | dict[str, Any]) -> str:
    if isinstance(cell, str):
        return cell
    return ", ".join(part for part in (cell["text"], cell.get("more", "")) if part)
