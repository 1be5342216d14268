"""Why a text is no length: the likeliest reason, and what to write instead.

Only explains; what is read and what is not is settled in
`trendwear.readings.notation`.
"""

from __future__ import annotations

import re
from typing import Final

from trendwear.readings.faults import Refusal

__all__ = ["looks_like_date", "why_unreadable"]

_MONTHS: Final = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
_DATE: Final = re.compile(
    rf"[0-9]{{4}}-[0-9]{{1,2}}-[0-9]{{1,2}}([t ].*)?"
    rf"|[0-9]{{1,2}}([./-])[0-9]{{1,2}}\2[0-9]{{2,4}}"
    rf"|[0-9]{{1,4}}[-. ]+(?:{_MONTHS})[a-z]*([-. ]+[0-9]{{2,4}})?"
    rf"|(?:{_MONTHS})[a-z]*[-. ]+[0-9]{{1,4}}"
)
_ONE_NUMBER: Final = "write one number with its unit, such as 6.5 mil or 0.16 mm"
_OWN_ROWS: Final = "write each reading in a row of its own, with its plane or angle"

_KNOWN: Final[tuple[tuple[str, str, str], ...]] = (
    (r"=.*", "this is a formula, not its result", "paste the value in its place"),
    (r"#.*[!?/].*|#+", "the spreadsheet shows an error here", "mend the cell, or leave it blank"),
    (
        r"[\"”″'’]+|do\.?|ditto",
        "a ditto mark does not say which row it repeats",
        "write the value out",
    ),
    (r"[+-]?(inf|infinity|nan)|nil|null|none", "this is no number", "leave the cell blank"),
    (r"-.*[0-9].*", "a clearance is never negative", "write how far apart the parts were"),
    (r"\+-.*|±.*|\+/-.*", "there is a ± without a value before it", "write 60 ± 20 mil"),
    (
        r".*\btenths?\b.*",
        "a tenth may be 0.1 or 0.0001 in",
        "write 0.0002 in, or 0.2 mil or mm",
    ),
    (r".*%", "a percentage is no length", _ONE_NUMBER),
    (
        r".*\bhalf\s*life\b.*|std\.?|standard|worn (through|out)|wiped",
        "the words give no number",
        "write the number meant, or > and the limit where it wore through",
    ),
    (
        r"[0-9.,]+\s*[a-zµμ\"”″]+\.?\s*[=(,/]\s*[0-9.,]+\s*[a-zµμ\"”″]+\.?\s*\)?",
        "one cell holds two lengths",
        "write one of them",
    ),
    (r"[0-9]{1,3}( [0-9]{3})+.*", "this may be one number or several", "write it without blanks"),
    (
        r"[0-9.]+\s*\+",
        "a plus behind a number may mean over it, or a little more",
        "write >6 where it is over 6, else the number measured",
    ),
    (r"\+\s*[0-9.].*", "a plus before a number: is it off something else?", _ONE_NUMBER),
    (
        r"[0-9.]*[0-9]\s*/\s*[0-9.]*[0-9]\s*[a-zµμ\"”″]*",
        "one cell holds several numbers",
        "name each, as in 6.5/7.0 (0/90) or 3.9955 / 4.0020 (journal/bore), or give it its own row",
    ),
    (r"[0-9.]+\s*[/;|,(]\s*[0-9.]+.*", "one cell holds several numbers", _OWN_ROWS),
    (r"[0-9.]+[eE][+-]?[0-9]+.*", "a power of ten is too easily misread", "write the digits out"),
    (r".*[0-9]\.(\s.*|[^0-9].*)?", "a digit seems to be missing after the point", _ONE_NUMBER),
)
_EXPLAINED: Final = tuple((re.compile(pattern), why, do) for pattern, why, do in _KNOWN)


def looks_like_date(text: str) -> bool:
    """Return whether the text is one that spreadsheets make of a date."""
    return _DATE.fullmatch(" ".join(text.casefold().split())) is not None


def why_unreadable(text: str) -> Refusal:
    """Return why ``text`` is no length that can be read one way only.

    >>> why_unreadable("=1+1").reason
    'this is a formula, not its result'
    """
    if looks_like_date(text):
        reason = "this is a date: a spreadsheet makes one of entries such as 1/16 or 3-4"
        return Refusal(reason, "format the column as text and write the reading again")
    plain = " ".join(re.sub(r"[‐‑‒–—−]", "-", text.casefold()).split())
    if len(plain) <= 200:  # longer ones are prose
        if re.fullmatch(r"(?=.*[0-9])[0-9oql.,]*[oql][0-9oql.,]*\s*[a-zµμ\"”″]*\.?", plain):
            reason = "a letter stands where a digit should (O for 0, l for 1)"
            return Refusal(reason, "write it with digits")
        for pattern, reason, instead in _EXPLAINED:
            if pattern.fullmatch(plain):
                return Refusal(reason, instead)
    return Refusal("this is no length that can be read one way only", _ONE_NUMBER)
