"""Rows whose cell holds readings at several angles, parted into a row for each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from trendwear.readings.angle_lists import at_angles
from trendwear.readings.faults import Refusal
from trendwear.readings.header_row import HeaderRow
from trendwear.readings.row_shape import Shaped

__all__ = ["Apart", "one_angle_a_row"]


@dataclass(frozen=True)
class Apart:
    """Rows with one reading each."""

    shape: Shaped
    given: Mapping[str, np.ndarray] = field(default_factory=dict)
    """Columns that take the place of those in the file."""
    written: np.ndarray | None = None
    """The cell of the value as written, whole; None where no cell was parted."""
    refused: Mapping[int, Refusal] = field(default_factory=dict)
    """Why a parted row is not read, by its place."""


def one_angle_a_row(shape: Shaped, header: HeaderRow) -> Apart:
    """Part the cells of readings that name an angle for each of their numbers.

    ::

        row  value             row  value  angle
        5    6.5/7.0 (0/90)    5    6.5    0
        6    6.8               5    7.0    90
                               6    6.8
    """
    if header.sheet.name != "readings" or "value" not in header.places:
        return Apart(shape)
    texts = shape.columns[header.places["value"]]
    lists = {text: at_angles(text) for text in pd.unique(texts) if _several(text)}
    lists = {text: found for text, found in lists.items() if found}
    if not lists:
        return Apart(shape)
    found = [lists.get(text) or ((None, text),) for text in texts]
    times = np.array([len(parts) for parts in found])
    written = np.repeat(texts, times)
    columns = [np.repeat(column, times) for column in shape.columns]
    angles = np.array([angle for parts in found for angle, _ in parts], dtype=object)
    values = np.array([value for parts in found for _, value in parts], dtype=object)
    parted = np.array([angle is not None for angle in angles])
    stated = np.full(len(values), "", dtype=object)
    if "angle" in header.places:
        stated = columns[header.places["angle"]]
    twice = np.flatnonzero(parted & np.array([bool(text.strip()) for text in stated]))
    why = Refusal("the cell names its angles, and the row another", "leave the angle blank")
    return Apart(
        replace(shape, numbers=np.repeat(shape.numbers, times), columns=columns),
        {"value": values, "angle": np.where(parted, angles, stated)},
        written,
        {int(place): why for place in twice},
    )


def _several(text: str) -> bool:
    """Whether a text may be a list at all: cheap, so that plain numbers cost nothing."""
    return any(letter.isalpha() or letter in "(°:" for letter in text)
