"""Names of common ways of measuring: the spellings of the workshop and the one we use.

``data/method_names.csv`` holds the spellings (workshop usage; common practice, no source).
"""

from __future__ import annotations

import functools
from typing import Final

import pandas as pd

from trendwear.bundled import bundled_folder
from trendwear.wording import fold, fold_column

__all__ = ["DEFAULT_METHODS", "common_name", "of_both_partners"]

DEFAULT_METHODS: Final = "default_methods.csv"
METHOD_NAMES: Final = "method_names.csv"
_OF_BOTH: Final = "bore gauge and micrometer"


def common_name(text: str) -> str:
    """Return the common name of a method; the text itself where it is none of those.

    >>> common_name("Feeler gauges"), common_name("laser tracker")
    ('feeler', 'laser tracker')
    """
    return _common_names().get(fold(text), text)


def of_both_partners(method: str) -> bool:
    """Whether a method's uncertainty is that of a bore less a journal, both measured."""
    return common_name(method) == _OF_BOTH


@functools.cache
def _common_names() -> dict[str, str]:
    folder = bundled_folder("data")
    known = pd.read_csv(folder / DEFAULT_METHODS)["method"]
    other = pd.read_csv(folder / METHOD_NAMES)
    names = dict(zip(fold_column(other["as_written"]), other["method"], strict=True))
    return {**names, **dict(zip(fold_column(known), known, strict=True))}
