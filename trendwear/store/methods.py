"""How well each way of measuring measures, and the spellings in which sheets name it.

The site's own ``methods`` sheet counts; what it does not name has a starting value of
``data/default_methods.csv``.  Other spellings of a common method stand in
``data/method_names.csv`` (workshop usage; common practice, no source).
"""

from __future__ import annotations

import functools
from typing import Final

import duckdb
import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.bundled import bundled_folder
from trendwear.lengths import MM_PER_UNIT
from trendwear.store.queries import query
from trendwear.wording import fold, fold_column

__all__ = ["all_methods", "as_method_named", "default_methods"]

DEFAULT_METHODS: Final = "default_methods.csv"
METHOD_NAMES: Final = "method_names.csv"


def all_methods(connection: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """Return every way of measuring (`tables.METHODS`): the site's own, then the starting values.

    A method of the site's own takes the place of the starting value of that name, however
    either is spelt.
    """
    own = tables.conform(connection.execute(query("own_methods")).df(), tables.METHODS)
    given = default_methods()
    covered = {fold(_common_name(name)) for name in own["method"]} | set(fold_column(own["method"]))
    given = given[~fold_column(given["method"]).isin(covered)]
    return pd.concat([own, given], ignore_index=True) if len(own) else given


def as_method_named(written: pd.Series, own: pd.Series) -> pd.Series:
    """Return methods in one spelling each: the site's own where it has one, else the common one.

    A method that nobody knows, and each spelling that the site's sheet tells apart, stays
    as it is.

    Parameters
    ----------
    written : Series of str
        Methods as sheets name them; missing where none is named.
    own : Series of str
        The methods that the site's own sheet names.
    """
    of_site: dict[str, list[str]] = {}
    for name in own:
        of_site.setdefault(fold(_common_name(name)), []).append(name)
    kept = {fold(name) for name in own}
    meant = {}
    for text in written.dropna().unique():
        common = _common_name(text)
        site = of_site.get(fold(common), [])
        meant[text] = text if fold(text) in kept else site[0] if len(site) == 1 else common
    named = written.astype("object").map(meant)
    return named.where(named.notna(), None).astype("object")


def default_methods() -> pd.DataFrame:
    """Return the starting values of ``data/default_methods.csv`` (`tables.METHODS`).

    A half-width written ``±a`` is one standard uncertainty of a/sqrt(3) (JCGM 100:2008, 4.3.7).
    """
    rows = pd.read_csv(bundled_folder("data") / DEFAULT_METHODS, dtype={"uncertainty": "str"})
    factor = rows["unit"].map(MM_PER_UNIT)
    written = rows["uncertainty"]
    number = written.str.removeprefix("±").astype("float64")
    half_width = written.str.startswith("±", na=False).astype(bool)
    mm = pd.DataFrame(
        {
            "uncertainty_mm": number.where(~half_width, number / np.sqrt(3.0)) * factor,
            "resolution_mm": rows["resolution"] * factor,
            "bias_mm": rows["bias"] * factor,
        }
    ).round(12)
    return tables.conform(mm.join(rows[["method", "source"]]), tables.METHODS)


def _common_name(text: str) -> str:
    """Return the common name of a method; the text itself where it is none of those."""
    return _common_names().get(fold(text), text)


@functools.cache
def _common_names() -> dict[str, str]:
    folder = bundled_folder("data")
    known = pd.read_csv(folder / DEFAULT_METHODS)["method"]
    other = pd.read_csv(folder / METHOD_NAMES)
    names = dict(zip(fold_column(other["as_written"]), other["method"], strict=True))
    return {**names, **dict(zip(fold_column(known), known, strict=True))}
