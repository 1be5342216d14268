"""A fingerprint of everything that a family's fit follows from."""

from __future__ import annotations

import hashlib
from typing import Final

import numpy as np
from numpy.typing import NDArray

from trendwear.fit.family_data import FamilyData

__all__ = ["fingerprints"]

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]

_NUMBERS: Final = "<f8"  # the same bytes on every computer


def fingerprints(data: FamilyData, given: tuple[Floats, Floats]) -> list[str]:
    """Return the SHA-256 of each family's data as they enter the model, in hexadecimal.

    Names and the places of other families do not enter; the order of a family's own
    clearances does.  Families of one fingerprint are fitted alike, to the last bit.

    Parameters
    ----------
    data : FamilyData
    given : pair of ndarray, shape (F,)
        Hours per start and power that a user gives; NaN where the readings are to say.
    """
    histories, use = data.histories, data.use
    of_segment = histories.family[histories.clearance]
    of_row = of_segment[histories.segment]
    member, segment = _number(histories.family), _number(of_segment)
    families = len(data.families)
    of_families = np.column_stack([*given, histories.assumed_share])
    of_segments = np.column_stack(
        [
            member[histories.clearance],
            histories.start_value,
            use.begin_hours,
            use.begin_starts,
            use.age_known,
        ]
    )
    of_rows = np.column_stack(
        [
            segment[histories.segment],
            histories.value,
            histories.uncertainty,
            histories.at_least,
            use.hours,
            use.starts,
            data.exposure_error,
        ]
    )
    told = (of_families, np.arange(families)), (of_segments, of_segment), (of_rows, of_row)
    parts = [_split(table, family, families) for table, family in told]
    return [_digest([part[code] for part in parts]) for code in range(families)]


def _number(family: Codes) -> Codes:
    """Number the members of each family from 0, in their order."""
    order = np.argsort(family, kind="stable")
    count = np.bincount(family)
    first = np.cumsum(count) - count
    number = np.empty(len(family), dtype=np.int64)
    number[order] = np.arange(len(family)) - first[family[order]]
    return number


def _split(table: Floats, family: Codes, families: int) -> list[Floats]:
    """Rows of each family, in their order."""
    order = np.argsort(family, kind="stable")
    stops = np.cumsum(np.bincount(family, minlength=families))[:-1]
    return np.split(table[order], stops)


def _digest(tables: list[Floats]) -> str:
    whole = hashlib.sha256()
    for table in tables:
        numbers = np.where(np.isnan(table), np.nan, table + 0.0)  # one NaN, one zero
        whole.update(f"{numbers.shape[0]} ".encode())
        whole.update(np.ascontiguousarray(numbers, dtype=_NUMBERS).tobytes())
    return whole.hexdigest()
