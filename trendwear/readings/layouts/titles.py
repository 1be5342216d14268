"""What seems to be told once for a whole sheet: by title cells, texts, the tab's name."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from trendwear.lengths import unit_named
from trendwear.readings.cell_names import CellPlace, cell_name
from trendwear.readings.layouts.grid import Grid, plain_label
from trendwear.readings.layouts.signs import (
    is_date,
    is_hours,
    is_number,
    label_of,
    machine_in,
    unit_in_title,
)
from trendwear.readings.layouts.wheres import Kind, Where

__all__ = ["Titles", "titles_of"]

_WANTED: Final = ("machine", "date", "run_hours", "unit", "by", "opening", "starts", "method")
_INSIDE: Final = re.compile(r"\s*([^:=]{2,30}?)\s*([:=])\s*(\S.*?)\s*", re.DOTALL)
_DAY: Final = re.compile(
    r"\b(?:[0-9]{4}-[0-9]{1,2}(?:-[0-9]{1,2})?|[0-9]{1,2}[./][0-9]{1,2}[./][0-9]{4})\b"
)
_YEAR: Final = re.compile(r"\b(?:19|20)[0-9]{2}\b")
_RUN: Final = re.compile(r"([~≈]?\s?[0-9]{3,7}(?:\s?±\s?[0-9]+)?)(?=\s*(?:h|hrs?|hours)\b)", re.I)


@dataclass
class _Candidate:
    column: str
    text: str
    place: CellPlace | None
    where: Where | None = None
    pattern: str | None = None

    @property
    def said(self) -> str:
        return (
            f"{cell_name(*self.place)} {self.text!r}"
            if self.place
            else f"the tab's name {self.text!r}"
        )


@dataclass
class Titles:
    """What is told once."""

    given: dict[str, Where] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)
    tab_name: str | None = None
    told: list[str] = field(default_factory=list)
    """What was understood, in words."""
    questions: list[str] = field(default_factory=list)


def titles_of(grid: Grid, tab: str, known: set[str], top: int) -> Titles:
    """Return what the cells outside the table and the tab's name seem to tell.

    Parameters
    ----------
    grid : Grid
        The cells above and beside the table.
    tab : str
    known : set of str
        Our columns that the table tells itself.
    top : int
        The first row of the block: rows count from there.
    """
    titles = Titles()
    found = [one for one in (*_labelled(grid, top), *_inside(grid)) if one.column not in known]
    for column in _WANTED:
        if column in known:
            continue
        mine = [one for one in found if one.column == column]
        if not mine:
            mine = [one for one in _from_tab(tab) if one.column == column]
        _settle(column, mine, titles)
    return titles


def _settle(column: str, found: list[_Candidate], titles: Titles) -> None:
    """Take what is told in one way; ask where two cells tell different things."""
    if not found:
        return
    meant = {unit_named(one.text) or plain_label(one.text) for one in found}
    if len(meant) > 1:
        said = " or ".join(one.said for one in found)
        titles.questions.append(f"Which is the {column}: {said}? None is written down.")
        return
    one = found[0]
    titles.told.append(f"{column}: {one.said}")
    if one.where:
        titles.given[column] = one.where
    elif one.place is None:
        titles.tab_name = _holed(titles.tab_name or one.pattern or "", one)
    else:
        _text_pattern(one, titles)


def _text_pattern(one: _Candidate, titles: Titles) -> None:
    """Add a pattern, or put a hole into the one that the same cell gave already."""
    for number, pattern in enumerate(titles.texts):
        if one.pattern and _holed(pattern, one) != pattern and one.text in pattern:
            titles.texts[number] = _holed(pattern, one)
            return
    titles.texts.append(_holed(one.pattern or "", one))


def _holed(pattern: str, one: _Candidate) -> str:
    return pattern.replace(one.text, f"{{{one.column}}}", 1)


def _labelled(grid: Grid, top: int) -> list[_Candidate]:
    """Return what stands right of labels."""
    found = []
    for place, text in grid.cells.items():
        column = label_of(text)
        if column is None or column not in _WANTED:
            continue
        beside = (place[0], grid.range_of(place).right + 1)
        told = grid.text(beside)
        if not told or label_of(told) or _INSIDE.fullmatch(told):
            continue
        if column == "machine" and unit_named(told):
            column = "unit"
        if not _may_be(column, told):
            continue
        label = text.strip().rstrip(":=").strip()
        lone = len(grid.labelled(label)) == 1 and '"' not in label
        where = (
            Where(Kind.RIGHT, label)
            if lone
            else Where(Kind.CELL, None, beside[0] - top + 1, beside[1])
        )
        found.append(_Candidate(column, told.strip(), beside, where))
    return found


def _inside(grid: Grid) -> list[_Candidate]:
    """Return what texts tell: ``Machine: T-101``, ``Opened 2019-05-04``, ``all in mm``."""
    found = []
    for place, text in grid.cells.items():
        plain = " ".join(text.split())
        split = _INSIDE.fullmatch(plain)
        if split and (column := label_of(split[1])) in _WANTED and _may_be(column or "", split[3]):
            found.append(_Candidate(column or "", split[3], place, pattern=plain))
            continue
        if is_number(plain) and not _DAY.search(plain):
            continue
        unit = unit_in_title(plain)
        if unit:
            before, _, behind = plain.rpartition(unit)
            pattern = f"*{' '.join(before.split()[-2:])} {{unit}}{behind}"
            found.append(_Candidate("unit", unit, place, pattern=pattern))
        for column, sign in (("date", _DAY), ("run_hours", _RUN)):
            if (told := sign.search(plain)) and len(plain) > len(told[0]):
                found.append(_Candidate(column, told[0].strip(), place, pattern=plain))
        tag = machine_in(plain)
        if tag and len(plain) > len(tag) and (_DAY.search(plain) or _RUN.search(plain)):
            found.append(_Candidate("machine", tag, place, pattern=plain))
    return found


def _from_tab(tab: str) -> list[_Candidate]:
    found = []
    tag = machine_in(tab)
    day = _DAY.search(tab) or _YEAR.search(tab.replace(tag or "\0", " "))
    if tag:
        found.append(_Candidate("machine", tag, None, pattern=tab))
    if day:
        found.append(_Candidate("date", day[0], None, pattern=tab))
    return found


def _may_be(column: str, text: str) -> bool:
    if column == "date":
        return is_date(text)
    if column in ("run_hours", "starts"):
        return is_hours(text)
    if column == "unit":
        return unit_named(text) is not None
    return True
