"""Life and wear by part number and supplier, as a table and in words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, Final

import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.parts.lives import FEWEST_RATES
from trendwear.parts.survival import FEWEST_RENEWED
from trendwear.report.rounding import NONE, hours_text, length_text
from trendwear.report.units import unit_label

__all__ = ["HOW_COUNTED", "lives_table", "lives_words"]

HOW_COUNTED: Final = (
    "Counted are parts that recorded work put in. Renewed means taken out by a renewal, worn out "
    "or not. Parts still in count as running on. What was in before the record began is left out.",
    f"The hours by which half are renewed need {FEWEST_RENEWED} renewals, a rate readings of "
    f"{FEWEST_RATES} places; in brackets, 9 chances in 10.",
)
_UNNAMED: Final = "not named"
_TOO_FEW: Final = "too few to tell"


def lives_table(lives: pd.DataFrame, unit: str | None = None) -> pd.DataFrame:
    """Return `PART_LIVES` as text, in ``unit`` or in each family's own."""
    rows = []
    for row in lives.itertuples():
        shown = unit or row.unit
        rows.append(
            {
                "family": row.family,
                "part": row.part or NONE,
                "part no": row.part_no or _UNNAMED,
                "supplier": row.supplier or _UNNAMED,
                "fitted": row.fitted,
                "renewed": row.renewed,
                "still in": row.still_in,
                "gone elsewhere": row.elsewhere,
                "hours run, together": _together(row),
                "half renewed by": _half(row),
                "wear per 1000 h": _rate(row, shown),
                "places read": row.places,
            }
        )
    table = pd.DataFrame(rows, columns=_COLUMNS)
    gone = "gone elsewhere"
    return table if (lives["elsewhere"] > 0).any() else table.drop(columns=gone)


_COLUMNS: Final = [
    "family", "part", "part no", "supplier", "fitted", "renewed", "still in", "gone elsewhere",
    "hours run, together", "half renewed by", "wear per 1000 h", "places read",
]  # fmt: skip


def _together(row: Any) -> str:
    unknown = f", {row.hours_unknown} unknown" if row.hours_unknown else ""
    return hours_text(row.hours) + unknown


def _half(row: Any) -> str:
    if math.isnan(row.half_renewed_hours):
        return _TOO_FEW if row.renewed < FEWEST_RENEWED else "over half still in"
    high = "no end yet" if math.isinf(row.half_high) else hours_text(row.half_high)
    return f"{hours_text(row.half_renewed_hours)} ({hours_text(row.half_low)} to {high})"


def _rate(row: Any, unit: str) -> str:
    if math.isnan(row.rate_mm_per_1000h):
        return _TOO_FEW
    rate, low, high = _rates_in(row, unit)
    places = _places(high - low)
    told = [length_text(one, places) for one in (rate, low, high)]
    return f"{told[0]} ({told[1]} to {told[2]}) {unit_label(unit)}"


def _rates_in(row: Any, unit: str) -> tuple[float, float, float]:
    per = MM_PER_UNIT[unit]
    return row.rate_mm_per_1000h / per, row.rate_low / per, row.rate_high / per


def _places(width: float) -> int:
    """Decimals that show two significant figures of a band."""
    return max(0, 1 - math.floor(math.log10(width))) if width > 0 else 3


def lives_words(lives: pd.DataFrame, unit: str) -> list[str]:
    """Say of one family's rows what the parts of each supplier did, and whether they differ."""
    if lives.empty:
        return ["No work on record put in a part of this family."]
    return [*_each(lives), *_against_each_other(lives, unit)]


def _each(lives: pd.DataFrame) -> Iterator[str]:
    for row in lives.itertuples():
        whose = _called(row)
        part = "part" if row.fitted == 1 else "parts"
        told = f"{row.fitted} {part} of {whose}: {row.renewed} renewed, {row.still_in} still in"
        half = _half(row)
        if half == _TOO_FEW:
            yield f"{told}. Too few renewals to tell how long they last."
        elif math.isnan(row.half_renewed_hours):
            yield f"{told}. More than half run on: how long they last is not known yet."
        else:
            yield f"{told}. Half were renewed by {half}."


def _against_each_other(lives: pd.DataFrame, unit: str) -> Iterator[str]:
    if len(lives) < 2:
        yield "All are of one number and supplier: there is nothing to compare them with."
        return
    told = lives[lives["rate_mm_per_1000h"].notna()]
    silent = lives[lives["rate_mm_per_1000h"].isna()]
    if len(told) >= 2:
        first = told.sort_values("rate_mm_per_1000h").iloc[0]
        for row in told.itertuples():
            if row.Index != first.name:
                apart = row.rate_low > first["rate_high"]
                yield (
                    f"{_called(row)} wears {_rate(row, unit)} in 1000 h, {_called(first)} "
                    f"{_rate(first, unit)}: "
                    + (
                        "the bands lie apart, so it wears faster here."
                        if apart
                        else "the bands overlap, so no difference can be told."
                    )
                )
    if len(silent):
        names = ", ".join(_called(row) for row in silent.itertuples())
        yield f"Too few places read to compare the wear of {names}."


def _called(row: Any) -> str:
    number = row.part_no or None
    supplier = row.supplier or None
    if number and supplier:
        return f"{number} from {supplier}"
    return number or supplier or "no named number or supplier"
